"""Which stages the lesson's conversion is made of, from the printed number to the channel's unit."""

from __future__ import annotations

from dataclasses import replace

from bridge.core.conversion_given import OF_OHMS, OF_TEMPERATURE, Conversion, Divisor
from bridge.core.resistance import (
    LIGHT_RANGE,
    NTC_RANGE,
    PLATINUM_RANGE,
    Divider,
    NtcBeta,
    NtcSteinhartHart,
    Ohms,
    Photoresistor,
    Platinum,
)
from bridge.core.sensors import LinearSensor, PointTable, Polynomial, narrowed
from bridge.core.stages import ANYTHING, Fraction, Line, Span, Stage, VoltsFromCount
from bridge.core.unit_lines import SAME, line_between

UNITS_OF = {
    "a temperature": ("°C", "K", "°F"),
    "an illuminance": ("lx", "klx"),
    "a resistance": ("Ω", "kΩ", "MΩ"),
}
"""Of each quantity the unit that the formulas give, and others that a channel often has; it may have any."""


def given_by(conversion: Conversion) -> str:
    """The quantity that the sensor's own formula gives; "" where the lesson's numbers decide the unit."""
    if conversion.kind in OF_TEMPERATURE:
        return "a temperature"
    return {"photoresistor": "an illuminance", "ohms": "a resistance"}.get(conversion.kind, "")


def has_unit(conversion: Conversion, unit: str) -> bool:
    """Whether a channel in that unit may have the conversion."""
    quantity = given_by(conversion)
    return not quantity or is_unit_of(quantity, unit)


def is_unit_of(quantity: str, unit: str) -> bool:
    """Whether the quantity, a key of `UNITS_OF`, can be told in that unit."""
    return line_between(UNITS_OF[quantity][0], unit) is not None


def divisor_of(width_bits: int, divisor: Divisor) -> int:
    """What a count is divided by: 2^n counts steps of the range, 2^n - 1 puts the top code at the reference.

    Source: IEEE 1241-2010, 4.1.2 (code bin width); both conventions are in use, the lesson says which.
    """
    codes: int = 1 << width_bits
    return codes if divisor == "2^n" else codes - 1


def stages_of(conversion: Conversion, unit: str) -> tuple[Stage, ...]:
    """The stages in their order; the last gives the channel's unit.

    Raises:
        ValueError: The conversion gives a quantity that has no such unit.
    """
    quantity = given_by(conversion)
    line = line_between(UNITS_OF[quantity][0], unit) if quantity else SAME
    if line is None:
        raise ValueError(f"{conversion.name} gives {quantity}, which has no unit {unit!r}")
    stages = [*_to_sensor(conversion), _sensor(conversion, unit)]
    if line != SAME:
        stages.append(Line(line.scale, line.shift, f"in {unit}", unit, stages[-1].unit))
    return tuple(stages)


def _to_sensor(conversion: Conversion) -> list[Stage]:
    """From the printed number to what the sensor gives: volts, a part of its supply, or ohms."""
    if conversion.start == "ohms":
        return []
    in_parts = conversion.kind == "ratiometric" or conversion.kind in OF_OHMS
    stages: list[Stage] = []
    if conversion.start == "count":
        divisor = divisor_of(conversion.width_bits, conversion.divisor)
        counts = _counts(conversion)
        if in_parts and conversion.supply_volts is None:
            stages.append(Fraction(divisor, "", counts))
        else:
            stages.append(VoltsFromCount(conversion.reference_volts, divisor, counts))
    if in_parts and (conversion.start == "volts" or conversion.supply_volts is not None):
        supply = conversion.supply_volts or conversion.reference_volts
        below, above = "is below 0 V", f"is above the {supply:g} V that feed the sensor"
        stages.append(Fraction(supply, "V", Span(0.0, supply, below, above)))
    if conversion.kind in OF_OHMS:
        assert conversion.fixed_ohms is not None, "a rule of Conversion"
        assert conversion.sensor_leg is not None, "a rule of Conversion"
        stages.append(Divider(conversion.fixed_ohms, conversion.sensor_leg, _parts(conversion)))
    return stages


def counts_of(width_bits: int) -> Span:
    """The counts that a converter gives."""
    most = (1 << width_bits) - 1
    return Span(
        0.0, float(most), f"is below 0, which no {width_bits}-bit converter gives",
        f"is above {most}, the most that a {width_bits}-bit converter gives",
    )  # fmt: skip


