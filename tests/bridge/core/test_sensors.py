"""Every kind of conversion: there and back, its slope, its ends, its steps, its uncertainty."""

from __future__ import annotations

import math
import random
import statistics
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.conversion import Converter
from bridge.core.sensors import PointTable, Polynomial
from bridge.core.stages import Span, Stage
from tests.bridge.core.made_conversions import EVERY_KIND, NTC, converter_of

KINDS = st.sampled_from(sorted(EVERY_KIND))
PARTS = st.floats(0.0, 1.0)


def input_at(kind: str, part: float) -> float:
    conversion, unit = EVERY_KIND[kind]
    converter = converter_of(conversion, unit)
    assert math.isfinite(converter.most - converter.least)
    return min(converter.least + part * (converter.most - converter.least), converter.most)


@given(kind=KINDS, part=PARTS, gain=st.floats(0.5, 2), offset=st.floats(-5, 5))
def test_the_inverse_gives_the_printed_number_back(
    kind: str, part: float, gain: float, offset: float
) -> None:
    conversion, unit = EVERY_KIND[kind]
    converter = converter_of(conversion, unit, gain=gain, offset=offset)
    x = input_at(kind, part)
    span = converter.most - converter.least
    assert converter.inverse(converter.value(x)) == pytest.approx(x, rel=1e-9, abs=1e-9 * span)


@given(kind=KINDS, part=st.floats(0.001, 0.999))
def test_the_derivative_agrees_with_a_numerical_one(kind: str, part: float) -> None:
    conversion, unit = EVERY_KIND[kind]
    converter = converter_of(conversion, unit)
    x = input_at(kind, part)
    h = 1e-6 * min(x - converter.least, converter.most - x)
    numerical = abs(converter.value(x + h) - converter.value(x - h)) / (2 * h)
    exact = converter.u_at(x, 0) * math.sqrt(12.0)
    for stage in converter.stages:  # at a knot of a table the slope jumps
        if isinstance(stage, PointTable):
            knots = [knot for knot, _ in stage.points]
            if any(abs(conversion_input(converter, stage, knot) - x) <= 2 * h for knot in knots):
                return
    assert exact == pytest.approx(numerical, rel=1e-4)


def conversion_input(converter: Converter, last: Stage, y: float) -> float:
    """The printed number with which y goes into that stage."""
    for stage in reversed(converter.stages[: converter.stages.index(last)]):
        y = stage.inverse(y)
    return y


@given(kind=KINDS, a=PARTS, b=PARTS)
def test_a_conversion_only_rises_or_only_falls(kind: str, a: float, b: float) -> None:
    conversion, unit = EVERY_KIND[kind]
    converter = converter_of(conversion, unit)
    low, high = sorted((input_at(kind, a), input_at(kind, b)))
    rises = converter.value(input_at(kind, 1.0)) > converter.value(input_at(kind, 0.0))
    first, second = converter.value(low), converter.value(high)
    assert (first <= second) if rises else (first >= second)


@given(kind=KINDS, part=PARTS)
def test_the_shown_steps_end_at_the_value_of_every_kind(kind: str, part: float) -> None:
    conversion, unit = EVERY_KIND[kind]
    converter = converter_of(conversion, unit)
    x = input_at(kind, part)
    steps = converter.steps(x, "raw")
    assert steps[-1].number == pytest.approx(converter.value(x), rel=1e-13, abs=1e-13)
    assert (steps[-1].unit, len(steps)) == (unit, len(converter.stages) + 1)
    assert all(step.words for step in steps)
    assert all(step.formula for step in steps[1:])


@pytest.mark.parametrize("kind", sorted(EVERY_KIND))
def test_beyond_either_end_stands_a_reason_and_no_number(kind: str) -> None:
    conversion, unit = EVERY_KIND[kind]
    converter = converter_of(conversion, unit)
    for end, outward in ((converter.least, -1), (converter.most, 1)):
        for far in (1e-3, 0.3, 3000.0):
            x = end + outward * far
            assert not converter.least <= x <= converter.most
            assert len(converter.refusal(x).split()) > 5
            assert converter.steps(x, "raw")[-1].number is None


