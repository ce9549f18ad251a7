"""How fast a channel changes: a slope fitted over a window, with its uncertainty, and the alarm on it.

Differences of two readings are useless here: with readings ten times a second and noise of 0.1 °C two
neighbours differ by 60 °C a minute while the water stands still. A line through all readings of half a
minute is uncertain by a thousandth of that.
"""

from __future__ import annotations

import math
from array import array
from bisect import bisect_left
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from bridge.core.alarm_given import AlarmGiven
from bridge.core.as_written import sum_as_written
from bridge.core.limits import NEVER_NS, AlarmWatch

ASSESS_EVERY_NS = 1_000_000_000  # at each full second of session time, whatever portions the data came in
MIN_READINGS = 6
MIN_SPAN = 0.5  # of the window must be covered by readings
MAX_READINGS = 100_000  # in a window; of more the oldest go, the window is then shorter
SECONDS_A_MINUTE = 60.0
_SHED = 4096  # readings that may lie outside the window before they are thrown away


class Slope(NamedTuple):
    """A fitted slope, in the unit per minute."""

    per_minute: float
    u: float  # standard uncertainty
    dof: int  # degrees of freedom of the fit
    n: int

    @property
    def expanded(self) -> float:
        """Half the width of the interval that holds the true slope with about 95 %."""
        return quick_coverage_factor(self.dof) * self.u


def quick_coverage_factor(dof: int) -> float:
    """The factor from a standard uncertainty with so many degrees of freedom to an interval of 95.45 %.

    An expansion of Student's t about the normal 2; right to 0.4 % from 4 degrees of freedom on. The exact one
    in `uncertainty` imports scipy, for half a second, in the midst of a session.

    Source: JCGM 100:2008 (GUM), Table G.2 (the values); Abramowitz and Stegun 26.7.5 (the expansion).
    """
    return 2.0 + 2.5 / dof + 3.0625 / dof**2 + 2.859375 / dof**3


def fitted_slope(seconds: np.ndarray, values: np.ndarray) -> Slope | None:
    """The slope of the straight line through the readings, None when the times are all the same.

    The scatter about the line gives its uncertainty. Where the readings repeat (fewer than half of them are
    different), the board's step shows: a step in the middle of the window tilts the line by as much as
    1.5 steps over the window although nothing moves. That bound counts in as a rectangular distribution.

    Args:
        seconds: Times, shape (n,), n >= 3, rising.
        values: Readings, shape (n,), any unit.

    Source: JCGM 100:2008 (GUM), H.3 (slope of a line), F.2.2.1 (rectangular distribution).
    """
    n = len(values)
    x = seconds - seconds.mean()
    y = values - values.mean()
    slope = _slope_alone(x, y)
    if slope is None:
        return None
    rest = y - slope * x
    variance = float((rest * rest).sum()) / (n - 2) / float((x * x).sum())
    variance += (1.5 * step_of(values) / float(seconds[-1] - seconds[0])) ** 2 / 3
    return Slope(slope * SECONDS_A_MINUTE, math.sqrt(variance) * SECONDS_A_MINUTE, n - 2, n)


def _slope_alone(x: np.ndarray, y: np.ndarray) -> float | None:
    """The slope of points whose mean is (0, 0); None when the times are all the same."""
    sxx = float((x * x).sum())
    return float((x * y).sum()) / sxx if sxx > 0 else None


def step_of(values: np.ndarray) -> float:
    """The least difference of readings that repeat (fewer than half are different), else 0: no step shows."""
    distinct = np.unique(values)
    return float(np.diff(distinct).min()) if 1 < len(distinct) < len(values) / 2 else 0.0


class SlopeWindow:
    """The readings of the last stretch of a channel, added as they come; the slope at any instant of it."""

    def __init__(self, window_ns: int) -> None:
        self.window_ns = window_ns
        self._at_ns, self._values = array("q"), array("d")

    @property
    def newest_ns(self) -> int | None:
        """Time of the newest reading."""
        return self._at_ns[-1] if self._at_ns else None

    def add(self, times_ns: Sequence[int], values: Sequence[float]) -> None:
        """Add readings, in the order of their times."""
        self._at_ns.extend(times_ns)
        self._values.extend(values)

    def copy(self) -> SlopeWindow:
        """The same readings, to try something with."""
        twin = SlopeWindow(self.window_ns)
        twin.add(self._at_ns, self._values)
        return twin

    def clear(self) -> None:
        """Forget all readings."""
        del self._at_ns[:]
        del self._values[:]

    def shed(self, at_ns: int) -> None:
        """Throw away what no slope from that instant on needs."""
        n = bisect_left(self._at_ns, at_ns - self.window_ns)
        if n > _SHED or len(self._at_ns) > 2 * MAX_READINGS:
            n = max(n, len(self._at_ns) - 2 * MAX_READINGS)
            del self._at_ns[:n]
            del self._values[:n]

    def slope(self, at_ns: int) -> Slope | None:
        """The slope over the window before that instant, None with too few readings."""
        points = self._points(at_ns)
        return fitted_slope(*points) if points else None

    def per_minute(self, at_ns: int) -> float | None:
        """`slope` without its uncertainty: the same number in a third of the time."""
        points = self._points(at_ns)
        if points is None:
            return None
        x, y = points
        alone = _slope_alone(x - x.mean(), y - y.mean())
        return None if alone is None else alone * SECONDS_A_MINUTE

    def before(self, at_ns: int) -> tuple[Sequence[int], Sequence[float]]:
        """Times and values of the readings in the window before that instant."""
        end = bisect_left(self._at_ns, at_ns)
        start = max(bisect_left(self._at_ns, at_ns - self.window_ns), end - MAX_READINGS)
        return self._at_ns[start:end], self._values[start:end]

    def _points(self, at_ns: int) -> tuple[np.ndarray, np.ndarray] | None:
        times_ns, values = self.before(at_ns)
        if len(values) < MIN_READINGS or times_ns[-1] - times_ns[0] < MIN_SPAN * self.window_ns:
            return None
        return (np.array(times_ns, dtype=np.int64) - at_ns) / 1e9, np.array(values)


