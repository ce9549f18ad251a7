"""Formulas of sensors that are resistors: their divider, and what their ohms mean."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from bridge.core.chain import UNITS_OF, given_by
from bridge.core.checking.curve import Curve, Formula
from bridge.core.checking.intervals import Numbers
from bridge.core.checking.mistakes import Mistake, MistakeKind
from bridge.core.checking.table_curves import tables_of
from bridge.core.conversion_given import OF_TEMPERATURE, Conversion, SensorLeg
from bridge.core.resistance import KELVIN_AT_25, PLATINUM_A, PLATINUM_B, PLATINUM_C, ZERO_CELSIUS
from bridge.core.unit_lines import line_between

_BETAS = (3950.0, 3435.0, 3380.0, 3977.0, 3470.0, 4050.0, 4250.0)  # K
_OHMS = (10_000.0, 4_700.0, 100_000.0, 1_000.0, 2_200.0, 5_000.0, 47_000.0)
_PLATINUM_OHMS = (100.0, 1000.0, 500.0)
_NEWTON_STEPS = 4


def curves_of_ohms(expected: Conversion, unit: str) -> Iterator[Curve]:
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
    for one in tables_of(expected, "Ω"):
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
