"""One number of a comparison, with what it is worth; or the words for why there is none."""

from __future__ import annotations

import math
from dataclasses import dataclass

CONFIDENCE = 0.95
COVERAGE_FACTOR = 1.959963984540054
"""Of the normal distribution, for 95 % (GUM, Table G.2, infinite degrees of freedom)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A value with its standard uncertainty and the interval that holds it with 95 % confidence.

    `value` is None when it could not be computed; `words` then says why. With a value, `words` says what a
    reader must know beside it ("" when there is nothing).
    """

    name: str
    unit: str
    value: float | None = None
    u: float | None = None  # standard uncertainty, in the unit
    low: float | None = None  # ends of the 95 % interval
    high: float | None = None
    words: str = ""

    def __post_init__(self) -> None:
        numbers = (self.value, self.u, self.low, self.high)
        if any(number is not None and not math.isfinite(number) for number in numbers):
            raise ValueError(f"a figure holds finite numbers or none: {self}")
        if self.value is None and not self.words:
            raise ValueError(f"a figure without a value says why: {self.name}")

    @property
    def is_known(self) -> bool:
        """Whether there is a value."""
        return self.value is not None


def figure(
    name: str,
    unit: str,
    value: float,
    u: float | None = None,
    *,
    interval: tuple[float, float] | None = None,
    words: str = "",
) -> Figure:
    """A figure; the interval is value ± 1.96 u when none is given, and none without an uncertainty.

    A value that is not finite becomes a figure without one; an uncertainty or an end that is not finite is
    left out.
    """
    if not math.isfinite(value):
        return Figure(name=name, unit=unit, words=words or "no finite value came out")
    known_u = u if u is not None and math.isfinite(u) else None
    if interval is None and known_u is not None:
        interval = (value - COVERAGE_FACTOR * known_u, value + COVERAGE_FACTOR * known_u)
    low, high = interval if interval is not None else (math.nan, math.nan)
    return Figure(
        name=name,
        unit=unit,
        value=float(value),
        u=None if known_u is None else float(known_u),
        low=float(low) if math.isfinite(low) else None,
        high=float(high) if math.isfinite(high) else None,
        words=words,
    )


def no_figure(name: str, unit: str, words: str) -> Figure:
    """The figure could not be computed, and why."""
    return Figure(name=name, unit=unit, words=words)
