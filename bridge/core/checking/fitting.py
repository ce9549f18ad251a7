"""Numbers of a program's own, found by intersecting what every record allows: gain, offset, reference."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from bridge.core.checking.columns import Columns
from bridge.core.checking.curves import FOLLOWS
from bridge.core.checking.intervals import CLOSENESS, Interval, Numbers, PrintedColumn, sorted_interval
from bridge.core.checking.mistakes import Mistake, MistakeKind
from bridge.core.checking.programs import Program, routes, values_of
from bridge.core.checking.value_parts import UNCHANGED, ValuePart
from bridge.core.checking.volts_parts import VoltsPart, volts_of
from bridge.core.conversion_given import Conversion

_EVENLY = np.linspace(0.0, 1.0, 1500)
_NEWTON_STEPS = 3
_N_FIRST_LINES = 24
_LOST = (0.0, 0.001)  # V: cut to whole millivolts on the way
_SCALES = (0.2, 5.0)  # a reference of its own lies within these of the lesson's


class Allowed(NamedTuple):
    """The numbers that every record allows; none where least > most."""

    least: float
    most: float

    @property
    def roundest(self) -> float:
        """The number among them that has the fewest digits, as a person would have typed it."""
        middle = (self.least + self.most) / 2
        for digits in range(1, 12):
            number = float(f"{middle:.{digits}g}")
            if self.least <= number <= self.most:
                return number
        return middle


class Candidate(NamedTuple):
    """A number that one way of computing and printing allows, and what all of them allow together."""

    number: float
    own: Allowed
    allowed: Allowed


def _roundest_first(found: Iterator[Allowed]) -> list[Candidate]:
    """A number for each way of print that allows one, the roundest first.

    Cut instead of rounded, an offset of 1.6 printed to tenths looks like one of 1.65.
    """
    some = [one for one in found if one.least <= one.most]
    if not some:
        return []
    hull = Allowed(min(one.least for one in some), max(one.most for one in some))
    different = {one.roundest: one for one in reversed(some)}  # of like ones the first: the most usual way
    different = dict(reversed(different.items()))
    numbers = sorted(different, key=lambda number: len(f"{number:.12g}"))
    return [Candidate(number, different[number], hull) for number in numbers]


def _sensor_values(program: Program, columns: Columns) -> Iterator[tuple[Interval, Interval]]:
    """What the sensor's formula gives and what it must be by the print, for each way of doing both.

    Both before a mistake that stands behind them: a wrong unit, a factor.
    """
    assert program.value is not None
    scale, shift = program.value.after
    plain = replace(program.value, after=UNCHANGED, is_whole=False)
    printed = [
        sorted_interval((way.low - shift) / scale, (way.high - shift) / scale)
        for way in _ways(program, columns)
    ]
    for _, volts in routes(program.volts, columns):
        computed = values_of(plain, program.volts, volts)
        if np.isfinite(computed.low).all() and np.isfinite(computed.high).all():
            for way in printed:
                yield computed, way


def _ways(program: Program, columns: Columns) -> list[Interval]:
    """What the printed values stand for; a value cut to whole numbers lies anywhere up to the next."""
    assert columns.value is not None
    assert program.value is not None
    if program.value.is_whole:
        return [PrintedColumn(columns.value.numbers, 1.0).readings()[1]]
    return columns.value.readings()


def own_offset(program: Program, columns: Columns, unit: str) -> Iterator[Program]:
    """The program with an offset of its own added to the sensor's value; the likeliest number first."""
    for offset, _, allowed in _roundest_first(
        Allowed(float((way.low - t.high).max()), float((way.high - t.low).min()))
        for t, way in _sensor_values(program, columns)
    ):
        verb = "adds" if offset > 0 else "subtracts"
        words = f"{verb} {_own('offset', abs(offset), unit)}{_range(allowed, unit)}"
        yield program.with_own(Mistake("own offset", words, offset, *allowed), offset=offset)


def own_gain(program: Program, columns: Columns) -> Iterator[Program]:
    """The program with the sensor's value multiplied by a gain of its own; the likeliest number first."""
    for gain, _, allowed in _roundest_first(_gains(t, way) for t, way in _sensor_values(program, columns)):
        if allowed.least > 0:
            words = f"multiplies by {_own('gain', gain)}{_range(allowed)}"
            yield program.with_own(Mistake("own gain", words, gain, *allowed), gain=gain)


