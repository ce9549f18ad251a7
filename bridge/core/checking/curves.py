"""Sensor formulas over whole columns, right ones and those with a usual mistake in them.

The arithmetic of `bridge.core.chain`'s stages, for arrays: a check tries hundreds of formulas on hundreds of
records. A test holds the right ones against the conversion itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from bridge.core.checking.curve import FOLLOWS, Curve
from bridge.core.checking.intervals import Numbers
from bridge.core.checking.mistakes import Mistake
from bridge.core.checking.resistor_curves import curves_of_ohms
from bridge.core.checking.table_curves import millivolts, tables_of
from bridge.core.conversion_given import OF_OHMS, Conversion
from bridge.core.stages import signed
from bridge.core.units import canonical_unit

_LINEAR_OTHERS = ((0.0, 0.01), (0.5, 0.01), (0.4, 0.0195), (0.0, 0.02), (0.5, 0.02))  # V at 0 °C, V per °C
_OFFSETS = (0.5, 0.4, 0.25, 0.6)  # V
_SUPPLIES = (5.0, 3.3)  # V


def curves_of(expected: Conversion, unit: str) -> list[Curve]:
    """The lesson's own formula first, then those with one mistake; right ones of other shape have none."""
    found = list(_curves(expected, unit))
    if expected.kind != "ratiometric" and expected.kind not in OF_OHMS:
        return found
    return [curve for one in found for curve in _with_supplies(one, expected)]


def _curves(expected: Conversion, unit: str) -> Iterator[Curve]:
    match expected.kind:
        case "linear":
            yield from _lines(expected, unit)
        case "ratiometric":
            yield from _ratiometric(expected, unit)
        case "polynomial":
            yield from _polynomials(expected)
        case "table":
            yield from tables_of(expected, "V")
        case _:
            yield from curves_of_ohms(expected, unit)


def _with_supplies(curve: Curve, expected: Conversion) -> Iterator[Curve]:
    """The part of the supply: by the program's own reference, or by a number for the supply."""
    supply = expected.supply_volts
    if supply is None or supply == expected.reference_volts:
        yield replace(curve, per=FOLLOWS)  # the reference cancels, whatever the program takes it for
        yield replace(curve, per=expected.reference_volts)
        right = expected.reference_volts
    else:
        yield replace(curve, per=supply)
        right = supply
    if curve.mistakes:
        return
    for i, other in enumerate(one for one in _SUPPLIES if one != right):
        words = f"computes with {other:g} V at the divider, which has {right:g} V"
        if expected.kind == "ratiometric":
            words = f"computes with a supply of {other:g} V for the sensor, which has {right:g} V"
        yield replace(curve, per=other, mistakes=(Mistake("supply", words, other, rarity=0.1 * i),))


def _line(gain: float, offset: float, text: str, *mistakes: Mistake) -> Curve:
    return Curve(text, lambda x: gain * x + offset, line=(gain, offset), mistakes=mistakes)


def linear_text(zero: float, per_unit: float, unit: str) -> str:
    """A linear sensor's formula in words."""
    x = f"({{x}} {signed(-zero)} V)" if zero else "{x}"
    return f"{x} / {per_unit:g} V per {unit}" if unit else f"{x} / {per_unit:g} V"


def _volts(volts: float) -> str:
    return f"{volts * 1000:g} mV" if abs(volts) < 1 else f"{volts:g} V"


def _sensor(zero: float, per_unit: float, unit: str) -> str:
    offset = f"an offset of {_volts(zero)}" if zero else "no offset"
    return f"{offset}, {per_unit * 1000:g} mV per {unit or 'unit'}"


def _sensor_line(zero: float, per_unit: float, unit: str, *mistakes: Mistake) -> Curve:
    return _line(1 / per_unit, -zero / per_unit, linear_text(zero, per_unit, unit), *mistakes)


