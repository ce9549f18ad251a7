"""The uncertainty of a value against Monte Carlo runs (JCGM 101:2008), all parts at once."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from bridge.core.calibration_given import CalibrationFit, CalibrationGiven, CalibrationPoint
from bridge.core.conversion import Converter
from bridge.core.lesson import BenchChannel, Channel, Conversion
from tests.bridge.core.made_conversions import EVERY_KIND, converter_of, rows

N_DRAWS = 20_000
Draws = NDArray[np.float64]


class Errors:
    """What a run draws: each tolerance with any value inside as likely, the resolution and the noise."""

    def __init__(self, conversion: Conversion, seed: int, n: int = N_DRAWS) -> None:
        rng = np.random.default_rng(seed)
        self.conversion = conversion
        reference = conversion.reference_tolerance_volts / conversion.reference_volts
        self.reference = 1 + reference * rng.uniform(-1, 1, n)
        self.fixed = 1 + conversion.fixed_ohms_tolerance_percent / 100 * rng.uniform(-1, 1, n)
        self.share = rng.uniform(-1, 1, n)
        self.cut = rng.uniform(-0.5, 0.5, n)
        self.normal = rng.normal(0, 1, n)

    def of_sensor(self, value: Draws) -> Draws:
        """The sensor's value with its error."""
        half = self.conversion.sensor_tolerance + self.conversion.sensor_tolerance_percent / 100 * abs(value)
        return value + self.share * half


def linear(x: Draws, c: Conversion, e: Errors) -> Draws:
    volts = x * c.reference_volts / (1 << c.width_bits) if c.start == "count" else x
    return e.of_sensor((volts * e.reference - c.offset_volts) / c.volts_per_unit)


def ratiometric(x: Draws, c: Conversion, e: Errors) -> Draws:
    """From counts: the reference that feeds the sensor cancels, however wrong it is."""
    part = x * e.reference / ((1 << c.width_bits) * e.reference)
    return e.of_sensor((part - c.offset_fraction) / c.fraction_per_unit)


def ratiometric_of_volts(x: Draws, c: Conversion, e: Errors) -> Draws:
    """With a supply of its own: nothing cancels."""
    assert c.supply_volts is not None
    return e.of_sensor((x * e.reference / c.supply_volts - c.offset_fraction) / c.fraction_per_unit)


def polynomial(x: Draws, c: Conversion, e: Errors) -> Draws:
    volts = x * c.reference_volts / (1 << c.width_bits) * e.reference
    value: Draws = np.zeros_like(volts)
    for power, coefficient in enumerate(c.coefficients):
        value += coefficient * volts**power
    return e.of_sensor(value)


def ohms(x: Draws, c: Conversion, e: Errors) -> Draws:
    assert c.fixed_ohms is not None
    part = x / (1 << c.width_bits)
    lower = part / (1 - part)
    return c.fixed_ohms * e.fixed * (lower if c.sensor_leg == "lower" else 1 / lower)


def ntc_in_fahrenheit(x: Draws, c: Conversion, e: Errors) -> Draws:
    assert c.ohms_at_25 is not None
    assert c.beta_kelvin is not None
    kelvin = 1 / (1 / 298.15 + np.log(ohms(x, c, e) / c.ohms_at_25) / c.beta_kelvin)
    return 1.8 * e.of_sensor(kelvin - 273.15) + 32


def platinum(x: Draws, c: Conversion, e: Errors) -> Draws:
    a, b = 3.9083e-3, -5.775e-7
    ratio = ohms(x, c, e) / c.ohms_at_0
    return e.of_sensor((-a + np.sqrt(a * a - 4 * b * (1 - ratio))) / (2 * b))


def light(x: Draws, c: Conversion, e: Errors) -> Draws:
    assert c.ohms_at_10_lux is not None
    assert c.gamma is not None
    return e.of_sensor(10 * (ohms(x, c, e) / c.ohms_at_10_lux) ** (-1 / c.gamma))


