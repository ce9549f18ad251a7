"""What wording one line shows by itself: numbers in columns, labels before or behind, a JSON object.

Some lines can be seen in more than one way: `1,234` is two columns, or one number with a decimal comma, or
one with thousands. All ways are given; the lines together decide (`bridge.core.learning`).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from .json_lines import NumberText, json_object
from .lesson import LayoutKind
from .notation import GROUPED_BY_BLANKS, TOKEN
from .printed import MISSING, NUMBER_WITH_COMMA, is_missing
from .units import canonical_unit, is_unit

SEPARATORS = (";", "\t", "|", ",", " ")
_RARE_SEPARATORS = ("->", " - ", "/", ":", "(")
MAX_AROUND = 3  # pieces before the fields: `[12] 12:30:05 > T: 5` has three


class Wording(NamedTuple):
    """One line's wording. Lines of the same `key` are read by the same layout."""

    kind: LayoutKind  # "record": the label stood alone on the line before
    separator: str
    labels: tuple[str, ...]  # as printed; "" for a number without one
    units: tuple[str, ...]  # "" where none is printed
    texts: tuple[str, ...]  # the values as printed
    lead: str = ""  # what stands before the fields
    tail: str = ""  # what stands behind them

    @property
    def key(self) -> tuple[str, ...]:
        """What stays the same from line to line."""
        return self.kind, self.separator, _shape(self.lead), _shape(self.tail), *self.labels

    @property
    def n_numbers(self) -> int:
        """Values that are not missing."""
        return sum(not is_missing(text) for text in self.texts)


class _Value(NamedTuple):
    label: str
    text: str
    unit: str


_WHOLE_TOKEN = rf"{TOKEN}(?![0-9]|[.,'\u2019][0-9])"
_VALUE = rf"(?:{GROUPED_BY_BLANKS}|{_WHOLE_TOKEN}|{MISSING})"
_LABEL = r"(?:[^\W\d_]|[°%µΩ_]|#(?=\w))[^:=,;|\t]*?"
_SIGN = r"(?:\s*(?:[:=]+[>~]?|-+>)\s*)"
_UNIT = r"[^\s\d,;|:=.+/&-](?:[^\s\d,;|:=&]|(?<=m)[23])*(?<!\.)"
_WORD = r"(?![0-9])\w+"
_WORDS = rf"{_WORD}(?:[ -]{_WORD})*?"
_BETWEEN = r"(?:\s*([,;|\t/&])\s*|\s+(-|and|und|et|y|e)\s+|(\s+)|$)"
_pair = re.compile(
    rf"\s*({_LABEL}){_SIGN}({_VALUE})(?: *({_UNIT})(?!\s*(?:[:=]|-+>)))?{_BETWEEN}", re.IGNORECASE
).match
_pair_without_unit = re.compile(rf"\s*({_LABEL}){_SIGN}({_VALUE})(){_BETWEEN}", re.IGNORECASE).match
_touching_pair = re.compile(rf"({_LABEL})\s*[:=]\s*({TOKEN})(?=\w[^\s:=]*\s*[:=])").match
_word_pair = re.compile(rf"\s*({_LABEL}){_SIGN}({_WORDS})(){_BETWEEN}", re.IGNORECASE).match
_several_words = r"[^\W\d]\w*(?:[ -][^\W\d]\w*){0,5}?"
_bare_pair = re.compile(
    rf"\s*({_several_words})\s+({_VALUE})(?:\s*({_UNIT})(?=[\s,;|]|$))?\s*([,;|]?)\s*"
).match
_bare_pair_without_unit = re.compile(rf"\s*({_several_words})\s+({_VALUE})()(?:\s+|\s*([,;|])\s*|$)").match
_label_behind = re.compile(
    rf"\s*({_WHOLE_TOKEN}|{MISSING})\s*([^\W\d_][\w/%°]*|[%°µΩ*'][\w%]*)\s*([,;|]?)\s*"
).match
_cell_of = re.compile(rf"\s*({GROUPED_BY_BLANKS}|{TOKEN})\s*([^\d\s].*?)?\s*").fullmatch
_bare_number = re.compile(rf"\s*({TOKEN})\s*(?:[,;|]\s*|\s+)").match
_hexadecimal = re.compile(r"\b0[xX][0-9a-fA-F]+").search
_only_digits = re.compile(r"[-+]?[0-9]+").fullmatch
_grouped = re.compile(r"[-+]?[1-9][0-9]{0,2}(?:(?:,[0-9]{3})+(?:\.[0-9]+)?|(?:\.[0-9]{3})+,[0-9]+)").fullmatch
_number_with_comma = re.compile(r"[-+]?[0-9]+,[0-9]+").fullmatch
_ends_with_digit = re.compile(r".*[0-9]\s*", re.DOTALL).fullmatch
_plain_number = re.compile(rf"\s*{NUMBER_WITH_COMMA}\s*(?:[^\d\s].*?)?\s*").fullmatch
_grouped_by_blanks = re.compile(GROUPED_BY_BLANKS).fullmatch

