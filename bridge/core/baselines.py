"""A bench's own baseline: the mean of a steady stretch, with its uncertainty."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from bridge.core.limits import NEVER_NS
from bridge.core.rates import ASSESS_EVERY_NS, SlopeWindow, fitted_slope, step_of
from bridge.core.uncertainty import decimals_for, resolution_uncertainty, rounded, with_uncertainty

MIN_READINGS = 10
MIN_SPAN = 0.9  # of the stretch must be covered by readings
_MOST_CORRELATED = 0.98  # beyond, a stretch says nothing about its mean


class Baseline(NamedTuple):
    """The mean of a steady stretch, rounded to what its uncertainty leaves."""

    value: float  # in the channel's unit
    u: float  # standard uncertainty
    n: int
    seconds: float
    at_ns: int  # the end of the stretch

    def words(self, unit: str) -> str:
        """As one says it: '20.14 ± 0.02 °C, from 300 readings in 30 s'."""
        value = with_uncertainty(self.value, self.u, unit)
        return f"{value}, from {self.n} readings in {self.seconds:.0f} s"


def steady_mean(times_ns: Sequence[int], values: Sequence[float], at_ns: int) -> Baseline | None:
    """The mean of a stretch, None when it drifts, or is too short to tell.

    It drifts when the slope of the line through it is none of chance (95 %). What the mean's uncertainty is
    made of: the scatter, where neighbours that follow each other count as fewer readings; the board's step,
    where the readings repeat; what the fitted slope may have moved the mean by.

    Args:
        times_ns: Rising, shape (n,).
        values: Readings, shape (n,), any unit.
        at_ns: The instant the baseline is from.

    Source: JCGM 100:2008 (GUM), 4.2 (mean), F.2.2.1 (step); the variance of a mean of correlated readings by
    the first-order autoregressive model, (1 + r) / (1 - r).
    """
    n = len(values)
    if n < MIN_READINGS:
        return None
    x = (np.array(times_ns, dtype=np.int64) - at_ns) / 1e9
    y = np.array(values)
    slope = fitted_slope(x, y)
    if slope is None or abs(slope.per_minute) > slope.expanded:
        return None
    mean = float(y.mean())
    rest = y - mean
    squares = float((rest * rest).sum())
    u_mean = 0.0
    if squares > 0:
        r = float((rest[1:] * rest[:-1]).sum()) / squares
        r = min(max(r, 0.0), _MOST_CORRELATED)
        u_mean = math.sqrt(squares / (n - 1) / n * (1 + r) / (1 - r))
    seconds = float(x[-1] - x[0])
    u_drift = abs(slope.per_minute) / 60 * seconds / 2 / math.sqrt(3)
    u = math.hypot(u_mean, resolution_uncertainty(step_of(y)), u_drift)
    return Baseline(float(rounded(mean, decimals_for(u))), u, n, seconds, at_ns)


class BaselineFinder:
    """Keeps the newest stretch of a channel, and finds its baseline: at a press, or as soon as it is steady.

    While it `seeks` it looks at each full second, from the readings before it.
    """

    def __init__(self, stretch_seconds: float, *, seeks: bool) -> None:
        self._stretch_ns = round(stretch_seconds * 1e9)
        self._window = SlopeWindow(self._stretch_ns)
        self.seeks = seeks
        self.due_ns = NEVER_NS  # when it looks next

    def take_many(self, times_ns: Sequence[int], values: Sequence[float]) -> None:
        """Take good values, in the order of their times."""
        self._window.add(times_ns, values)
        self._window.shed(times_ns[-1])
        if self.seeks:
            self.due_ns = self._next_look(times_ns[0])

    def is_quiet(self, times_ns: Sequence[int]) -> bool:
        """Whether taking values at these times lets nothing fall due."""
        return not self.seeks or times_ns[-1] < self._next_look(times_ns[0])

    def look(self) -> Baseline | None:
        """What is due: whether the stretch is steady now. Once it is, the finder seeks no more."""
        at_ns = self.due_ns
        found = self.at(at_ns)
        self.seeks = found is None
        newest_ns = self._window.newest_ns
        is_worth = self.seeks and newest_ns is not None and newest_ns >= at_ns - self._stretch_ns
        self.due_ns = at_ns + ASSESS_EVERY_NS if is_worth else NEVER_NS
        return found

    def at(self, at_ns: int) -> Baseline | None:
        """The baseline from the stretch before that instant, None when it is not steady or not covered."""
        times_ns, values = self._window.before(at_ns)
        if not times_ns or times_ns[-1] - times_ns[0] < MIN_SPAN * self._stretch_ns:
            return None
        return steady_mean(times_ns, values, at_ns)

    def stop(self) -> None:
        """There is a baseline: look for none."""
        self.seeks, self.due_ns = False, NEVER_NS

    def lose(self) -> None:
        """There is no value any more; the next one may come from another board."""
        self._window.clear()
        self.due_ns = NEVER_NS

    def _next_look(self, at_ns: int) -> int:
        """When it looks next, when a reading comes at that time."""
        return self.due_ns if self.due_ns != NEVER_NS else (at_ns // ASSESS_EVERY_NS + 1) * ASSESS_EVERY_NS
