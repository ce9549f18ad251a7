"""Which fields of a board are computed from which: the same count always prints the same number beside it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .seen import ChannelSeen
from .window import Look, Numbers

LEARN_EVERY_NS = 10_000_000_000
LEAST_ROWS, LEAST_COUNTS, LEAST_NUMBERS = 20, 6, 4
_LEARN_ROWS = 300
_OFF_STRAIGHT = 1.1  # printed digits of a straight line: rounding leaves one step


class Straight(NamedTuple):
    """y = offset + slope * x, as far as it was seen: a curve looks straight over a short way."""

    offset: float
    slope: float
    low: float
    high: float

    def covers(self, x: Numbers) -> bool:
        """Whether all of these lie where the line was seen."""
        return bool(x.min() >= self.low and x.max() <= self.high)


class Companions:
    """Learns from the rows in which a field moved; what was learned holds until something else is learned.

    Two sensors in one cup move together, but the same number of the one does not always meet the same number
    of the other; what a program computes from a number does.
    """

    def __init__(self) -> None:
        self._straight: dict[tuple[int, int], Straight | None] = {}  # None: computed, by no straight line
        self.made_of_counts: frozenset[int] = frozenset()
        """The fields that are computed from a count: what is found in them is found in the count."""

    def look(self, look: Look) -> None:
        """Learn, every ten seconds."""
        if look.at_ns % LEARN_EVERY_NS or look.window.n < LEAST_ROWS:
            return
        for x in sources(look.fields):
            for y in look.fields:
                if y.is_measured and (y.role, y.unit) != (x.role, x.unit):
                    xs, ys = look.columns(x.index, y.index, _LEARN_ROWS)
                    if len(xs) >= LEAST_ROWS and is_computed(xs, ys):
                        self._straight[x.index, y.index] = straight_through(xs, ys, y.step)
        counts = [one.index for one in look.fields if one.role == "count"]
        self.made_of_counts = frozenset(y for x, y in self._straight if x in counts)

    def line(self, x: int, y: int) -> Straight | None:
        """How field y is computed from field x; None when it is not known."""
        return self._straight.get((x, y))

    def related(self, i: int, j: int) -> bool:
        """Whether both stand for one pin: one computed from the other, or both from a third."""
        if i == j or (i, j) in self._straight or (j, i) in self._straight:
            return True
        return any((x, i) in self._straight and (x, j) in self._straight for x, _ in self._straight)


def sources(fields: tuple[ChannelSeen, ...]) -> list[ChannelSeen]:
    """The fields that others may be computed from: the counts, without any the volts."""
    for role in ("count", "volts"):
        if found := [field for field in fields if field.role == role]:
            return found
    return []


def is_computed(xs: Numbers, ys: Numbers) -> bool:
    """Whether each x always meets the same y, over enough different ones of both."""
    order = np.argsort(xs, kind="stable")
    x, y = xs[order], ys[order]
    is_same = x[1:] == x[:-1]
    if len(x) - int(is_same.sum()) < LEAST_COUNTS or bool((y[1:][is_same] != y[:-1][is_same]).any()):
        return False
    return bool(is_same.sum() >= LEAST_COUNTS) and len(np.unique(y)) >= LEAST_NUMBERS


def straight_through(xs: Numbers, ys: Numbers, step: float) -> Straight | None:
    """The straight line, where the numbers lie on one within their last digit."""
    at = xs - xs.mean()
    slope = float(at @ ys / (at @ at))
    offset = float(ys.mean() - slope * xs.mean())
    off = ys - (offset + slope * xs)
    is_straight = np.ptp(off) <= _OFF_STRAIGHT * step
    return Straight(offset, slope, float(xs.min()), float(xs.max())) if is_straight else None
