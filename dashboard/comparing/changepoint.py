"""When a course changed: a cumulative sum that says whether it did, a fit of two segments that says when."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, stats

from dashboard.comparing.moments import Floats, mean_of, moments
from dashboard.comparing.noise import sd_about_neighbours

FALSE_ALARM = 0.001
"""How probable it may be that a course of nothing but noise is said to have changed somewhere."""
LEAST_CHANGES = ((3, 5.0), (9, 3.0))
"""What a change must reach: a median of so many readings, so many standard deviations of the noise. Anything
smaller may be noise that lasts, or drift."""
_SLACK = 1.0  # standard deviations: changes of twice as many are found soonest
_MOST_LEADING = 20  # readings that say at first where the course was before
_GROWS_BY = 1.25  # at each round that ends with no event
_MOST_PLACES = 200  # places of a break that are tried


class Departure(NamedTuple):
    """The course left where it was."""

    left_at: int  # the last reading at which nothing had added up yet
    certain_at: int  # the reading at which it was beyond chance
    sign: int  # 1 upward, -1 downward
    before: float  # where it was
    sd: float  # of the noise that was reckoned with


class Break(NamedTuple):
    """Where two segments meet."""

    seconds: float
    u: float  # standard uncertainty, s
    probability: float  # that chance alone makes the second segment so much better


def first_departure(values: Floats, *, step: float = 0.0) -> Departure | None:
    """The first lasting change by a two-sided cumulative sum; None: nothing beyond chance.

    The first readings (at most 20) say where the course lay and how it scattered. What each later one lies
    beyond one standard deviation is added up on either side; a sum above the threshold is a change, if then
    the median of some three readings reaches five standard deviations or that of nine reaches three. If
    not, it was noise that lasts: all readings up to there now say where the course lay, and the search
    begins again.

    Args:
        values: The course, without gaps.
        step: The resolution: noise is never taken as smaller than it leaves.

    Source: Page, Biometrika 41 (1954) 100; NIST/SEMATECH e-Handbook 6.3.2.3; threshold by the run length of
    Siegmund, Sequential Analysis (1985), as given there.
    """
    n = len(values)
    n_leading = min(_MOST_LEADING, n // 4)
    if n_leading < 3:
        return None
    neighbours = sd_about_neighbours(values)
    calm = [(calmed(values, width), least) for width, least in LEAST_CHANGES]
    while n_leading < n:
        before, sd = _leading(values[:n_leading], neighbours, step)
        if sd == 0:
            return None
        found = _beyond_threshold(values, before, sd)
        if found is None:
            return None
        if any(np.max(found.sign * (one[found.certain_at :] - before)) >= least * sd for one, least in calm):
            return found
        n_leading = max(found.certain_at + 1, math.ceil(_GROWS_BY * n_leading))
    return None


def calmed(values: Floats, width: int = 3) -> Floats:
    """Each value replaced by the median of so many around it (odd; fewer at the ends): drops a spike."""
    half = min(width // 2, (len(values) - 1) // 2)
    calm = values.copy()
    if half < 1:
        return calm
    calm[half:-half] = np.median(np.lib.stride_tricks.sliding_window_view(values, 2 * half + 1), axis=1)
    for i in range(1, half):
        calm[i] = np.median(values[: 2 * i + 1])
        calm[-1 - i] = np.median(values[-2 * i - 1 :])
    return calm


def _leading(values: Floats, neighbours: float, step: float) -> tuple[float, float]:
    """Where the course was, and its noise."""
    leading = moments(values)
    least = max(neighbours, step / math.sqrt(12), 1e-12 * float(np.abs(values).max()))
    if len(values) <= _MOST_LEADING and leading.sd > 3 * least:
        return mean_of(values[:3]), least  # it changes from the beginning: only its neighbours tell the noise
    # The mean of few readings is itself uncertain: as much is given to the noise that must be exceeded.
    return leading.mean, max(least, leading.sd) * (1 + 1 / math.sqrt(len(values)))


def _beyond_threshold(values: Floats, before: float, sd: float) -> Departure | None:
    threshold = _threshold(len(values))
    sums, since = [0.0, 0.0], [0, 0]
    for i, value in enumerate(((values - before) / sd).tolist()):
        for side, sign in ((0, 1), (1, -1)):
            sums[side] = max(0.0, sums[side] + sign * value - _SLACK)
            if sums[side] == 0.0:
                since[side] = i
            elif sums[side] > threshold:
                return Departure(since[side], i, sign, before, sd)
    return None


def _threshold(n: int) -> float:
    """In standard deviations, for a false alarm in n readings with probability FALSE_ALARM."""
    wanted_run = -2 * n / math.log1p(-FALSE_ALARM)

    def excess(b: float) -> float:
        return (math.expm1(2 * _SLACK * b) - 2 * _SLACK * b) / (2 * _SLACK**2) - wanted_run

    return float(optimize.brentq(excess, 0.1, 50.0)) - 1.166


def break_between(seconds: Floats, values: Floats, *, left_degree: int, right_degree: int) -> Break | None:
    """Where a polynomial goes over into another without a jump, by least squares over all places.

    y = sum of a[k] s^k + sum of b[k] max(0, s)^k with s the time since the break; k from 1 in the second sum.
    A second segment of degree 2 must bend back from its slope at the break and not turn round, else a
    straight one is taken: one that begins flat would put the break anywhere before. The uncertainty is that
    of the fit with the place as a parameter, and that of a board that may have measured at any time within
    its interval. The probability is that of the F test against the one polynomial, times the number of
    places that were tried.

    Returns:
        None with too few readings for the parameters.

    Source: Hinkley, Biometrika 56 (1969) 495 (two-phase regression).
    """
    n, n_parameters = len(values), left_degree + right_degree + 2
    if n < n_parameters + 2:
        return None
    interval = float(np.median(np.diff(seconds)))
    inner = np.unique(seconds[1 : n - 2])
    places = inner[np.unique(np.linspace(0, len(inner) - 1, min(len(inner), _MOST_PLACES)).astype(int))]
    if len(places) < 2:
        return None
    y = values - values[0]
    costs = [_cost(place, seconds, y, left_degree, right_degree) for place in places]
    best = int(np.argmin(costs))
    found = optimize.minimize_scalar(
        _cost,
        bounds=(float(places[max(0, best - 1)]), float(places[min(len(places) - 1, best + 1)])),
        args=(seconds, y, left_degree, right_degree),
        method="bounded",
    )
    at = float(found.x) if found.fun <= costs[best] else float(places[best])
    rest, slope_at = _fit(at, seconds, y, left_degree, right_degree)
    dof = n - n_parameters
    variance = float(rest @ rest) / dof
    design = np.column_stack([_design(at, seconds, left_degree, right_degree), slope_at])
    _q, r = np.linalg.qr(design)
    own = abs(float(r[-1, -1]))
    u_fit = math.sqrt(variance) / own if own > 0 else float(seconds[-1] - seconds[0])
    whole = np.vander(seconds - seconds.mean(), left_degree + 1)
    plain = y - whole @ np.linalg.lstsq(whole, y, rcond=None)[0]
    gained = float(plain @ plain) - float(rest @ rest)
    probability = 0.0
    if variance > 0:
        f = gained / (right_degree + 1) / variance
        probability = min(1.0, len(places) * float(stats.f.sf(f, right_degree + 1, dof)))
    return Break(at, math.hypot(u_fit, interval / math.sqrt(12)), probability)


def _design(at: float, seconds: Floats, left_degree: int, right_degree: int) -> Floats:
    span = max(float(seconds[-1] - seconds[0]), 1e-300)
    s = (seconds - at) / span
    after = np.maximum(s, 0.0)
    columns = [s**k for k in range(left_degree + 1)] + [after**k for k in range(1, right_degree + 1)]
    return np.column_stack(columns)


def _fit(
    at: float, seconds: Floats, y: Floats, left_degree: int, right_degree: int
) -> tuple[Floats, NDArray[np.float64]]:
    """The residuals, and the derivative of the fit by the place of the break."""
    design = _design(at, seconds, left_degree, right_degree)
    amounts = np.linalg.lstsq(design, y, rcond=None)[0]
    span = float(seconds[-1] - seconds[0])
    after = np.maximum((seconds - at) / span, 0.0)
    if right_degree == 2:
        slope_at, bend = float(amounts[-2]), float(amounts[-1])
        if slope_at * bend > 0 or slope_at * (slope_at + bend * after[-1]) < 0:
            return _fit(at, seconds, y, left_degree, 1)
    slope = np.zeros_like(y)
    for k in range(1, right_degree + 1):
        slope += amounts[left_degree + k] * k * np.where(seconds > at, after ** (k - 1), 0.0)
    return y - design @ amounts, -slope / span


def _cost(at: float, seconds: Floats, y: Floats, left_degree: int, right_degree: int) -> float:
    rest, _ = _fit(at, seconds, y, left_degree, right_degree)
    return float(rest @ rest)
