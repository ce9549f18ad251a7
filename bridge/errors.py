"""Errors that a person reads.

BenchrowError
├── LessonError      the lesson file can't be used; `faults` has each with its line
├── PortError        a port can't be opened or was lost; `reason` is an Enum
├── RecordingError   a recording can't be opened, read or written
├── ControlError     the bridge refused what a client asked for
└── UnreachableError the bridge can't be reached
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class BenchrowError(Exception):
    """Base of every error that a person reads: the edges catch this one and show its text."""

    def __init__(self, happened: str, *, remedy: str, bench: str | None = None) -> None:
        super().__init__(happened)
        self.happened, self.remedy, self.bench = happened, remedy, bench

    def __str__(self) -> str:
        where = f"{self.bench}: " if self.bench else ""
        return f"{where}{self.happened}. {self.remedy}."


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing wrong in a lesson file."""

    file: str
    line: int  # from 1
    wrong: str  # what is wrong, naming the key and what was found
    write: str  # an example of what to write instead

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.wrong}. Write for example: {self.write}"


class LessonError(BenchrowError):
    """The lesson can't be used; every fault is told at once."""

    def __init__(self, faults: tuple[Fault, ...], *, file: str) -> None:
        n = len(faults)
        super().__init__(
            f"the lesson {file} has {n} fault{'s' * (n != 1)}",
            remedy=f"Run 'benchrow check {file}' to see {'them' if n != 1 else 'it'} and correct the file",
        )
        self.faults = faults


class PortProblem(Enum):
    """Why a port can't be used."""

    IN_USE = "in use"
    NO_PERMISSION = "no permission"
    NOT_FOUND = "not found"
    BAD_URL = "bad url"
    LOST = "lost"


class PortError(BenchrowError):
    """A port can't be opened, or was lost."""

    def __init__(self, happened: str, *, reason: PortProblem, remedy: str, bench: str | None = None) -> None:
        super().__init__(happened, remedy=remedy, bench=bench)
        self.reason = reason


class RecordingError(BenchrowError):
    """A recording can't be opened, read or written."""


class ControlError(BenchrowError):
    """The bridge refused what a client asked for."""


class UnreachableError(BenchrowError):
    """The bridge can't be reached."""
