"""Whether a value stays: judged by its own noise, so that a reading can be captured for a calibration."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from bridge.core.uncertainty import (
    decimals_for,
    noise_beyond,
    resolution_uncertainty,
    rounded,
    with_uncertainty,
)

SECOND_NS = 1_000_000_000
BIN_NS = 100_000_000  # readings of a tenth of a second are taken together: a fast board costs no more
MAX_BINS = 600  # a minute of them
LEAST_READINGS = 10
LEAST_BINS = 5
WINDOWS_SECONDS = (5, 8, 14, 20, 30, 60)  # the longest in which the value stays is taken
_FILLED = 0.8  # of a window that the readings must span
_SILENT_SECONDS = 2.0  # without a reading, and three usual intervals: nothing is known of now
_NEWEST = 3  # bins that must agree with the window's course: a change is noticed at once
_MAX_LAG = 100  # 10 s of a fast board
_NUMBER, _N, _FIRST, _SUM, _SQUARES, _SECONDS, _JITTER = range(
    7
)  # of a bin; sums of distances from its first
_COLUMNS = 7

Numbers = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Steady:
    """How steady a value is at one instant."""

    steady: bool
    mean: float | None  # over the window; None while it is not steady
    u: float | None  # standard uncertainty of that mean
    n: int  # readings that were judged
    seconds: float  # how long the window is in which it stays; 0 while it does not
    words: str


class _Course(NamedTuple):
    """A straight line through one window's readings, and their scatter about it."""

    n: int
    seconds: float
    mean: float
    drift: float  # from the first reading to the last
    sd: float  # of single readings about the line
    jitter: float  # within a second, by the middle one: no drift and no change is in it
    newest: float  # how far the newest readings lie off the line, the farthest of them
    u_noise: float  # of the mean
    u_drift: float


