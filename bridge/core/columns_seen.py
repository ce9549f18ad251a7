"""A line seen as columns: by its separator, and with commas that may be decimal signs."""

from __future__ import annotations

import re

from .labels_seen import labels_behind
from .notation import GROUPED_BY_BLANKS, TOKEN
from .printed import NUMBER_WITH_COMMA, is_missing
from .units import is_unit
from .wording import ValueSeen, Wording, wordings_with

SEPARATORS = (";", "\t", "|", ",", " ")
_RARE_SEPARATORS = ("->", " - ", "/", ":", "(", '","', '";"')
# A date and a time of day, or the time alone.
CLOCK = (
    r"(?:[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}[T ]\s*|[0-9]{1,2}[./][0-9]{1,2}[./][0-9]{2,4}[ ,;T]*)?"
    r"[0-9]{1,2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]{1,6}|,[0-9]{3}(?![0-9.,]))?)?(?:Z|\s*[-+][0-9]{2}:?[0-9]{2})?(?![0-9:])"
)

_cell_of = re.compile(rf"\s*({GROUPED_BY_BLANKS}|{TOKEN})\s*([^\d\s].*?)?\s*").fullmatch
_only_digits = re.compile(r"[-+]?[0-9]+").fullmatch
_grouped = re.compile(r"[-+]?[1-9][0-9]{0,2}(?:(?:,[0-9]{3})+(?:\.[0-9]+)?|(?:\.[0-9]{3})+,[0-9]+)").fullmatch
_number_with_comma = re.compile(r"[-+]?[0-9]+,[0-9]+").fullmatch
_ends_with_digit = re.compile(r".*[0-9]\s*", re.DOTALL).fullmatch
_plain_number = re.compile(rf"\s*{NUMBER_WITH_COMMA}\s*(?:[^\d\s].*?)?\s*").fullmatch
_grouped_by_blanks = re.compile(GROUPED_BY_BLANKS).fullmatch
_begins_with_clock = re.compile(rf"{CLOCK}|[0-9]{{1,4}}/[0-9]{{1,2}}/[0-9]{{2,4}}").match


def columns(text: str) -> tuple[Wording, ...]:
    """The wordings of a line of numbers without labels."""
    found: list[Wording] = []
    bare = text.strip()
    if _grouped_by_blanks(bare):
        return (*_columns_between(" ", text), *wordings_with("columns", ",", [ValueSeen("", bare, "")]))
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
        found += labels_behind(text)
    return tuple(found)


def _columns_between(separator: str, text: str) -> list[Wording]:
    cells = text.split(separator) if separator != " " else _words(text)
    if len(cells) > 1 and not cells[-1].strip() and separator != ",":
        del cells[-1]
    values = [_cell(cell) for cell in cells]
    known = [value for value in values if value is not None]
    if len(known) < len(values) or (separator == "," and any("," in one.text for one in known)):
        return []
    return list(wordings_with("columns", "," if len(cells) == 1 and separator == " " else separator, known))


def _joined_commas(bare: str) -> list[Wording]:
    """The columns of a line whose commas may be decimal signs, or stand between thousands."""
    wide = [_cell(cell) for cell in bare.split(", ")]
    known = [one for one in wide if one is not None]
    if 1 < len(wide) == len(known) and any("," in one.text for one in known):
        return list(wordings_with("columns", ", ", known))
    single = _cell(bare)
    if single is not None and (_grouped(single.text) or (single.unit and _number_with_comma(single.text))):
        return list(wordings_with("columns", ",", [single]))
    cells = bare.split(",")
    if _are_whole_in_pairs(cells):
        pairs = zip(cells[::2], cells[1::2], strict=True)
        return list(wordings_with("columns", ",", [ValueSeen("", f"{a},{b}", "") for a, b in pairs]))
    by_unit = [_cell(cell) for cell in _between_units(bare)]
    known = [one for one in by_unit if one is not None]
    if 1 < len(known) == len(by_unit) and any("," in one.text for one in known):
        return list(wordings_with("columns", ",", known))
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


def _cell(cell: str) -> ValueSeen | None:
    found = _cell_of(cell)
    if found and (not found[2] or is_unit(found[2])):
        return ValueSeen("", found[1], found[2] or "")
    return ValueSeen("", cell.strip(), "") if is_missing(cell) else None