COUNT = Conversion(name="c", start="count", width_bits=12, offset_volts=0.5, volts_per_unit=0.02)
KINDS = {  # conversion, unit, the formula by hand, printed decimals, least and greatest printed number
    "linear": (COUNT, "°C", linear, 0, 600, 3500),
    "linear of volts, finely printed": (replace(COUNT, start="volts"), "°C", linear, 4, 0.8, 4.5),
    "linear of volts, coarsely printed": (replace(COUNT, start="volts"), "°C", linear, 2, 0.8, 4.5),
    "ratiometric": (EVERY_KIND["ratiometric"][0], "kPa", ratiometric, 0, 200, 900),
    "ratiometric of volts": (
        EVERY_KIND["ratiometric with its own supply"][0], "%", ratiometric_of_volts, 3, 1, 3
    ),
    "polynomial": (replace(EVERY_KIND["polynomial"][0], width_bits=12), "°C", polynomial, 0, 600, 3500),
    "ntc": (EVERY_KIND["ntc in the lower leg"][0], "°F", ntc_in_fahrenheit, 0, 1200, 2900),
    "platinum": (EVERY_KIND["platinum"][0], "°C", platinum, 0, 33_500, 42_000),
    "photoresistor": (replace(EVERY_KIND["photoresistor"][0], width_bits=14), "lx", light, 0, 6000, 11_000),
}  # fmt: skip


def with_tolerances(kind: str, shares: tuple[float, float, float, float]) -> Conversion:
    conversion = KINDS[kind][0]
    reference, sensor, percent, fixed = shares
    has_fixed = conversion.fixed_ohms is not None
    return replace(
        conversion,
        reference_tolerance_volts=0.02 * reference * conversion.reference_volts,
        sensor_tolerance=0.5 * sensor,
        sensor_tolerance_percent=2.0 * percent,
        fixed_ohms_tolerance_percent=2.0 * fixed if has_fixed else 0.0,
    )


shares = st.tuples(*[st.floats(0, 1)] * 4)


@settings(max_examples=100, deadline=None)
@given(
    kind=st.sampled_from(sorted(KINDS)), given_shares=shares, part=st.floats(0, 1),
    noise=st.floats(0, 0.5), gain=st.floats(0.8, 1.2), seed=st.integers(0, 2**32 - 1),
)  # fmt: skip
def test_the_uncertainty_is_the_spread_of_a_monte_carlo_run(
    kind: str,
    given_shares: tuple[float, float, float, float],
    part: float,
    noise: float,
    gain: float,
    seed: int,
) -> None:
    _, unit, formula, decimals, least, most = KINDS[kind]
    conversion = with_tolerances(kind, given_shares)
    converter = converter_of(conversion, unit, gain=gain, offset=-1.0)
    x = round(least + part * (most - least), decimals)
    errors = Errors(conversion, seed)
    step = 10.0**-decimals
    if conversion.start == "volts":
        step = max(step, conversion.reference_volts / (1 << conversion.width_bits))
    values = gain * formula(x + errors.cut * step, conversion, errors) - 1.0 + noise * errors.normal
    (u,) = converter.u_many([x], decimals, noise * noise)
    # The standard deviation of n normal draws is good to 1 / sqrt(2 n); flatter ones are known better.
    assert u == pytest.approx(float(np.std(values)), rel=5 / math.sqrt(2 * N_DRAWS))
    assert float(np.mean(values)) == pytest.approx(converter.value(x), abs=0.1 * u)


@settings(max_examples=100, deadline=None)
@given(
    kind=st.sampled_from(["linear", "ratiometric", "ntc", "platinum", "polynomial"]),
    fit=st.sampled_from(["offset", "line"]), given_shares=shares, part=st.floats(0, 1),
    u_indication=st.floats(0.01, 0.2), seed=st.integers(0, 2**32 - 1),
)  # fmt: skip
def test_a_calibrated_channel_is_uncertain_by_what_its_calibration_leaves(
    kind: str, fit: CalibrationFit, given_shares: tuple[float, float, float, float], part: float,
    u_indication: float, seed: int,
) -> None:  # fmt: skip
    """The whole class does it again: other boards with other errors, each calibrated, each read once."""
    _, unit, formula, _, least, most = KINDS[kind]
    conversion = with_tolerances(kind, given_shares)
    plain = converter_of(conversion, unit)
    printed = [least + share * (most - least) for share in (0.1, 0.5, 0.9)]
    true = [plain.value(x) for x in printed]
    points = tuple(CalibrationPoint(value, value, 0.0, u_indication) for value in true)
    own = BenchChannel(channel="t", calibration=CalibrationGiven(fit=fit, points=points))
    converter = Converter(Channel(name="t", unit=unit), own, conversion)
    x = float(round(least + part * (most - least)))

    errors = Errors(conversion, seed)
    rng = np.random.default_rng(seed + 1)
    n = N_DRAWS
    indications = np.stack([formula(np.full(n, one), conversion, errors) for one in printed], axis=1)
    indications += rng.normal(0, u_indication, indications.shape)
    reading = formula(x + errors.cut, conversion, errors)
    corrections = np.array(true) - indications
    corrected = reading + corrections.mean(axis=1)
    if fit == "line":
        centred = indications - indications.mean(axis=1, keepdims=True)
        slope = (centred * corrections).sum(axis=1) / (centred**2).sum(axis=1)
        corrected += slope * (reading - indications.mean(axis=1))
    # A curved sensor's errors are a little curved themselves: 1 % for what the first order leaves out.
    spread = float(np.std(corrected))
    assert math.sqrt(converter.variance(x, 0)) == pytest.approx(spread, rel=0.01 + 5 / math.sqrt(2 * n))


