"""Chooses among the ways in which the same lines can be read, by how the numbers behave in each."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import copysign
from statistics import median
from typing import NamedTuple

from .notation import POINT, notations_of
from .printed import Notation, Printed, is_missing, printed_number
from .wording import Wording

N_SURE = 6  # so many lines show whether whole numbers are padded with zeros
N_SPREAD = 12  # so many unlike ones show whether the digits behind the comma run through all values
N_STILL = 8  # so many, whether it keeps still while the number before it does
N_MANY = 20  # so many show it of several numbers, each a little
_leading_digits = re.compile(r"[0-9]+").match
_MAX_PERIOD = 6


class Way(NamedTuple):
    """One way in which lines can be read."""

    seen: tuple[Wording, ...]
    notation: Notation

    @property
    def n(self) -> int:
        """Numbers in a line."""
        return len(self.seen[0].texts)


def ways_of(groups: Sequence[tuple[frozenset[int], Sequence[Wording]]]) -> list[Way]:
    """The ways in which the lines can be read; the group that reads the most lines comes first.

    Args:
        groups: For each wording the numbers of the lines that show it, and how each shows it.

    A wording that reads only some of the lines of another is left out.
    """
    standing = [(lines, seen) for lines, seen in groups if not any(lines < others for others, _ in groups)]
    found: list[Way] = []
    for _, seen in standing:
        columns = zip(*(one.texts for one in seen), strict=True)
        numbers = [[text for text in column if not is_missing(text)] for column in columns]
        found += [Way(tuple(seen), notation) for notation in notations_of(numbers)]
    return found


def likely(ways: Sequence[Way]) -> list[Way]:
    """Those that the numbers speak for; all of them when they don't."""
    split = [way for way in ways if way.n > 1 and (way.notation == POINT or way.seen[0].separator == " ")]
    joined = [way for way in ways if way not in split]
    if not split or not joined or len(split) > 1:
        return list(ways)
    (columns,) = split
    wide = [way for way in joined if way.seen[0].separator == ", "]
    if wide:  # `23,5, 45,1`: between four columns there would be a blank behind every comma or none
        return wide
    rows = [one.texts for one in columns.seen if not any(map(is_missing, one.texts))]
    if any(columns.seen[0].units):
        verdict = _weighed_units(joined[0])
    elif "." in "".join(row[0] for row in rows):
        verdict = _weighed_points(rows)
    else:
        verdict = _weighed(rows) if columns.n == 2 else _weighed_many(rows)
    return split if verdict == "columns" else joined if verdict == "joined" else list(ways)


def may_be_decimal_commas(way: Way) -> bool:
    """Whether columns between commas have one that begins with a zero, as no whole number is printed."""
    first = way.seen[0]
    if first.kind != "columns" or first.separator != "," or way.n < 2 or way.notation.decimal_comma:
        return False
    return any(_is_padded(cell) for one in way.seen for cell in one.texts[1:])


def _is_padded(cell: str) -> bool:
    return len(cell) > 1 and cell[0] == "0" and cell.isdigit()


def _weighed_units(joined: Way) -> str:
    """The same where units end the numbers and so say which belong together: `51,63 C,18 C`."""
    fields = [texts for texts in zip(*(one.texts for one in joined.seen), strict=True) if "," in texts[-1]]
    verdicts = []
    for texts in fields:
        rows = [text.split(",") for text in texts]
        if any("." in row[0] for row in rows):
            verdicts.append(_weighed_points(rows, has_one_unit=joined.n == 1))
        elif all(len(row) == 2 for row in rows):
            verdicts.append(_weighed(rows))
    return "columns" if "columns" in verdicts else "joined" if "joined" in verdicts else ""


def _weighed_points(rows: Sequence[Sequence[str]], *, has_one_unit: bool = False) -> str:
    """The same where a point stands in the first: `1.013,5`. Numbers of three decimals are the usual case."""
    if any("." not in row[0] for row in rows):
        return "joined"  # 998,7 and 1.013,5: no program prints now three decimals, now none
    ends_alike = len({len(row[-1]) for row in rows}) == 1 and len(rows[0][-1]) <= 2
    return "" if ends_alike and has_one_unit else "columns"


def _weighed(rows: Sequence[Sequence[str]]) -> str:
    """Whether two whole numbers with a sign between are two columns, or one number that the sign divides.

    One number that moves smoothly passes from 23,98 to 24,03; two columns do not take notice of each other.
    """
    if len(rows) < 3:
        return ""
    wholes = [float(a) for a, _ in rows]
    parts = [found[0] if (found := _leading_digits(b)) else "" for _, b in rows]
    widths = {len(part) for part in parts}
    if all(b - a == 1 for a, b in pairwise(wholes)):
        return "columns"  # a running number
    if "" in parts:
        return "columns"
    if any(a == "-0" for a, _ in rows):
        return ""  # -0,3 most likely; but a number that is rounded to a whole one is printed so too
    if any(len(part) > 1 and part[0] == "0" for part in parts):
        return "joined" if len(rows) >= N_SURE and len(widths) == 1 else ""
    if len(widths) > 1 and any(len(part) > 1 and part.endswith("0") for part in parts):
        return "columns"  # a program that leaves zeros out prints none at the end either
    return _weighed_by_steps(wholes, parts)


