"""Whether a value stays: judged by its own noise, so that a reading can be captured for a calibration."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from bridge.core.course import (
    COLUMNS,
    FIRST,
    JITTER,
    LEAST_BINS,
    LEAST_READINGS,
    NUMBER,
    SECONDS,
    SQUARES,
    SUM,
    Course,
    N,
    Numbers,
    course_in,
    may_drift,
)
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
WINDOWS_SECONDS = (5, 8, 14, 20, 30, 60)  # the longest in which the value stays is taken
_SILENT_SECONDS = 2.0  # without a reading, and three usual intervals: nothing is known of now


@dataclass(frozen=True, slots=True)
class Steady:
    """How steady a value is at one instant."""

    steady: bool
    mean: float | None  # over the window; None while it is not steady
    u: float | None  # standard uncertainty of that mean
    n: int  # readings that were judged
    seconds: float  # how long the window is in which it stays; 0 while it does not
    words: str


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
        self._table = np.empty((2 * MAX_BINS + 1, COLUMNS))
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
        if one is None or one[NUMBER] != number:
            self._close_bin()
            one = self._bin = [float(number), 0.0, value, 0.0, 0.0, 0.0, 0.0]
        distance = value - one[FIRST]
        one[N] += 1.0
        one[SUM] += distance
        one[SQUARES] += distance * distance
        one[SECONDS] += (at_ns - number * BIN_NS) / SECOND_NS
        if self._last is not None:
            one[JITTER] += (value - self._last) ** 2
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
            course = course_in(times, table, seconds, step)
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

    def _steady(self, course: Course, step: float) -> Steady:
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
        upto = int(np.searchsorted(self._table[:upto, NUMBER], end))
        table = self._table[max(0, upto - MAX_BINS) : upto]
        times = (table[:, NUMBER] - end) * (BIN_NS / SECOND_NS) + table[:, SECONDS] / table[:, N]
        if len(times) < LEAST_BINS:
            return table[:0], times[:0]
        usual = float(times[-1] - times[0]) / (len(times) - 1)
        if -float(times[-1]) > max(_SILENT_SECONDS, 3.0 * usual):
            return table[:0], times[:0]
        return table, times


def _stays(course: Course, step: float) -> bool:
    """Whether the value stays where it is over the window."""
    return not _moves(course, step) and course.u_drift <= may_drift(course.jitter, step) / 2.0


def _moves(course: Course, step: float) -> bool:
    """Whether it drifted, or began to."""
    return (
        abs(course.drift) > may_drift(course.jitter, step)
        or course.newest > max(1.5 * step, 4.0 * course.jitter)
    )  # fmt: skip


def _restless(course: Course | None, step: float, unit: str) -> str:
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