def test_a_calibration_with_unknown_uncertainty_leaves_the_tolerances_whole() -> None:
    conversion = replace(COUNT, reference_tolerance_volts=0.05)
    points = (CalibrationPoint(20.0, 21.0), CalibrationPoint(80.0, 80.5))
    own = BenchChannel(channel="t", calibration=CalibrationGiven(fit="line", points=points))
    converter = Converter(Channel(name="t", unit="°C"), own, conversion)
    plain = converter_of(conversion)
    slope = converter.u(0) / plain.u(0)
    assert converter.variance(2000, 0) == pytest.approx(slope**2 * plain.variance(2000, 0))
    assert {part.words for part in converter.u_parts(2000, 0)} == {"resolution", "reference voltage"}


def test_a_one_point_offset_leaves_what_a_wrong_reference_does_elsewhere() -> None:
    conversion = replace(COUNT, offset_volts=0.0, reference_tolerance_volts=0.05)
    points = (CalibrationPoint(45.0, 44.0, 0.0, 0.001),)
    own = BenchChannel(channel="t", calibration=CalibrationGiven(points=points))
    converter = Converter(Channel(name="t", unit="°C"), own, conversion)
    at_point, elsewhere = (converter.inverse(value) for value in (45.0, 21.0))
    assert "reference voltage" not in {part.words for part in converter.u_parts(at_point, 0)}
    left = {part.words: part.u for part in converter.u_parts(elsewhere, 0)}["reference voltage"]
    assert left == pytest.approx(0.01 * 24 / math.sqrt(3), rel=1e-6)  # 1 % of the 24 °C in between


@pytest.mark.parametrize(
    ("column", "fixed", "percent"), [("tol_A_degC", 0.15, 0.2), ("tol_B_degC", 0.3, 0.5)]
)
def test_a_platinum_sensors_class_is_its_published_tolerance(
    column: str, fixed: float, percent: float
) -> None:
    """IEC 60751: class A is ± (0.15 + 0.002 t), class B ± (0.30 + 0.005 t)."""
    conversion = Conversion(
        name="pt", start="ohms", kind="platinum", sensor_tolerance=fixed, sensor_tolerance_percent=percent
    )
    converter = converter_of(conversion)
    for row in rows("pt100.csv"):
        ohms = float(row["r_ohm_formula"])
        if row[column] and converter.least <= ohms <= converter.most:
            (part,) = (one for one in converter.u_parts(ohms, 6) if one.words == "sensor")
            assert part.u * math.sqrt(3) == pytest.approx(float(row[column]), abs=1e-6)


@given(kind=st.sampled_from(sorted(EVERY_KIND)), part=st.floats(0, 1), decimals=st.integers(0, 3))
def test_without_tolerances_the_resolution_is_all(kind: str, part: float, decimals: int) -> None:
    conversion, unit = EVERY_KIND[kind]
    converter = converter_of(conversion, unit)
    x = converter.least + part * (converter.most - converter.least)
    x = min(max(x, converter.least), converter.most)
    u = converter.u_at(x, decimals)
    assert math.sqrt(converter.variance(x, decimals)) == pytest.approx(u, rel=1e-12, abs=1e-300)
    assert u == pytest.approx(converter.step_at(x, decimals) / math.sqrt(12))


