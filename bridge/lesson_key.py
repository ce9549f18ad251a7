"""What is said of one key of a lesson file."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final, Literal

Kind = Literal[
    "name", "text", "word", "number", "whole number", "true or false", "numbers", "texts", "table", "tables",
    "tables by name", "fields", "pairs of numbers", "lists of numbers", "date",
]  # fmt: skip


class Absent(Enum):
    """What a key without a plain default means when it is left out."""

    REQUIRED = "required"


REQUIRED: Final = Absent.REQUIRED


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key of the lesson file."""

    path: str  # tables joined by dots; "*" stands for a name that the lesson chooses
    kind: Kind
    default: object  # REQUIRED, a value, or None: left out means nothing of the kind, as `absent` words it
    meaning: str
    example: str  # a line that may stand in the file
    words: tuple[str, ...] = ()  # for "word": what may stand there
    least: float | None = None
    most: float | None = None
    above: float | None = None  # the value must be greater
    absent: str = ""  # what happens without it, where `default` does not say

    @property
    def name(self) -> str:
        """The key as it stands in its table."""
        return self.path.rpartition(".")[2]

    @property
    def table(self) -> str:
        """The path of the table that it stands in; "" is the top of the file."""
        return self.path.rpartition(".")[0]

    @property
    def range_words(self) -> str:
        """The range in words, "" without one."""
        if self.above is not None:
            return f"above {self.above:g}" + (f" and at most {self.most:g}" if self.most is not None else "")
        if self.least is not None:
            return (
                f"from {self.least:.0f} to {self.most:.0f}"
                if self.most is not None
                else f"{self.least:g} or more"
            )
        return ""
