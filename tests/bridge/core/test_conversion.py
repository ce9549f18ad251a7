from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.calibration_given import CalibrationFit, CalibrationGiven, CalibrationPoint
from bridge.core.conversion import Converter, resolution_uncertainty, unit_from_volts, volts_from_count
from bridge.core.lesson import BenchChannel, Channel, Conversion, Divisor

REFERENCE = Path(__file__).parents[2] / "reference"
CHANNEL = Channel(name="temperature", unit="°C")
PLAIN = BenchChannel(channel="temperature")
SENSOR = Conversion(name="sensor", start="count", width_bits=10, reference_volts=5.0, volts_per_unit=0.01)


def rows(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open() as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize(("divisor", "column"), [("2^n", "volts_div_2n"), ("2^n-1", "volts_div_2n_minus_1")])
def test_volts_agree_with_every_published_code(divisor: Divisor, column: str) -> None:
    for row in rows("adc_codes.csv"):
        conversion = Conversion(
            name="c",
            start="count",
            width_bits=int(row["bits"]),
            reference_volts=float(row["vref_V"]),
            divisor=divisor,
        )
        assert volts_from_count(int(row["code"]), conversion) == pytest.approx(float(row[column]), rel=1e-14)


@pytest.mark.parametrize(
    ("divisor", "column"), [("2^n", "u_quant_V_div_2n"), ("2^n-1", "u_quant_V_div_2n_minus_1")]
)
def test_the_uncertainty_of_a_count_agrees_with_the_published_one(divisor: Divisor, column: str) -> None:
    for row in rows("adc_ideal.csv"):
        conversion = Conversion(
            name="c",
            start="count",
            width_bits=int(row["bits"]),
            reference_volts=float(row["vref_V"]),
            divisor=divisor,
        )
        converter = Converter(CHANNEL, PLAIN, conversion)
        assert converter.u(0) == pytest.approx(float(row[column]), rel=1e-12)


def test_resolution_uncertainty_matches_the_gum() -> None:  # JCGM 100:2008, F.2.2.1: 0.29 of the step
    assert resolution_uncertainty(1.0) == pytest.approx(0.29, abs=0.005)
    with pytest.raises(ValueError, match="negative"):
        resolution_uncertainty(-1.0)


def test_a_count_becomes_degrees() -> None:
    assert Converter(CHANNEL, PLAIN, SENSOR).value(92) == pytest.approx(44.921875)


def test_a_sensor_with_an_offset_is_read_from_its_volts() -> None:
    conversion = Conversion(name="s", start="volts", offset_volts=0.5, volts_per_unit=0.01)
    assert Converter(CHANNEL, PLAIN, conversion).value(0.93) == pytest.approx(43.0)


def test_the_benchs_gain_and_offset_come_last() -> None:
    own = BenchChannel(channel="temperature", gain=2.0, offset=-1.0)
    assert Converter(CHANNEL, own, SENSOR).value(92) == pytest.approx(2 * 44.921875 - 1)
    assert Converter(CHANNEL, own, None).u(1) == pytest.approx(2 * 0.1 / math.sqrt(12))


@pytest.mark.parametrize(("count", "words"), [(-1, "below 0"), (1024, "above 1023")])
def test_a_count_that_no_such_converter_gives_is_refused(count: int, words: str) -> None:
    converter = Converter(CHANNEL, PLAIN, SENSOR)
    assert not converter.least <= count <= converter.most
    assert words in converter.refusal(count)


@given(
    count=st.integers(0, 4095),
    reference=st.floats(0.5, 6),
    zero=st.floats(-1, 1),
    slope=st.floats(0.001, 1),
    gain=st.floats(0.5, 2),
    offset=st.floats(-10, 10),
    divisor=st.sampled_from(["2^n", "2^n-1"]),
)
def test_the_shown_steps_end_at_the_value(
    count: int, reference: float, zero: float, slope: float, gain: float, offset: float, divisor: Divisor
) -> None:
    conversion = Conversion(
        name="c", start="count", width_bits=12, reference_volts=reference, divisor=divisor,
        offset_volts=zero, volts_per_unit=slope,
    )  # fmt: skip
    own = BenchChannel(channel="temperature", gain=gain, offset=offset)
    converter = Converter(CHANNEL, own, conversion)
    steps = converter.steps(count, "raw")
    assert steps[-1].number == converter.value(count)
    assert unit_from_volts(volts_from_count(count, conversion), conversion) in [step.number for step in steps]


def test_without_a_number_the_steps_say_so() -> None:
    assert Converter(CHANNEL, PLAIN, SENSOR).steps(None, "raw")[-1].number is None
    assert "above 1023" in Converter(CHANNEL, PLAIN, SENSOR).steps(1300, "raw")[-1].formula


def calibrated(fit: CalibrationFit, *points: tuple[float, float], gain: float = 1.0) -> Converter:
    listed = tuple(CalibrationPoint(*point) for point in points)
    calibration = CalibrationGiven(fit=fit, points=listed, date="2026-03-05", reference="bath thermometer")
    own = BenchChannel(channel="temperature", gain=gain, calibration=calibration)
    return Converter(CHANNEL, own, SENSOR)


def test_the_calibration_comes_after_the_benchs_gain_and_offset() -> None:
    converter = calibrated("offset", (45.0, 44.5), gain=1.1)
    assert converter.value(92) == pytest.approx(1.1 * 44.921875 + 0.5)
    assert converter.indication(converter.value(92)) == pytest.approx(1.1 * 44.921875)
    step = converter.steps(92, "raw")[-1]
    assert (step.words, step.unit) == ("calibrated against bath thermometer, 2026-03-05", "°C")
    assert (step.formula, step.number) == ("49.4141 + 0.5", converter.value(92))


def test_a_value_beyond_the_calibrated_range_says_so() -> None:
    converter = calibrated("line", (20.1, 20.5), (45.3, 45.1))
    assert converter.calibrated_range is not None
    low, high = converter.calibrated_range
    assert (low, high) == pytest.approx((20.1 - 2.52, 45.3 + 2.52))
    assert converter.uncalibrated_reason(high + 0.01) == "outside the calibrated range 20.1 to 45.3 °C"
    assert [converter.uncalibrated_reason(one) for one in (low, 30.0, high)] == ["", "", ""]
    assert calibrated("offset", (45.0, 44.5)).calibrated_range is None
    assert Converter(CHANNEL, PLAIN, SENSOR).uncalibrated_reason(1e9) == ""


def test_beyond_the_turn_of_a_quadratic_there_is_no_value() -> None:
    converter = calibrated("quadratic", (0.0, 0.0), (19.0, 20.0), (36.0, 40.0))
    assert converter.most < 1023
    assert "where the calibration's curve turns" in converter.refusal(converter.most + 1)
    assert converter.steps(converter.most + 1, "raw")[-1].words == "no value"


@given(
    count=st.integers(0, 200), error=st.floats(-2, 2), bend=st.floats(-1, 1), gain=st.floats(0.8, 1.2),
    fit=st.sampled_from(["offset", "line", "quadratic"]),
)  # fmt: skip
def test_a_calibrated_value_goes_back_to_its_count(
    count: int, error: float, bend: float, gain: float, fit: CalibrationFit
) -> None:
    converter = calibrated(fit, (0.0, error), (50.0, 50.0 + bend), (100.0, 100.0 - error), gain=gain)
    assert converter.inverse(converter.value(count)) == pytest.approx(count, abs=1e-7)
    assert converter.steps(count, "raw")[-1].number == pytest.approx(converter.value(count), rel=1e-14)
    h = 0.01
    slope = (converter.value(count + h) - converter.value(count - h)) / (2 * h)
    assert converter.step_at(count, 0) == pytest.approx(slope, rel=1e-6)