class RateWatch(AlarmWatch):
    """Watches how fast the value changes; judged at each full second from the readings before it.

    It rises when the slope is past the limit beyond doubt (95 %), and returns when the slope itself is back
    by the deadband: so the slope's uncertainty adds to the deadband, and a noisy board does not chatter.
    """

    hears_all = True

    def __init__(self, given: AlarmGiven) -> None:
        super().__init__(given)
        self._window = SlopeWindow(round(given.window_seconds * 1e9))
        self._clear = sum_as_written(given.at, -given.deadband)

    def take(self, value: float, at_ns: int) -> None:
        """Take a good value; it counts at the next full second."""
        self._window.add((at_ns,), (value,))
        if self.turn_ns == NEVER_NS:
            self.turn_ns = _next_second(at_ns)

    def is_quiet(self, times_ns: Sequence[int], values: Sequence[float]) -> bool:
        """Whether no slope on the way passes the limit."""
        if self.active or self.delay_ns != NEVER_NS:
            return False
        trial = self._window.copy()
        trial.add(times_ns, values)
        return not any(
            self._is_past(trial, at_ns, trial.per_minute(at_ns)) for at_ns in self._seconds(times_ns)
        )

    def take_many(self, times_ns: Sequence[int], values: Sequence[float]) -> None:
        """Take values that `is_quiet` found to change nothing, as if one by one."""
        self._window.add(times_ns, values)
        for at_ns in self._seconds(times_ns):
            self._assess(at_ns)
        self.turn_ns = _next_second(times_ns[-1])

    def lose(self) -> None:
        """There is no value any more; the next one may come from another board."""
        super().lose()
        self._window.clear()
        self.turn_ns = NEVER_NS

    def turn(self, at_ns: int) -> None:
        """Judge the slope at a full second."""
        self._assess(at_ns)
        newest_ns = self._window.newest_ns
        is_worth = newest_ns is not None and newest_ns >= at_ns - self._window.window_ns
        if is_worth:
            self.turn_ns = at_ns + ASSESS_EVERY_NS

    def resume_from(self, older: AlarmWatch) -> None:
        """Carry over where the alarm stands and the readings of the window."""
        super().resume_from(older)
        if isinstance(older, RateWatch):
            window_ns, self._window = self._window.window_ns, older._window.copy()
            self._window.window_ns = window_ns
            self.turn_ns = older.turn_ns

    def _seconds(self, times_ns: Sequence[int]) -> range:
        """The full seconds that fall due while readings of those times come in."""
        start_ns = self.turn_ns if self.turn_ns != NEVER_NS else _next_second(times_ns[0])
        return range(start_ns, times_ns[-1] + 1, ASSESS_EVERY_NS)

    def _assess(self, at_ns: int) -> None:
        rate = self._window.per_minute(at_ns)
        self._window.shed(at_ns)
        if rate is None:
            self.delay_ns = NEVER_NS  # nobody can say that it was stayed through
            return
        self.measured = rate
        is_past = self._is_past(self._window, at_ns, rate)
        self.judge(at_ns, is_past=is_past, is_back=sided(rate, self.given.side) <= self._clear)

    def _is_past(self, window: SlopeWindow, at_ns: int, rate: float | None) -> bool:
        if rate is None or sided(rate, self.given.side) <= self.given.at:
            return False  # nearly always: how sure it is does not matter
        slope = window.slope(at_ns)
        return slope is not None and sided(rate, self.given.side) - slope.expanded > self.given.at


def sided(number: float, side: str) -> float:
    """The number as that side sees it: a limit is always a high limit of it."""
    return abs(number) if side == "either" else number if side == "above" else -number


def _next_second(at_ns: int) -> int:
    """The first full second whose past holds a reading of that time."""
    return (at_ns // ASSESS_EVERY_NS + 1) * ASSESS_EVERY_NS
