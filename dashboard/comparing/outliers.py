"""Benches that stand out: Cochran's test for spreads, Grubbs' tests for means."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from typing import Literal, NamedTuple

import numpy as np
from scipy import stats

from dashboard.comparing.agreement import Cell
from dashboard.comparing.moments import Floats, moments

Verdict = Literal["", "straggler", "outlier"]
STRAGGLER, OUTLIER = 0.05, 0.01
"""ISO 5725-2, 7.3.2.1: beyond the 5 % value a straggler, beyond the 1 % value an outlier."""
_DRAWS = 400_000
_LEAST_FOR_PAIRS = 4


class Outlying(NamedTuple):
    """What a test says."""

    test: str
    benches: tuple[int, ...]  # that it is about
    statistic: float
    critical_5_percent: float
    critical_1_percent: float
    verdict: Verdict


def cochran_critical(p: int, n: int, level: float) -> float:
    """The largest of p variances of n results each, over their sum; from the F distribution.

    Source: ISO 5725-2, 8.1.
    """
    f = float(stats.f.ppf(1 - level / p, n - 1, (p - 1) * (n - 1)))
    return 1 / (1 + (p - 1) / f)


def cochran(cells: Mapping[int, Cell]) -> Outlying | None:
    """Whether one bench scatters more than the others; None below two benches with two results.

    With unequal numbers the one that most benches have counts (ISO 5725-2, 7.3.3.3).
    """
    kept = {bench: cell for bench, cell in cells.items() if cell.n > 1}
    if len(kept) < 2:
        return None
    variances = {bench: cell.sd**2 for bench, cell in kept.items()}
    together = math.fsum(variances.values())
    if together == 0:
        return None
    widest = max(variances, key=lambda bench: variances[bench])
    numbers, times = np.unique([cell.n for cell in kept.values()], return_counts=True)
    n = int(numbers[np.argmax(times)])
    c = variances[widest] / together
    at_5, at_1 = (cochran_critical(len(kept), n, level) for level in (STRAGGLER, OUTLIER))
    return Outlying("Cochran", (widest,), c, at_5, at_1, _verdict(c > at_5, c > at_1))


def grubbs_critical(n: int, level: float, *, two_sided: bool = True) -> float:
    """How far the farthest of n values may lie from their mean, in their standard deviation.

    Source: Grubbs, Technometrics 11 (1969) 1; ISO 5725-2, 8.2 gives the two-sided values.
    """
    t = float(stats.t.ppf(1 - level / (2 * n if two_sided else n), n - 2))
    return (n - 1) / math.sqrt(n) * math.sqrt(t * t / (n - 2 + t * t))


def grubbs(values: Mapping[int, float]) -> tuple[Outlying, ...]:
    """Whether the highest, the lowest, the two highest or the two lowest stand out; none below three benches.

    Pairs are tested only when neither single value is an outlier (ISO 5725-2, 7.3.4.1).
    """
    benches = sorted(values, key=lambda bench: values[bench])
    x = np.array([values[bench] for bench in benches])
    n = len(x)
    if n < 3 or not np.ptp(x) > 0:
        return ()
    found = moments(x)
    at_5, at_1 = (grubbs_critical(n, level) for level in (STRAGGLER, OUTLIER))
    tests = [
        Outlying(name, (bench,), g, at_5, at_1, _verdict(g > at_5, g > at_1))
        for name, bench, g in (
            ("Grubbs, highest", benches[-1], (float(x[-1]) - found.mean) / found.sd),
            ("Grubbs, lowest", benches[0], (found.mean - float(x[0])) / found.sd),
        )
    ]
    if n < _LEAST_FOR_PAIRS or any(test.verdict == "outlier" for test in tests):
        return tuple(tests)
    low_5, low_1 = (grubbs_pair_critical(n, level) for level in (STRAGGLER, OUTLIER))
    for name, pair, rest in (
        ("Grubbs, two highest", benches[-2:], x[:-2]),
        ("Grubbs, two lowest", benches[:2], x[2:]),
    ):
        g = _left(rest, x)
        tests.append(Outlying(name, tuple(pair), g, low_5, low_1, _verdict(g < low_5, g < low_1)))
    return tuple(tests)


def _left(rest: Floats, whole: Floats) -> float:
    """The share of the squares that is left without a pair."""
    return float(np.sum((rest - rest.mean()) ** 2) / np.sum((whole - whole.mean()) ** 2))


@cache
def grubbs_pair_critical(n: int, level: float) -> float:
    """Below it the squares left without the two highest (or lowest) fall with half the level at either end.

    There is no closed form: found from simulated normal samples, the same every time; two to three digits.

    Source: Grubbs and Beck, Technometrics 14 (1972) 847; ISO 5725-2, 8.2.
    """
    x = np.sort(np.random.default_rng(5725).standard_normal((_DRAWS // 2, n)), axis=1)
    whole = np.var(x, axis=1) * n
    both_ends = [np.var(part, axis=1) * (n - 2) / whole for part in (x[:, :-2], x[:, 2:])]
    return float(np.quantile(np.concatenate(both_ends), level / 2))


def _verdict(beyond_5: bool, beyond_1: bool) -> Verdict:
    if beyond_1:
        return "outlier"
    return "straggler" if beyond_5 else ""
