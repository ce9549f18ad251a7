"""Telling how far a long job is, on standard error: nothing within the first second."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TextIO

PATIENCE_SECONDS = 1.0
AGAIN_SECONDS = 0.5  # on a terminal, where the line is written over
AGAIN_IN_A_FILE_SECONDS = 5.0  # where every line stays


class Progress:
    """What the job is at, and how much of that step is done.

    Args:
        out: Where to tell it.
        clock: Seconds that only rise.
    """

    def __init__(self, out: TextIO, *, clock: Callable[[], float] = time.monotonic) -> None:
        self._out = out
        self._clock = clock
        self._on_terminal = out.isatty()
        self._again_seconds = AGAIN_SECONDS if self._on_terminal else AGAIN_IN_A_FILE_SECONDS
        self._due = clock() + PATIENCE_SECONDS
        self._words = ""
        self._width = 0  # of the line that stands on the terminal

    def step(self, words: str, share: float = 0.0) -> None:
        """Another step begins; words as in "reading the recording"."""
        self._words = words
        self.at(share)

    def at(self, share: float) -> None:
        """So much of the step is done, 0 to 1. Cheap: nearly always nothing is written."""
        now = self._clock()
        if now < self._due:
            return
        self._due = now + self._again_seconds
        self._write(f"benchrow: {self._words}, {share:.0%}")

    def end(self) -> None:
        """The job is over: a line that is being written over is wiped out."""
        if self._on_terminal and self._width:
            self._out.write("\r" + " " * self._width + "\r")
            self._out.flush()
            self._width = 0

    def _write(self, line: str) -> None:
        if self._on_terminal:
            self._out.write("\r" + line.ljust(self._width))
            self._width = max(self._width, len(line))
        else:
            self._out.write(line + "\n")
        self._out.flush()
