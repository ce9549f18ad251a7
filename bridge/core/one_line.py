"""What the readers of one-line layouts share, and the plainest of them: columns."""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from collections.abc import Iterator, Sequence

from .exact import CELL, ExactForm, Span, Spans, Values, exact_form
from .lesson import FieldSpec, Layout
from .printed import MISSING, NUMBER, NUMBER_WITH_COMMA, Printed, is_missing, printed
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
        self._form: ExactForm | None = None
        self._match = _never
        self._forms_left = _MAX_FORMS
        self._newest: str | None = None

    @abstractmethod
    def _spans(self, text: str) -> Spans | None:
        """Where the fields' texts stand, in the order of `names`; None when the line does not fit."""

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
                return numbers
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
        """The fields of a line, as printed."""
        spans = self._spans(text)
        fields = None if spans is None else self._printed(text, spans)
        if fields is not None:
            self._newest = text
        return fields

    def newest(self) -> tuple[Printed, ...] | None:
        """The line that was read last, as printed."""
        return None if self._newest is None else self.read(self._newest)

    def break_off(self) -> None:  # noqa: B027 (not abstract: right for every reader of one line)
        """Nothing to forget: no record goes over a line end."""

    def _printed(self, text: str, spans: Spans) -> tuple[Printed, ...] | None:
        fields: list[Printed] = []
        for start, end in spans:
            field = printed(text[start:end], decimal_comma=self.layout.decimal_comma)
            if field is None:
                return None
            fields.append(field)
        return tuple(fields)

    def _values_with_care(self, text: str) -> Values | None:
        fields = self.read(text)
        if fields is None:
            return None
        if self._forms_left and all(field.value is not None for field in fields):
            self._keep_form(text)
        return tuple(field.value for field in fields)

    def _keep_form(self, text: str) -> None:
        pointed = text.replace(",", ".") if self._swap_comma else text
        spans = self._spans(pointed)
        form = None if spans is None else exact_form(pointed, spans, self._spans, cell=self._number)
        if form is not None:
            self._forms_left -= 1
            self._form, self._match = form, form.fullmatch
        elif self._form is None:
            self._forms_left -= 1


class CellReader:
    """Takes a cell apart: a number with a unit that may follow, or a word for a missing value."""

    def __init__(self, *, decimal_comma: bool) -> None:
        number = NUMBER_WITH_COMMA if decimal_comma else NUMBER
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


_word = re.compile(r"\S+").finditer


class ColumnsReader(OneLineReader):
    """Cells with a separator between them, one for each field."""

    def __init__(self, layout: Layout) -> None:
        super().__init__(layout)
        self._cell = CellReader(decimal_comma=layout.decimal_comma)
        self._comma_twice = layout.decimal_comma and layout.separator == ","
        self._swap_comma = layout.decimal_comma and not self._comma_twice
        if self._comma_twice:
            self._forms_left = 0  # the comma can't be swapped: always with care

    def _spans(self, text: str) -> Spans | None:
        cells = list(self._cells(text))
        fields: tuple[FieldSpec, ...] = self.layout.fields
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
        if self.layout.separator == " ":
            return self._words(text)
        split = list(_split(text, self.layout.separator))
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