def _weighed_by_steps(wholes: Sequence[float], parts: Sequence[str]) -> str:
    numbers = [a + copysign(int(part), a) / 10 ** len(part) for a, part in zip(wholes, parts, strict=True)]
    steps = list(zip(pairwise(wholes), pairwise(numbers), strict=True))
    within = [abs(y - x) for (a, b), (x, y) in steps if a == b]
    across = [abs(y - x) for (a, b), (x, y) in steps if a != b]
    if not across:
        return ""
    if max(across) >= 1:
        return "columns" if _are_apart(parts, within, across, len(set(numbers))) else ""
    is_smooth = max(across) < 0.5 and max(within, default=0.0) < 0.5
    return "joined" if is_smooth and len(across) >= 2 and len(numbers) >= N_SURE else ""


def _are_apart(parts: Sequence[str], within: Sequence[float], across: Sequence[float], n: int) -> bool:
    """Whether what is behind the comma goes its own way while the number before it jumps about.

    Of one number it would run through all digits; or, where it moves little, so would the whole number.
    """
    ints = [int(part) for part in parts]
    top = 10 ** len(parts[0]) if len(set(map(len, parts))) == 1 else max(ints) or 1
    spread = (max(ints) - min(ints)) / top
    keeps_still = len(within) >= 5 and len(across) >= 2 and median(across) > 5 * max(within)
    return (n >= N_SPREAD and spread < 0.5) or (n >= N_STILL and keeps_still and spread < 0.8)


def _weighed_many(rows: Sequence[Sequence[str]]) -> str:
    """The same of three and more numbers: they are columns unless something speaks for decimal commas.

    Two things do: what would be a fraction begins with a zero, as no whole number is printed; or it is always
    one digit, and with it the number moves smoothly. Where the comma then stands is for a person to say.
    """
    if len(rows[0]) % 2:  # groups of three digits
        return "columns" if _weighed([row[:2] for row in rows]) == "columns" else ""
    fractions = [row[i] for row in rows for i in range(1, len(row), 2)]
    if any(len(fraction) > 1 and fraction[0] == "0" for fraction in fractions):
        return ""
    pairs = [[row[i : i + 2] for row in rows] for i in range(0, len(rows[0]), 2)]
    if any(_weighed(pair) == "columns" for pair in pairs):
        return "columns"
    is_doubtful = all(len(fraction) == 1 for fraction in fractions) and all(map(_moves_smoothly, pairs))
    return "columns" if len(rows) >= N_MANY and not is_doubtful else ""


def _moves_smoothly(pairs: Sequence[Sequence[str]]) -> bool:
    wholes = [int(a) for a, _ in pairs]
    return all(abs(a - b) <= 1 for a, b in pairwise(wholes)) and all(abs(one) > 9 for one in wholes)


def are_alike(way: Way) -> bool:
    """Whether bare numbers, one on a line, are plainly one quantity: the same decimals, no jumps."""
    found = [one for one in numbers_of(way) if one.value is not None]
    values = [one.value for one in found if one.value is not None]
    greatest = max(map(abs, values), default=0.0)
    is_smooth = all(abs(a - b) <= 0.25 * greatest for a, b in pairwise(values))
    return len({one.decimals for one in found}) == 1 and is_smooth


def period_of(numbers: Sequence[Printed]) -> int:
    """After how many lines bare numbers come round again; 0 when nothing speaks for such turns."""
    for n in range(2, _MAX_PERIOD + 1):
        if len(numbers) < 2 * n + 1:
            break
        phases = [[one for one in numbers[i::n] if one.value is not None] for i in range(n)]
        if not all(phases):
            continue
        decimals = [{one.decimals for one in phase} for phase in phases]
        if all(len(one) == 1 for one in decimals) and len(set(map(frozenset, decimals))) > 1:
            return n
        if len(numbers) >= 3 * n and _keep_apart(phases):
            return n
    return 0


def _keep_apart(phases: Sequence[Sequence[Printed]]) -> bool:
    """Whether each turn keeps to a range of its own, narrow beside the gaps between them."""
    spans = sorted(
        (min(values), max(values))
        for values in ([one.value for one in phase if one.value is not None] for phase in phases)
    )
    widest = max(high - low for low, high in spans)
    gaps = [b[0] - a[1] for a, b in pairwise(spans)]
    return min(gaps) > 0 and widest <= 0.3 * min(gaps)


def numbers_of(way: Way) -> Iterator[Printed]:
    """The first number of each line."""
    for one in way.seen:
        found = printed_number(
            one.texts[0], decimal_comma=way.notation.decimal_comma, thousands=way.notation.thousands
        )
        yield found or Printed(one.texts[0], None, 0)
