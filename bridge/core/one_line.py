"""What the readers of one-line layouts share, and the plainest of them: columns."""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from collections.abc import Iterator, Sequence

from .exact import CELL, ExactForm, Span, Spans, Values, exact_form
from .lesson import Layout
from .printed import MISSING, Notation, Printed, is_missing, printed
from .surroundings import surroundings_of
from .units import agrees, is_unit

_never = re.compile(r"(?!)").fullmatch
# A board whose form changes with every line would compile a pattern for each: so many, then always with care.
_MAX_FORMS = 8


class OneLineReader(ABC):
    """A reader whose every line is a record: the careful way, and the short way that it leads to."""

    is_one_line = True
    partial = False
    _number = CELL

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.names = tuple(field.name for field in layout.fields)
        self.units = tuple(field.unit for field in layout.fields)
        # Where the comma is only the decimal sign, all can be made points before the short way.
        self._swap_comma = layout.decimal_comma
        self._surroundings = surroundings_of(layout.lead, layout.tail)
        self._form: ExactForm | None = None
        self._match = _never
        self._points: tuple[bool, ...] | None = None  # which fields have decimals, where that is known
        self._forms_left = 0 if layout.thousands else _MAX_FORMS
        self._n_ahead = 0  # digits of the lead, which come out of the form's match before the fields
        self._newest: str | None = None

    @abstractmethod
    def _field_spans(self, text: str) -> Spans | None:
        """Where the fields' texts stand in a line without its surroundings, in the order of `names`."""

    def _spans(self, text: str) -> Spans | None:
        """Where the fields' texts stand, in the order of `names`; None when the line does not fit."""
        if self._surroundings is None:
            return self._field_spans(text)
        body = self._surroundings.body(text)
        found = None if body is None else self._field_spans(text[slice(*body)])
        if body is None or found is None:
            return None
        return [(start + body[0], end + body[0]) for start, end in found]

    def values(self, text: str) -> Values | None:
        """The numbers of a line; None when it does not fit."""
        found = self._match(text.replace(",", ".") if self._swap_comma else text)
        if found is not None:
            try:
                numbers = tuple(map(float, found.groups()))
            except ValueError:
                pass
            else:
                self._newest = text
                return numbers[self._n_ahead :] if self._n_ahead else numbers
        return self._values_with_care(text)

    def values_of(self, texts: Sequence[str]) -> list[Values | None]:
        """The numbers of many lines."""
        if self._form is not None and len(texts) > 3:
            swapped = [one.replace(",", ".") for one in texts] if self._swap_comma else texts
            at_once = self._form.values(swapped)
            if at_once is not None:
                self._newest = texts[-1]
                return list(at_once)
        return list(map(self.values, texts))

    def read(self, text: str) -> tuple[Printed, ...] | None:
        """The fields of a line, as printed; one that is looked at again does not become the newest."""
        spans = self._spans(text)
        return None if spans is None else self._printed(text, spans)

    def newest(self) -> tuple[Printed, ...] | None:
        """The line that was read last, as printed."""
        return None if self._newest is None else self.read(self._newest)

    def break_off(self) -> None:  # noqa: B027 (not abstract: right for every reader of one line)
        """Nothing to forget: no record goes over a line end."""

    def _printed(self, text: str, spans: Spans) -> tuple[Printed, ...] | None:
        fields: list[Printed] = []
        for start, end in spans:
            field = printed(
                text[start:end], decimal_comma=self.layout.decimal_comma, thousands=self.layout.thousands
            )
            if field is None:
                return None
            fields.append(field)
        return tuple(fields)

    def _values_with_care(self, text: str) -> Values | None:
        fields = self.read(text)
        if fields is None:
            return None
        self._newest = text
        if self._forms_left and all(field.value is not None for field in fields):
            self._keep_form(text)
        return tuple(field.value for field in fields)

    def _keep_form(self, text: str) -> None:
        pointed = text.replace(",", ".") if self._swap_comma else text
        spans = self._spans_with_lead(pointed)
        form = None
        if spans is not None:
            n_ahead = len(spans) - len(self.names)
            form = exact_form(
                pointed, spans, self._spans_with_lead, cell=self._number, n_ahead=n_ahead, points=self._points
            )
        if form is not None:
            self._forms_left -= 1
            self._form, self._match, self._n_ahead = form, form.fullmatch, form.n_ahead
        elif self._form is None:
            self._forms_left -= 1

    def _spans_with_lead(self, text: str) -> Spans | None:
        spans = self._spans(text)
        if spans is None or self._surroundings is None:
            return spans
        return [*self._surroundings.digits(text), *spans]


