"""The second half of a program's formula: from volts to the printed value, right or with usual mistakes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from bridge.core.chain import UNITS_OF, is_unit_of
from bridge.core.checking.curve import Curve
from bridge.core.checking.curves import curves_of
from bridge.core.checking.mistakes import Mistake
from bridge.core.checking.table_curves import millivolts
from bridge.core.checking.volts_parts import FACTORS
from bridge.core.conversion_given import Conversion
from bridge.core.stages import signed
from bridge.core.unit_lines import line_between
from bridge.core.units import canonical_unit


class Relabelled(NamedTuple):
    """What a value in the channel's unit is in the unit that the board prints: scale × value + shift."""

    scale: float
    shift: float


def relabelled(unit: str, value_unit: str) -> Relabelled | None:
    """From the channel's unit to the printed one; None where the two are not of one quantity."""
    if not (unit and value_unit):
        return Relabelled(1.0, 0.0)
    line = line_between(unit, value_unit)
    return None if line is None else Relabelled(*line)


UNCHANGED = Relabelled(1.0, 0.0)


@dataclass(frozen=True, slots=True)
class ValuePart:
    """A sensor's formula and what is done to its result before it is printed.

    printed = after.scale × (own.scale × label(curve) + own.shift) + after.shift, perhaps cut to whole.
    """

    curve: Curve
    label: Relabelled = UNCHANGED  # to the unit that the board says it prints
    own: Relabelled = UNCHANGED  # a gain and an offset of the program's own
    after: Relabelled = UNCHANGED  # what a mistake does behind that
    is_whole: bool = False
    mistakes: tuple[Mistake, ...] = ()

    @property
    def gain(self) -> float:
        """Of the curve's value, all in all."""
        return self.after.scale * self.own.scale * self.label.scale

    @property
    def offset(self) -> float:
        """Behind that."""
        return self.after.scale * (self.own.scale * self.label.shift + self.own.shift) + self.after.shift

    @property
    def text(self) -> str:
        """With {x} for the volts and {supply} for what the divider stands at."""
        text = self.curve.text
        for scale, shift in (self.label, self.own, self.after):
            if scale != 1.0:
                text = f"({text}) × {scale:.5g}"
            if shift:
                text = f"{text} {signed(float(f'{shift:.5g}'))}"
        return f"whole part of ({text})" if self.is_whole else text


class _After(NamedTuple):
    """What a program does to the right value: gain × value + offset, perhaps cut to whole numbers."""

    gain: float
    offset: float
    is_whole: bool
    mistakes: tuple[Mistake, ...]


def value_parts(expected: Conversion, unit: str, label: Relabelled, printed_unit: str) -> list[ValuePart]:
    """Right ones first, then all with one mistake, then with two."""
    curves = curves_of(expected, unit)
    printed = canonical_unit(printed_unit or unit)
    plain, of_lines = (list(_afters(printed, has_no_offset=one)) for one in (False, True))
    found: list[ValuePart] = []
    done: set[tuple[object, ...]] = set()
    pairs = [
        (curve, after)
        for curve in curves
        for after in (of_lines if expected.kind == "linear" and curve.line and not curve.line[1] else plain)
    ]
    pairs.sort(key=lambda pair: len(pair[0].mistakes) + len(pair[1].mistakes))
    for curve, after in pairs:
        mistakes = (*curve.mistakes, *after.mistakes)
        if len(mistakes) > 2:
            break
        behind = Relabelled(after.gain, after.offset)
        part = ValuePart(curve, label, after=behind, is_whole=after.is_whole, mistakes=mistakes)
        key = _key(part)
        if key not in done:  # the same formula under the name of a more usual mistake
            done.add(key)
            found.append(part)
    return found


def _key(part: ValuePart) -> tuple[object, ...]:
    curve = part.curve
    if curve.line is None:
        return id(curve), part.gain, part.offset, part.is_whole
    gain, offset = curve.line[0] * part.gain, curve.line[1] * part.gain + part.offset
    return curve.per, float(f"{gain:.9g}"), float(f"{offset:.9g}"), part.is_whole


def _afters(unit: str, *, has_no_offset: bool) -> Iterator[_After]:
    singles = [*_units(unit), *_factors(has_no_offset=has_no_offset)]
    yield _After(1.0, 0.0, False, ())
    yield from singles
    for one in _units(unit):
        for factor in _factors(has_no_offset=has_no_offset):
            mistakes = (*one.mistakes, *factor.mistakes)
            gain = factor.gain * one.gain
            yield _After(gain, factor.gain * one.offset, False, mistakes)  # the unit first
            yield _After(gain, one.offset, False, mistakes)  # the factor first
    lost = Mistake("whole value", "divides in whole numbers, which loses the decimals of the value")
    yield _After(1.0, 0.0, True, (lost,))
    for one in singles:
        yield _After(one.gain, one.offset, True, (*one.mistakes, lost))


def _factors(*, has_no_offset: bool) -> Iterator[_After]:
    for factor in FACTORS:
        words = (
            f"prints {factor:g} times the value" if factor > 1 else f"prints 1/{1 / factor:g} of the value"
        )
        yield _After(factor, 0.0, False, (_factor(factor, words, has_no_offset=has_no_offset),))


def _factor(factor: float, words: str, *, has_no_offset: bool) -> Mistake:
    for mixed, mistake in millivolts():
        if has_no_offset and mixed == factor:
            return mistake
    return Mistake("factor", words, factor, rarity=0.1 * FACTORS.index(factor))


def _units(unit: str) -> Iterator[_After]:
    """One temperature unit printed for another, a step to another unit done where none belongs."""
    if not is_unit_of("a temperature", unit):
        return
    others = (one for one in UNITS_OF["a temperature"] if one != unit)
    for i, other in enumerate(others):
        line = line_between(unit, other)
        assert line is not None, "both are temperatures"
        gain, offset = line
        number = gain + 1000 * offset
        mistake = Mistake("unit", f"prints {other} as {unit}", number, rarity=0.1 * i)
        yield _After(gain, offset, False, (mistake,))
        words = f"takes its {unit} for {other} and converts them once more"
        mistake = Mistake("unit", words, 1 / gain - 1000 * offset / gain, rarity=0.3 + 0.1 * i)
        yield _After(1 / gain, -offset / gain, False, (mistake,))