def own_gain_and_offset(program: Program, columns: Columns, unit: str) -> Program | None:
    """The program with both: any straight line of the right value does."""
    for t, way in _sensor_values(program, columns):
        x, half = (t.low + t.high) / 2, (t.high - t.low) / 2
        slack = half * 2  # of a gain up to 2, which is what the ends of a computed number can make of it
        low, high = way.low - slack, way.high + slack
        few = slice(None, None, max(1, len(x) // _N_FIRST_LINES))
        at_first = _slopes(x[few], low[few], high[few])
        if at_first is None or at_first.least > at_first.most:
            continue
        gains = _slopes(x, low, high)
        if gains is None or gains.least > gains.most:
            continue
        gain = gains.roundest
        offsets = Allowed(float((low - gain * x).max()), float((high - gain * x).min()))
        if offsets.least > offsets.most:
            gain = (gains.least + gains.most) / 2
            offsets = Allowed(float((low - gain * x).max()), float((high - gain * x).min()))
        if offsets.least > offsets.most:
            continue
        offset = offsets.roundest
        first = Mistake("own gain", f"multiplies by {_own('gain', gain)}{_range(gains)}", gain, *gains)
        verb = "adds" if offset > 0 else "subtracts"
        second = Mistake("own offset", f"{verb} {_own('offset', abs(offset), unit)}", offset, *offsets)
        return program.with_own(first, gain=gain).with_own(second, offset=offset)
    return None


def _slopes(x: Numbers, low: Numbers, high: Numbers) -> Allowed | None:
    """Gains of the lines through all the intervals: each two records bound it from both sides."""
    apart = x[None, :] - x[:, None]
    later = apart > 1e-9
    if not later.any():
        return None
    least = (low[None, :] - high[:, None])[later] / apart[later]
    most = (high[None, :] - low[:, None])[later] / apart[later]
    return Allowed(float(least.max()), float(most.min()))


def _gains(t: Interval, way: Interval) -> Allowed:
    has_sign = (t.low > 0) | (t.high < 0)
    near_zero = ~has_sign
    # A computed zero stays zero, whatever the gain.
    if (way.low[near_zero] > t.high[near_zero]).any() or (way.high[near_zero] < t.low[near_zero]).any():
        return Allowed(1.0, 0.0)
    if not has_sign.any():
        return Allowed(1.0, 0.0)
    quotients = np.array([a[has_sign] / b[has_sign] for a in way for b in t])
    return Allowed(float(quotients.min(axis=0).max()), float(quotients.max(axis=0).min()))


def own_reference(program: Program, columns: Columns, expected: Conversion) -> Iterator[Program]:
    """The program with a reference that no list has: by the printed volts, else by the value."""
    if columns.count is None:
        return
    part = program.volts
    found = _by_volts(part, columns) if columns.volts is not None else _by_value(program, columns)
    for reference, own_range, allowed in found:
        # What printed volts leave open, the values may use; a reference found from the values is one number.
        spread = (1.0, 1.0)
        if columns.volts is not None:
            spread = (own_range.least / reference, own_range.most / reference)
        right = f"{expected.reference_volts:g} V"
        words = f"computes as if the reference were {reference:.4g} V, but the board's is {right}"
        mistake = Mistake("own reference", words, reference, *allowed)
        own = replace(part, reference=reference, spread=spread)
        yield replace(program, volts=own, fitted=(*program.fitted, mistake))


def _by_volts(part: VoltsPart, columns: Columns) -> list[Candidate]:
    assert columns.count is not None
    assert columns.volts is not None
    volts = volts_of(part, columns.count)
    some = volts.low > 0
    if not some.any():
        return []
    scale = part.per_volt * part.factor

    def each() -> Iterator[Allowed]:
        for way in columns.volts.readings():  # type: ignore[union-attr]  # not None here
            for lost in _LOST:
                least = part.reference * way.low[some] / scale / volts.high[some]
                most = part.reference * (way.high[some] / scale + lost) / volts.low[some]
                yield Allowed(float(least.max()), float(most.min()))

    return _roundest_first(each())


def _by_value(program: Program, columns: Columns) -> list[Candidate]:
    assert columns.count is not None
    assert columns.value is not None
    assert program.value is not None
    if program.value.curve.per == FOLLOWS:
        return []
    volts = volts_of(program.volts, columns.count)
    if not (volts.low > 0).all():
        return []
    ways, reference = _ways(program, columns), program.volts.reference
    targets = np.stack([end for way in ways for end in way])
    scales = _straight_scales(program.value, volts, targets)
    if scales is None:
        scales = _curved_scales(program, volts, targets)
    return _roundest_first(
        Allowed(
            float(np.minimum(*ends).max()) * reference * (1 - CLOSENESS),
            float((np.maximum(*ends) + lost / volts.high).min()) * reference * (1 + CLOSENESS),
        )
        for ends in scales.reshape(len(ways), 2, -1)
        for lost in _LOST
    )


def _straight_scales(value: ValuePart, volts: Interval, targets: Numbers) -> Numbers | None:
    """By which the volts must be multiplied to give the values, where that is a straight line."""
    if value.curve.line is None:
        return None
    gain, offset = value.curve.line
    scales: Numbers = ((targets - value.offset) / value.gain - offset) / gain * value.curve.per / volts.low
    return scales


def _curved_scales(program: Program, volts: Interval, targets: Numbers) -> Numbers:
    """The same by a table of the formula, read backwards, and a step of Newton's; NaN beyond its ends."""
    part = program.value
    assert part is not None
    curve, x = part.curve, volts.low / part.curve.per

    def value(at: Numbers) -> Numbers:
        return part.gain * curve.value(at) + part.offset

    with np.errstate(all="ignore"):
        least, most = _SCALES[0] * x.min(), _SCALES[1] * x.max()
        xs = least * (most / least) ** _EVENLY
        ys = value(xs)
        fine = np.isfinite(ys)
        xs, ys = xs[fine], ys[fine]
        if len(ys) < 2 or ys[0] == ys[-1]:
            return np.full(targets.shape, np.nan)
        up = 1 if ys[-1] > ys[0] else -1
        found = np.interp(targets, ys[::up], xs[::up], left=np.nan, right=np.nan)
        for _ in range(_NEWTON_STEPS):
            step = 1e-5 * found
            slope = (value(found + step) - value(found - step)) / (2 * step)
            found = found - (value(found) - targets) / slope
        scales: Numbers = found / x
    return scales


def _own(what: MistakeKind | str, number: float, unit: str = "") -> str:
    gap = f" {unit}" if unit else ""
    return f"{'an' if what == 'offset' else 'a'} {what} of its own of {number:.4g}{gap}"


def _range(allowed: Allowed, unit: str = "") -> str:
    gap = f" {unit}" if unit else ""
    low, high = f"{allowed.least:.4g}", f"{allowed.most:.4g}"
    return "" if low == high else f" ({low} to {high}{gap})"
