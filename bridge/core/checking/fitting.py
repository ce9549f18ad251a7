"""Numbers of a program's own, found by intersecting what every record allows: gain, offset, reference."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from bridge.core.checking.allowed import Allowed, roundest_first, ways_of
from bridge.core.checking.columns import Columns
from bridge.core.checking.intervals import Interval, Numbers, sorted_interval
from bridge.core.checking.mistakes import Mistake, MistakeKind
from bridge.core.checking.programs import Program, routes, values_of
from bridge.core.checking.value_parts import UNCHANGED

_N_FIRST_LINES = 24


Fits = Sequence[tuple[Interval, Interval]]


def fits_of(program: Program, columns: Columns) -> Fits:
    """What the sensor's formula gives and what it must be by the print, for each way of doing both.

    Both before a mistake that stands behind them: a wrong unit, a factor.
    """
    assert program.value is not None
    scale, shift = program.value.after
    plain = replace(program.value, after=UNCHANGED, is_whole=False)
    printed = [
        sorted_interval((way.low - shift) / scale, (way.high - shift) / scale)
        for way in ways_of(program, columns)
    ]
    fits: list[tuple[Interval, Interval]] = []
    for _, volts in routes(program.volts, columns):
        computed = values_of(plain, program.volts, volts)
        if np.isfinite(computed.low).all() and np.isfinite(computed.high).all():
            fits += [(computed, way) for way in printed]
    return fits


def own_offset(program: Program, fits: Fits, unit: str) -> Iterator[Program]:
    """The program with an offset of its own added to the sensor's value; the likeliest number first."""
    for offset, _, allowed in roundest_first(
        Allowed(float((way.low - t.high).max()), float((way.high - t.low).min())) for t, way in fits
    ):
        verb = "adds" if offset > 0 else "subtracts"
        words = f"{verb} {_own('offset', abs(offset), unit)}{_range(allowed, unit)}"
        yield program.with_own(Mistake("own offset", words, offset, *allowed), offset=offset)


def own_gain(program: Program, fits: Fits) -> Iterator[Program]:
    """The program with the sensor's value multiplied by a gain of its own; the likeliest number first."""
    for gain, _, allowed in roundest_first(_gains(t, way) for t, way in fits):
        if allowed.least > 0:
            words = f"multiplies by {_own('gain', gain)}{_range(allowed)}"
            yield program.with_own(Mistake("own gain", words, gain, *allowed), gain=gain)


def own_gain_and_offset(program: Program, columns: Columns, unit: str) -> Program | None:
    """The program with both: any straight line of the right value does."""
    for t, way in fits_of(program, columns):
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
    if not has_sign.all():
        near_zero = ~has_sign
        # A computed zero stays zero, whatever the gain.
        if (way.low[near_zero] > t.high[near_zero]).any() or (way.high[near_zero] < t.low[near_zero]).any():
            return Allowed(1.0, 0.0)
        if not has_sign.any():
            return Allowed(1.0, 0.0)
        t, way = t.part(has_sign), way.part(has_sign)
    quotients = np.array([a / b for a in way for b in t])
    return Allowed(float(quotients.min(axis=0).max()), float(quotients.max(axis=0).min()))


def _own(what: MistakeKind | str, number: float, unit: str = "") -> str:
    gap = f" {unit}" if unit else ""
    return f"{'an' if what == 'offset' else 'a'} {what} of its own of {number:.4g}{gap}"


def _range(allowed: Allowed, unit: str = "") -> str:
    gap = f" {unit}" if unit else ""
    low, high = f"{allowed.least:.4g}", f"{allowed.most:.4g}"
    return "" if low == high else f" ({low} to {high}{gap})"
