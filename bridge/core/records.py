"""Records over several lines: labelled values on each line; the first field's label begins a record."""

from __future__ import annotations

import re
from collections.abc import Sequence

from .exact import Span, Values
from .labelled import PairScanner, any_label, label_of
from .lesson import Layout
from .one_line import CellReader
from .printed import Printed
from .surroundings import surroundings_of


class RecordReader:
    """Gathers a record from lines; the line that completes it gives it.

    A line with the first field's label begins anew: a record of which a line was lost is dropped whole
    (`n_broken` counts them), never filled with values of another record. A label may stand alone, its value
    on the next line.
    """

    is_one_line = False

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.names = tuple(field.name for field in layout.fields)
        self.units = tuple(field.unit for field in layout.fields)
        self.partial = False
        self.n_broken = 0
        self._scanner = PairScanner(layout.fields, layout)
        self._cell = CellReader(layout)
        self._surroundings = surroundings_of(layout.lead, layout.tail)
        labels = [label_of(field) for field in layout.fields]
        self._bare_label = re.compile(rf"\s*({any_label(labels)})\s*[:=]?\s*").fullmatch
        self._label_behind = re.compile(
            rf"\s*({self._cell.value_pattern})\s*({any_label(labels)})\s*"
        ).fullmatch
        self._index = {" ".join(label.split()): i for i, label in enumerate(labels)}
        self._under_way: dict[int, Printed] = {}
        self._awaited: int | None = None  # the field whose label stood alone on the line before
        self._newest: tuple[Printed, ...] | None = None

    def values(self, text: str) -> Values | None:
        """The numbers of the record that this line completes."""
        fields = self.read(text)
        return None if fields is None else tuple(field.value for field in fields)

    def values_of(self, texts: Sequence[str]) -> list[Values | None]:
        """`values` of each text; a None does not tell a line under way from one that does not fit."""
        return list(map(self.values, texts))

    def read(self, text: str) -> tuple[Printed, ...] | None:
        """The record that this line completes, as printed; None with `partial` true while it goes on."""
        self.partial = False
        found = self._found(text)
        if not found:
            if self._awaited is not None:
                self.partial = True
            return None
        if 0 in found or any(i in self._under_way for i in found):
            self._give_up()
        if not self._under_way and 0 not in found:
            return None  # the middle of a record whose beginning is not known
        self._under_way.update(found)
        if len(self._under_way) < len(self.names):
            self.partial = True
            return None
        self._newest = tuple(self._under_way[i] for i in range(len(self.names)))
        self._under_way = {}
        return self._newest

    def newest(self) -> tuple[Printed, ...] | None:
        """The newest whole record."""
        return self._newest

    def break_off(self) -> None:
        """Forget the record under way: its other lines may never have come."""
        self._give_up()
        self._awaited, self.partial = None, False

    def _give_up(self) -> None:
        self.n_broken += bool(self._under_way)
        self._under_way = {}

    def _found(self, text: str) -> dict[int, Printed]:
        awaited, self._awaited = self._awaited, None
        if self._surroundings is not None:
            body = self._surroundings.body(text)
            text = "" if body is None else text[slice(*body)]
        if awaited is not None:
            field = self._cell.printed(text, self.layout.fields[awaited].unit)
            if field is not None:
                return {awaited: field}
        if bare := self._bare_label(text):
            self._awaited = self._index[" ".join(bare[1].split())]
            return {}
        spans = self._scanner.scan(text) or self._behind(text)
        fields: dict[int, Printed] = {}
        for i, (start, end) in spans.items():
            field = self._cell.printed(text[start:end], "")
            if field is None:
                return {}
            fields[i] = field
        return fields

    def _behind(self, text: str) -> dict[int, Span]:
        """A line that is a value with its label behind it: `2.50 V`, `512 raw`."""
        found = self._label_behind(text)
        return {} if found is None else {self._index[" ".join(found[2].split())]: found.span(1)}
