"""What wording one line shows by itself: numbers in columns, labels before or behind, a JSON object."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import NamedTuple

from .json_lines import NumberText, json_object
from .lesson import LayoutKind
from .printed import MISSING, NUMBER, NUMBER_WITH_COMMA, is_missing
from .units import canonical_unit, is_unit

SEPARATORS = (";", "\t", "|", ",", " ")


class Wording(NamedTuple):
    """One line's wording. Lines of the same `key` are read by the same layout."""

    kind: LayoutKind
    separator: str
    labels: tuple[str, ...]  # as printed; of columns: "" for each
    units: tuple[str, ...]  # "" where none is printed
    texts: tuple[str, ...]  # the values as printed
    has_decimal_comma: bool
    n_numbers: int  # values that are not missing

    @property
    def key(self) -> tuple[str, str, tuple[str, ...]]:
        """What stays the same from line to line."""
        return self.kind, self.separator, self.labels


class _Value(NamedTuple):
    label: str
    text: str
    unit: str


_LABEL = r"[^\W\d_][^:=,;|\t]*?"
_VALUE = rf"(?:{NUMBER_WITH_COMMA}|{MISSING})"
_UNIT = r"[^\s\d,;|:=.+-][^\s,;|:=]*"
_pair = re.compile(
    rf"\s*({_LABEL})\s*[:=]\s*({_VALUE})(?:(\s*)({_UNIT}))?(?:\s*([,;|\t])\s*|(\s+)|$)", re.IGNORECASE
).match
_pair_without_unit = re.compile(rf"\s*({_LABEL})\s*[:=]\s*({_VALUE})()()(?:\s*([,;|\t])\s*|(\s+)|$)").match
_bare_pair = re.compile(
    rf"\s*([^\W\d]\w*)\s+({NUMBER_WITH_COMMA})(?:\s*({_UNIT})(?=[\s,;|]|$))?\s*([,;|]?)\s*"
).match
_bare_pair_without_unit = re.compile(rf"\s*([^\W\d]\w*)\s+({NUMBER_WITH_COMMA})(?:\s+)()([,;|]?)").match
_label_behind = re.compile(
    rf"\s*({NUMBER_WITH_COMMA}|{MISSING})\s*([^\W\d_][\w/%°]*|[%°µΩ]\w*)\s*([,;|]?)\s*"
).match
_number = re.compile(rf"\s*({NUMBER})\s*([^\d\s].*?)?\s*").fullmatch
_comma_number = re.compile(rf"\s*({NUMBER_WITH_COMMA})\s*([^\d\s].*?)?\s*").fullmatch


def wording_of(text: str) -> Wording | None:
    """The wording that a line shows; None for a text that is no record: a greeting, a heading, garbage."""
    readings: tuple[Callable[[str], Wording | None], ...] = (
        _json,
        _pairs,
        _columns,
        _bare_pairs,
        _labels_behind,
    )
    return next((found for read in readings if (found := read(text)) is not None), None)


def _json(text: str) -> Wording | None:
    found = json_object(text)
    if found is None:
        return None
    return _wording("json", ",", list(_numbers_in(found, "")))


def _numbers_in(found: object, path: str) -> Iterator[_Value]:
    if isinstance(found, dict):
        for name, value in found.items():
            yield from _numbers_in(value, f"{path}.{name}" if path else name)
    elif found is None or isinstance(found, NumberText):
        yield _Value(path, found or "null", "")


def _pairs(text: str) -> Wording | None:
    if ":" not in text and "=" not in text:
        return None
    values: list[_Value] = []
    separators: set[str] = set()
    at = 0
    while at < len(text):
        found = _pair(text, at)
        if found and found[4] and found[6] and not is_unit(found[4]):
            found = _pair_without_unit(text, at)  # "raw: 5 water temp: 20": the word begins the next label
        if not found:
            return None
        values.append(_Value(found[1], found[2], found[4] or ""))
        if found.end() < len(text):
            separators.add(found[5] or " ")
        at = found.end()
    if len(separators) > 1:
        return None
    return _wording("pairs", separators.pop() if separators else ",", values)


def _columns(text: str) -> Wording | None:
    for separator in SEPARATORS:
        if separator != " " and separator not in text:
            continue
        cells = text.split(separator) if separator != " " else _words(text)
        if len(cells) > 1 and not cells[-1].strip() and separator != ",":
            del cells[-1]
        values = [_cell(cell) for cell in cells]
        if all(value is not None for value in values):
            return _wording("columns", "," if len(cells) == 1 and separator == " " else separator, values)
    return None


def _words(text: str) -> list[str]:
    """The words of a line, a unit together with its number."""
    words: list[str] = []
    for word in text.split():
        if words and is_unit(word):
            words[-1] += f" {word}"
        else:
            words.append(word)
    return words


def _cell(cell: str) -> _Value | None:
    for match in (_number, _comma_number):
        found = match(cell)
        if found and (not found[2] or is_unit(found[2])):
            return _Value("", found[1], found[2] or "")
    return _Value("", cell.strip(), "") if is_missing(cell) else None


def _bare_pairs(text: str) -> Wording | None:
    """`T 23.5 H 45.0`, `F 45.00 °C`: one word and a number, again and again."""
    return _repeated("pairs", text, _bare_pair, lambda m: _Value(m[1], m[2], m[3] or ""), 4)


def _labels_behind(text: str) -> Wording | None:
    """`512 raw 2.50 volts 25.1 temp`."""
    return _repeated("labels-after", text, _label_behind, lambda m: _Value(m[2], m[1], ""), 3)


def _repeated(
    kind: LayoutKind,
    text: str,
    match: Callable[[str, int], re.Match[str] | None],
    value_of: Callable[[re.Match[str]], _Value],
    separator_group: int,
) -> Wording | None:
    values: list[_Value] = []
    separators: set[str] = set()
    at = 0
    while at < len(text):
        found = match(text, at)
        if found is None:
            return None
        value = value_of(found)
        if kind == "pairs" and value.unit and not is_unit(value.unit):
            found = _bare_pair_without_unit(text, at)  # that word is the next label
            if found is None:
                return None
            value = value_of(found)
        values.append(value)
        at = found.end()
        if at < len(text):
            separators.add(found[separator_group] or " ")
    return _wording(kind, separators.pop() if len(separators) == 1 else " ", values)


def _wording(kind: LayoutKind, separator: str, values: list[_Value | None] | list[_Value]) -> Wording | None:
    known = [value for value in values if value is not None]
    labels = [" ".join(value.label.split()) for value in known]
    if not known or (kind != "columns" and len(set(labels)) < len(labels)):
        return None
    return Wording(
        kind,
        separator,
        tuple(labels),
        tuple(canonical_unit(value.unit) for value in known),
        tuple(value.text for value in known),
        any("," in value.text for value in known),
        sum(not is_missing(value.text) for value in known),
    )