class CellReader:
    """Takes a cell apart: a number with a unit that may follow, or a word for a missing value."""

    def __init__(self, layout: Layout) -> None:
        self._notation = Notation(layout.decimal_comma, layout.thousands)
        number = self._notation.pattern
        self.value_pattern = f"(?:{number}|{MISSING})"
        self._cell = re.compile(rf"\s*({number})(?:\s*([^\d\s].*?))?\s*").fullmatch

    def span(self, cell: str, unit: str, start: int) -> Span | None:
        """Where the value stands in a cell that begins at `start` of its line; None when it is no value."""
        found = self._cell(cell)
        if found:
            return (start + found.start(1), start + found.end(1)) if agrees(found[2] or "", unit) else None
        bare = cell.strip()
        if not is_missing(bare):  # "nan C": the unit of a value that is not there
            word, _, rest = bare.rpartition(" ")
            if not (word and is_missing(word) and agrees(rest, unit)):
                return None
            bare = word.strip()
        begin = start + cell.find(bare)
        return begin, begin + len(bare)

    def printed(self, cell: str, unit: str) -> Printed | None:
        """The value of a cell; None when it is none."""
        span = self.span(cell, unit, 0)
        if span is None:
            return None
        comma, thousands = self._notation
        return printed(cell[slice(*span)], decimal_comma=comma, thousands=thousands)


_word = re.compile(r"\S+").finditer


class ColumnsReader(OneLineReader):
    """Cells with a separator between them, one for each field."""

    def __init__(self, layout: Layout) -> None:
        super().__init__(layout)
        self._cell = CellReader(layout)
        self._comma_twice = layout.decimal_comma and layout.separator == ","
        self._swap_comma = layout.decimal_comma and "," not in layout.separator
        if layout.decimal_comma and not self._swap_comma:
            self._forms_left = 0  # the comma can't be swapped: always with care

    def expect_points(self, points: tuple[bool, ...] | None) -> None:
        """Which columns are printed with decimals, once that is known.

        A line in which as many columns have decimals, but others, does not fit: its columns are swapped.
        """
        if points != self._points:
            self._points = points
            self._form, self._match = None, _never

    def read(self, text: str) -> tuple[Printed, ...] | None:
        """The fields of a line, as printed."""
        fields = super().read(text)
        return None if fields is None or self._are_swapped(fields) else fields

    def _are_swapped(self, fields: Sequence[Printed]) -> bool:
        if self._points is None or any(field.value is None for field in fields):
            return False
        found = tuple(field.decimals > 0 for field in fields)
        return found != self._points and sum(found) == sum(self._points)

    def _field_spans(self, text: str) -> Spans | None:
        cells = list(self._cells(text))
        fields = self.layout.fields
        if len(cells) == len(fields) + 1 and not cells[-1][1].strip():
            del cells[-1]  # many programs print the separator behind the last column too
        if len(cells) != len(fields):
            return None
        spans: list[Span] = []
        for field, (start, cell) in zip(fields, cells, strict=True):
            span = self._cell.span(cell, field.unit, start)
            if span is None:
                return None
            spans.append(span)
        return spans

    def _cells(self, text: str) -> Iterator[tuple[int, str]]:
        separator = self.layout.separator
        if len(self.layout.fields) == 1:  # nothing to separate: a comma may stand between thousands
            return iter([(0, text.rstrip().removesuffix(separator))])
        if separator == " ":
            return self._words(text)
        split = list(_split(text, separator))
        return iter(self._joined(split, text) if self._comma_twice else split)

    def _words(self, text: str) -> Iterator[tuple[int, str]]:
        at, end = 0, 0
        is_open = False  # a word is held, since its unit may follow
        for found in _word(text):
            if is_open and is_unit(found[0]):
                yield at, text[at : found.end()]
                is_open = False
                continue
            if is_open:
                yield at, text[at:end]
            at, end, is_open = found.start(), found.end(), True
        if is_open:
            yield at, text[at:end]

    def _joined(self, cells: list[tuple[int, str]], text: str) -> list[tuple[int, str]]:
        """Cells of a text whose comma is also the decimal sign: whole part and fraction joined again."""
        n_fields = len(self.layout.fields)
        wide = list(_split(text, ", "))
        if len(wide) == n_fields and n_fields > 1:
            return wide
        n_words = sum(is_missing(cell) for _, cell in cells)
        if len(cells) - n_words != 2 * (n_fields - n_words):
            return []  # some with a fraction and some without: nobody can tell which
        joined: list[tuple[int, str]] = []
        parts = iter(cells)
        for start, cell in parts:
            if is_missing(cell):
                joined.append((start, cell))
                continue
            _, fraction = next(parts, (0, "?"))
            joined.append((start, f"{cell},{fraction}"))
        return joined


def _split(text: str, separator: str) -> Iterator[tuple[int, str]]:
    start = 0
    for cell in text.split(separator):
        yield start, cell
        start += len(cell) + len(separator)
