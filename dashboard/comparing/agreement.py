"""How far the benches agree: repeatability within a bench, reproducibility between benches, scores."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy import stats

from dashboard.comparing.figure import CONFIDENCE, Figure, figure, no_figure
from dashboard.comparing.moments import Floats, mean_of, moments, sum_of_squares

LIMIT_FACTOR = 2.8
"""Of the standard deviations, for the 95 % limit of a difference of two results (ISO 5725-6, 4.1.4)."""
EXPANDED = 2.0
"""Coverage factor of the expanded uncertainties in En numbers (ISO 13528, 9.7)."""
_NORMAL_MAD = 1.483  # as ISO 13528 rounds it
_WINSORISED_SD = 1.134  # of a normal distribution cut at 1.5 standard deviations, inverted
_MOST_ROUNDS = 200


class Anova(NamedTuple):
    """One-way analysis of variance."""

    ss_between: float
    ss_within: float
    dof_between: int
    dof_within: int

    @property
    def ms_between(self) -> float:
        """Mean square between groups."""
        return self.ss_between / self.dof_between

    @property
    def ms_within(self) -> float:
        """Mean square within groups: the residual variance."""
        return self.ss_within / self.dof_within

    @property
    def f_statistic(self) -> float:
        """Their ratio; infinite without any spread within."""
        return self.ms_between / self.ms_within if self.ms_within > 0 else math.inf

    @property
    def probability(self) -> float:
        """That groups of one mean look so different by chance."""
        return float(stats.f.sf(self.f_statistic, self.dof_between, self.dof_within))

    @property
    def r_squared(self) -> float:
        """The share of the squares that lies between groups."""
        return self.ss_between / (self.ss_between + self.ss_within)

    @property
    def residual_sd(self) -> float:
        """Standard deviation within groups."""
        return math.sqrt(self.ms_within)


def anova_of(groups: Sequence[Floats]) -> Anova:
    """Sums of squares by two passes about exactly summed means, so that a large offset costs least.

    Raises:
        ValueError: Fewer than two groups, an empty one, or one value in each.
    """
    if len(groups) < 2 or any(len(group) == 0 for group in groups):
        raise ValueError("an analysis of variance needs two groups, none of them empty")
    n = sum(len(group) for group in groups)
    if n == len(groups):
        raise ValueError("one value in each group tells nothing about the spread within")
    offset = float(groups[0][0])
    moved = [np.asarray(group, np.float64) - offset for group in groups]
    grand = math.fsum(value for group in moved for value in group) / n
    means = [mean_of(group) for group in moved]
    between = math.fsum(len(group) * (mean - grand) ** 2 for group, mean in zip(moved, means, strict=True))
    within = math.fsum(sum_of_squares(group, mean) for group, mean in zip(moved, means, strict=True))
    return Anova(between, within, len(groups) - 1, n - len(groups))


class Cell(NamedTuple):
    """The results of one bench at one level: their number, mean and standard deviation."""

    n: int
    mean: float
    sd: float  # NaN with one result


def cells_of(results: Mapping[int, Floats]) -> dict[int, Cell]:
    """Mean and standard deviation of each bench's results."""
    return {bench: Cell(*moments(np.asarray(found, np.float64))) for bench, found in results.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class Precision:
    """Repeatability and reproducibility by ISO 5725-2, and each bench's consistency."""

    benches: tuple[int, ...]
    cells: tuple[Cell, ...]
    mean: float
    s_r: Figure  # repeatability: within a bench
    s_l: Figure  # between benches
    s_big_r: Figure  # reproducibility: both together
    h: tuple[float, ...]  # Mandel: where a bench's mean lies among all, in their standard deviation
    k: tuple[float, ...]  # Mandel: a bench's own spread over that of all
    h_critical: tuple[float, float]  # at 5 % and 1 %
    k_critical: tuple[float, float]  # for the usual number of results
    words: str = ""

    @property
    def repeatability_limit(self) -> float:
        """Two results of one bench differ by no more than this, 95 times in 100."""
        return LIMIT_FACTOR * (self.s_r.value or 0.0)

    @property
    def reproducibility_limit(self) -> float:
        """Two results of different benches differ by no more than this, 95 times in 100."""
        return LIMIT_FACTOR * (self.s_big_r.value or 0.0)


def precision_of(cells: Mapping[int, Cell], unit: str = "") -> Precision | str:
    """Repeatability and reproducibility of one level; the words why when they can't be told.

    A between-bench variance that comes out negative counts as zero, so that s_R is never below s_r.

    Args:
        cells: By bench; those with one result count for the means alone.
        unit: Of the results.

    Source: ISO 5725-2:1994, 7.4 (variances, unequal numbers of results), 7.3.1 (Mandel's h and k).
    """
    p = len(cells)
    if p < 3:
        return "fewer than three benches"
    n = np.array([cell.n for cell in cells.values()], np.float64)
    means = np.array([cell.mean for cell in cells.values()])
    sds = np.array([cell.sd if cell.n > 1 else 0.0 for cell in cells.values()])
    dof_r = int(n.sum()) - p
    if dof_r < 1:
        return "one result at each bench: nothing is known about repeatability"
    offset = float(means[0])
    mean = offset + math.fsum(n * (means - offset)) / float(n.sum())
    variance_r = math.fsum((n - 1) * sds**2) / dof_r
    variance_d = math.fsum(n * (means - mean) ** 2) / (p - 1)
    n_mean = (n.sum() - (n**2).sum() / n.sum()) / (p - 1)
    negative = variance_d < variance_r
    variance_l = max(0.0, (variance_d - variance_r) / n_mean)
    s_r, s_l, s_big_r = _spreads(variance_r, variance_d, variance_l, float(n_mean), dof_r, p, unit)
    usual_n = _usual(n)
    return Precision(
        benches=tuple(cells),
        cells=tuple(cells.values()),
        mean=mean,
        s_r=s_r,
        s_l=s_l,
        s_big_r=s_big_r,
        h=_mandel_h(means, mean),
        k=_mandel_k(sds),
        h_critical=(mandel_h_critical(p, 0.05), mandel_h_critical(p, 0.01)),
        k_critical=(mandel_k_critical(p, usual_n, 0.05), mandel_k_critical(p, usual_n, 0.01)),
        words="the benches differ no more than their own repeats do" if negative else "",
    )


def _usual(n: Floats) -> int:
    """The number of results that most benches have, the smaller of several; at least 2."""
    numbers, times = np.unique(n[n > 1], return_counts=True)
    return int(numbers[np.argmax(times)])


def _spreads(
    variance_r: float, variance_d: float, variance_l: float, n_mean: float, dof_r: int, p: int, unit: str
) -> tuple[Figure, Figure, Figure]:
    """Standard deviations with 95 % intervals by chi-squared, that of the sum by effective degrees.

    Source: Satterthwaite, Biometrics Bulletin 2 (1946) 110 (as GUM G.4.1).
    """
    variance_big_r = variance_r + variance_l
    parts = ((variance_d / n_mean, p - 1), (variance_r * (1 - 1 / n_mean), dof_r))
    spread = sum(part**2 / dof for part, dof in parts)
    dof_big_r = variance_big_r**2 / spread if spread > 0 and variance_l > 0 else float(dof_r)
    u_l = math.sqrt(2 * (variance_d**2 / (p - 1) + variance_r**2 / dof_r)) / n_mean  # of the variance
    s_l = math.sqrt(variance_l)
    return (
        _sd_figure("repeatability s_r", unit, variance_r, dof_r),
        figure("between benches s_L", unit, s_l, u_l / (2 * s_l))
        if s_l > 0
        else figure("between benches s_L", unit, 0.0, words="none to be seen beside the repeatability"),
        _sd_figure("reproducibility s_R", unit, variance_big_r, dof_big_r),
    )


def _sd_figure(name: str, unit: str, variance: float, dof: float) -> Figure:
    sd, tail = math.sqrt(variance), (1 - CONFIDENCE) / 2
    low, high = (sd * math.sqrt(dof / float(stats.chi2.ppf(q, dof))) for q in (1 - tail, tail))
    return figure(name, unit, sd, sd / math.sqrt(2 * dof), interval=(low, high))


def _mandel_h(means: Floats, mean: float) -> tuple[float, ...]:
    away = means - mean
    sd = math.sqrt(math.fsum(away**2) / (len(means) - 1))
    return tuple((away / sd).tolist()) if sd > 0 else (0.0,) * len(means)


def _mandel_k(sds: Floats) -> tuple[float, ...]:
    together = math.fsum(sds**2)
    return tuple((sds * math.sqrt(len(sds) / together)).tolist()) if together > 0 else (0.0,) * len(sds)


def mandel_h_critical(p: int, level: float) -> float:
    """Two-sided: |h| of one of p benches is above it with that probability. Source: ISO 5725-2, 8.3.1."""
    t = float(stats.t.ppf(1 - level / 2, p - 2))
    return (p - 1) * t / math.sqrt(p * (t * t + p - 2))


def mandel_k_critical(p: int, n: int, level: float) -> float:
    """k of one of p benches with n results each is above it with that probability.

    Source: ISO 5725-2, 8.3.1.
    """
    f = float(stats.f.ppf(1 - level, n - 1, (p - 1) * (n - 1)))
    return math.sqrt(p * f / (f + p - 1))


class RobustMean(NamedTuple):
    """Mean and standard deviation that a few wrong values do not move."""

    mean: float
    sd: float


def robust_mean(values: Floats) -> RobustMean:
    """Algorithm A: values beyond 1.5 standard deviations are drawn in to there, until nothing moves.

    Source: ISO 13528:2022, C.3.1.
    """
    x = np.asarray(values, np.float64)
    mean = float(np.median(x))
    sd = _NORMAL_MAD * float(np.median(np.abs(x - mean)))
    for _ in range(_MOST_ROUNDS):
        drawn_in = np.clip(x, mean - 1.5 * sd, mean + 1.5 * sd)
        found = moments(drawn_in)
        moved = RobustMean(found.mean, _WINSORISED_SD * found.sd if len(x) > 1 else math.nan)
        if abs(moved.mean - mean) + abs(moved.sd - sd) <= 1e-13 * (abs(mean) + abs(sd)):
            return moved
        mean, sd = moved
    return RobustMean(mean, sd)


def z_scores(values: Floats, *, robust: bool = False) -> tuple[float, ...] | None:
    """Each value less the mean of all, in their standard deviation; None where they do not differ.

    Beyond 2 a value is questionable, from 3 on it calls for action (ISO 13528, 9.4.2).

    Args:
        values: One of each bench, at least three.
        robust: By `robust_mean`, so that an outlier does not hide itself.
    """
    if len(values) < 3:
        return None
    mean, sd = robust_mean(values) if robust else moments(np.asarray(values, np.float64))[1:]
    return tuple(((np.asarray(values) - mean) / sd).tolist()) if sd > 0 else None


def en_number(found: Figure, reference: Figure) -> Figure:
    """(found - reference) over both expanded uncertainties (k = 2); up to 1 they agree.

    Source: ISO 13528:2022, 9.7.
    """
    name = "En number"
    if found.value is None or reference.value is None:
        return no_figure(name, "1", found.words or reference.words)
    if found.u is None or reference.u is None:
        return no_figure(name, "1", "an uncertainty is unknown")
    u = EXPANDED * math.hypot(found.u, reference.u)
    if u == 0:
        return no_figure(name, "1", "both uncertainties are zero")
    en = (found.value - reference.value) / u
    return figure(
        name, "1", en, words="" if abs(en) <= 1 else "differs by more than the uncertainties explain"
    )
