"""A line seen as labelled numbers: label first with a sign or without, label behind, a JSON object."""

from __future__ import annotations

import re
from collections.abc import Iterator

from .json_lines import NumberText, json_object
from .notation import GROUPED_BY_BLANKS, TOKEN
from .printed import MISSING
from .units import is_unit
from .wording import ValueSeen, Wording, wordings_with

WHOLE_TOKEN = rf"{TOKEN}(?![0-9]|[.,'\u2019][0-9])"
_VALUE = rf"(?:{GROUPED_BY_BLANKS}|{WHOLE_TOKEN}|{MISSING})"
_LABEL = r"(?:[^\W\d_]|[°%µΩ_]|#(?=\w))[^:=,;|\t]*?"
_SIGN = r"(?:\s*(?:[:=]+[>~]?|-+>)\s*)"
# Two words for degrees; else one, without digits but those of m2 and m3.
_DEGREES = r"(?:deg(?:rees?)?\.?|grad|°) (?:celsius|fahrenheit|[CF])(?!\w)"
_ASIDE = r"(?:\s*\([^()]*\))?"  # "512 (2.50 V)": what stands in brackets is left out
_UNIT = rf"{_DEGREES}|[^\s\d,;|:=.+/&-](?:[^\s\d,;|:=&]|(?<=m)[23])*(?<!\.)"
_WORD = r"(?![0-9])\w+"
_WORDS = rf"{_WORD}(?:[ -]{_WORD})*?"
_BETWEEN = r"(?:\s*([,;|\t/&])\s*|\s+(-|and|und|et|y|e)\s+|(\s+)|$)"
_pair = re.compile(
    rf"\s*({_LABEL}){_SIGN}({_VALUE})(?:\s*({_UNIT})(?!\s*(?:[:=]|-+>)))?{_ASIDE}{_BETWEEN}", re.IGNORECASE
).match
_pair_without_unit = re.compile(rf"\s*({_LABEL}){_SIGN}({_VALUE})(){_ASIDE}{_BETWEEN}", re.IGNORECASE).match
_touching_pair = re.compile(rf"({_LABEL})\s*[:=]\s*({TOKEN})(?=\w[^\s:=]*\s*[:=])").match
_word_pair = re.compile(rf"\s*({_LABEL}){_SIGN}({_WORDS})(){_BETWEEN}", re.IGNORECASE).match
_several_words = r"[^\W\d]\w*(?:[ -][^\W\d]\w*){0,5}?"
_bare_pair = re.compile(
    rf"\s*({_several_words})\s+({_VALUE})(?:\s*({_UNIT})(?=[\s,;|]|$))?\s*([,;|]?)\s*"
).match
_bare_pair_without_unit = re.compile(rf"\s*({_several_words})\s+({_VALUE})()(?:\s+|\s*([,;|])\s*|$)").match
_label_behind = re.compile(
    rf"\s*({WHOLE_TOKEN}|{MISSING})\s*([^\W\d_][\w/%°]*|[%°µΩ*'][\w%]*)\s*([,;|]?)\s*"
).match
_bare_number = re.compile(rf"\s*({TOKEN})\s*(?:[,;|]\s*|\s+)").match


def json_line(text: str) -> tuple[Wording, ...]:
    """A JSON object, each number by its path."""
    found = json_object(text)
    return () if found is None else wordings_with("json", ",", list(_numbers_in(found, "")))


def _numbers_in(found: object, path: str) -> Iterator[ValueSeen]:
    if isinstance(found, dict):
        for name, value in found.items():
            yield from _numbers_in(value, f"{path}.{name}" if path else name)
    elif found is None or isinstance(found, NumberText):
        yield ValueSeen(path, found or "null", "")


def pairs(text: str) -> tuple[Wording, ...]:
    """Labels with a sign behind them and a number each; other words than numbers are left out."""
    if ":" not in text and "=" not in text and "->" not in text:
        return ()
    values: list[ValueSeen] = []
    separators: set[str] = set()
    at = 0
    while (bare := _bare_number(text, at)) is not None:  # numbers without a label, before all others
        values.append(ValueSeen("", bare[1], ""))
        at = bare.end()
    n_bare = len(values)
    while at < len(text):
        found = _one_pair(text, at)
        if found is None:
            return ()
        match, value = found
        if value is not None:
            values.append(value)
        if match.end() < len(text):
            separators.add(match[4] or match[5] or " " if match.re.groups > 2 else " ")
        at = match.end()
    if len(values) == n_bare:
        return ()
    return wordings_with(
        "pairs", separators.pop() if len(separators) == 1 else " " if separators else ",", values
    )


def _one_pair(text: str, at: int) -> tuple[re.Match[str], ValueSeen | None] | None:
    """The pair that begins there; its value is None when it is a word."""
    found = _pair(text, at)
    if found and found[3] and found[6] and not is_unit(found[3]):
        found = _pair_without_unit(text, at)  # "raw: 5 water temp: 20": the word begins the next label
    if found:
        return found, ValueSeen(found[1], found[2], found[3] or "")
    if touching := _touching_pair(text, at):
        return touching, ValueSeen(touching[1], touching[2], "")
    words = _word_pair(text, at)
    return None if words is None else (words, None)


def bare_pairs(text: str) -> tuple[Wording, ...]:
    """`T 23.5 H 45.0`, `F 45.00 °C`: words and a number, again and again."""
    values: list[ValueSeen] = []
    separators: set[str] = set()
    at = 0
    while at < len(text):
        found = _bare_pair(text, at)
        if found and found[3] and not is_unit(found[3]):
            found = _bare_pair_without_unit(text, at)  # that word is the next label
        if found is None:
            return ()
        values.append(ValueSeen(found[1], found[2], found[3] or ""))
        at = found.end()
        if at < len(text):
            separators.add(found[4] or " ")
    return wordings_with("pairs", separators.pop() if len(separators) == 1 else " ", values)


def labels_behind(text: str) -> tuple[Wording, ...]:
    """`512 raw 2.50 volts 25.1 temp`."""
    values: list[ValueSeen] = []
    separators: set[str] = set()
    at = 0
    while at < len(text):
        found = _label_behind(text, at)
        if found is None:
            return ()
        values.append(ValueSeen(found[2], found[1], ""))
        at = found.end()
        if at < len(text):
            separators.add(found[3] or " ")
    return wordings_with("labels-after", separators.pop() if len(separators) == 1 else " ", values)