def _lines(expected: Conversion, unit: str) -> Iterator[Curve]:
    """The sensor's own line, lines with another offset or slope, each also with its volts mixed up."""
    per_unit = expected.volts_per_unit
    for zero, slope, mistakes in _zeros_and_slopes(expected, unit):
        yield _sensor_line(zero, slope, unit, *mistakes)
    for zero, slope, mistakes in _zeros_and_slopes(expected, unit):
        if not zero:
            continue  # there it is a plain factor behind the formula
        for factor, mixed in millivolts():
            text = linear_text(zero, per_unit, unit).replace("{x}", f"{{x}} × {factor:g}")
            yield _line(factor / slope, -zero / slope, text, *mistakes, mixed)


def _zeros_and_slopes(expected: Conversion, unit: str) -> Iterator[tuple[float, float, tuple[Mistake, ...]]]:
    zero, per_unit = expected.offset_volts, expected.volts_per_unit
    yield zero, per_unit, ()
    done = {(zero, per_unit)}
    if zero:
        words = f"leaves out the sensor's offset of {_volts(zero)}"
        yield 0.0, per_unit, (Mistake("offset missing", words),)
        words = f"adds the sensor's offset of {_volts(zero)} instead of subtracting it"
        yield -zero, per_unit, (Mistake("offset sign", words),)
        done |= {(0.0, per_unit), (-zero, per_unit)}
    others = [(one, per_unit) for one in _OFFSETS]
    if canonical_unit(unit) == "°C":
        others += _LINEAR_OTHERS
    this = _sensor(zero, per_unit, unit)
    for i, other in enumerate(others):
        if other not in done:
            done.add(other)
            words = f"uses another sensor's formula ({_sensor(*other, unit)}); this sensor has {this}"
            yield *other, (Mistake("other sensor", words, other[0] + 1000 * other[1], rarity=0.05 * i),)


def _ratiometric(expected: Conversion, unit: str) -> Iterator[Curve]:
    zero, per_unit = expected.offset_fraction, expected.fraction_per_unit

    def curve(offset: float, *mistakes: Mistake) -> Curve:
        part = f"(part of the supply {signed(-offset)})" if offset else "part of the supply"
        text = f"{part} / {per_unit:g} per {unit or 'unit'}, part of the supply = {{x}} / {{supply}}"
        return _line(1 / per_unit, -offset / per_unit, text, *mistakes)

    yield curve(zero)
    if zero:
        yield curve(
            0.0, Mistake("offset missing", f"leaves out the sensor's offset of {zero:g} of its supply")
        )
        words = f"adds the sensor's offset of {zero:g} of its supply instead of subtracting it"
        yield curve(-zero, Mistake("offset sign", words))


def _polynomials(expected: Conversion) -> Iterator[Curve]:
    def curve(coefficients: tuple[float, ...], scale: float, *mistakes: Mistake) -> Curve:
        def value(x: Numbers) -> Numbers:
            x = x * scale
            y = np.zeros_like(x)
            for c in reversed(coefficients):
                y = y * x + c
            return y

        terms = [f"{coefficients[0]:g}"]
        terms += [f"{signed(c)} × v{f'^{i}' if i > 1 else ''}" for i, c in enumerate(coefficients) if i]
        text = f"{' '.join(terms)}, v = {{x}}" + (f" × {scale:g}" if scale != 1 else "")
        return Curve(text, value, magnitude=max(map(abs, coefficients)), mistakes=mistakes)

    own = expected.coefficients
    yield curve(own, 1.0)
    if own[0]:
        words = f"leaves out the constant {own[0]:g} of the polynomial"
        yield curve((0.0, *own[1:]), 1.0, Mistake("offset missing", words))
        words = f"takes the constant {own[0]:g} of the polynomial with the wrong sign"
        yield curve((-own[0], *own[1:]), 1.0, Mistake("offset sign", words))
    for factor, mistake in millivolts():
        yield curve(own, factor, mistake)