_CLOCK = (
    r"(?:[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}[T ]\s*|[0-9]{1,2}[./][0-9]{1,2}[./][0-9]{2,4}[ ,;T]*)?"
    r"[0-9]{1,2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]{1,6}|,[0-9]{3}(?![0-9.,]))?)?(?:Z|\s*[-+][0-9]{2}:?[0-9]{2})?(?![0-9:])"
)
_begins_with_clock = re.compile(rf"{_CLOCK}|[0-9]{{1,4}}/[0-9]{{1,2}}/[0-9]{{2,4}}").match
_LEADS = tuple(
    re.compile(pattern).match
    for pattern in (
        rf"\s*{_CLOCK}\s*(?:->|[,;|>:\t]|-(?![0-9.]))?\s*",
        r"\s*(?:\[[^\]]*\]|\([^)]*\)|<[^>]*>)\s*(?:->|[,;|>:]|-(?![0-9.]))?\s*",
        r"\s*(?:-+>|=+>|[>#$*~@!&]+)\s*",
        r"\s*[0-9]+\s*(?:[:)>]|\.(?=\s))\s*",
    )
)
_word_lead = re.compile(r"\s*(?:[^\W\d_][^:=,;|\t0-9]*[0-9]*\s*(?:[:=]|-+>)|[^\W\d_]\w*\s*[,;|\t])\s*").match
_brackets = {"(": ")", "[": "]", "{": "}", "<": ">"}
_tail = re.compile(r"(?:\s*[.!;*#\"'\])}>]+|(?:\s+[^\W\d_]+){1,3})\s*").fullmatch
_number_end = re.compile(r"^(.*[0-9]\s*(?:[°%µΩ*']?[^\W\d_]{0,4}%?)?)(.*)$", re.DOTALL).match


def wordings_of(text: str) -> tuple[Wording, ...]:
    """The wordings that a line shows; none for a text that is no record: a greeting, a heading, garbage."""
    if _hexadecimal(text):
        return ()
    found = _inside(text)
    if found:
        return found
    for lead, body, tail in _peeled(text):
        found = _inside(body) or _after_a_word(body)
        if found:
            return tuple(_around(one, lead, tail) for one in found)
    return ()


def _inside(text: str) -> tuple[Wording, ...]:
    """The wordings of a line with nothing around the fields."""
    for read in (_json, _pairs, _columns, _bare_pairs, _labels_behind):
        found = read(text)
        if found:
            return found
    return ()