class SteadyMeter:
    """Follows one value. Told good readings in the order of their times; asked at instants.

    Steady is a value that drifts, over the window, by no more than a single reading may be off anyway: one
    step of its resolution, or twice its noise; whose drift is known to half of that; and whose newest
    readings agree. The mean's uncertainty has three parts: the noise (its correlation from reading to reading
    allowed for), the resolution whole (a mean of equal counts is no finer than one), and the drift.

    Source: JCGM 100:2008 (GUM), 4.2.3, 4.2.7 (correlated observations), F.2.2.1 (resolution), 4.3.7 (the
    drift, every place in it as likely); Zhang, Calculation of the uncertainty of the mean of autocorrelated
    measurements, Metrologia 43 (2006), S276.
    """

    def __init__(self, unit: str) -> None:
        self.unit = unit
        self._table = np.empty((2 * MAX_BINS + 1, _COLUMNS))
        self._n_bins = 0  # in the table; the newest bin stands beside it
        self._bin: list[float] | None = None
        self._last: float | None = None

    def clear(self) -> None:
        """Forget all: the board, its conversion or its calibration is another."""
        self._n_bins, self._bin, self._last = 0, None, None

    def take(self, value: float, at_ns: int) -> None:
        """One reading."""
        number = at_ns // BIN_NS
        one = self._bin
        if one is None or one[_NUMBER] != number:
            self._close_bin()
            one = self._bin = [float(number), 0.0, value, 0.0, 0.0, 0.0, 0.0]
        distance = value - one[_FIRST]
        one[_N] += 1.0
        one[_SUM] += distance
        one[_SQUARES] += distance * distance
        one[_SECONDS] += (at_ns - number * BIN_NS) / SECOND_NS
        if self._last is not None:
            one[_JITTER] += (value - self._last) ** 2
        self._last = value

    def _close_bin(self) -> None:
        if self._bin is None:
            return
        if self._n_bins == 2 * MAX_BINS:  # rarely: it copies
            kept = MAX_BINS * 3 // 2
            self._table[:kept] = self._table[self._n_bins - kept : self._n_bins].copy()
            self._n_bins = kept
        self._table[self._n_bins] = self._bin
        self._n_bins += 1

    def take_many(self, values: Iterable[float], at_ns: Iterable[int]) -> None:
        """`take` each."""
        for value, at in zip(values, at_ns, strict=True):
            self.take(value, at)

    def look(self, at_ns: int, *, step: float) -> Steady:
        """How steady the value is by the readings before an instant.

        Args:
            at_ns: A whole number of tenths of a second. What was taken at or after it does not count, nor
                what is older than a minute. To be asked before half a minute more was taken.
            step: The resolution: the least difference between two readings, in the unit; 0: none.
        """
        table, times = self._before(at_ns)
        steady = last = None
        for seconds in WINDOWS_SECONDS:
            course = _course_in(times, table, seconds, step)
            if course is None:
                continue
            last = course
            if _stays(course, step):
                steady = course
            elif steady or _moves(course, step):
                break
        if steady is not None:
            return self._steady(steady, step)
        return Steady(False, None, None, last.n if last else 0, 0.0, _restless(last, step, self.unit))

    def _steady(self, course: _Course, step: float) -> Steady:
        u_resolution = resolution_uncertainty(step)
        noise = 0.0
        if course.sd:  # what the steps add to the scatter counts as resolution
            noise = course.u_noise * noise_beyond(course.sd, u_resolution) / course.sd
        u = math.sqrt(noise**2 + u_resolution**2 + course.drift**2 / 12.0)
        words = f"steady for {course.seconds:.0f} s: {with_uncertainty(course.mean, u, self.unit)}"
        return Steady(True, course.mean, u, course.n, course.seconds, words)

    def _before(self, at_ns: int) -> tuple[Numbers, Numbers]:
        """The bins before the instant and their times, in seconds from it; none when it fell silent."""
        end = float(at_ns // BIN_NS)
        if self._bin is not None:
            self._table[self._n_bins] = self._bin
        upto = self._n_bins + (self._bin is not None)
        upto = int(np.searchsorted(self._table[:upto, _NUMBER], end))
        table = self._table[max(0, upto - MAX_BINS) : upto]
        times = (table[:, _NUMBER] - end) * (BIN_NS / SECOND_NS) + table[:, _SECONDS] / table[:, _N]
        if len(times) < LEAST_BINS:
            return table[:0], times[:0]
        usual = float(times[-1] - times[0]) / (len(times) - 1)
        if -float(times[-1]) > max(_SILENT_SECONDS, 3.0 * usual):
            return table[:0], times[:0]
        return table, times


def _stays(course: _Course, step: float) -> bool:
    """Whether the value stays where it is over the window."""
    return not _moves(course, step) and course.u_drift <= _may_drift(course.jitter, step) / 2.0


def _moves(course: _Course, step: float) -> bool:
    """Whether it drifted, or began to."""
    return (
        abs(course.drift) > _may_drift(course.jitter, step)
        or course.newest > max(1.5 * step, 4.0 * course.jitter)
    )  # fmt: skip


def _may_drift(jitter: float, step: float) -> float:
    """What a single reading may be off anyway."""
    return max(step, 2.0 * jitter)


def _restless(course: _Course | None, step: float, unit: str) -> str:
    """What keeps it from being steady."""
    if course is None:
        return (
            f"not enough readings to tell yet: {LEAST_READINGS} in {WINDOWS_SECONDS[0]} s or more are needed"
        )
    if abs(course.drift) > 2.0 * course.u_drift and abs(course.drift) > step / 2.0:
        way = "falling" if course.drift < 0 else "rising"
        rate = _rate(abs(course.drift) / course.seconds * 60.0)
        return f"still {way} {rate} {unit} a minute" if unit else f"still {way} {rate} a minute"
    return f"too restless to tell: single readings differ by {max(course.sd, step):.1g} {unit}".rstrip()


def _rate(rate: float) -> str:
    """A rate to its first digit or two, without an exponent: "0.3", "12", "1500"."""
    return rounded(rate, decimals_for(rate, most=6))


def _course_in(times: Numbers, table: Numbers, seconds: float, step: float) -> _Course | None:
    """The course in the newest window of that length; None without enough readings in it."""
    first = int(np.searchsorted(times, -seconds))
    times, table = times[first:], table[first:]
    if len(times) < LEAST_BINS or float(times[-1] - times[0]) < _FILLED * seconds:
        return None
    return _course(times, table, step) if float(table[:, _N].sum()) >= LEAST_READINGS else None


def _course(times: Numbers, table: Numbers, step: float) -> _Course:
    counts, firsts = table[:, _N], table[:, _FIRST]
    n = float(counts.sum())
    origin = float(firsts[0])  # near all values: no digit is lost
    means = firsts - origin + table[:, _SUM] / counts
    mean = float(means @ counts) / n
    distances = times - float(times @ counts) / n
    weighted = counts * distances
    spread = float(weighted @ distances)
    slope = float(weighted @ means) / spread
    residuals = means - mean - slope * distances
    between = float(counts @ (residuals * residuals))
    within = float((table[:, _SQUARES] - table[:, _SUM] ** 2 / counts).clip(min=0.0).sum())
    seconds = float(times[-1] - times[0])
    drift = slope * seconds
    jitter = max(_jitter(table), _wander(residuals, seconds))
    # Of single readings, as the means of the bins tell it: what is alike within a bin does not average away.
    variance, inflation = between / (len(times) - 2), 1.0
    if abs(drift) <= _may_drift(jitter, step):  # else the value moves, whatever the correlation
        inflation = _inflation(residuals * np.sqrt(counts))
    variance *= inflation * _of_few(len(times) / inflation - 2.0)
    return _Course(
        n=int(n),
        seconds=seconds,
        mean=origin + mean,
        drift=drift,
        sd=math.sqrt((between + within) / (n - 2.0)),
        jitter=jitter,
        newest=float(np.abs(residuals[-_NEWEST:]).max()),
        u_noise=math.sqrt(variance / n),
        u_drift=seconds * math.sqrt(variance / spread),
    )


def _jitter(table: Numbers) -> float:
    """Noise from differences of neighbours, each of twice its variance: the middle one, not the mean.

    One change of the value makes a few large differences, which the middle does not see. Of squares of k
    normal numbers the middle lies at about k (1 - 2 / 9k)³.

    Source: Wilson and Hilferty, Proceedings of the National Academy of Sciences 17 (1931), 684.
    """
    counts = table[1:, _N]
    k = float(np.median(counts))
    return math.sqrt(float(np.median(table[1:, _JITTER] / counts)) / (2.0 * (1.0 - 2.0 / (9.0 * k)) ** 3))


def _of_few(dof: float) -> float:
    """How much wider a variance is taken that was found from few numbers.

    Source: JCGM 101:2008, 6.4.9.4, the variance of a scaled and shifted t-distribution.
    """
    return dof / (dof - 2.0) if dof > 3.0 else 3.0


def _wander(residuals: Numbers, seconds: float) -> float:
    """The same over about a second, where noise of neighbours is alike."""
    lag = max(1, round((len(residuals) - 1) / seconds))
    differences = residuals[lag:] - residuals[:-lag]
    return math.sqrt(float(np.median(differences * differences)) / (2.0 * (7.0 / 9.0) ** 3))


def _inflation(residuals: Numbers) -> float:
    """How much correlation from one to the next inflates the variance of their mean; at least 1.

    By the correlations that were found, as long as they are more than chance, or by those of a first-order
    process with the first of them, if that is more: those found from few numbers about their own line are too
    small (by about (1 + 4 r) / n, Marriott and Pope, Biometrika 41 (1954), 390).
    """
    n = len(residuals)
    squares = float(residuals @ residuals)
    inflation, process = 1.0, 1.0
    for lag in range(1, min(_MAX_LAG, n // 4) + 1):
        correlation = float(residuals[lag:] @ residuals[:-lag]) / squares if squares else 0.0
        if correlation < 2.0 / math.sqrt(n):  # no more than chance
            break
        inflation += 2.0 * (1.0 - lag / n) * correlation
        if lag == 1:
            first = min(0.98, correlation + (1.0 + 4.0 * correlation) / n)
            process = (1.0 + first) / (1.0 - first)
    return max(inflation, process)
