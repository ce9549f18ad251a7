"""Reads lines by one layout, watches how its fields behave, and notices when the lines are others."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import repeat
from operator import attrgetter
from typing import Literal, NamedTuple

from bridge.core.behaviour import Behaviour
from bridge.core.changing import swapped_layout
from bridge.core.framing import Line
from bridge.core.headings import heading_cells, name_and_unit
from bridge.core.layouts import LayoutReader, Values
from bridge.core.lesson import Layout
from bridge.core.misfits import Misfits
from bridge.core.one_line import ColumnsReader
from bridge.core.roles import RoleFound
from bridge.core.text_runs import READ, TEXT, Fates, Shown

_flaws = attrgetter("flaws")


class Taken(NamedTuple):
    """Lines up to one with which something happened."""

    fitting: list[Line]
    rows: list[Values]
    shown: Shown  # as many as were taken
    roles: tuple[RoleFound, ...]  # as they were known for these rows
    event: Literal["", "looked", "misfits", "renamed"] = ""  # with the last line


class Reading:
    """One reader at work.

    Args:
        reader: By which layout.
        fates: Counts what is not read.
        is_learned: A heading that names the same columns in another order then counts.
    """

    def __init__(self, reader: LayoutReader, fates: Fates, *, is_learned: bool) -> None:
        self.reader = reader
        self.behaviour = Behaviour(reader)
        self.misfits = Misfits()
        self.renamed: Layout | None = None  # the layout with its columns as the newest heading names them
        self._fates = fates
        self._is_learned = is_learned

    def take(self, lines: Sequence[Line]) -> Taken:
        """Read lines, until something happens that may concern the lines that follow."""
        reader, behaviour = self.reader, self.behaviour
        if not behaviour.has_begun:
            lines = lines[:1]  # what follows the first row may come after the first look at the rows
        if not reader.is_one_line or any(map(_flaws, lines)):
            return self._take_each(lines)
        found = reader.values_of([line.text for line in lines])
        rows = [row for row in found if row is not None]
        if len(rows) < len(lines):
            return self._take_each(lines)
        roles = behaviour.roles
        n = behaviour.take(lines, rows)
        self._fits()
        if n is not None:
            lines, rows = lines[:n], rows[:n]
        shown = list(zip(lines, repeat(READ), strict=False))
        return Taken(list(lines), rows, shown, roles, "" if n is None else "looked")

    def _take_each(self, lines: Sequence[Line]) -> Taken:
        taken = Taken([], [], [], self.behaviour.roles)
        for line in lines:
            row, fate = self._row(line)
            taken.shown.append((line, fate))
            if fate == READ:
                self._fits()
            if row is not None:
                taken.fitting.append(line)
                taken.rows.append(row)
                begins = not self.behaviour.has_begun
                if self.behaviour.take((line,), (row,)) is not None:
                    return taken._replace(event="looked")
                if begins:
                    return taken
            elif fate == TEXT and self._is_renamed_by(line.text):
                return taken._replace(event="renamed")
            elif fate != READ and not line.flaws and self.misfits.take(line):
                return taken._replace(event="misfits")
        return taken

    def _row(self, line: Line) -> tuple[Values | None, str]:
        if line.flaws:
            self.reader.break_off()
            return None, self._fates.flawed(line)
        row = self.reader.values(line.text)
        if row is not None or self.reader.partial:
            return row, READ
        return None, self._fates.unread(line)

    def _fits(self) -> None:
        self.misfits.end()
        self._fates.read()

    def _is_renamed_by(self, text: str) -> bool:
        """Whether a heading names the same columns in another order."""
        layout, names = self.reader.layout, self.reader.names
        if not self._is_learned or not isinstance(self.reader, ColumnsReader):
            return False
        found = [name_and_unit(cell)[0] for cell in heading_cells(text, layout.separator, len(names))]
        if found == list(names) or sorted(found) != sorted(names):
            return False
        self.renamed = swapped_layout(layout, [names.index(name) for name in found])
        return True
