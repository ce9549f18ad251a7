"""Where a bench's readings lie: level, resolution, drift, pace."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from scipy import stats

from dashboard.comparing.figure import CONFIDENCE, Figure, figure, no_figure
from dashboard.comparing.moments import Floats, effective_number, persistence_of
from dashboard.comparing.noise import sd_about_neighbours
from dashboard.comparing.series import Series

_ON_STEPS = 0.9  # of the differences must be whole steps, before a step is called the resolution
_STEP_TOLERANCE = 0.2  # of a step: a board that prints steps of 1/16 with two decimals rounds them
_MOST_STEPS = 64  # differences of more steps tell little about one
_RUNS_LEVEL = 0.001


def weights_over_time(series: Series) -> Floats:
    """Each reading's share of the mean over time: straight lines between readings, nothing across a gap.

    Half of each interval belongs to either end. Shape (n,), sum 1; all zero when no two readings are joined.
    """
    intervals = np.where(series.gap_after, 0.0, np.diff(series.seconds))
    weights = np.zeros(len(series))
    weights[:-1] += intervals / 2
    weights[1:] += intervals / 2
    total = weights.sum()
    return weights / total if total > 0 else weights


def level(series: Series) -> Figure:
    """The mean over time, so that a minute with many lines counts no more than one with few.

    Its uncertainty: the noise about the course averaged over the effective number of readings, and the
    readings' own uncertainty taken as common to all of them, for an error of calibration does not average
    out.
    """
    name, unit = "level", series.unit
    if len(series) < 2:
        return no_figure(name, unit, "fewer than two readings")
    weights = weights_over_time(series)
    if not weights.any():
        return no_figure(name, unit, "no two readings without a gap between them")
    middle = float(np.median(series.values))
    mean = middle + math.fsum(weights * (series.values - middle))
    sd = sd_about_neighbours(series.values)
    u_noise = sd * math.sqrt(float(weights @ weights))
    known = np.isfinite(series.u)
    if not known.any():
        return figure(
            name, unit, mean, u_noise, words="uncertainty of noise alone: that of the readings is unknown"
        )
    share = weights * known
    u_common = float(share @ np.where(known, series.u, 0.0)) / share.sum() if share.any() else math.nan
    return figure(name, unit, mean, math.hypot(u_noise, u_common))


def resolution(series: Series) -> Figure:
    """The step that the values lie on, found from the differences between neighbouring readings."""
    name, unit = "resolution", series.unit
    values = np.unique(series.values)
    if len(values) < 2:
        return no_figure(name, unit, "every reading shows the same value")
    scale = float(np.abs(values).max())
    differences = np.abs(np.diff(series.values))
    differences = differences[differences > 1e-9 * scale]
    step = float(differences.min())
    for most in (4, 16, _MOST_STEPS):  # the longer the difference, the better the step that it was made of
        few = differences[differences <= (most + 0.5) * step]
        n_steps = np.round(few / step)
        step = float(few.sum() / n_steps.sum())
    n_steps = np.round(few / step)
    is_whole = np.abs(few / step - n_steps) <= _STEP_TOLERANCE
    if is_whole.mean() < _ON_STEPS:
        return no_figure(name, unit, "the values lie on no steps of one size")
    words = "" if len(values) > 2 else "seen between two values only"
    return figure(name, unit, step, float(np.std(few / n_steps)) / math.sqrt(len(few)), words=words)


def drift(series: Series) -> Figure:
    """The slope of a straight line through the readings, per minute.

    Noise that lasts (autocorrelated) makes neighbours tell the same: the degrees of freedom and the residual
    variance go by the effective number of readings.

    Source: Santer et al., J. Geophys. Res. 105 (2000) 7337, equations 3 to 6.
    """
    name, unit = "drift", f"{series.unit}/min".lstrip("/") if series.unit else "1/min"
    n = len(series)
    minutes = (series.seconds - series.seconds.mean()) / 60 if n else series.seconds
    across = float(minutes @ minutes)
    if n < 3 or not across > 0:
        return no_figure(name, unit, "fewer than three readings")
    values = series.values - series.values.mean()
    slope = float(minutes @ values) / across
    rest = values - slope * minutes
    n_effective = effective_number(n, persistence_of(rest, n_parameters=2))
    if n_effective < 4:
        return figure(
            name, unit, slope, words="no interval: the course is no straight line, or too short for its noise"
        )
    dof = n_effective - 2
    u = math.sqrt(float(rest @ rest) / dof / across)
    half = float(stats.t.ppf(1 - (1 - CONFIDENCE) / 2, dof)) * u
    p = runs_probability(rest)
    words = (
        "" if p > _RUNS_LEVEL else "the course bends: the slope is that of the straight line nearest to it"
    )
    return figure(name, unit, slope, u, interval=(slope - half, slope + half), words=words)


def runs_probability(residuals: Floats) -> float:
    """How probable so few changes of sign are if the signs came by chance: one-sided, by the normal law.

    Source: Wald and Wolfowitz, Ann. Math. Stat. 11 (1940) 147; NIST/SEMATECH e-Handbook 1.3.5.13.
    """
    signs = np.sign(residuals)
    signs = signs[signs != 0]
    n_up, n_down = int((signs > 0).sum()), int((signs < 0).sum())
    n = n_up + n_down
    if n_up == 0 or n_down == 0 or n < 3:
        return 1.0
    n_runs = 1 + int((np.diff(signs) != 0).sum())
    expected = 1 + 2 * n_up * n_down / n
    variance = (expected - 1) * (expected - 2) / (n - 1)
    if variance <= 0:
        return 1.0
    return float(stats.norm.cdf((n_runs + 0.5 - expected) / math.sqrt(variance)))


def line_rate(series: Series) -> Figure:
    """Readings per second between the first and the last, without the gaps."""
    quiet = sum(to - since for since, to in series.gaps)
    span = float(series.seconds[-1] - series.seconds[0]) - quiet if len(series) > 1 else 0.0
    if not span > 0:
        return no_figure("line rate", "1/s", "fewer than two readings")
    n_intervals = len(series) - 1 - len(series.gaps)
    return figure("line rate", "1/s", n_intervals / span)


def time_in_gaps(series: Series) -> Figure:
    """How long the bench was silent."""
    gaps = series.gaps
    words = (
        ""
        if not gaps
        else f"{len(gaps)} gap{'s' if len(gaps) > 1 else ''}, from "
        + ", ".join(f"{since:.1f} s to {to:.1f} s" for since, to in gaps[:5])
        + (" and more" if len(gaps) > 5 else "")
    )
    return figure("gaps", "s", sum(to - since for since, to in gaps), words=words)


def bias(name: str, found: Figure, reference: Figure) -> Figure:
    """Found less reference, the two uncertainties independent.

    Source: JCGM 100:2008 (GUM), 5.1.2.
    """
    if found.value is None or reference.value is None:
        return no_figure(name, found.unit, found.words or reference.words)
    u = math.hypot(found.u, reference.u or 0.0) if found.u is not None else None
    words = "" if reference.u is not None else "the reference is taken as exact"
    return figure(name, found.unit, found.value - reference.value, u, words=words)


def biases_to_median(levels: Sequence[Figure], *, n_draws: int = 20_000) -> tuple[Figure, ...]:
    """Each level less the median of all of them, with the uncertainty of both and of their dependence.

    By drawing every level from its normal distribution and taking the median anew each time: the middle
    bench makes the median and is compared with itself. The draws are the same every time.

    Source: JCGM 101:2008 (GUM supplement 1), 5.9 and 7.7.
    """
    name = "bias"
    known = [one for one in levels if one.value is not None]
    values = np.array([one.value for one in known])
    if len(known) < 3:
        return tuple(no_figure(name, one.unit, "fewer than three benches have a level") for one in levels)
    middle = float(np.median(values))
    if any(one.u is None for one in known):
        words = "no interval: not every bench's uncertainty is known"
        found = iter(
            [figure(name, one.unit, v - middle, words=words) for one, v in zip(known, values, strict=True)]
        )
    else:
        u = np.array([one.u for one in known])
        draws = values + u * np.random.default_rng(20_815).standard_normal((n_draws, len(known)))
        draws -= np.median(draws, axis=1, keepdims=True)
        tail = (1 - CONFIDENCE) / 2
        ends = np.quantile(draws, [tail, 1 - tail], axis=0)
        spread = draws.std(axis=0, ddof=1)
        found = iter(
            [
                figure(name, one.unit, v - middle, s, interval=(min(low, v - middle), max(high, v - middle)))
                for one, v, s, low, high in zip(known, values, spread, *ends, strict=True)
            ]
        )
    return tuple(
        next(found) if one.value is not None else no_figure(name, one.unit, one.words) for one in levels
    )
