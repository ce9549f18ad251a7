from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

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
