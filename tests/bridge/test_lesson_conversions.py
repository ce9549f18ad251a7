from __future__ import annotations

import pytest

from bridge.core.lesson import Conversion
from bridge.lesson_file import faults_of, lesson_from_text
from tests.bridge.lessons import line_of, only_fault

HEAD = 'title = "x"\n[[channel]]\nname = "t"\nunit = "°C"\nconversion = "s"\n\n[[conversion]]\nname = "s"\n'
NTC = (
    HEAD
    + """\
start = "count"
kind = "ntc beta"
fixed_ohms = 10000.0
sensor_leg = "lower"
ohms_at_25 = 10000.0
beta_kelvin = 3950.0
valid = [-20.0, 110.0]
"""
)
STEINHART = (
    HEAD
    + """\
start = "volts"
kind = "ntc steinhart-hart"
fixed_ohms = 10000.0
sensor_leg = "upper"
supply_volts = 3.3
steinhart_hart = [1.0e-3, 2.4e-4, 1.5e-7]
"""
)
PLATINUM = HEAD + 'start = "ohms"\nkind = "platinum"\nohms_at_0 = 1000.0\n'
LIGHT = (
    HEAD.replace("°C", "lx")
    + """\
start = "count"
kind = "photoresistor"
fixed_ohms = 10000.0
sensor_leg = "upper"
ohms_at_10_lux = 15000.0
gamma = 0.7
"""
)
POLYNOMIAL = (
    HEAD
    + """\
start = "count"
kind = "polynomial"
coefficients = [-50.0, 100.0, 0.5]
volts_range = [0.1, 1.8]
"""
)
TABLE = HEAD + 'start = "count"\nkind = "table"\npoints = [[0.5, 0.0], [1.5, 40.0], [2.1, 80.0]]\n'
RATIO = (
    HEAD.replace("°C", "kPa")
    + """\
start = "count"
kind = "ratiometric"
offset_fraction = 0.1
fraction_per_unit = 0.008
"""
)


def conversion_of(text: str) -> Conversion:
    return lesson_from_text(text).conversions[0]


def test_each_kind_is_read_with_its_keys() -> None:
    assert conversion_of(NTC) == Conversion(
        name="s", start="count", kind="ntc beta", fixed_ohms=10_000.0, sensor_leg="lower",
        ohms_at_25=10_000.0, beta_kelvin=3950.0, valid=(-20.0, 110.0),
    )  # fmt: skip
    assert conversion_of(STEINHART) == Conversion(
        name="s", start="volts", kind="ntc steinhart-hart", fixed_ohms=10_000.0, sensor_leg="upper",
        supply_volts=3.3, steinhart_hart=(1.0e-3, 2.4e-4, 1.5e-7),
    )  # fmt: skip
    assert conversion_of(PLATINUM) == Conversion(name="s", start="ohms", kind="platinum", ohms_at_0=1000.0)
    assert conversion_of(LIGHT).gamma == 0.7
    assert conversion_of(POLYNOMIAL).volts_range == (0.1, 1.8)
    assert conversion_of(TABLE).points == ((0.5, 0.0), (1.5, 40.0), (2.1, 80.0))
    assert conversion_of(RATIO).fraction_per_unit == 0.008
    tolerances = "reference_tolerance_volts = 0.05\nsensor_tolerance = 0.3\nsensor_tolerance_percent = 0.5\n"
    own = conversion_of(NTC + tolerances + "fixed_ohms_tolerance_percent = 1.0\n")
    assert (own.reference_tolerance_volts, own.fixed_ohms_tolerance_percent) == (0.05, 1.0)
    assert (own.sensor_tolerance, own.sensor_tolerance_percent) == (0.3, 0.5)


NEEDED = [
    (NTC, "fixed_ohms"), (NTC, "sensor_leg"), (NTC, "ohms_at_25"), (NTC, "beta_kelvin"),
    (STEINHART, "steinhart_hart"), (LIGHT, "ohms_at_10_lux"), (LIGHT, "gamma"), (POLYNOMIAL, "coefficients"),
    (TABLE, "points"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "key"), NEEDED, ids=[key for _, key in NEEDED])
def test_a_key_that_a_kind_needs_is_told_at_its_conversion(text: str, key: str) -> None:
    lines = [line for line in text.splitlines(keepends=True) if not line.startswith(key)]
    fault = only_fault("".join(lines))
    assert f"{key} is missing; kind =" in fault.wrong
    assert (fault.line, fault.write.startswith(f"{key} = ")) == (line_of(text, "[[conversion]]"), True)


