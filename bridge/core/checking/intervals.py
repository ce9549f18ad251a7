"""What a printed number stands for: the interval of numbers that would have been printed so."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]
Places = NDArray[np.intp] | NDArray[np.bool_]

CLOSENESS = 1e-6
"""Relative: what some operations with 32-bit floats (6e-8 each) leave of a number's digits, with room."""

TIGHTNESS = 1e-10
"""The same of 64-bit floats."""


_OPEN = 1e-6  # of a step: an end that does not belong to the interval


class Interval(NamedTuple):
    """Ends of intervals, both included; shapes alike."""

    low: Numbers
    high: Numbers

    def part(self, at: Places) -> Interval:
        """Some of them."""
        return Interval(self.low[at], self.high[at])


def sorted_interval(one: Numbers, other: Numbers) -> Interval:
    """From two ends in either order; NaN where either is."""
    return Interval(np.minimum(one, other), np.maximum(one, other))


def widened(interval: Interval, by: Numbers | float) -> Interval:
    """Longer by so much at both ends."""
    return Interval(interval.low - by, interval.high + by)


@dataclass(frozen=True, slots=True)
class PrintedColumn:
    """One field's numbers with the step of its last digit."""

    numbers: Numbers
    step: float
    _readings: list[Interval] = field(default_factory=list, init=False, repr=False, compare=False)

    def readings(self) -> list[Interval]:
        """What they stand for, by each way of printing: to nearest, cut towards zero, cut downwards.

        To nearest takes in both ends: programs differ in what they do with a tie.
        """
        if self._readings:  # every program that is tried asks
            return self._readings
        y, step = self.numbers, self.step
        ways = self._readings
        ways.append(Interval(y - step / 2, y + step / 2))
        # What is cut to 0 may have been on either side; the next step itself would be printed as such.
        below = step * (1 - _OPEN)
        ways.append(Interval(np.where(y > 0, y, y - below), np.where(y < 0, y, y + below)))
        if (y < 0).any():
            ways.append(Interval(y, y + below))
        return ways

    def part(self, at: Places) -> PrintedColumn:
        """Some of them."""
        return PrintedColumn(self.numbers[at], self.step)


def meets(computed: Interval, ways: list[Interval]) -> NDArray[np.bool_]:
    """Which rows of computed numbers, shape (m, n), meet all n printed ones by one of the ways."""
    met = np.zeros(computed.low.shape[0], dtype=np.bool_)
    for way in ways:
        met |= ((computed.low <= way.high) & (computed.high >= way.low)).all(axis=-1)
    return met