def _counts(conversion: Conversion) -> Span:
    counts = counts_of(conversion.width_bits)
    if conversion.kind not in OF_OHMS:
        return counts
    # The first and the last code only say "so much or beyond": every resistance from there on gives them.
    at_ground, at_supply = _rails(conversion)
    return Span(0.5, counts.most - 0.5, at_ground, at_supply)


def _parts(conversion: Conversion) -> Span:
    """Half a step away from both ends: nearer, a converter can't tell the sensor from a broken wire."""
    half_step = 0.5 / (1 << conversion.width_bits)
    return Span(half_step, 1.0 - half_step, *_rails(conversion))


def _rails(conversion: Conversion) -> tuple[str, str]:
    """What it means when the pin stands at ground, and at the supply."""
    if conversion.sensor_leg == "lower":
        return (
            "puts the pin at ground: the sensor is shorted or the fixed resistor has no contact",
            "puts the pin at the supply: the sensor is not connected",
        )
    return (
        "puts the pin at ground: the sensor is not connected",
        "puts the pin at the supply: the sensor is shorted or the fixed resistor has no contact",
    )


def _sensor(conversion: Conversion, unit: str) -> Stage:
    """The sensor's own formula, held to where it is good."""
    stage = _formula(conversion, unit)
    valid = conversion.valid or _own_range(conversion)
    if not valid:
        return stage
    unit = stage.unit
    low, high = _within(stage, *valid)
    if low >= high:
        nothing = f"gives no value from {valid[0]:g} to {valid[1]:g} {unit}"
        return replace(stage, span=Span(1.0, 0.0, nothing, nothing))  # type: ignore[type-var]  # a dataclass
    ends = {stage.inverse(y): f"{y:g} {unit}" for y in (low, high)}
    least, most = min(ends), max(ends)
    why = "where the sensor's range ends"
    span = narrowed(
        stage.span, least, most, least_is=f"that is {ends[least]}, {why}",
        most_is=f"that is {ends[most]}, {why}",
    )  # fmt: skip
    return replace(stage, span=span)  # type: ignore[type-var]  # each stage is a dataclass


def _within(stage: Stage, low: float, high: float) -> tuple[float, float]:
    """Two values held to what the stage gives over its span; beyond it there is nothing to go back to."""
    if not isinstance(stage, Polynomial | PointTable):
        return low, high
    ends = sorted((stage.value(stage.span.least), stage.value(stage.span.most)))
    return max(low, ends[0]), min(high, ends[1])


def _own_range(conversion: Conversion) -> tuple[float, ...]:
    if conversion.kind == "platinum":
        return PLATINUM_RANGE
    if conversion.kind in OF_TEMPERATURE:
        return NTC_RANGE
    return LIGHT_RANGE if conversion.kind == "photoresistor" else ()


def _formula(conversion: Conversion, unit: str) -> Stage:
    match conversion.kind:
        case "linear":
            return LinearSensor(conversion.offset_volts, conversion.volts_per_unit, unit)
        case "ratiometric":
            return LinearSensor(conversion.offset_fraction, conversion.fraction_per_unit, unit, "")
        case "polynomial":
            low, high = conversion.volts_range or (0.0, conversion.reference_volts)
            end = "the end of the polynomial's volts_range"
            span = narrowed(ANYTHING, low, high, least_is=end, most_is=end)
            return Polynomial(conversion.coefficients, unit, span)
        case "table" | "table of ohms":
            points = conversion.points
            span = narrowed(
                ANYTHING, points[0][0], points[-1][0], least_is="the table's first point",
                most_is="the table's last point",
            )  # fmt: skip
            return PointTable(points, unit, "V" if conversion.kind == "table" else "Ω", span)
        case "ohms":
            return Ohms(Span(0.0, below="lie below 0 Ω"))
        case "ntc beta":
            assert conversion.ohms_at_25 is not None, "a rule of Conversion"
            assert conversion.beta_kelvin is not None, "a rule of Conversion"
            return NtcBeta(conversion.ohms_at_25, conversion.beta_kelvin)
        case "ntc steinhart-hart":
            a, b, c = conversion.steinhart_hart
            return NtcSteinhartHart(a, b, c)
        case "platinum":
            return Platinum(conversion.ohms_at_0)
        case "photoresistor":
            assert conversion.ohms_at_10_lux is not None, "a rule of Conversion"
            assert conversion.gamma is not None, "a rule of Conversion"
            return Photoresistor(conversion.ohms_at_10_lux, conversion.gamma)
