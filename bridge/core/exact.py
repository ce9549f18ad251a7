"""The short way to read a line: the exact form of one that was read with care, compiled.

Most boards print the same characters around their numbers for hours. From one line that a reader took apart
with care, its form is kept: the texts between the numbers. A later line of that form is read by one pattern,
and many of them by a few whole-text replacements. A line of another form (a missing value, an exponent) takes
the careful way. The short way must never give another result: a form is used only after the careful way
agreed on probes.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from itertools import pairwise
from math import isfinite

Span = tuple[int, int]
Spans = Sequence[Span]
Values = tuple[float | None, ...]

_SIGNS_OF_NUMBERS = frozenset("0123456789.+-")
_NUMBER_BYTES = b"0123456789.+-"
_WHOLE_BYTES = b"0123456789+-"
_plain = re.compile(r"[-+]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)").fullmatch
# Thirty digits can't be too large for a double, and no board prints more.
CELL = r"([-+.0-9]{0,29}[0-9])"
JSON_CELL = r"(-?(?:0|[1-9][0-9]{0,14})(?:\.[0-9]{1,14})?)"  # JSON knows neither +5 nor 05
WHOLE_CELL = r"([-+0-9]{0,29}[0-9])"
POINTED_CELL = r"([-+0-9]{0,15}\.[0-9]{1,15})"
_DIGITS_CELL = r"([0-9]{1,15})"
_PROBES = ("7", "-12.5", "0.031", "40961")
_MARKS = "\x01\x02\x03\x04\x05\x06\x07\x08"  # framed text has no control characters: free as marks


class ExactForm:
    """The texts around the numbers of a line, compiled.

    Args:
        literals: One more than there are numbers.
        cell: What a number looks like.
        n_ahead: So many of the first numbers are plain digits, and are no fields.
        points: Which fields have decimals in every line; None: that may change.
    """

    def __init__(
        self,
        literals: Sequence[str],
        *,
        cell: str = CELL,
        n_ahead: int = 0,
        points: Sequence[bool] | None = None,
    ) -> None:
        self.literals, self.n_ahead = tuple(literals), n_ahead
        n = len(literals) - 1
        own = [cell] * (n - n_ahead)
        if points is not None:
            own = [POINTED_CELL if is_pointed else WHOLE_CELL for is_pointed in points]
        cells = [_DIGITS_CELL] * n_ahead + own
        pairs = zip(map(re.escape, literals), [*cells, ""], strict=True)
        self.fullmatch = re.compile("".join(a + b for a, b in pairs)).fullmatch
        first, *inner, last = literals
        self._first, self._last = first, last
        self._n_fields = len(inner) + 1
        # Equal literals share a mark; the longest is replaced first, since a shorter one may stand within it.
        marks = dict(zip(dict.fromkeys(inner), _MARKS, strict=False))
        self._marks = sorted(marks.items(), key=lambda one: -len(one[0]))
        self._is_for_many = cell == CELL and len(set(inner)) <= len(_MARKS) and not n_ahead
        points_or_none = ["." if one else "" for one in points or [False] * n]
        self._left_out = _NUMBER_BYTES if points is None else _WHOLE_BYTES
        between = [marks.get(one, "") for one in inner]
        self._row = "".join(a + b for a, b in zip(points_or_none, [*between, ""], strict=False)).encode()
        self._to_newline = {ord(mark): "\n" for mark in _MARKS}

    def values(self, texts: Sequence[str]) -> list[Values] | None:
        """The numbers of many lines at once; None when not every line has the form."""
        n = len(texts)
        blob = "\n".join(texts)
        has_ends = blob.startswith(self._first) and blob.endswith(self._last)
        if not (n and self._is_for_many and has_ends) or any(mark in blob for _, mark in self._marks):
            return None
        blob = blob[len(self._first) : len(blob) - len(self._last)]
        if self._first or self._last:
            between = f"{self._last}\n{self._first}"
            if blob.count("\n") != blob.count(between):
                return None
            blob = blob.replace(between, "\n")
        for literal, mark in self._marks:
            blob = blob.replace(literal, mark)
        try:
            rest = blob.encode("ascii").translate(None, self._left_out)
        except UnicodeEncodeError:
            return None
        if rest != (self._row + b"\n") * (n - 1) + self._row:
            return None  # another order, a cell that is no plain number, a line of another form
        if self._marks:
            blob = blob.translate(self._to_newline)
        if ".\n" in blob or blob.endswith("."):
            return None
        try:
            numbers = list(map(float, blob.split("\n")))
        except ValueError:
            return None
        if not isfinite(sum(numbers)):
            return None
        return list(zip(*(numbers[i :: self._n_fields] for i in range(self._n_fields)), strict=True))


def exact_form(
    text: str,
    spans: Spans,
    careful: Callable[[str], Spans | None],
    *,
    cell: str = CELL,
    n_ahead: int = 0,
    points: Sequence[bool] | None = None,
) -> ExactForm | None:
    """The form of a line whose numbers stand at `spans`; None when the short way could read it otherwise."""
    literals = _literals(text, spans)
    if literals is None:
        return None
    if points is not None and [("." in text[a:b]) for a, b in spans[n_ahead:]] != list(points):
        return None
    for i, probe in enumerate(_PROBES):
        cells = [str(i)] * n_ahead + [probe] * (len(spans) - n_ahead)
        text_with_probe = "".join(a + b for a, b in zip(literals, [*cells, ""], strict=True))
        found = careful(text_with_probe)
        if found is None or _literals(text_with_probe, found) != literals:
            return None
    return ExactForm(literals, cell=cell, n_ahead=n_ahead, points=points)


def _literals(text: str, spans: Spans) -> list[str] | None:
    flat = [0, *(at for span in spans for at in span), len(text)]
    if any(a > b for a, b in pairwise(flat)) or not all(_plain(text[a:b]) for a, b in spans):
        return None
    literals = [text[a:b] for a, b in zip(flat[::2], flat[1::2], strict=True)]
    clear_ahead = all(one[:1] not in _SIGNS_OF_NUMBERS and one[:1] not in ("e", "E") for one in literals[1:])
    clear_behind = all(one[-1:] not in _SIGNS_OF_NUMBERS for one in literals[:-1])
    return literals if clear_ahead and clear_behind and all(literals[1:-1]) else None
