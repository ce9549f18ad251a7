"""A reference that no list has, found by intersecting what every record allows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from bridge.core.checking.allowed import Allowed, Candidate, roundest_first, ways_of
from bridge.core.checking.columns import Columns
from bridge.core.checking.curve import FOLLOWS
from bridge.core.checking.intervals import CLOSENESS, Interval, Numbers
from bridge.core.checking.mistakes import Mistake
from bridge.core.checking.programs import Program
from bridge.core.checking.value_parts import ValuePart
from bridge.core.checking.volts_parts import VoltsPart, volts_of
from bridge.core.conversion_given import Conversion

_EVENLY = np.linspace(0.0, 1.0, 1500)
_NEWTON_STEPS = 3
_OFF = ((0.0, 0.0), (0.0, 0.001), (-0.0005, 0.0005))  # V: cut or rounded to whole millivolts on the way
_MOST_OFF = 0.001  # V, of all of them
_TABLE_STEP = 1.02  # more than from one of _EVENLY to the next, over any range of counts
_SCALES = (0.2, 5.0)  # a reference of its own lies within these of the lesson's


def own_reference(program: Program, columns: Columns, expected: Conversion) -> Iterator[Program]:
    """The program with a reference that no list has: by the printed volts, else by the value."""
    if columns.count is None:
        return
    part = program.volts
    found = _by_volts(part, columns) if columns.volts is not None else _by_value(program, columns)
    for reference, own_range, allowed in found:
        if own_range.least <= 0:
            continue  # what is always printed as 0 tells of no reference
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
            for less, more in _OFF:
                least = part.reference * (way.low[some] / scale + less) / volts.high[some]
                most = part.reference * (way.high[some] / scale + more) / volts.low[some]
                yield Allowed(float(least.max()), float(most.min()))

    return roundest_first(each())


def _by_value(program: Program, columns: Columns) -> list[Candidate]:
    assert columns.count is not None
    assert columns.value is not None
    assert program.value is not None
    if program.value.curve.per == FOLLOWS:
        return []
    volts = volts_of(program.volts, columns.count)
    if not (volts.low > 0).all():
        return []
    ways, reference = ways_of(program, columns), program.volts.reference
    targets = np.stack([end for way in ways for end in way])
    scales = _straight_scales(program.value, volts, targets)
    if scales is None:
        scales = _curved_scales(program, volts, targets)
    return roundest_first(
        Allowed(
            float((np.minimum(*ends) + less / volts.high).max()) * reference * (1 - CLOSENESS),
            float((np.maximum(*ends) + more / volts.low).min()) * reference * (1 + CLOSENESS),
        )
        for ends in scales.reshape(len(ways), 2, -1)
        for less, more in _OFF
    )


def _straight_scales(value: ValuePart, volts: Interval, targets: Numbers) -> Numbers | None:
    """By which the volts must be multiplied to give the values, where that is a straight line."""
    if value.curve.line is None:
        return None
    gain, offset = value.curve.line
    scales: Numbers = ((targets - value.offset) / value.gain - offset) / gain * value.curve.per / volts.low
    return scales


def _is_hopeless(scales: Numbers, volts: Interval) -> bool:
    """Whether scales that are known to a step of the table have nothing in common, for any way of print."""
    ways = scales.reshape(-1, 2, scales.shape[-1])
    least = (ways.min(axis=1) - _MOST_OFF / volts.high).max(axis=-1)
    most = (ways.max(axis=1) + _MOST_OFF / volts.low).min(axis=-1)
    return not (least <= _TABLE_STEP * most).any()  # NaN where a value lies beyond the table


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
        if _is_hopeless(found / x, volts):
            return np.full(targets.shape, np.nan)
        for _ in range(_NEWTON_STEPS):
            step = 1e-5 * found
            slope = (value(found + step) - value(found - step)) / (2 * step)
            found = found - (value(found) - targets) / slope
        scales: Numbers = found / x
    return scales