def _peeled(text: str) -> Iterator[tuple[str, str, str]]:
    """The line with more and more taken off before and behind it: lead, body, tail."""
    start = 0
    for i in range(MAX_AROUND + 1):
        body, lead = text[start:], text[:start].strip()
        if i:
            yield lead, body, ""
        ends = _number_end(body)
        if ends and ends[2].strip() and _tail(ends[2]):
            yield lead, ends[1], ends[2].strip()
        bare = body.strip()
        if len(bare) > 2 and _brackets.get(bare[0]) == bare[-1]:
            yield f"{lead} {bare[0]}".strip(), bare[1:-1], bare[-1]
        if not i:
            yield "", body, ""
        found = next(filter(None, (match(text, start) for match in _LEADS)), None)
        if found is None or found.end() in (start, len(text)):
            return
        start = found.end()


def _after_a_word(text: str) -> tuple[Wording, ...]:
    """`Reading: 512, 2.50` and `DATA,512,2.50`: a word before columns; before one number it is its name."""
    found = _word_lead(text)
    if found is None:
        return ()
    word, body = found[0].strip(), text[found.end() :]
    inner = _json(body) or _columns(body)
    if len(inner) == 1 and len(inner[0].texts) == 1 and inner[0].kind == "columns" and word[-1] in ",;|\t":
        return _wordings("pairs", word[-1], [_Value(word[:-1].strip(), inner[0].texts[0], inner[0].units[0])])
    return tuple(_around(one, word, "") for one in inner)


def _around(wording: Wording, lead: str, tail: str) -> Wording:
    return wording._replace(lead=f"{lead} {wording.lead}".strip(), tail=f"{wording.tail} {tail}".strip())


def _json(text: str) -> tuple[Wording, ...]:
    found = json_object(text)
    return () if found is None else _wordings("json", ",", list(_numbers_in(found, "")))


def _numbers_in(found: object, path: str) -> Iterator[_Value]:
    if isinstance(found, dict):
        for name, value in found.items():
            yield from _numbers_in(value, f"{path}.{name}" if path else name)
    elif found is None or isinstance(found, NumberText):
        yield _Value(path, found or "null", "")


def _pairs(text: str) -> tuple[Wording, ...]:
    if ":" not in text and "=" not in text and "->" not in text:
        return ()
    values: list[_Value] = []
    separators: set[str] = set()
    at = 0
    while (bare := _bare_number(text, at)) is not None:  # numbers without a label, before all others
        values.append(_Value("", bare[1], ""))
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
    return _wordings(
        "pairs", separators.pop() if len(separators) == 1 else " " if separators else ",", values
    )


def _one_pair(text: str, at: int) -> tuple[re.Match[str], _Value | None] | None:
    """The pair that begins there; its value is None when it is a word."""
    found = _pair(text, at)
    if found and found[3] and found[6] and not is_unit(found[3]):
        found = _pair_without_unit(text, at)  # "raw: 5 water temp: 20": the word begins the next label
    if found:
        return found, _Value(found[1], found[2], found[3] or "")
    if touching := _touching_pair(text, at):
        return touching, _Value(touching[1], touching[2], "")
    words = _word_pair(text, at)
    return None if words is None else (words, None)


def _columns(text: str) -> tuple[Wording, ...]:
    found: list[Wording] = []
    bare = text.strip()
    if _grouped_by_blanks(bare):
        return (*_columns_between(" ", text), *_wordings("columns", ",", [_Value("", bare, "")]))
    for separator in SEPARATORS:
        if separator == " " or separator in text:
            found += _columns_between(separator, text)
            if found and separator != ",":
                break
            if found:
                found += _joined_commas(bare)
                break
    if not found and not _begins_with_clock(bare):
        rare = [one for one in _RARE_SEPARATORS if one in text and _are_numbers(text.split(one))]
        found = _columns_between(rare[0], text) if rare else []
    if len(found) == 1 and len(found[0].texts) == 1 and found[0].units[0]:  # "2.50 V", next "25.1 C"
        found += _labels_behind(text)
    return tuple(found)


def _columns_between(separator: str, text: str) -> list[Wording]:
    cells = text.split(separator) if separator != " " else _words(text)
    if len(cells) > 1 and not cells[-1].strip() and separator != ",":
        del cells[-1]
    values = [_cell(cell) for cell in cells]
    known = [value for value in values if value is not None]
    if len(known) < len(values) or (separator == "," and any("," in one.text for one in known)):
        return []
    return list(_wordings("columns", "," if len(cells) == 1 and separator == " " else separator, known))


