"""Layouts: how a line, or several lines, are read into named fields.

A reader has fixed names and units. It can be asked in three ways, each with the same result:

- `values(text)`: only the numbers, the short way where the line has the form of those before: about 1 us.
- `values_of(texts)`: the same for many lines at once, about half of that; use it for the lines of one chunk.
- `read(text)`: with the printed texts and decimals, for what a person looks at. About ten times slower.

None means that the line does not fit. A reader of records over several lines then has `partial` true when the
line did fit and the record goes on.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from .exact import Values
from .json_lines import JsonReader
from .labelled import LabelsAfterReader, PairsReader, label_of
from .lesson import Layout
from .one_line import ColumnsReader
from .printed import Printed
from .records import RecordReader
from .turns import TurnsReader

__all__ = ["LayoutReader", "Values", "reader_for"]


class LayoutReader(Protocol):
    """Reads lines of one layout."""

    @property
    def layout(self) -> Layout:
        """What it reads by."""

    @property
    def names(self) -> tuple[str, ...]:
        """The fields' names, fixed for the reader's life."""

    @property
    def units(self) -> tuple[str, ...]:
        """The fields' units as printed, "" for none."""

    @property
    def is_one_line(self) -> bool:
        """Whether each line is a record of its own; only then `values_of` may be used."""

    @property
    def partial(self) -> bool:
        """Whether the newest line fitted and its record waits for more lines."""

    def values(self, text: str) -> Values | None:
        """The numbers in the order of `names`, None for a missing one; None when the line does not fit."""

    def values_of(self, texts: Sequence[str]) -> list[Values | None]:
        """`values` of each text."""

    def read(self, text: str) -> tuple[Printed, ...] | None:
        """The fields as printed."""

    def newest(self) -> tuple[Printed, ...] | None:
        """The record that `values` or `read` gave last, as printed; None before the first."""

    def break_off(self) -> None:
        """The board's text broke off: forget the half record."""


def reader_for(layout: Layout) -> LayoutReader:
    """The reader of a layout, given by hand or learned."""
    match layout.kind:
        case "columns":
            return ColumnsReader(layout)
        case "pairs":
            return PairsReader(layout)
        case "labels-after":
            return LabelsAfterReader(layout)
        case "json":
            return JsonReader(layout)
        case "record":
            is_bare = all(label_of(field) == "" for field in layout.fields)
            return TurnsReader(layout) if is_bare else RecordReader(layout)
