"""Finds out how a board writes its numbers: 1,234.5 or 1.234,5 or 1234,5. Says so when nobody can tell."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from functools import cache

from bridge.core.printed import NUMBER, Notation

# Whatever a program may have meant as one number, rightly written or not: `2.5123.45` as well.
TOKEN = r"[-+]?(?:[0-9]+(?:[.,'\u2019][0-9]+)*|[.,][0-9]+)(?:[eE][-+]?[0-9]{1,3})?"  # noqa: S105 (no password)
GROUPED_BY_BLANKS = r"[-+]?[1-9][0-9]{0,2}(?:[ \u00a0\u202f][0-9]{3})+(?:[.,][0-9]+)?(?![0-9])"

POINT, COMMA = Notation(), Notation(decimal_comma=True)
# Numbers without marks first: what they read needs no other.
_ALL = (POINT, COMMA, *(Notation(comma, mark) for mark in (",", ".", "'", " ") for comma in (False, True)))
_CLEAR = tuple(one for one in _ALL if one.thousands != ("," if one.decimal_comma else "."))
_two_points = re.compile(r"[-+]?[0-9]*\.[0-9]+\.[0-9.]*[0-9]").fullmatch


def notations_of(columns: Sequence[Iterable[str]]) -> tuple[Notation, ...]:
    """The notations in which all these numbers can be read, each with other numbers than the others.

    Args:
        columns: For each field the numbers as printed, words for missing values left out.

    Returns:
        None: these are no numbers. One: it is certain. Two: nobody can tell, as between 1,234 with a decimal
        comma and with thousands.
    """
    texts = [list(dict.fromkeys(column)) for column in columns]
    flat = [text for column in texts for text in column]
    if all(map(_strict(POINT), flat)):
        return (POINT,)  # 1.234 is what it looks like
    found: dict[tuple[str, ...], Notation] = {}
    for notation in _CLEAR:
        if all(map(_strict(notation), flat)):
            found.setdefault(tuple(map(notation.pointed, flat)), notation)
    standing = tuple(found.values())
    if not standing and all(map(re.compile(COMMA.pattern).fullmatch, flat)):
        return (COMMA,)  # some columns with a comma, some with a point
    if COMMA in standing and len(standing) > 1 and any(map(_is_grouped_above_a_thousand, texts)):
        return tuple(one for one in standing if one != COMMA)
    return standing


def has_two_points(text: str) -> bool:
    """Whether a word has the points of two numbers, like `2.5123.45`, and not those between thousands."""
    return bool(_two_points(text)) and not _strict(Notation(True, "."))(text)


def _is_grouped_above_a_thousand(texts: Sequence[str]) -> bool:
    """998 and 1,002 in one column: no program prints now no decimals, now three."""
    return any("," in text for text in texts) and any(text.lstrip("+-").isdigit() for text in texts)


@cache
def _strict(notation: Notation) -> Callable[[str], object]:
    """With the decimal sign of that notation only, and with all marks where they belong."""
    if notation == COMMA:
        return re.compile(NUMBER.replace(r"\.", ",")).fullmatch
    if notation.thousands:
        pattern = re.compile(notation.pattern).fullmatch
        bare = re.compile(r"[-+]?[0-9]{4,}").match
        return lambda text: None if bare(text) else pattern(text)
    return re.compile(notation.pattern).fullmatch