def _joined_commas(bare: str) -> list[Wording]:
    """The columns of a line whose commas may be decimal signs, or stand between thousands."""
    wide = [_cell(cell) for cell in bare.split(", ")]
    known = [one for one in wide if one is not None]
    if 1 < len(wide) == len(known) and any("," in one.text for one in known):
        return list(_wordings("columns", ", ", known))
    single = _cell(bare)
    if single is not None and (_grouped(single.text) or (single.unit and _number_with_comma(single.text))):
        return list(_wordings("columns", ",", [single]))
    cells = bare.split(",")
    if _are_whole_in_pairs(cells):
        pairs = zip(cells[::2], cells[1::2], strict=True)
        return list(_wordings("columns", ",", [_Value("", f"{a},{b}", "") for a, b in pairs]))
    by_unit = [_cell(cell) for cell in _between_units(bare)]
    known = [one for one in by_unit if one is not None]
    if 1 < len(known) == len(by_unit) and any("," in one.text for one in known):
        return list(_wordings("columns", ",", known))
    return []


def _are_whole_in_pairs(cells: list[str]) -> bool:
    return len(cells) % 2 == 0 and all(map(_only_digits, cells)) and all(map(str.isdigit, cells[1::2]))


def _between_units(bare: str) -> list[str]:
    """The line cut behind each unit: `51,63 C,18 C,0,25mV` has three numbers with a unit each."""
    cells: list[str] = []
    for piece in bare.split(","):
        if cells and not _ends_with_digit(cells[-1]):
            cells.append(piece)
        elif cells and piece[:1].isdigit():
            cells[-1] += f",{piece}"
        else:
            cells.append(piece)
    return cells


def _are_numbers(cells: list[str]) -> bool:
    return all(map(_plain_number, cells))


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
    found = _cell_of(cell)
    if found and (not found[2] or is_unit(found[2])):
        return _Value("", found[1], found[2] or "")
    return _Value("", cell.strip(), "") if is_missing(cell) else None


def _bare_pairs(text: str) -> tuple[Wording, ...]:
    """`T 23.5 H 45.0`, `F 45.00 °C`: words and a number, again and again."""
    values: list[_Value] = []
    separators: set[str] = set()
    at = 0
    while at < len(text):
        found = _bare_pair(text, at)
        if found and found[3] and not is_unit(found[3]):
            found = _bare_pair_without_unit(text, at)  # that word is the next label
        if found is None:
            return ()
        values.append(_Value(found[1], found[2], found[3] or ""))
        at = found.end()
        if at < len(text):
            separators.add(found[4] or " ")
    return _wordings("pairs", separators.pop() if len(separators) == 1 else " ", values)


def _labels_behind(text: str) -> tuple[Wording, ...]:
    """`512 raw 2.50 volts 25.1 temp`."""
    values: list[_Value] = []
    separators: set[str] = set()
    at = 0
    while at < len(text):
        found = _label_behind(text, at)
        if found is None:
            return ()
        values.append(_Value(found[2], found[1], ""))
        at = found.end()
        if at < len(text):
            separators.add(found[3] or " ")
    return _wordings("labels-after", separators.pop() if len(separators) == 1 else " ", values)


def _wordings(kind: LayoutKind, separator: str, values: list[_Value]) -> tuple[Wording, ...]:
    labels = [" ".join(value.label.split()) for value in values]
    named = [label for label in labels if label]
    if not values or (kind != "columns" and len(set(named)) < len(named)):
        return ()
    units = tuple(canonical_unit(value.unit) for value in values)
    return (Wording(kind, separator, tuple(labels), units, tuple(value.text for value in values)),)


_digits = re.compile(r"[0-9]+")


def _shape(text: str) -> str:
    return "".join(_digits.sub("0", text).split())
