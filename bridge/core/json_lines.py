"""Lines that are a JSON object each.

Numbers keep their printed text; `a.b` names a value inside an inner object.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping

from .exact import JSON_CELL, Span, Spans
from .labelled import label_of
from .lesson import Layout
from .one_line import OneLineReader
from .printed import Printed, printed

# A C program prints a float that is none as nan, -nan or inf: no JSON, yet the line's other numbers count.
_bare_words = re.compile(r"(?<=[:\s,\[])[-+]?(?:nan|inf(?:inity)?)(?=\s*[,}\]])", re.IGNORECASE)
_number = r"\s*(-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?)(?=\s*[,}\]])"


class NumberText(str):
    """The text of a number in a JSON line, not a string that stood in quotes."""

    __slots__ = ()


def json_object(text: str) -> Mapping[str, object] | None:
    """The object of a line, numbers as `NumberText`; None when the line is none."""
    if not text.lstrip().startswith("{"):
        return None
    for candidate in (text, _bare_words.sub("null", text)):
        try:
            found = json.loads(
                candidate, parse_float=NumberText, parse_int=NumberText, parse_constant=lambda _: None
            )
        except (ValueError, RecursionError):
            continue
        return found if isinstance(found, dict) else None
    return None


def json_field(found: Mapping[str, object], label: str) -> Printed | None:
    """One field of the object, by its name, else by its path; None when it is not there or no number."""
    value: object = found
    for name in (label,) if label in found else label.split("."):
        if not isinstance(value, dict) or name not in value:
            return None
        value = value[name]
    if value is None:
        return Printed("null", None, 0)
    return printed(value) if isinstance(value, str) else None


class JsonReader(OneLineReader):
    """A JSON object per line; every field must be in it."""

    _number = JSON_CELL

    def __init__(self, layout: Layout) -> None:
        super().__init__(layout)
        self._labels = [label_of(field) for field in layout.fields]
        self._swap_comma = False
        self._places = [
            re.compile(re.escape(json.dumps(label, ensure_ascii=False)) + r"\s*:" + _number)
            for label in self._labels
        ]

    def read(self, text: str) -> tuple[Printed, ...] | None:
        """The fields of a line, as printed."""
        body = self._body(text)
        found = None if body is None else json_object(text[slice(*body)])
        if found is None:
            return None
        fields: list[Printed] = []
        for label in self._labels:
            field = json_field(found, label)
            if field is None:
                return None
            fields.append(field)
        return tuple(fields)

    def _body(self, text: str) -> Span | None:
        return (0, len(text)) if self._surroundings is None else self._surroundings.body(text)

    def _spans(self, text: str) -> Spans | None:
        return self._field_spans(text)

    def _field_spans(self, text: str) -> Spans | None:
        """Where the numbers stand, for the short way only: None unless each label stands there just once."""
        fields = self.read(text)
        if fields is None:
            return None
        spans = []
        for place, field in zip(self._places, fields, strict=True):
            found = list(place.finditer(text))
            if len(found) != 1 or found[0][1] != field.text:
                return None
            spans.append(found[0].span(1))
        return spans
