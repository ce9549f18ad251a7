"""The course of a value through one window of time: its line, its drift, and its scatter about it."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

LEAST_READINGS = 10
LEAST_BINS = 5
NUMBER, N, FIRST, SUM, SQUARES, SECONDS, JITTER = range(7)
"""Columns of a table of bins, the readings of a tenth of a second each.

Its number; how many readings; the first of them; the sums of their distances from it, of the squares of
these, of their times within the bin (s), and of squared differences from one reading to the next.
"""
COLUMNS = 7
_FILLED = 0.8  # of a window that the readings must span
_NEWEST = 3  # bins that must agree with the window's course: a change is noticed at once
_MAX_LAG = 100  # 10 s of a fast board

Numbers = NDArray[np.float64]


class Course(NamedTuple):
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


def may_drift(jitter: float, step: float) -> float:
    """What a single reading may be off anyway."""
    return max(step, 2.0 * jitter)


def course_in(times: Numbers, table: Numbers, seconds: float, step: float) -> Course | None:
    """The course in the newest window of that length; None without enough readings in it."""
    first = int(np.searchsorted(times, -seconds))
    times, table = times[first:], table[first:]
    if len(times) < LEAST_BINS or float(times[-1] - times[0]) < _FILLED * seconds:
        return None
    return _course(times, table, step) if float(table[:, N].sum()) >= LEAST_READINGS else None


def _course(times: Numbers, table: Numbers, step: float) -> Course:
    counts, firsts = table[:, N], table[:, FIRST]
    n = float(counts.sum())
    origin = float(firsts[0])  # near all values: no digit is lost
    means = firsts - origin + table[:, SUM] / counts
    mean = float(means @ counts) / n
    distances = times - float(times @ counts) / n
    weighted = counts * distances
    spread = float(weighted @ distances)
    slope = float(weighted @ means) / spread
    residuals = means - mean - slope * distances
    between = float(counts @ (residuals * residuals))
    within = float((table[:, SQUARES] - table[:, SUM] ** 2 / counts).clip(min=0.0).sum())
    seconds = float(times[-1] - times[0])
    drift = slope * seconds
    jitter = max(_jitter(table), _wander(residuals, seconds))
    # Of single readings, as the means of the bins tell it: what is alike within a bin does not average away.
    variance, inflation = between / (len(times) - 2), 1.0
    if abs(drift) <= may_drift(jitter, step):  # else the value moves, whatever the correlation
        inflation = _inflation(residuals * np.sqrt(counts))
    variance *= inflation * _of_few(len(times) / inflation - 2.0)
    return Course(
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
    counts = table[1:, N]
    k = float(np.median(counts))
    return math.sqrt(float(np.median(table[1:, JITTER] / counts)) / (2.0 * (1.0 - 2.0 / (9.0 * k)) ** 3))


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
