"""How much a bench's readings scatter about their course, and how that falls when they are averaged."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from scipy import stats

from dashboard.comparing.figure import CONFIDENCE, Figure, figure, no_figure
from dashboard.comparing.moments import Floats, lag_1_autocorrelation
from dashboard.comparing.series import Series

READINGS_A_LINE = 20
"""As many readings as one straight line is laid through: short enough for a bent course to be straight."""
_MEDIAN_COSTS = math.pi / 2  # a median of many needs so many times the windows that a mean needs
_FEW_LINES = 5
_NEIGHBOURS_COST = 3.9  # readings that are worth one degree of freedom there (simulated)
_NORMAL_MAD = 1.482602218505602  # standard deviation over median absolute deviation, normal distribution
_EVEN_WITHIN = 0.5  # of the usual interval: how far most intervals may lie from it


def sd_about_neighbours(values: Floats) -> float:
    """A quick, sturdy standard deviation: of each value about the mean of the two beside it.

    The median of the absolute deviations, so that steps and spikes in the course do not count. 0 below three
    values, and where most values equal their neighbours.
    """
    if len(values) < 3:
        return 0.0
    about = values[1:-1] - (values[:-2] + values[2:]) / 2
    return _NORMAL_MAD * float(np.median(np.abs(about))) / math.sqrt(1.5)


def noise(series: Series, *, step: float | None = None) -> Figure:
    """Standard deviation of the readings about their course.

    Straight lines are laid through each 20 readings of a stretch without gap; the median of their residual
    variances is taken, so that a touch, a step or a fault in some of them does not count. The interval is
    that of chi-squared with the degrees of freedom of that median.

    Args:
        series: The readings of one bench.
        step: The resolution, if known: noise below it can't be seen.
    """
    variances = _variances_about_lines(series)
    dof_each = READINGS_A_LINE - 2
    if not len(variances):
        return no_figure("noise", series.unit, f"fewer than {READINGS_A_LINE} readings without a gap")
    middle = float(np.median(variances)) * dof_each / float(stats.chi2.ppf(0.5, dof_each))
    words, dof = "", dof_each * len(variances) / _MEDIAN_COSTS
    if len(variances) < _FEW_LINES:  # a course that bends or jumps in half of them would count
        middle, dof = sd_about_neighbours(series.values) ** 2, len(series) / _NEIGHBOURS_COST
        words = "from neighbouring readings alone: too few for straight lines"
    if middle == 0:
        middle, dof, words = float(np.mean(variances)), float(dof_each * len(variances)), ""
    sd = math.sqrt(middle)
    if step is not None and sd < step / math.sqrt(12):
        return figure(
            "noise",
            series.unit,
            sd,
            interval=(0.0, step),
            words=f"hidden by the steps of {step:.3g} {series.unit}: less than one step".replace(" :", ":"),
        )
    tail = (1 - CONFIDENCE) / 2
    ends = [sd * math.sqrt(dof / float(stats.chi2.ppf(q, dof))) for q in (1 - tail, tail)]
    return figure("noise", series.unit, sd, sd / math.sqrt(2 * dof), interval=(ends[0], ends[1]), words=words)


def _variances_about_lines(series: Series) -> Floats:
    found: list[float] = []
    n = READINGS_A_LINE
    for stretch in series.stretches:
        t, y = series.seconds[stretch], series.values[stretch]
        for begin in range(0, len(y) - n + 1, n):
            s, v = t[begin : begin + n], y[begin : begin + n]
            s, v = s - s.mean(), v - v.mean()
            across = float(s @ s)
            slope = float(s @ v) / across if across > 0 else 0.0
            rest = v - slope * s
            found.append(float(rest @ rest) / (n - 2))
    return np.array(found)


class AllanPoint(NamedTuple):
    """The Allan deviation at one averaging time, with its 95 % interval."""

    seconds: float
    deviation: float
    low: float
    high: float
    dof: float
    power: int  # of the noise over frequency: 0 white, -1 flicker, -2 random walk or drift


def allan_deviation(stretches: Sequence[Floats], interval: float) -> tuple[AllanPoint, ...]:
    """The overlapping Allan deviation at 1, 2, 4, ... intervals, up to a quarter of the longest stretch.

    White noise falls with the square root of the averaging time; where the deviation stops falling, averaging
    for longer gains nothing, and where it rises, drift has taken over. No difference is taken across a gap.

    Args:
        stretches: Readings at even steps, without gaps, in any unit.
        interval: The step, in s, > 0.

    Source: W. J. Riley, Handbook of Frequency Stability Analysis, NIST SP 1065 (2008), 5.2.4 (overlapping
    estimator), 5.5.6 (kind of noise by lag-1 autocorrelation), table 5 (degrees of freedom).
    """
    if not interval > 0:
        raise ValueError(f"the interval must be above 0 s, not {interval}")
    points: list[AllanPoint] = []
    m = 1
    while m <= max((len(y) for y in stretches), default=0) // 4:
        points.append(_allan_point(stretches, m, interval))
        m *= 2
    return tuple(points)


def _allan_point(stretches: Sequence[Floats], m: int, interval: float) -> AllanPoint:
    squares, n_differences, dof = 0.0, 0, 0.0
    longest = max(stretches, key=len)
    power = _noise_power(longest, m)
    for y in stretches:
        if len(y) < 2 * m or len(y) < 2:
            continue
        phase = np.concatenate([[0.0], np.cumsum(y - y.mean())])
        second = phase[2 * m :] - 2 * phase[m:-m] + phase[: -2 * m]
        squares += float(second @ second) / m**2
        n_differences += len(second)
        dof += _degrees_of_freedom(len(phase), m, power)
    deviation = math.sqrt(squares / (2 * n_differences))
    dof, tail = max(1.0, dof), (1 - CONFIDENCE) / 2
    low, high = (deviation * math.sqrt(dof / float(stats.chi2.ppf(q, dof))) for q in (1 - tail, tail))
    return AllanPoint(m * interval, deviation, low, high, dof, power)


def _noise_power(y: Floats, m: int) -> int:
    """The nearest power law, within what the table of degrees of freedom holds: 0, -1 or -2."""
    means = y[: len(y) // m * m].reshape(-1, m).mean(axis=1)
    for n_differenced in range(3):
        if len(means) < 4:
            return 0
        r = lag_1_autocorrelation(means)
        if not math.isfinite(r):
            return 0
        fraction = r / (1 + r)
        if fraction < 0.25 or n_differenced == 2:
            return min(0, max(-2, -round(2 * fraction) - 2 * n_differenced))
        means = np.diff(means)
    return 0


def _degrees_of_freedom(n_phases: int, m: int, power: int) -> float:
    n = n_phases
    if power == -1:
        return 2 * (n - 2) / (2.3 * n - 4.9) if m == 1 and n > 3 else 5 * n**2 / (4 * m * (n + 3 * m))
    if power == -2:
        return (n - 2) / m * ((n - 1) ** 2 - 3 * m * (n - 1) + 4 * m**2) / max(1, n - 3) ** 2
    return (3 * (n - 1) / (2 * m) - 2 * (n - 2) / n) * 4 * m**2 / (4 * m**2 + 5)


def allan_of(series: Series) -> tuple[tuple[AllanPoint, ...], str]:
    """The Allan deviations of a bench's readings, and "" or the words why there are none.

    Needs even steps: most intervals within half the usual one.
    """
    interval = series.usual_interval
    if len(series) < 8 or not interval > 0:
        return (), "fewer than 8 readings"
    intervals = np.diff(series.seconds)[~series.gap_after]
    is_even = np.abs(intervals - interval) <= _EVEN_WITHIN * interval
    if is_even.mean() < 0.9:
        return (), "the readings come at uneven steps: no averaging time can be named"
    return allan_deviation([series.values[one] for one in series.stretches], interval), ""