WRONG = [
    (NTC, "fixed_ohms = 10000.0", "fixed_ohms = 0", "fixed_ohms must be above 0"),
    (NTC, "fixed_ohms = 10000.0", 'fixed_ohms = "10k"', "fixed_ohms must be a number"),
    (NTC, 'sensor_leg = "lower"', 'sensor_leg = "low"', '(did you mean "lower"?)'),
    (NTC, "ohms_at_25 = 10000.0", "ohms_at_25 = -1", "ohms_at_25 must be above 0"),
    (NTC, "beta_kelvin = 3950.0", "beta_kelvin = 39500", "beta_kelvin must be above 0 and at most 20000"),
    (NTC, 'kind = "ntc beta"', 'kind = "ntc"', "kind must be one of"),
    (NTC, "valid = [-20.0, 110.0]", "valid = [110.0, -20.0]", "valid must be two numbers that rise"),
    (NTC, "valid = [-20.0, 110.0]", "valid = [-20.0]", "valid must be two numbers that rise"),
    (NTC, "valid = [-20.0, 110.0]", "valid = [-300.0, 0.0]", "valid must lie above -273.15"),
    (NTC, "valid = [-20.0, 110.0]", "volts_per_unit = 0.01", "volts_per_unit has no meaning with kind"),
    (STEINHART, "1.5e-7]", "-1.5e-7]", "c not below 0"),
    (STEINHART, ", 1.5e-7]", "]", "must be three numbers a, b, c, found 2"),
    (STEINHART, "supply_volts = 3.3", "supply_volts = 3300", "supply_volts must be above 0 and at most 24"),
    (PLATINUM, "ohms_at_0 = 1000.0", "ohms_at_0 = 0.0", "ohms_at_0 must be above 0"),
    (PLATINUM, "ohms_at_0 = 1000.0", "fixed_ohms = 100.0", 'no meaning with start = "ohms"'),
    (PLATINUM, "ohms_at_0 = 1000.0", "reference_tolerance_volts = 0.1", 'no meaning with start = "ohms"'),
    (PLATINUM, "ohms_at_0 = 1000.0", "fixed_ohms_tolerance_percent = 1", 'no meaning with start = "ohms"'),
    (RATIO, "offset_fraction = 0.1", "fixed_ohms_tolerance_percent = 1", "no meaning with kind"),
    (RATIO, "offset_fraction = 0.1", "sensor_tolerance = -1", "sensor_tolerance must be 0 or more"),
    (
        RATIO,
        "offset_fraction = 0.1",
        "reference_tolerance_volts = 5",
        "below reference_volts, 5 here, found 5",
    ),
    (PLATINUM, "ohms_at_0 = 1000.0", "valid = [-250.0, 0.0]", "from -200 to 850"),
    (
        PLATINUM,
        'kind = "platinum"\nohms_at_0 = 1000.0',
        'kind = "linear"',
        "a kind that is made from ohms",
    ),
    (LIGHT, "gamma = 0.7", "gamma = 0", "gamma must be above 0"),
    (LIGHT, "ohms_at_10_lux = 15000.0", "ohms_at_10_lux = 0", "ohms_at_10_lux must be above 0"),
    (LIGHT, "gamma = 0.7", "gamma = 0.7\nvalid = [0.0, 10.0]", "valid must lie above 0 lx"),
    (POLYNOMIAL, "[-50.0, 100.0, 0.5]", "[5.0, 0.0]", "one besides the first not 0"),
    (POLYNOMIAL, "[-50.0, 100.0, 0.5]", "[0.0, 2.0, -1.0]", "found a turn at 1 V"),
    (POLYNOMIAL, "volts_range = [0.1, 1.8]", "volts_range = [1.8, 0.1]", "volts_range must be two numbers"),
    (POLYNOMIAL, "volts_range = [0.1, 1.8]", "valid = [900.0, 950.0]", "no count gives a value within valid"),
    (TABLE, "[0.5, 0.0], ", "[1.7, 0.0], ", "the volts of points must rise"),
    (TABLE, "[1.5, 40.0]", "[1.5, 90.0]", "the values of points must rise all the way"),
    (TABLE, "[1.5, 40.0]", "[1.5, 40.0, 3.0]", "must be a pair of numbers, found 3 in one"),
    (TABLE, "[1.5, 40.0]", "1.5", "entry 2 of points must be a list of numbers"),
    (TABLE, ", [1.5, 40.0], [2.1, 80.0]", "", "points must be 2 to 200 pairs, found 1"),
    (TABLE, "[1.5, 40.0]", '[1.5, "40"]', "entry 2 of points must be a number"),
    (RATIO, "fraction_per_unit = 0.008", "fraction_per_unit = 0", "fraction_per_unit must not be 0"),
    (RATIO, "offset_fraction = 0.1", 'offset_fraction = "a"', "offset_fraction must be a number"),
]


@pytest.mark.parametrize(("text", "old", "new", "words"), WRONG)
def test_a_wrong_key_of_a_conversion_is_told_once(text: str, old: str, new: str, words: str) -> None:
    assert text.count(old) == 1
    fault = only_fault(text.replace(old, new))
    assert words in str(fault)
    assert fault.write


def test_the_turn_of_a_polynomial_comes_with_a_range_that_has_none() -> None:
    text = POLYNOMIAL.replace("[-50.0, 100.0, 0.5]", "[0.0, 2.0, -1.0]")
    better = text.replace("volts_range = [0.1, 1.8]", only_fault(text).write)
    assert conversion_of(better).volts_range == (0.1, 1.0)


@pytest.mark.parametrize("unit", ["°C", "K", "°F", "fahrenheit", "mK"])
def test_a_temperature_may_have_each_of_its_units(unit: str) -> None:
    assert lesson_from_text(NTC.replace('"°C"', f'"{unit}"')).channels[0].unit == unit


def test_a_unit_that_the_sensor_can_not_give_is_told_at_the_unit() -> None:
    fault = only_fault(NTC.replace('"°C"', '"V"'))
    assert (
        'gives a temperature, so the channel needs a unit of it, such as "°C", "K" or "°F", found "V"'
        in fault.wrong
    )
    assert fault.line == line_of(NTC, "unit =")


def test_a_benchs_own_conversion_must_give_the_channels_unit_too() -> None:
    plain = NTC.replace('conversion = "s"\n', "").replace('"°C"', '"kPa"')
    own = '[[bench]]\nnumber = 1\n[bench.channel.t]\nconversion = "s"\n'
    fault = only_fault(plain + own)
    assert ("gives a temperature" in fault.wrong, fault.line) == (True, line_of(plain + own, own) + 3)


def test_a_faulty_kind_brings_no_second_fault() -> None:
    assert len(faults_of(NTC.replace('"ntc beta"', "5"))) == 1
