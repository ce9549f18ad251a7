"""A gauge's scale for a channel that no lesson describes: round ends that widen with what is seen."""

from __future__ import annotations

import math

_SMALLEST = 1e-300  # below it a span has no digits left to be divided


def round_scale(low: float, high: float) -> tuple[float, float]:
    """Round ends that hold low..high with some room; zero is an end when it is near.

    Args:
        low: Least value seen, finite.
        high: Greatest value seen, finite, >= low.

    Returns:
        Ends low < high, multiples of 1, 2 or 5 times a power of ten.
    """
    span = high - low
    if span <= max(abs(high) * 1e-9, _SMALLEST):
        span = abs(high) if abs(high) > _SMALLEST else 1.0
    if 0 <= low <= span:
        low = 0.0
    elif -span <= high <= 0:
        high = 0.0
    step = _round_up(max(high - low, _SMALLEST if high > low else span) / 4)
    first, last = math.floor(low / step) * step, math.ceil(high / step) * step
    return first, last if last > first else first + step


def _round_up(size: float) -> float:
    power = 10.0 ** math.floor(math.log10(size))
    return next(m * power for m in (1, 2, 5, 10) if m * power >= size * (1 - 1e-12))
