"""Sensor formulas over whole columns, right ones and those with a usual mistake in them.

The arithmetic of `bridge.core.chain`'s stages, for arrays: a check tries hundreds of formulas on hundreds of
records. A test holds the right ones against the conversion itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from bridge.core.chain import UNITS_OF, given_by
from bridge.core.checking.intervals import Numbers
from bridge.core.checking.mistakes import Mistake, MistakeKind
from bridge.core.conversion_given import OF_OHMS, OF_TEMPERATURE, Conversion, SensorLeg
from bridge.core.resistance import KELVIN_AT_25, PLATINUM_A, PLATINUM_B, PLATINUM_C, ZERO_CELSIUS
from bridge.core.stages import signed
from bridge.core.unit_lines import line_between
from bridge.core.units import canonical_unit

Formula = Callable[[Numbers], Numbers]

FOLLOWS = 0.0  # `per` of a formula that takes the pin's part of whatever reference the program computes with
_LINEAR_OTHERS = ((0.0, 0.01), (0.5, 0.01), (0.4, 0.0195), (0.0, 0.02), (0.5, 0.02))  # V at 0 °C, V per °C
_OFFSETS = (0.5, 0.4, 0.25, 0.6)  # V
_BETAS = (3950.0, 3435.0, 3380.0, 3977.0, 3470.0, 4050.0, 4250.0)  # K
_OHMS = (10_000.0, 4_700.0, 100_000.0, 1_000.0, 2_200.0, 5_000.0, 47_000.0)
_PLATINUM_OHMS = (100.0, 1000.0, 500.0)
_SUPPLIES = (5.0, 3.3)  # V
_NEWTON_STEPS = 4


@dataclass(frozen=True, slots=True)
class Curve:
    """From volts at the pin (over `per`) to the sensor's value in the channel's unit."""

    text: str  # with {x} for the volts
    value: Formula
    per: float = 1.0  # V; what volts are divided by first; FOLLOWS: the program's own reference
    line: tuple[float, float] | None = None  # gain and offset, where the formula is a straight line
    magnitude: float = 0.0  # of numbers on the way that are larger than the result: 273 K
    mistakes: tuple[Mistake, ...] = ()


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
            yield from _tables(expected, "V")
        case _:
            yield from _of_ohms(expected, unit)


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


def millivolts() -> Iterator[tuple[float, Mistake]]:
    """What the volts are multiplied by when the two units are mixed up."""
    yield 1000.0, Mistake("millivolts", "takes millivolts for volts", 1000.0)
    yield 0.001, Mistake("millivolts", "takes volts for millivolts", 0.001, rarity=0.1)


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


def _tables(expected: Conversion, what: str) -> Iterator[Curve]:
    """Held at the table's ends, and going straight on there: what the sensor itself never comes to."""
    xs = np.array([x for x, _ in expected.points])
    ys = np.array([y for _, y in expected.points])

    def held(x: Numbers) -> Numbers:
        found: Numbers = np.interp(x, xs, ys)
        return found

    def straight_on(x: Numbers) -> Numbers:
        below = ys[0] + (x - xs[0]) * (ys[1] - ys[0]) / (xs[1] - xs[0])
        above = ys[-1] + (x - xs[-1]) * (ys[-1] - ys[-2]) / (xs[-1] - xs[-2])
        return np.where(x < xs[0], below, np.where(x > xs[-1], above, held(x)))

    for value in (held, straight_on):
        yield Curve(f"by the table of {what}, {what} = {{x}}", value)
    if what == "V":
        for factor, mistake in millivolts():
            yield Curve(f"by the table of V, V = {{x}} × {factor:g}", lambda x, k=factor: held(k * x),  # type: ignore[misc]
                        mistakes=(mistake,))  # fmt: skip


def _of_ohms(expected: Conversion, unit: str) -> Iterator[Curve]:
    """Sensors in a divider: x is the pin's part of the supply."""
    assert expected.fixed_ohms is not None
    assert expected.sensor_leg is not None
    fixed, leg = expected.fixed_ohms, expected.sensor_leg
    other_leg: SensorLeg = "upper" if leg == "lower" else "lower"
    right = list(_sensors(expected, unit))
    own = [one for one in right if not one.mistakes]
    for one in own:
        yield _divided(one, fixed, leg)
    words = f"computes as if the sensor were the {other_leg} leg of the divider; it is the {leg} one"
    yield _divided(own[0], fixed, other_leg, Mistake("leg", words))
    for one in right:
        if one.mistakes:
            yield _divided(one, fixed, leg)
    for i, other in enumerate(one for one in _OHMS if one != fixed):
        words = f"computes with a fixed resistor of {other:g} Ω; it has {fixed:g} Ω"
        yield _divided(own[0], other, leg, _resistance(words, other, 0.05 * i))


def _resistance(words: str, number: float, rarity: float) -> Mistake:
    return Mistake("other sensor", words, number, rarity=rarity)


def _divided(sensor: Curve, fixed: float, leg: SensorLeg, *mistakes: Mistake) -> Curve:
    formula = sensor.value

    def value(x: Numbers) -> Numbers:
        ohms = fixed * x / (1.0 - x) if leg == "lower" else fixed * (1.0 - x) / x
        return formula(np.where(ohms > 0, ohms, np.nan))

    way = f"{fixed:g} Ω × f / (1 − f)" if leg == "lower" else f"{fixed:g} Ω × (1 − f) / f"
    text = f"{sensor.text}, R = {way}, f = {{x}} / {{supply}}"
    return Curve(text, value, magnitude=sensor.magnitude, mistakes=(*sensor.mistakes, *mistakes))


