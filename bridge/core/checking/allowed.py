"""Which numbers every record allows, and which of them a person is likely to have typed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from bridge.core.checking.columns import Columns
from bridge.core.checking.intervals import Interval, PrintedColumn
from bridge.core.checking.programs import Program


class Allowed(NamedTuple):
    """The numbers that every record allows; none where least > most."""

    least: float
    most: float

    @property
    def roundest(self) -> float:
        """The number among them that has the fewest digits, as a person would have typed it."""
        middle = (self.least + self.most) / 2
        for digits in range(1, 12):
            number = float(f"{middle:.{digits}g}")
            if self.least <= number <= self.most:
                return number
        return middle


class Candidate(NamedTuple):
    """A number that one way of computing and printing allows, and what all of them allow together."""

    number: float
    own: Allowed
    allowed: Allowed


def roundest_first(found: Iterator[Allowed]) -> list[Candidate]:
    """A number for each way of print that allows one, the roundest first.

    Cut instead of rounded, an offset of 1.6 printed to tenths looks like one of 1.65.
    """
    some = [one for one in found if one.least <= one.most]
    if not some:
        return []
    hull = Allowed(min(one.least for one in some), max(one.most for one in some))
    different = {one.roundest: one for one in reversed(some)}  # of like ones the first: the most usual way
    different = dict(reversed(different.items()))
    numbers = sorted(different, key=lambda number: len(f"{number:.12g}"))
    return [Candidate(number, different[number], hull) for number in numbers]


def ways_of(program: Program, columns: Columns) -> list[Interval]:
    """What the printed values stand for; a value cut to whole numbers lies anywhere up to the next."""
    assert columns.value is not None
    assert program.value is not None
    if program.value.is_whole:
        return [PrintedColumn(columns.value.numbers, 1.0).readings()[1]]
    return columns.value.readings()
