"""Records of numbers without labels, one on each line, in turn."""

from __future__ import annotations

import re
from collections.abc import Sequence

from .exact import Values
from .lesson import Layout
from .one_line import CellReader
from .printed import Printed

_divider = re.compile(r"\s*[-=*_~#+.]{2,}\s*").fullmatch


def is_divider(text: str) -> bool:
    """Whether a line only sets records apart: `----`, `===`."""
    return bool(_divider(text))


class TurnsReader:
    """Gathers a record from bare numbers; the line that completes it gives it.

    Which number is whose is told by a divider line between records, else by the decimals that each field is
    printed with. A number that has not those of its field ends the record: it is dropped whole, and reading
    goes on with the next number that can be the first.
    """

    is_one_line = False

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.names = tuple(field.name for field in layout.fields)
        self.units = tuple(field.unit for field in layout.fields)
        self.partial = False
        self.n_broken = 0
        self._cell = CellReader(layout)
        self._has_dividers = False
        self._under_way: list[Printed] | None = []  # None: wait for a divider
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
        self.partial = is_divider(text)
        if self.partial:
            self._has_dividers = True
            self._give_up([])
            return None
        if self._under_way is None or not self._continues(text):
            return None
        self.partial = len(self._under_way) < len(self.names)
        if self.partial:
            return None
        self._newest = tuple(self._under_way)
        self._under_way = None if self._has_dividers else []
        return self._newest

    def newest(self) -> tuple[Printed, ...] | None:
        """The newest whole record."""
        return self._newest

    def break_off(self) -> None:
        """Forget the record under way: its other lines may never have come."""
        self._give_up(None if self._has_dividers else [])
        self.partial = False

    def _give_up(self, then: list[Printed] | None) -> None:
        self.n_broken += bool(self._under_way)
        self._under_way = then

    def _continues(self, text: str) -> bool:
        assert self._under_way is not None
        for start in dict.fromkeys((len(self._under_way), 0)):
            field = self._field(start, text)
            if field is not None:
                self._under_way.append(field)
                return True
            self._give_up([])
        return False

    def _field(self, index: int, text: str) -> Printed | None:
        spec = self.layout.fields[index]
        found = self._cell.printed(text, spec.unit)
        if found is None or found.value is None or spec.decimals in (None, found.decimals):
            return found
        return None
