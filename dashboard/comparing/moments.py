"""Mean, standard deviation and lag-1 autocorrelation, and what autocorrelation costs."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


class Moments(NamedTuple):
    """Of a sample; `sd` with n - 1, NaN below two values."""

    n: int
    mean: float
    sd: float


def mean_of(values: Floats) -> float:
    """The mean, summed without rounding errors: a large offset costs no digits."""
    return math.fsum(values) / len(values)


def sum_of_squares(values: Floats, about: float) -> float:
    """The sum of squared deviations by two passes, with the correction for the rounded mean.

    Source: Chan, Golub, LeVeque, The American Statistician 37 (1983) 242, equation 1.7.
    """
    deviations = values - about
    n = len(values)
    return max(0.0, math.fsum(deviations * deviations) - math.fsum(deviations) ** 2 / n)


def moments(values: Floats) -> Moments:
    """Mean and standard deviation (n - 1).

    Raises:
        ValueError: There is no value.
    """
    n = len(values)
    if n == 0:
        raise ValueError("no value")
    mean = mean_of(values)
    sd = math.sqrt(sum_of_squares(values, mean) / (n - 1)) if n > 1 else math.nan
    return Moments(n, mean, sd)


def lag_1_autocorrelation(values: Floats) -> float:
    """r1 = sum of d[i] d[i+1] / sum of d[i]^2 with d the deviations from the mean; NaN without spread."""
    deviations = values - mean_of(values)
    squares = math.fsum(deviations * deviations)
    return math.fsum(deviations[:-1] * deviations[1:]) / squares if squares > 0 else math.nan


def persistence_of(residuals: Floats, *, n_parameters: int) -> float:
    """The lag-1 autocorrelation of what made the residuals, at least 0 and below 1.

    Residuals of a fit with p smooth parameters look less persistent than their noise is, for the fit has
    taken the slowest part of it along: by about (p (1 + r) + 2 r) / n. That much is given back. Below zero
    it counts as zero: noise that swings back makes means better than independent noise does, and claiming
    that from few readings would be bold.

    Source: Kendall, Biometrika 41 (1954) 403 (for the mean, p = 1).
    """
    n = len(residuals)
    if n < 3:
        return 0.0
    r = lag_1_autocorrelation(residuals)
    if not math.isfinite(r):
        return 0.0
    return min(r + (n_parameters * (1 + r) + 2 * r) / n, 0.99) if r > 0 else 0.0


def effective_number(n: int, persistence: float) -> float:
    """How many independent readings are worth as much for a mean: n (1 - r) / (1 + r), at least 1.

    Source: Bayley and Hammersley, J. Roy. Stat. Soc. Suppl. 8 (1946) 184, for r^k at lag k.
    """
    return max(1.0, n * (1 - persistence) / (1 + persistence))
