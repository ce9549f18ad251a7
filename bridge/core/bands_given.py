"""Bands as the instructor set them: steps above a baseline, and where the baseline comes from."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import Literal

MAX_EDGES = 12  # more steps than that nobody tells apart from the back row
BaselineFrom = Literal["fixed", "captured", "start"]


def _need(holds: bool, rule: str, found: object) -> None:
    if not holds:
        raise ValueError(f"{rule}, found {found!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class BandsGiven:
    """Steps above a baseline: band 0 lies below the first edge, band k above the k-th.

    The baseline is a fixed value; or captured for each bench at a press; or the mean of the first steady
    stretch of a bench in the session. While a bench has none it has no bands either.
    """

    edges: tuple[float, ...]  # above the baseline, rising, 1 to 12, in the channel's unit
    names: tuple[str, ...]  # one more than edges; "" where the lesson names none
    baseline: float | None = None  # in the channel's unit; of a bench without its own
    baseline_from: BaselineFrom = "fixed"
    deadband: float = 0.0
    dwell_seconds: float = 0.0  # a band that was entered is held for so long at least
    steady_seconds: float = 20.0  # how long the value must have stayed to make a baseline
    phases: tuple[str, ...] = ()  # of the lesson, in which there are bands; none: in all

    def __post_init__(self) -> None:
        rising = all(low < high < math.inf for low, high in pairwise((0.0, *self.edges)))
        _need(rising and len(self.edges) > 0, "edges must rise from above 0", self.edges)
        _need(len(self.edges) <= MAX_EDGES, "edges must be 12 or fewer", len(self.edges))
        _need(len(self.names) == len(self.edges) + 1, "names must be one more than edges", self.names)
        _need(0 <= self.deadband < math.inf, "deadband must be 0 or more", self.deadband)
        _need(0 <= self.dwell_seconds < math.inf, "dwell_seconds must be 0 or more", self.dwell_seconds)
        _need(5 <= self.steady_seconds <= 60, "steady_seconds must be from 5 to 60", self.steady_seconds)
        has_one = self.baseline is not None or self.baseline_from != "fixed"
        _need(has_one, "a fixed baseline needs its value", self.baseline)


def bands_in(phase: str, own: BandsGiven | None, phase_bands: Sequence[BandsGiven]) -> BandsGiven | None:
    """The bands that hold in a phase of the lesson ("": in none), None where there are none in it."""
    for bands in phase_bands:
        if phase in bands.phases:
            return bands
    return own if own is None or not own.phases or phase in own.phases else None


def equal_edges(step: float, n: int) -> tuple[float, ...]:
    """Edges by equal steps: 0.1, 0.2, 0.3, never 0.30000000000000004.

    Args:
        step: Between neighbours, above 0, in the channel's unit.
        n: How many, 1 to 12.

    Raises:
        ValueError: No such steps.
    """
    _need(0 < step < math.inf, "a step must be above 0", step)
    _need(1 <= n <= MAX_EDGES, "there are 1 to 12 edges", n)
    return tuple(float(Decimal(repr(step)) * k) for k in range(1, n + 1))


def percent_edges(percents: Sequence[float], low: float, high: float) -> tuple[float, ...]:
    """Edges by percent of the channel's span: 10 % of 15 to 50 °C lies 3.5 °C above the baseline.

    Args:
        percents: Rising, above 0, 1 to 12 of them.
        low: The lower end of the channel's scale, in its unit.
        high: The upper end.

    Raises:
        ValueError: No such edges.
    """
    span = Decimal(repr(high)) - Decimal(repr(low))
    _need(span > 0, "low must be below high", (low, high))
    rising = all(a < b < math.inf for a, b in pairwise((0.0, *percents)))
    _need(rising and 1 <= len(percents) <= MAX_EDGES, "1 to 12 percents rise from above 0", percents)
    return tuple(float(span * Decimal(repr(percent)) / 100) for percent in percents)
