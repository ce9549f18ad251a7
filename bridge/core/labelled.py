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


# What stands between a label and its number.
SIGN = r"(?:\s*(?:[:=]+[>~]?|-+>|,)\s*|\s+)"


def _between(separator: str, names: str) -> str:
    """A new piece begins where one of our labels, or another word with a sign behind it, stands."""
    if separator == " ":
        with_blanks = rf"\s+(?=(?:{names})(?:\s*(?:[:=]|-+>)|\s))"
        return rf"{with_blanks}|(?<![^\W\d_])(?=(?:{names})\s*[:=])"  # "T:21.5H:40" too
    return rf"\s*{re.escape(separator)}\s*(?=[^\s\d+.-])"


class PairScanner:
    """Finds labelled values in a line: in any order, pieces with other labels left alone."""

    def __init__(self, fields: Sequence[FieldSpec], layout: Layout) -> None:
        self._fields = fields
        self._cell = CellReader(layout)
        self._between = re.compile(_between(layout.separator, any_label([label_of(one) for one in fields])))
        self._pieces = [
            re.compile(
                rf"\s*{label_pattern(label_of(field))}{SIGN}(.*?)(?:\s*\([^()]*\))?\s*[,;|&]*\s*", re.DOTALL
            ).fullmatch
            for field in fields
        ]

    def scan(self, text: str, start: int = 0) -> dict[int, Span] | None:
        """Index of the field -> where its value stands; None when one of ours is there but can't be read."""
        found: dict[int, Span] = {}
        ends = [(one.start(), one.end()) for one in self._between.finditer(text, start)]
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
        labelled = [field for field in layout.fields if label_of(field)]
        self._n_bare = len(layout.fields) - len(labelled)  # numbers without a label, before all others
        self._scanner = PairScanner(labelled, layout)
        self._cell = CellReader(layout)
        self._bare = re.compile(rf"\s*({self._cell.value_pattern})\s*{_end(layout.separator)}").match
        self._swap_comma = layout.decimal_comma and can_swap_comma(layout)
        if layout.decimal_comma and not self._swap_comma:
            self._forms_left = 0

    def _field_spans(self, text: str) -> Spans | None:
        spans: list[Span] = []
        start = 0
        for _ in range(self._n_bare):
            bare = self._bare(text, start)
            if bare is None:
                return None
            spans.append(bare.span(1))
            start = bare.end()
        found = self._scanner.scan(text, start)
        if found is None or len(found) + self._n_bare < len(self.names):
            return None
        return spans + [found[i] for i in range(len(found))]


class LabelsAfterReader(OneLineReader):
    """Every field with its label behind it: `512 raw 2.50 volts`."""

    def __init__(self, layout: Layout) -> None:
        super().__init__(layout)
        labels = [label_of(field) for field in layout.fields]
        self._index = {" ".join(label.split()): i for i, label in enumerate(labels)}
        self._cell = CellReader(layout)
        self._swap_comma = layout.decimal_comma and can_swap_comma(layout)
        if layout.decimal_comma and not self._swap_comma:
            self._forms_left = 0
        self._value = re.compile(
            rf"(?:^|(?<=[\s,;|]))({self._cell.value_pattern}(?:\s*[^\s\d,;|]\S*?)??)\s*"
            rf"({any_label(labels)})(?=\s|[,;|]|$)"
        ).finditer

    def _field_spans(self, text: str) -> Spans | None:
        found: dict[int, Span] = {}
        for one in self._value(text):
            i = self._index[" ".join(one[2].split())]
            span = self._cell.span(one[1], self.layout.fields[i].unit, one.start(1))
            if span is None or i in found:
                return None
            found[i] = span
        return [found[i] for i in range(len(self.names))] if len(found) == len(self.names) else None


def _end(separator: str) -> str:
    return r"(?=\s|$)" if separator == " " else rf"(?:{re.escape(separator)}|(?=\s|$))"


def can_swap_comma(layout: Layout) -> bool:
    """Whether every comma of a line must be a decimal sign, so that all may be made points at once."""
    return layout.separator != "," and not any("," in label_of(field) for field in layout.fields)
