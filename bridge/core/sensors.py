"""Sensors that give a voltage or a part of their supply: linear, ratiometric, polynomial, table."""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass, field
from typing import ClassVar

from bridge.core.stages import ANYTHING, Span, signed

_HALVINGS = 200  # far more than a double has digits: the loop ends when the interval can't shrink


@dataclass(frozen=True, slots=True)
class LinearSensor:
    """A straight line: (x - zero) / per_unit, x in volts or as a part of the supply (ratiometric).

    Source: the definition of sensitivity, JCGM 200:2012 (VIM), 4.12: change of the indication per change of
    the quantity.
    """

    zero: float  # x at zero units
    per_unit: float  # x per unit, not 0
    unit: str
    unit_in: str = "V"  # "" for a part of the supply
    span: Span = ANYTHING
    words: ClassVar[str] = "by the sensor"
    is_straight: ClassVar[bool] = True

    def value(self, x: float) -> float:
        """Value in the unit."""
        return (x - self.zero) / self.per_unit

    def inverse(self, y: float) -> float:
        """What the sensor gives at that value."""
        return y * self.per_unit + self.zero

    def slope(self, x: float) -> float:  # noqa: ARG002  # a straight line's is the same everywhere
        """Units per input."""
        return 1.0 / self.per_unit

    def formula(self, x: float) -> str:
        """With the numbers put in."""
        gap = " V" if self.unit_in else ""
        return f"({x:.6g}{gap} {signed(-self.zero)}{gap}) / {self.per_unit:g}{gap} per {self.unit}"

    def called(self, x: float) -> str:
        """The input in words."""
        return f"{x:.6g} V" if self.unit_in else f"the part {x:.6g} of the supply"


@dataclass(frozen=True, slots=True)
class Polynomial:
    """c0 + c1 x + c2 x² + ..., x in volts; strictly monotonic over its span.

    The inverse halves the span until it can't shrink: certain, and not on the way of a reading.

    Source: the coefficients are the lesson's own, from a data sheet or a calibration; evaluated by Horner's
    rule (Knuth, The Art of Computer Programming, vol. 2, 4.6.4).
    """

    coefficients: tuple[float, ...]  # from the constant up
    unit: str
    span: Span
    words: ClassVar[str] = "by the sensor's polynomial"
    is_straight: ClassVar[bool] = False

    def value(self, x: float) -> float:
        """Value in the unit."""
        y = 0.0
        for c in reversed(self.coefficients):
            y = y * x + c
        return y

    def inverse(self, y: float) -> float:
        """Volts within the span."""
        low, high = self.span.least, self.span.most
        rises = self.value(high) > self.value(low)
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            if middle in (low, high):
                break
            if (self.value(middle) < y) == rises:
                low = middle
            else:
                high = middle
        return min(low, high, key=lambda x: abs(self.value(x) - y))

    def slope(self, x: float) -> float:
        """Units per volt."""
        y = 0.0
        for power in range(len(self.coefficients) - 1, 0, -1):
            y = y * x + power * self.coefficients[power]
        return y

    def formula(self, x: float) -> str:
        """With the numbers put in."""
        powers = [f"{self.coefficients[0]:g}"]
        for power, c in enumerate(self.coefficients[1:], start=1):
            high = f"^{power}" if power > 1 else ""
            powers.append(f"{signed(c)} × {x:.6g}{high}")
        return " ".join(powers)

    def called(self, x: float) -> str:
        """The input in words."""
        return f"{x:.6g} V"


@dataclass(frozen=True, slots=True)
class PointTable:
    """Straight between the points; both columns strictly monotonic. No value beyond the first or last point.

    At a point the slope is that of the piece above it, at the last one that of the piece below.

    Source: the points are the lesson's own, from a data sheet or a calibration; linear interpolation
    (Abramowitz and Stegun, Handbook of Mathematical Functions, 25.2.1).
    """

    points: tuple[tuple[float, ...], ...]  # input rising, value
    unit: str
    unit_in: str
    span: Span
    words: ClassVar[str] = "by the table, straight between its points"
    is_straight: ClassVar[bool] = False
    _xs: tuple[float, ...] = field(init=False, repr=False)
    _ys: tuple[float, ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_xs", tuple(x for x, _ in self.points))
        object.__setattr__(self, "_ys", tuple(y for _, y in self.points))

    def _piece(self, x: float) -> int:
        return min(max(bisect_right(self._xs, x) - 1, 0), len(self._xs) - 2)

    def value(self, x: float) -> float:
        """Value in the unit."""
        i = self._piece(x)
        part = (x - self._xs[i]) / (self._xs[i + 1] - self._xs[i])
        return self._ys[i] * (1.0 - part) + self._ys[i + 1] * part  # exact at both points

    def inverse(self, y: float) -> float:
        """The input that gives the value."""
        turn = 1.0 if self._ys[-1] > self._ys[0] else -1.0
        i = min(max(bisect_right(self._ys, turn * y, key=lambda one: turn * one) - 1, 0), len(self._ys) - 2)
        part = (y - self._ys[i]) / (self._ys[i + 1] - self._ys[i])
        return self._xs[i] * (1.0 - part) + self._xs[i + 1] * part

    def slope(self, x: float) -> float:
        """Units per input."""
        i = self._piece(x)
        return (self._ys[i + 1] - self._ys[i]) / (self._xs[i + 1] - self._xs[i])

    def formula(self, x: float) -> str:
        """With the numbers put in."""
        i = self._piece(x)
        (x1, y1), (x2, y2) = self.points[i], self.points[i + 1]
        return f"{y1:g} {signed(y2 - y1)} × ({x:.6g} {signed(-x1)}) / ({x2:g} {signed(-x1)})"

    def called(self, x: float) -> str:
        """The input in words."""
        return f"{x:.6g} {self.unit_in}"


def narrowed(span: Span, least: float, most: float, *, least_is: str, most_is: str) -> Span:
    """A span held inside two more ends, with what each end stands for."""
    below, above = (span.least, span.below), (span.most, span.above)
    if least > span.least or math.isinf(span.least):
        below = (least, f"lies below {least:.6g}, {least_is}")
    if most < span.most or math.isinf(span.most):
        above = (most, f"lies above {most:.6g}, {most_is}")
    return Span(below[0], above[0], below[1], above[1])