def _sensors(expected: Conversion, unit: str) -> Iterator[Curve]:
    """From ohms to the channel's unit, right first."""
    scale, shift = _own_unit(expected, unit)
    magnitude = ZERO_CELSIUS * scale if expected.kind in OF_TEMPERATURE else 0.0

    def curve(
        text: str,
        value: Formula,
        kind: MistakeKind | None = None,
        words: str = "",
        number: float = 0.0,
        rarity: float = 0.0,
    ) -> Curve:
        mistakes = () if kind is None else (Mistake(kind, words, number, rarity=rarity),)
        if (scale, shift) == (1.0, 0.0):
            return Curve(text, value, magnitude=magnitude, mistakes=mistakes)
        return Curve(text, lambda ohms: scale * value(ohms) + shift, magnitude=magnitude, mistakes=mistakes)

    match expected.kind:
        case "ohms":
            yield curve(f"R in {unit}", lambda ohms: ohms)
        case "table of ohms":
            yield from _tables_of_ohms(expected)
        case "ntc beta":
            assert expected.ohms_at_25 is not None
            assert expected.beta_kelvin is not None
            own_ohms, own_beta = expected.ohms_at_25, expected.beta_kelvin
            yield curve(*_beta(own_ohms, own_beta))
            words = "takes the decimal logarithm, where the natural one belongs"
            yield curve(*_beta(own_ohms, own_beta, log="log10"), "logarithm", words)
            for i, beta in enumerate(one for one in _BETAS if one != own_beta):
                words = f"computes with a beta of {beta:g} K; the sensor has {own_beta:g} K"
                yield curve(*_beta(own_ohms, beta), "other sensor", words, beta, 0.05 * i)
            for i, ohms in enumerate(one for one in _OHMS if one != own_ohms):
                words = f"computes with a sensor of {ohms:g} Ω at 25 °C; it has {own_ohms:g} Ω"
                yield curve(*_beta(ohms, own_beta), "other sensor", words, ohms, 0.4 + 0.05 * i)
        case "ntc steinhart-hart":
            yield curve(*_steinhart_hart(expected.steinhart_hart))
            words = "takes the decimal logarithm, where the natural one belongs"
            yield curve(*_steinhart_hart(expected.steinhart_hart, log="log10"), "logarithm", words)
        case "platinum":
            yield curve(*_platinum(expected.ohms_at_0))
            for i, ohms in enumerate(one for one in _PLATINUM_OHMS if one != expected.ohms_at_0):
                words = f"computes with a sensor of {ohms:g} Ω at 0 °C; it has {expected.ohms_at_0:g} Ω"
                yield curve(*_platinum(ohms), "other sensor", words, ohms, 0.1 * i)
        case _:
            assert expected.ohms_at_10_lux is not None
            assert expected.gamma is not None
            at_10, gamma = expected.ohms_at_10_lux, expected.gamma
            yield curve(*_light(at_10, gamma))
            for i, ohms in enumerate(one for one in _OHMS if one != at_10):
                words = f"computes with a sensor of {ohms:g} Ω at 10 lx; it has {at_10:g} Ω"
                yield curve(*_light(ohms, gamma), "other sensor", words, ohms, 0.4 + 0.05 * i)


def _own_unit(expected: Conversion, unit: str) -> tuple[float, float]:
    quantity = given_by(expected)
    line = line_between(UNITS_OF[quantity][0], unit) if quantity else None
    return line or (1.0, 0.0)


def _tables_of_ohms(expected: Conversion) -> Iterator[Curve]:
    for one in _tables(expected, "Ω"):
        yield replace(one, text="by the table of Ω")


def _beta(ohms_at_25: float, beta: float, log: str = "ln") -> tuple[str, Formula]:
    text = f"1 / (1 / 298.15 K + {log}(R / {ohms_at_25:g} Ω) / {beta:g} K) − 273.15 K"
    of = np.log if log == "ln" else np.log10
    return text, lambda ohms: 1.0 / (1.0 / KELVIN_AT_25 + of(ohms / ohms_at_25) / beta) - ZERO_CELSIUS


def _steinhart_hart(numbers: tuple[float, ...], log: str = "ln") -> tuple[str, Formula]:
    a, b, c = numbers
    of = np.log if log == "ln" else np.log10

    def value(ohms: Numbers) -> Numbers:
        x = of(ohms)
        return 1.0 / (a + b * x + c * x**3) - ZERO_CELSIUS

    return f"1 / ({a:g} + {b:g} × {log} R + {c:g} × ({log} R)³) K − 273.15 K", value


def _platinum(ohms_at_0: float) -> tuple[str, Formula]:
    def value(ohms: Numbers) -> Numbers:
        ratio = ohms / ohms_at_0
        t = 2.0 * (ratio - 1.0) / (PLATINUM_A + np.sqrt(PLATINUM_A**2 - 4.0 * PLATINUM_B * (1.0 - ratio)))
        for _ in range(_NEWTON_STEPS):
            cold = np.where(t < 0, t, 0.0)
            miss = 1.0 + PLATINUM_A * t + PLATINUM_B * t * t + PLATINUM_C * (cold - 100.0) * cold**3 - ratio
            slope = PLATINUM_A + 2.0 * PLATINUM_B * t + PLATINUM_C * (4.0 * cold**3 - 300.0 * cold * cold)
            t = t - miss / slope
        return t

    return f"t in R = {ohms_at_0:g} Ω × (1 + A t + B t²)", value


def _light(ohms_at_10: float, gamma: float) -> tuple[str, Formula]:
    def value(ohms: Numbers) -> Numbers:
        return 10.0 * (ohms / ohms_at_10) ** (-1.0 / gamma)

    return f"10 lx × (R / {ohms_at_10:g} Ω)^(−1 / {gamma:g})", value
