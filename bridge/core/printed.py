"""One number as a board printed it: plain ASCII decimal notation only, or a word for a missing value.

`float` alone is too friendly: it takes `1_000`, `inf`, digits of other scripts and blanks. A number here is a
sign, ASCII digits, one decimal sign with a digit behind it, an exponent, and nothing else. It ends with a
digit, so that `40.`, the front half of a number that was cut, is no number.
"""

from __future__ import annotations

import re
from functools import cache
from math import isfinite
from typing import NamedTuple


class Printed(NamedTuple):
    """One field of a line, as printed and as a number."""

    text: str
    value: float | None  # None: the board printed a word for a missing value; never zero instead
    decimals: int  # digits after the decimal sign, less the exponent; 0 when the value is missing


NUMBER = r"[-+]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)(?:[eE][-+]?[0-9]{1,3})?"
NUMBER_WITH_COMMA = NUMBER.replace(r"\.", "[.,]")  # a decimal point is still taken: some columns print one

# The mark between groups of three digits, as a lesson writes it -> what stands for it in a text.
THOUSANDS = {",": ",", ".": r"\.", "'": "['\u2019]", " ": "[ \u00a0\u202f]"}


class Notation(NamedTuple):
    """How a board writes its numbers."""

    decimal_comma: bool = False
    thousands: str = ""  # one of THOUSANDS; "" for no mark

    @property
    def pattern(self) -> str:
        """What a number looks like. One below a thousand or without its marks is taken too."""
        return _pattern(self)

    def pointed(self, text: str) -> str:
        """The same number with a decimal point and without marks."""
        if self.thousands:
            text = re.sub(THOUSANDS[self.thousands], "", text)
        return text.replace(",", ".") if self.decimal_comma else text


@cache
def _pattern(notation: Notation) -> str:
    if not notation.thousands:
        return NUMBER_WITH_COMMA if notation.decimal_comma else NUMBER
    mark, sign = THOUSANDS[notation.thousands], "," if notation.decimal_comma else r"\."
    grouped = rf"[1-9][0-9]{{0,2}}(?:{mark}[0-9]{{3}})+(?:{sign}[0-9]+)?"
    return rf"[-+]?(?:{grouped}|[0-9]+(?:{sign}[0-9]+)?|{sign}[0-9]+)(?:[eE][-+]?[0-9]{{1,3}})?"


_number = cache(lambda notation: re.compile(_pattern(notation)).fullmatch)

_WORDS = (
    *("nan", "nan(ind)", "inf", "infinity", "ovf", "ovrflw", "overflow", "null", "none", "nil", "undefined"),
    *(
        "na",
        "n/a",
        "#n/a",
        "n.a.",
        "nodata",
        "no data",
        "error",
        "err",
        "fail",
        "failed",
        "failure",
        "invalid",
    ),
    *("disconnected", "unplugged", "not connected", "no sensor", "out of range", "timeout"),
)
_missing_words = frozenset((*_WORDS, ""))
_SIGNS = r"[-–—]+|\?+|\*+|#+|_+|\.{2,}"  # runs of signs that stand for nothing: ---, ??, ****
_missing_signs = re.compile(_SIGNS).fullmatch
_longest_first = "|".join(re.escape(word) for word in sorted(_WORDS, key=len, reverse=True))
MISSING = rf"[-+]?(?i:{_longest_first})(?![\w.])|{_SIGNS}"


def is_missing(text: str) -> bool:
    """Whether a cell's text stands for a missing value; an empty cell does."""
    word = text.strip().casefold()
    return word in _missing_words or word.lstrip("+-") in _missing_words or bool(_missing_signs(word))


def printed_number(text: str, *, decimal_comma: bool = False, thousands: str = "") -> Printed | None:
    """The number that the text is, None when it is none or too large for a double. No unit, no blanks."""
    notation = Notation(decimal_comma, thousands)
    if not _number(notation)(text):
        return None
    pointed = notation.pointed(text)
    value = float(pointed)
    return Printed(text, value, _decimals(pointed)) if isfinite(value) else None


def printed(text: str, *, decimal_comma: bool = False, thousands: str = "") -> Printed | None:
    """A cell's text as a number or as missing; None when it is neither. Blanks around it are ignored."""
    bare = text.strip()
    number = printed_number(bare, decimal_comma=decimal_comma, thousands=thousands)
    if number is None and is_missing(bare):
        return Printed(bare, None, 0)
    return number


def _decimals(number: str) -> int:
    mantissa, _, exponent = number.lower().partition("e")
    decimals = len(mantissa.partition(".")[2])
    return max(0, decimals - int(exponent)) if exponent else decimals