@given(
    kind=st.sampled_from(sorted(KINDS)), given_shares=shares, noise=st.floats(0, 1),
    places=st.lists(st.floats(0, 1), max_size=8), calibrated=st.booleans(),
)  # fmt: skip
def test_many_uncertainties_at_once_are_bit_for_bit_those_one_by_one(
    kind: str, given_shares: tuple[float, float, float, float], noise: float, places: list[float],
    calibrated: bool,
) -> None:  # fmt: skip
    _, unit, _, decimals, least, most = KINDS[kind]
    points = (CalibrationPoint(20.0, 21.0, 0.1, 0.1), CalibrationPoint(80.0, 80.5, 0.1, 0.1))
    own = BenchChannel(
        channel="t", calibration=CalibrationGiven(fit="line", points=points) if calibrated else None
    )
    channel, conversion = Channel(name="t", unit=unit), with_tolerances(kind, given_shares)
    many, one_by_one = Converter(channel, own, conversion), Converter(channel, own, conversion)
    xs = [least + place * (most - least) for place in places]
    found = many.u_many(xs, decimals, noise)
    assert found == [math.sqrt(one_by_one.variance(x, decimals) + noise) for x in xs]
    assert found == many.u_many(xs, decimals, noise)
    if many.is_variance_constant:
        assert len(set(found)) <= 1


def test_a_constant_variance_is_told_as_such() -> None:
    plain = replace(COUNT, sensor_tolerance=0.5)
    assert converter_of(plain).is_variance_constant
    assert converter_of(COUNT).is_variance_constant
    assert not converter_of(replace(plain, sensor_tolerance_percent=1.0)).is_variance_constant
    assert not converter_of(replace(plain, reference_tolerance_volts=0.1)).is_variance_constant
    assert not converter_of(EVERY_KIND["platinum"][0]).is_variance_constant


def test_the_kept_variances_have_a_bound_and_follow_the_decimals() -> None:
    converter = converter_of(replace(COUNT, width_bits=16, reference_tolerance_volts=0.05))
    coarse = [converter.variance(float(x), 0) for x in range(10_000)]
    assert len(converter._propagation._known) <= 4096
    assert converter.variance(5.0, 1) < coarse[5]
    assert [converter.variance(float(x), 0) for x in (5, 9999)] == [coarse[5], coarse[9999]]


def test_the_budget_names_each_part_once_and_counts_the_resolution_once() -> None:
    conversion = replace(
        EVERY_KIND["ntc in the lower leg"][0], sensor_tolerance=0.2, fixed_ohms_tolerance_percent=1.0,
        reference_tolerance_volts=0.1,
    )  # fmt: skip
    converter = converter_of(conversion)
    budget = converter.budget(2048, 0, sd=0.05, n=30)
    assert [(part.words, part.evaluated) for part in budget.parts] == [
        ("resolution", "B"), ("fixed resistor", "B"), ("sensor", "B"), ("noise", "A"),
    ]  # fmt: skip
    assert budget.parts[0].source == "one count of 12 bits"
    assert budget.u**2 == pytest.approx(converter.variance(2048, 0) + budget.parts[3].u ** 2)
    assert budget.parts[3].u ** 2 + budget.parts[0].u ** 2 == pytest.approx(0.05**2)
    assert (budget.value, budget.unit) == (converter.value(2048), "°C")
    assert [part.words for part in converter.budget(2048, 0, sd=1e-6, n=30).parts][-1] == "sensor"


@pytest.mark.parametrize(
    ("start", "decimals", "words"),
    [
        ("count", 0, "one count of 12 bits"),
        ("count", 1, "counts printed to a last digit of 0.1"),
        ("volts", 4, "one count of 12 bits"),
        ("volts", 2, "volts printed to a last digit of 0.01"),
        ("volts", 0, "volts printed in whole numbers"),
    ],
)
def test_the_resolution_says_where_it_comes_from(start: str, decimals: int, words: str) -> None:
    converter = converter_of(replace(COUNT, start=start))  # type: ignore[arg-type]
    assert converter.u_parts(3.0, decimals)[0].source == words


def test_a_printed_value_without_a_conversion_is_as_good_as_its_digits() -> None:
    (part,) = Converter(Channel(name="t", unit="°C"), BenchChannel(channel="t"), None).u_parts(21.5, 1)
    assert part.source == "printed to a last digit of 0.1"
    assert part.u == pytest.approx(0.1 / math.sqrt(12))
