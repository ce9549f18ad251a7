"""What becomes of lines: their fates, and runs of them under one layout."""

from __future__ import annotations

import re
from collections import deque
from typing import NamedTuple

from bridge.core.framing import DAMAGED, Line
from bridge.core.layouts import LayoutReader, Values
from bridge.core.readings import Note
from bridge.core.roles import RoleFound
from bridge.core.text_findings import N_NOISE, NoiseSeen

READ, SET_ASIDE, TEXT, WAITING = "read", "set aside", "text", "waiting"

has_digit = re.compile(r"[0-9]").search
Shown = list[tuple[Line, str]]
"""Lines with what became of them."""


class TextRun(NamedTuple):
    """What became of lines, as long as the same layout held and the same was known of its fields."""

    revision: int  # of the layout; with a new one the bench's channels are to be made anew from `reader`
    at_ns: int  # when that layout was found or given, or its roles were
    reader: LayoutReader | None  # None: nothing can be read yet
    roles: tuple[RoleFound, ...]  # what each field is, as far as known for these rows
    fitting: list[Line]  # the lines that gave a row
    rows: list[Values]  # their numbers
    shown: Shown  # a line that waited comes again when it is known what becomes of it
    notes: list[Note]


def joined(runs: list[TextRun]) -> list[TextRun]:
    """As few runs as there were changes: those of one layout and the same roles as one."""
    if len(runs) < 2:
        return runs
    few = [runs[0]]
    for run in runs[1:]:
        last = few[-1]
        if (run.revision, run.at_ns, run.roles) != (last.revision, last.at_ns, last.roles):
            few.append(run)
            continue
        few[-1] = last._replace(
            fitting=last.fitting + run.fitting,
            rows=last.rows + run.rows,
            shown=last.shown + run.shown,
            notes=last.notes + run.notes,
        )
    return few


class Fates:
    """Says what becomes of lines, and counts."""

    def __init__(self) -> None:
        self.n_set_aside = 0
        self.noise: deque[NoiseSeen] = deque(maxlen=N_NOISE)  # the newest lines since one was read

    def read(self) -> None:
        """Lines were read."""
        self.noise.clear()

    def waits(self, line: Line) -> str:
        """Nobody can read the line yet."""
        self.noise.append(NoiseSeen(is_damaged=False, n_bytes=len(line.raw)))
        return WAITING

    def unread(self, line: Line) -> str:
        """The line does not fit."""
        self.noise.append(NoiseSeen(is_damaged=False, n_bytes=len(line.raw)))
        return self.set_aside() if has_digit(line.text) else TEXT

    def flawed(self, line: Line) -> str:
        """The line has flaws: it never becomes a reading."""
        self.noise.append(NoiseSeen(DAMAGED in line.flaws, len(line.raw)))
        return self.set_aside()

    def set_aside(self) -> str:
        """The line becomes no reading, though it is no plain text either."""
        self.n_set_aside += 1
        return SET_ASIDE
