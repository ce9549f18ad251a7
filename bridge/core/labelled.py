"""Lines of numbers with a label each: `name: value`, `name = value`, `name value`, and `value name`."""

from __future__ import annotations

import re
from collections.abc import Sequence

from .exact import Span, Spans
from .lesson import FieldSpec, Layout
from .one_line import CellReader, OneLineReader


def label_of(field: FieldSpec) -> str:
    """What the board prints beside a field's number."""
    return field.name if field.label is None else field.label


def label_pattern(label: str) -> str:
    """A label, with any run of blanks where it has one."""
    return r"\s+".join(map(re.escape, label.split()))


def any_label(labels: Sequence[str]) -> str:
    """One of several labels, the longest first, so that `T` does not take the front of `Temp`."""
    return "|".join(label_pattern(label) for label in sorted(labels, key=len, reverse=True))


class PairScanner:
    """Finds labelled values in a line: in any order, pieces with other labels left alone."""

    def __init__(self, fields: Sequence[FieldSpec], separator: str, *, decimal_comma: bool) -> None:
        self._fields = fields
        self._cell = CellReader(decimal_comma=decimal_comma)
        names = any_label([label_of(field) for field in fields])
        between = r"\s+" if separator == " " else rf"\s*{re.escape(separator)}\s*"
        # A new piece begins where one of our labels or another word with a sign behind it stands.
        starts = rf"(?=(?:{names})(?:\s*[:=]|\s))" if separator == " " else r"(?=[^\s\d+.-])"
        self._between = re.compile(between + starts)
        self._pieces = [
            re.compile(rf"\s*{label_pattern(label_of(field))}(?:\s*[:=]\s*|\s+)(.*)", re.DOTALL).fullmatch
            for field in fields
        ]

    def scan(self, text: str) -> dict[int, Span] | None:
        """Index of the field -> where its value stands; None when one of ours is there but can't be read."""
        found: dict[int, Span] = {}
        start = 0
        ends = [(one.start(), one.end()) for one in self._between.finditer(text)]
        for end, after in [*ends, (len(text), len(text))]:
            for i, match in enumerate(self._pieces):
                piece = match(text, start, end)
                if piece is None:
                    continue
                span = self._cell.span(piece[1], self._fields[i].unit, piece.start(1))
                if span is None or i in found:
                    return None
                found[i] = span
                break
            start = after
        return found


class PairsReader(OneLineReader):
    """Every field with its label before it."""

    def __init__(self, layout: Layout) -> None:
        super().__init__(layout)
        self._scanner = PairScanner(layout.fields, layout.separator, decimal_comma=layout.decimal_comma)
        self._swap_comma = layout.decimal_comma and can_swap_comma(layout)
        if layout.decimal_comma and not self._swap_comma:
            self._forms_left = 0

    def _spans(self, text: str) -> Spans | None:
        found = self._scanner.scan(text)
        if found is None or len(found) < len(self.names):
            return None
        return [found[i] for i in range(len(self.names))]


class LabelsAfterReader(OneLineReader):
    """Every field with its label behind it: `512 raw 2.50 volts`."""

    def __init__(self, layout: Layout) -> None:
        super().__init__(layout)
        labels = [label_of(field) for field in layout.fields]
        self._index = {" ".join(label.split()): i for i, label in enumerate(labels)}
        self._cell = CellReader(decimal_comma=layout.decimal_comma)
        self._swap_comma = layout.decimal_comma and can_swap_comma(layout)
        if layout.decimal_comma and not self._swap_comma:
            self._forms_left = 0
        self._value = re.compile(
            rf"(?:^|(?<=[\s,;|]))({self._cell.value_pattern}(?:\s*[^\s\d,;|]\S*?)??)\s*"
            rf"({any_label(labels)})(?=\s|[,;|]|$)"
        ).finditer

    def _spans(self, text: str) -> Spans | None:
        found: dict[int, Span] = {}
        for one in self._value(text):
            i = self._index[" ".join(one[2].split())]
            span = self._cell.span(one[1], self.layout.fields[i].unit, one.start(1))
            if span is None or i in found:
                return None
            found[i] = span
        return [found[i] for i in range(len(self.names))] if len(found) == len(self.names) else None


def can_swap_comma(layout: Layout) -> bool:
    """Whether every comma of a line must be a decimal sign, so that all may be made points at once."""
    return layout.separator != "," and not any("," in label_of(field) for field in layout.fields)
