"""A whole program as a hypothesis: what it computes, and whether its printed numbers can be these."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from bridge.core.checking.columns import Columns
from bridge.core.checking.curve import FOLLOWS
from bridge.core.checking.intervals import CLOSENESS, Interval, Numbers, meets, sorted_interval
from bridge.core.checking.mistakes import Mistake, order_of
from bridge.core.checking.value_parts import Relabelled, ValuePart
from bridge.core.checking.volts_parts import VoltsPart, prints, through_whole_numbers, volts_of

_ROUTES = ("", "whole millivolts", "rounded millivolts")


@dataclass(frozen=True, slots=True)
class Program:
    """A formula with its mistakes; none where it is the lesson's."""

    volts: VoltsPart
    value: ValuePart | None  # None where no value is printed
    fitted: tuple[Mistake, ...] = ()  # numbers found by intersecting intervals
    through: str = ""  # what the value was computed from, where that is not the count in one go

    @property
    def mistakes(self) -> tuple[Mistake, ...]:
        """All of them, the most usual first."""
        all_of_them = (*self.volts.mistakes, *(self.value.mistakes if self.value else ()), *self.fitted)
        return tuple(sorted(all_of_them, key=lambda one: one.order))

    @property
    def order(self) -> float:
        """The lower, the more usual."""
        return order_of(self.mistakes)

    def with_own(self, mistake: Mistake, *, gain: float = 1.0, offset: float = 0.0) -> Program:
        """With a gain or an offset of its own on the sensor's value."""
        assert self.value is not None
        own = Relabelled(gain * self.value.own.scale, gain * self.value.own.shift + offset)
        return replace(self, value=replace(self.value, own=own), fitted=(*self.fitted, mistake))


def used_volts(part: VoltsPart, columns: Columns) -> Interval:
    """The volts that the value is computed from, in one go from the count."""
    assert columns.count is not None
    volts = volts_of(part, columns.count, columns.closeness)
    return Interval(volts.low * part.factor, volts.high * part.factor) if part.is_carried else volts


def routes(part: VoltsPart, columns: Columns) -> Iterator[tuple[str, Interval]]:
    """The volts that the value may have been computed from, by name."""
    printed = columns.volts
    if columns.count is not None:
        yield from zip(
            _ROUTES, through_whole_numbers(used_volts(part, columns), columns.closeness), strict=True
        )
        if printed is not None:
            volts = printed.numbers / part.per_volt
            yield "printed volts", Interval(volts, volts)
        return
    assert printed is not None
    scale = part.per_volt * part.factor
    for way in printed.readings():
        yield "", Interval(way.low / scale, way.high / scale)


def values_of(
    part: ValuePart, volts_part: VoltsPart, volts: Interval, closeness: float = CLOSENESS
) -> Interval:
    """What the program computes from volts, widened by what 32-bit arithmetic may leave."""
    curve = part.curve
    per = volts_part.reference if curve.per == FOLLOWS else curve.per
    slack_low, slack_high = volts.low * ((1 - closeness) / per), volts.high * ((1 + closeness) / per)
    with np.errstate(all="ignore"):
        ends = [part.gain * curve.value(x) + part.offset for x in (slack_low, slack_high)]
        if np.isnan(ends).any():  # at the end of a formula's domain one side may be beyond it
            ends = _within_domain(part, volts.low / per, ends)
        found = sorted_interval(*ends)
        slack = closeness * (np.abs(found.high) + abs(part.gain) * curve.magnitude + abs(part.offset))
        low, high = found.low - slack, found.high + slack
    return Interval(np.trunc(low), np.trunc(high)) if part.is_whole else Interval(low, high)


def _within_domain(part: ValuePart, x: Numbers, ends: list[Numbers]) -> list[Numbers]:
    middle = part.gain * part.curve.value(x) + part.offset
    return [np.fmin(np.fmin(*ends), middle), np.fmax(np.fmax(*ends), middle)]


def route_of(value: ValuePart, volts: VoltsPart, columns: Columns) -> str | None:
    """By which way all printed values can be this formula's; None when by none."""
    assert columns.value is not None
    numbers = columns.value.numbers
    if value.is_whole and (numbers != np.trunc(numbers)).any():
        return None
    ways = columns.value.readings()
    for name, used in routes(volts, columns):
        if name in _ROUTES[1:] and value.curve.per == FOLLOWS:
            continue  # the part of the supply comes from the count itself there
        computed = values_of(value, volts, used, columns.closeness)
        if meets(Interval(computed.low[None], computed.high[None]), ways)[0]:
            return name
    return None


def standing(program: Program, columns: Columns) -> Program | None:
    """The program with the way that it takes, None when some record speaks against it."""
    if columns.count is not None and columns.volts is not None and not prints(program.volts, columns):
        return None
    if columns.value is None or program.value is None:
        return program
    through = route_of(program.value, program.volts, columns)
    return None if through is None else replace(program, through=through)