@pytest.mark.parametrize(
    ("kind", "x", "words"),
    [
        ("table", 600, "lies above 2.1, the table's last point"),
        ("table", 100, "lies below 0.5, the table's first point"),
        ("table of ohms", 20, "lies below 500, the table's first point"),
        ("polynomial", 1024, "above 1023, the most that a 10-bit converter gives"),
        ("falling polynomial of volts", 0.1, "that is 80 °C, where the sensor's range ends"),
        ("linear within valid", 1000, "that is -20 °C, where the sensor's range ends"),
        ("linear within valid", 100, "that is 80 °C"),
        ("ratiometric with its own supply", 3.4, "above the 3.3 V that feed the sensor"),
        ("ntc in the lower leg", 0, "the sensor is shorted"),
        ("ntc in the lower leg", 4095, "the sensor is not connected"),
        ("ntc in the upper leg", 0, "the sensor is not connected"),
        ("ntc in the upper leg", 4095, "the sensor is shorted"),
        ("ntc in the lower leg", 5000, "above 4095, the most that a 12-bit converter gives"),
        ("ntc in the lower leg", 4090, "that is -55 °C, where the sensor's range ends"),
        ("ntc in the lower leg", 10, "that is 150 °C"),
        ("ntc with its own supply", 3000, "above the 3.3 V that feed the sensor"),
        ("ntc from volts", 3.2999, "the sensor is not connected"),
        ("platinum from ohms", 180, "that is -200 °C"),
        ("platinum from ohms", 4000, "that is 850 °C"),
        ("photoresistor", 1020, "that is 1000 lx"),
    ],
)
def test_a_number_beyond_the_range_is_refused_with_what_it_means(kind: str, x: float, words: str) -> None:
    conversion, unit = EVERY_KIND[kind]
    assert words in converter_of(conversion, unit).refusal(x)


def test_the_reference_cancels_in_a_ratiometric_sensor_and_in_a_divider() -> None:
    for kind in ("ratiometric", "ntc in the lower leg", "photoresistor"):
        conversion, unit = EVERY_KIND[kind]
        other = replace(conversion, reference_volts=3.3)
        x = input_at(kind, 0.4)
        assert converter_of(other, unit).value(x) == converter_of(conversion, unit).value(x)


def test_the_same_temperature_comes_out_in_each_unit() -> None:
    celsius = converter_of(NTC, "°C").value(2048)
    assert converter_of(NTC, "K").value(2048) == pytest.approx(celsius + 273.15, rel=1e-15)
    assert converter_of(NTC, "°F").value(2048) == pytest.approx(celsius * 9 / 5 + 32, rel=1e-15)
    assert converter_of(NTC, "°F").u_at(2048, 0) == pytest.approx(1.8 * converter_of(NTC, "°C").u_at(2048, 0))
    with pytest.raises(ValueError, match="gives a temperature, which has no unit 'V'"):
        converter_of(NTC, "V")


@given(y=st.floats(-1e3, 1e3), shape=st.sampled_from([(1.0, 2.0, 0.5), (5.0, -3.0, -0.1, -0.02)]))
def test_a_polynomials_inverse_is_exact_to_rounding(y: float, shape: tuple[float, ...]) -> None:
    stage = Polynomial(shape, "V", Span(0.0, 10.0))
    ends = sorted((stage.value(0.0), stage.value(10.0)))
    wanted = min(max(y, ends[0]), ends[1])
    assert stage.value(stage.inverse(wanted)) == pytest.approx(wanted, rel=1e-13, abs=1e-13)


def test_a_table_gives_its_own_points_exactly() -> None:
    points = ((0.1, 80.3), (0.7, 20.1), (1.9, -3.7))
    stage = PointTable(points, "°C", "V", Span(0.1, 1.9))
    assert [(x, stage.value(x)) for x, _ in points] == list(points)
    assert [(stage.inverse(y), y) for _, y in points] == list(points)


@pytest.mark.parametrize(
    ("kind", "count"),
    [("ntc in the lower leg", 2278), ("photoresistor", 480), ("platinum", 40_000), ("polynomial", 300)],
)
def test_the_uncertainty_agrees_with_a_monte_carlo_run(kind: str, count: int) -> None:
    """JCGM 101:2008, 7: the count lies anywhere within a step; the spread of the values is u."""
    conversion, unit = EVERY_KIND[kind]
    converter, chance = converter_of(conversion, unit), random.Random(5)
    n = 40_000
    values = [converter.value(count + chance.uniform(-0.5, 0.5)) for _ in range(n)]
    # The standard deviation of n draws of a rectangle is itself good to u * sqrt((k - 1) / 4n), k = 1.8.
    sampling = converter.u_at(count, 0) * math.sqrt(0.8 / (4 * n))
    assert statistics.stdev(values) == pytest.approx(converter.u_at(count, 0), abs=4 * sampling)
