"""The keys of a lesson's conversions."""

from __future__ import annotations

from typing import get_args

from bridge.core.conversion_given import (
    MAX_COEFFICIENTS,
    MAX_POINTS,
    ConversionStart,
    Divisor,
    SensorKind,
    SensorLeg,
)
from bridge.lesson_key import REQUIRED, Key

_OF_OHMS = "not allowed; a kind that is made from ohms needs it, unless the board prints ohms"

CONVERSION_KEYS: tuple[Key, ...] = (
    Key(path="conversion", kind="tables", default=None, example="[[conversion]]", absent="no conversions",
        meaning="A way from the printed number to the unit, by the sensor; one table for each."),
    Key(path="conversion.name", kind="name", default=REQUIRED,
        meaning="The name that channels and benches use; each only once.", example='name = "sensor"'),
    Key(path="conversion.start", kind="word", default=REQUIRED, words=get_args(ConversionStart),
        example='start = "count"',
        meaning="What the printed number is: the converter's count, volts, or the sensor's ohms."),
    Key(path="conversion.width_bits", kind="whole number", default=10, least=8, most=24,
        example="width_bits = 10", meaning="The converter's width."),
    Key(path="conversion.reference_volts", kind="number", default=5.0, above=0, most=24,
        example="reference_volts = 5.0", meaning="The voltage that a full count stands for, in volts."),
    Key(path="conversion.divisor", kind="word", default="2^n", words=get_args(Divisor),
        example='divisor = "2^n"',
        meaning="What the count is divided by, n being the width: 1024 or 1023 for 10 bits."),
    Key(path="conversion.kind", kind="word", default="linear", words=get_args(SensorKind),
        example='kind = "ntc beta"',
        meaning="How the sensor's volts (linear, polynomial, table), its part of the supply (ratiometric) or "
        "its ohms (all others) become the unit. Kinds of temperature give °C, K or °F, as the channel's unit "
        "says; a photoresistor gives lx or klx, ohms give Ω, kΩ or MΩ."),
    Key(path="conversion.valid", kind="numbers", default=None, example="valid = [-20.0, 110.0]",
        meaning="Least and greatest value that the sensor is good for, in °C, lx or Ω where the kind gives "
        "these, else in the channel's unit; beyond them there is no value.",
        absent="-200 to 850 °C for platinum, -55 to 150 °C for an NTC, 1 to 1000 lx for a photoresistor, "
        "else as far as the formula goes"),
    Key(path="conversion.offset_volts", kind="number", default=0.0, example="offset_volts = 0.5",
        meaning="Linear: the sensor's voltage at zero units."),
    Key(path="conversion.volts_per_unit", kind="number", default=1.0, example="volts_per_unit = 0.010",
        meaning="Linear: how many volts more one unit more gives; negative for a falling sensor, never 0."),
    Key(path="conversion.coefficients", kind="numbers", default=None,
        example="coefficients = [-50.0, 100.0, 0.2]", absent="not allowed; a polynomial needs it",
        meaning=f"Polynomial: c0, c1, c2 ... of c0 + c1 × volts + c2 × volts² ..., at most "
        f"{MAX_COEFFICIENTS}; it may only rise or only fall over volts_range."),
    Key(path="conversion.volts_range", kind="numbers", default=None, example="volts_range = [0.1, 1.8]",
        meaning="Polynomial: the volts that it was made for; beyond them there is no value.",
        absent="0 V to the reference"),
    Key(path="conversion.points", kind="pairs of numbers", default=None,
        example="points = [[0.5, 0.0], [1.5, 40.0], [2.1, 80.0]]", absent="not allowed; a table needs it",
        meaning=f"Table: pairs of volts (or ohms) and value, 2 to {MAX_POINTS}, the first numbers rising and "
        "the values only rising or only falling; straight between them, no value beyond them."),
    Key(path="conversion.offset_fraction", kind="number", default=0.0, example="offset_fraction = 0.1",
        meaning="Ratiometric: the part of the supply (0 to 1) that the sensor gives at zero units."),
    Key(path="conversion.fraction_per_unit", kind="number", default=1.0, example="fraction_per_unit = 0.008",
        meaning="Ratiometric: how much more of the supply one unit more gives; never 0."),
    Key(path="conversion.supply_volts", kind="number", default=None, above=0, most=24,
        example="supply_volts = 3.3",
        meaning="What feeds a ratiometric sensor or a divider, where it is not the reference.",
        absent="fed by the reference, whose volts cancel"),
    Key(path="conversion.fixed_ohms", kind="number", default=None, above=0, most=1e9,
        example="fixed_ohms = 10000.0", meaning="The fixed resistor of the sensor's divider.",
        absent=_OF_OHMS),
    Key(path="conversion.sensor_leg", kind="word", default=None, words=get_args(SensorLeg),
        example='sensor_leg = "lower"', absent=_OF_OHMS,
        meaning="Where the sensor is in the divider: between supply and pin, or between pin and ground."),
    Key(path="conversion.ohms_at_25", kind="number", default=None, above=0, most=1e9,
        example="ohms_at_25 = 10000.0", meaning="NTC: its ohms at 25 °C.",
        absent="not allowed; an NTC by beta needs it"),
    Key(path="conversion.beta_kelvin", kind="number", default=None, above=0, most=20_000,
        example="beta_kelvin = 3950.0", meaning="NTC: its beta (B-value), in kelvin.",
        absent="not allowed; an NTC by beta needs it"),
    Key(path="conversion.steinhart_hart", kind="numbers", default=None,
        example="steinhart_hart = [1.0e-3, 2.4e-4, 1.5e-7]",
        meaning="NTC: a, b, c of 1/T = a + b ln R + c (ln R)³, in kelvin and ohms; b above 0, c 0 or more.",
        absent="not allowed; an NTC by Steinhart-Hart needs it"),
    Key(path="conversion.ohms_at_0", kind="number", default=100.0, above=0, most=1e6,
        example="ohms_at_0 = 1000.0", meaning="Platinum: its ohms at 0 °C."),
    Key(path="conversion.ohms_at_10_lux", kind="number", default=None, above=0, most=1e9,
        example="ohms_at_10_lux = 15000.0", meaning="Photoresistor: its ohms at 10 lx.",
        absent="not allowed; a photoresistor needs it"),
    Key(path="conversion.gamma", kind="number", default=None, above=0, most=10, example="gamma = 0.7",
        meaning="Photoresistor: how many powers of ten its ohms fall while the light rises by one.",
        absent="not allowed; a photoresistor needs it"),
    Key(path="conversion.reference_tolerance_volts", kind="number", default=0.0, least=0,
        example="reference_tolerance_volts = 0.05",
        meaning="How far the reference may be off, on either side, in volts; it cancels where the reference "
        "feeds the sensor."),
    Key(path="conversion.sensor_tolerance", kind="number", default=0.0, least=0,
        example="sensor_tolerance = 0.3",
        meaning="How far the sensor may be off, on either side, in °C, lx or Ω where the kind gives these, "
        "else in the channel's unit."),
    Key(path="conversion.sensor_tolerance_percent", kind="number", default=0.0, least=0, most=100,
        example="sensor_tolerance_percent = 0.5",
        meaning="So much more of the value: 0.3 °C and 0.5 % are a platinum sensor of class B."),
    Key(path="conversion.fixed_ohms_tolerance_percent", kind="number", default=0.0, least=0, most=50,
        example="fixed_ohms_tolerance_percent = 1.0", meaning="How far the fixed resistor may be off."),
)  # fmt: skip
