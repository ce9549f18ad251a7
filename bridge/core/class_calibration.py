"""All benches in one common bath: one point of calibration for each, from a reference or from the class."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import NamedTuple

from bridge.core.calibration_given import CalibrationPoint
from bridge.core.uncertainty import decimals_for, rounded, with_uncertainty

LEAST_BENCHES = 3  # of two, the middle is no witness against either
# Makes the median deviation from the median a standard deviation: normal noise, few values, from 2 on.
_FEW = (1.196, 1.495, 1.363, 1.206, 1.200, 1.140, 1.129, 1.107)
_NORMAL = 1.4826


class SteadyBench(NamedTuple):
    """A bench whose reading is steady."""

    bench: int
    value: float  # mean as shown, its own calibration applied
    indication: float  # the same before any calibration
    u_indication: float  # of that mean; 0: unknown


@dataclass(frozen=True, slots=True)
class ClassPoints:
    """What one action adds to the calibration of each bench."""

    reference: float
    u_reference: float  # 0: unknown
    points: tuple[tuple[int, CalibrationPoint], ...]  # bench and its point
    words: str


def points_for_class(
    benches: Sequence[SteadyBench], *, reference: float | None, u_reference: float | None, unit: str
) -> ClassPoints:
    """A point for each of the benches, which stand in one common bath.

    Args:
        benches: Those that are steady.
        reference: What a reference in the same bath shows; None: the median of the benches' values.
        u_reference: The reference's standard uncertainty; None: unknown, or from the spread for the median.
        unit: For the words.

    Raises:
        ValueError: No bench is steady, or too few for a median.
    """
    if not benches:
        raise ValueError("no bench is steady")
    if reference is not None:
        given = u_reference or 0.0
        told = with_uncertainty(reference, given, unit) if given else f"{reference:g} {unit}".strip()
        return ClassPoints(reference, given, _points(benches, reference, given), f"reference {told}")
    if len(benches) < LEAST_BENCHES:
        raise ValueError(
            f"a class median needs at least {LEAST_BENCHES} steady benches, found {len(benches)}"
        )
    values = [one.value for one in benches]
    middle, u = median_with_uncertainty(values)
    u = u_reference or u
    middle = _tidy(middle, u)
    told = with_uncertainty(middle, u, unit) if u else f"{middle:g} {unit}".strip()
    words = f"median of {len(benches)} benches, {told}"
    return ClassPoints(middle, _tidy(u, u), _points(benches, middle, _tidy(u, u)), words)


def median_with_uncertainty(values: Sequence[float]) -> tuple[float, float]:
    """The median, and its standard uncertainty from the spread: one wild value hardly moves either.

    u = sqrt(pi / 2) s / sqrt(n) with s from the median deviation from the median.

    Args:
        values: At least two.

    Source: Croux and Rousseeuw, Time-efficient algorithms for two highly robust estimators of scale,
    Computational Statistics 1 (1992), 411, for s of few values; Kendall's Advanced Theory of Statistics,
    volume 1, 10.11, for the median's variance under normal noise.
    """
    middle, n = median(values), len(values)
    few = _FEW[n - 2] if n < 2 + len(_FEW) else n / (n - 0.8)
    s = few * _NORMAL * median(abs(value - middle) for value in values)
    return middle, math.sqrt(math.pi / 2.0) * s / math.sqrt(n)


def _points(
    benches: Sequence[SteadyBench], reference: float, u_reference: float
) -> tuple[tuple[int, CalibrationPoint], ...]:
    return tuple(
        (one.bench, captured_point(reference, u_reference, one.indication, one.u_indication))
        for one in benches
    )


def captured_point(
    reference: float, u_reference: float, indication: float, u_indication: float
) -> CalibrationPoint:
    """A point as it stands in the lesson: without the digits that mean nothing."""
    return CalibrationPoint(
        reference, _tidy(indication, u_indication), u_reference, _tidy(u_indication, u_indication)
    )


def _tidy(value: float, u: float) -> float:
    """One digit more than is shown: rounding then adds nothing to the uncertainty."""
    return float(rounded(value, decimals_for(u, most=8) + 1))
