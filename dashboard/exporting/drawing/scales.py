"""From values to places in a picture, and which values get a tick."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Scale:
    """A straight line from values to px; `start` may be above `end`, as on an upright axis."""

    low: float
    high: float
    start: float  # px of `low`
    end: float

    def __post_init__(self) -> None:
        if not self.low < self.high:
            raise ValueError(f"a scale rises: {self.low} to {self.high}")

    def __call__(self, value: float) -> float:
        """Its place in px; beyond the ends it lies beyond them."""
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)


def padded(low: float, high: float, *, share: float = 0.05) -> tuple[float, float]:
    """A range with some air; one that has no width gets one."""
    width = high - low
    if width <= 0:
        width = abs(high) * 0.1 or 1.0
        return low - width / 2, high + width / 2
    return low - share * width, high + share * width


def ticks(low: float, high: float, *, most: int = 7) -> list[float]:
    """Round values within a range: steps of 1, 2 or 5 times a power of ten; at least one, at most `most`."""
    rough = (high - low) / most
    power = 10.0 ** math.floor(math.log10(rough))
    # The widest step always leaves few enough.
    steps = [factor * power for factor in (1, 2, 5, 10, 20)]
    for step in steps:
        first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
        if 1 <= last - first + 1 <= most:
            return [_rounded(i * step, step) for i in range(first, last + 1)]
    return [_rounded((low + high) / 2, rough)]


def tick_texts(values: list[float]) -> list[str]:
    """All with as many decimals as the step between them needs; a real minus sign."""
    step = min((b - a for a, b in itertools.pairwise(values)), default=abs(values[0]) or 1.0)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    if max(abs(value) for value in values) >= 1e7 or decimals > 6:
        return [f"{value:.3g}".replace("-", "−") for value in values]
    return [f"{value + 0.0:.{decimals}f}".replace("-", "−") for value in values]


def _rounded(value: float, step: float) -> float:
    return round(value, max(0, 2 - math.floor(math.log10(step)))) + 0.0
