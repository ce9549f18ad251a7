"""The stages that a conversion is made of: each a strictly monotonic function with its inverse and slope."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar, Protocol


@dataclass(frozen=True, slots=True)
class Span:
    """The inputs that a stage takes, both ends included, and why none lies beyond them."""

    least: float = -math.inf
    most: float = math.inf
    below: str = ""  # why there is nothing below `least`
    above: str = ""

    def refusal(self, x: float, called: str) -> str:
        """Why x gives no value, "" when it does; `called` is x in words."""
        if x < self.least:
            return f"{called} {self.below}"
        return f"{called} {self.above}" if x > self.most else ""


class Stage(Protocol):
    """One stage. Inputs outside `span` are never asked for."""

    @property
    def words(self) -> str:
        """What comes out, for a person: "volts at the pin"."""

    @property
    def unit(self) -> str:
        """The unit that comes out."""

    @property
    def span(self) -> Span:
        """What may go in."""

    @property
    def is_straight(self) -> bool:
        """Whether the slope is the same everywhere."""

    def value(self, x: float) -> float:
        """What x becomes."""

    def inverse(self, y: float) -> float:
        """What became y."""

    def slope(self, x: float) -> float:
        """d value / d x."""

    def formula(self, x: float) -> str:
        """The function with the numbers put in."""

    def called(self, x: float) -> str:
        """x in words, at the beginning of a sentence: "count 512"."""


ANYTHING = Span()


@dataclass(frozen=True, slots=True)
class VoltsFromCount:
    """Volts that a converter's count stands for: count * reference_volts / divisor.

    Source: IEEE 1241-2010, 4.1.2, the ideal transfer function without its half-step offset.
    """

    reference_volts: float
    divisor: int
    span: Span
    words: ClassVar[str] = "volts at the pin"
    unit: ClassVar[str] = "V"
    is_straight: ClassVar[bool] = True

    def value(self, x: float) -> float:
        """Volts."""
        return x * self.reference_volts / self.divisor

    def inverse(self, y: float) -> float:
        """Count, not rounded."""
        return y * self.divisor / self.reference_volts

    def slope(self, x: float) -> float:  # noqa: ARG002  # a straight line's is the same everywhere
        """Volts per count."""
        return self.reference_volts / self.divisor

    def formula(self, x: float) -> str:
        """With the numbers put in."""
        return f"{x:g} × {self.reference_volts:g} V / {self.divisor}"

    def called(self, x: float) -> str:
        """The count in words."""
        return f"count {x:g}"


@dataclass(frozen=True, slots=True)
class Fraction:
    """The part of a full scale: x / full. Where the converter's reference feeds the sensor it cancels.

    `full` is the divisor of a count, or the volts that feed the sensor.

    Source: JCGM 200:2012 (VIM), 4.1 (indication) with IEEE 1241-2010, 4.1.2: count / divisor is the input's
    part of the reference.
    """

    full: float
    unit_in: str  # "" for a count
    span: Span
    words: ClassVar[str] = "part of the full scale"
    unit: ClassVar[str] = ""
    is_straight: ClassVar[bool] = True

    def value(self, x: float) -> float:
        """The fraction, 0 to 1."""
        return x / self.full

    def inverse(self, y: float) -> float:
        """What gives that fraction."""
        return y * self.full

    def slope(self, x: float) -> float:  # noqa: ARG002  # a straight line's is the same everywhere
        """Fraction per unit of the input."""
        return 1.0 / self.full

    def formula(self, x: float) -> str:
        """With the numbers put in."""
        unit = f" {self.unit_in}" if self.unit_in else ""
        return f"{x:.6g}{unit} / {self.full:g}{unit}"

    def called(self, x: float) -> str:
        """The input in words."""
        return f"{x:.6g} {self.unit_in}" if self.unit_in else f"count {x:g}"


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line, scale * x + shift: one unit made of another, or a bench's own gain and offset."""

    scale: float
    shift: float
    words: str
    unit: str
    unit_in: str
    span: ClassVar[Span] = ANYTHING
    is_straight: ClassVar[bool] = True

    def value(self, x: float) -> float:
        """scale * x + shift."""
        return self.scale * x + self.shift

    def inverse(self, y: float) -> float:
        """(y - shift) / scale."""
        return (y - self.shift) / self.scale

    def slope(self, x: float) -> float:  # noqa: ARG002  # a straight line's is the same everywhere
        """The scale."""
        return self.scale

    def formula(self, x: float) -> str:
        """With the numbers put in."""
        return f"{self.scale:g} × {x:.6g} {signed(self.shift)}"

    def called(self, x: float) -> str:
        """The input in words."""
        return f"{x:.6g} {self.unit_in}"


def signed(number: float) -> str:
    """A number as the second term of a sum: "+ 5", "− 0.5"."""
    return f"− {-number:g}" if math.copysign(1.0, number) < 0 else f"+ {number:g}"


def ends_of(stages: Sequence[Stage]) -> tuple[float, float]:
    """The least and the most first input with which no stage leaves its span; least > most when none has.

    Each stage is monotonic, so the ends are found by going back from each stage's own.
    """
    least, most = -math.inf, math.inf
    for i in range(len(stages) - 1, -1, -1):
        stage = stages[i]
        if math.isinf(least) and math.isinf(most):
            least, most = stage.span.least, stage.span.most
            continue
        # What lies within this stage's span, and comes out of it within the ends so far.
        if least > most:
            return least, most
        ends = _before(stage, least), _before(stage, most)
        least, most = max(min(ends), stage.span.least), min(max(ends), stage.span.most)
    return least, most


def _before(stage: Stage, y: float) -> float:
    """The input that gives y; an end of the stage's span when y lies beyond what the stage gives."""
    span = stage.span
    ends = [(stage.value(x) if math.isfinite(x) else None, x) for x in (span.least, span.most)]
    (low, at_low), (high, at_high) = ends
    rises = stage.slope(_inside(span)) > 0
    if not math.isfinite(y):
        return at_high if (y > 0) == rises else at_low
    if low is not None and (y < low if rises else y > low):
        return -math.inf  # beyond the span: nothing at all on that side
    if high is not None and (y > high if rises else y < high):
        return math.inf
    return stage.inverse(y)


def _inside(span: Span) -> float:
    if math.isfinite(span.least) and math.isfinite(span.most):
        return (span.least + span.most) / 2
    if math.isfinite(span.least):
        return span.least + 1.0
    return span.most - 1.0 if math.isfinite(span.most) else 0.0
