"""One sensor formula over whole columns, right or with a usual mistake in it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from bridge.core.checking.intervals import Numbers
from bridge.core.checking.mistakes import Mistake

Formula = Callable[[Numbers], Numbers]

FOLLOWS = 0.0  # `per` of a formula that takes the pin's part of whatever reference the program computes with


@dataclass(frozen=True, slots=True)
class Curve:
    """From volts at the pin (over `per`) to the sensor's value in the channel's unit."""

    text: str  # with {x} for the volts
    value: Formula
    per: float = 1.0  # V; what volts are divided by first; FOLLOWS: the program's own reference
    line: tuple[float, float] | None = None  # gain and offset, where the formula is a straight line
    magnitude: float = 0.0  # of numbers on the way that are larger than the result: 273 K
    mistakes: tuple[Mistake, ...] = ()
