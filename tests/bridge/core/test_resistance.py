"""Resistive sensors against published values."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.resistance import Divider, NtcBeta, NtcSteinhartHart, Photoresistor, Platinum
from bridge.core.stages import Span
from tests.bridge.core.made_conversions import NTC, converter_of, rows


def test_platinum_agrees_with_every_published_resistance() -> None:  # IEC 60751
    table = rows("pt100.csv")
    assert len(table) > 100
    for row in table:
        t, ohms = float(row["t_degC"]), float(row["r_ohm_formula"])
        assert Platinum().inverse(t) == pytest.approx(ohms, abs=1e-9 * ohms + 5e-10)
        assert Platinum().value(ohms) == pytest.approx(t, abs=5e-9)
        assert 1 / Platinum().slope(ohms) == pytest.approx(float(row["sensitivity_ohm_per_degC"]), abs=1e-8)
        if row["r_ohm_table_2dp"]:
            assert Platinum().inverse(t) == pytest.approx(float(row["r_ohm_table_2dp"]), abs=0.005 + 1e-9)


def test_platinum_agrees_with_every_published_temperature() -> None:
    for row in rows("pt100_inverse.csv"):
        assert Platinum().value(float(row["r_ohm"])) == pytest.approx(float(row["t_degC"]), abs=1e-9)


@given(t=st.floats(-200, 850), ohms_at_0=st.sampled_from([10.0, 100.0, 500.0, 1000.0]))
def test_platinum_goes_there_and_back_to_the_last_digits(t: float, ohms_at_0: float) -> None:
    stage = Platinum(ohms_at_0)
    assert stage.value(stage.inverse(t)) == pytest.approx(t, abs=1e-11)


def test_the_published_errors_of_the_straight_rule_come_out() -> None:
    for row in rows("pt100_inverse.csv"):
        ohms = float(row["r_ohm"])
        wrong = (ohms - 100.0) / 0.385 - Platinum().value(ohms)
        assert wrong == pytest.approx(float(row["error_of_linear_0.385_ohm_per_degC"]), abs=1e-6)


def test_an_ntc_by_beta_agrees_with_every_published_row() -> None:
    table = rows("ntc_10k_beta.csv")
    assert len({row["beta_K"] for row in table}) == 2
    for row in table:
        t, ohms = float(row["t_degC"]), float(row["r_ohm"])
        stage = NtcBeta(10_000.0, float(row["beta_K"]))
        assert stage.inverse(t) == pytest.approx(ohms, rel=1e-11)
        assert stage.value(ohms) == pytest.approx(t, abs=1e-9)
        assert 1 / stage.slope(ohms) == pytest.approx(float(row["dr_dt_ohm_per_degC"]), rel=1e-8)
        divider = Divider(10_000.0, "lower", Span(0.0, 1.0))
        assert divider.inverse(ohms) == pytest.approx(
            float(row["divider_ratio_ntc_to_ground_10k"]), rel=1e-11
        )


@pytest.mark.parametrize(
    ("divisor", "column"), [("2^n", "t_from_code12_over_4096"), ("2^n-1", "t_from_code12_over_4095")]
)
def test_a_count_of_an_ntc_gives_the_published_temperature(divisor: str, column: str) -> None:
    for row in rows("ntc_10k_beta.csv"):
        conversion = replace(NTC, beta_kelvin=float(row["beta_K"]), divisor=divisor)  # type: ignore[arg-type]
        converter = converter_of(conversion)
        # Ten digits are published.
        value = pytest.approx(float(row[column]), rel=1e-9, abs=1e-9)
        assert converter.value(float(row["code12_floor"])) == value


@pytest.mark.parametrize(("bits", "column"), [(10, "code10_floor"), (12, "code12_floor")])
def test_a_published_temperature_lies_within_the_step_of_its_count(bits: int, column: str) -> None:
    for row in rows("ntc_10k_beta.csv"):
        converter = converter_of(replace(NTC, beta_kelvin=float(row["beta_K"]), width_bits=bits))
        assert int(converter.inverse(float(row["t_degC"])) + 1e-9) == int(row[column])


def test_steinhart_hart_agrees_with_every_published_row() -> None:
    stage = NtcSteinhartHart(1.0e-3, 2.4e-4, 1.5e-7)
    for row in rows("ntc_steinhart_hart.csv"):
        ohms, t = float(row["r_ohm"]), float(row["t_degC"])
        assert stage.value(ohms) == pytest.approx(t, abs=1e-10)
        assert stage.inverse(t) == pytest.approx(ohms, rel=1e-11)


@given(t=st.floats(-55, 150), c=st.sampled_from([0.0, 1e-16, 1e-12, 1.5e-7, 1e-6]))
def test_steinhart_hart_goes_back_even_with_a_tiny_cube(t: float, c: float) -> None:
    stage = NtcSteinhartHart(1.0e-3, 2.4e-4, c)
    assert stage.value(stage.inverse(t)) == pytest.approx(t, abs=1e-9)


@given(part=st.floats(0.001, 0.999))
def test_the_two_legs_of_a_divider_mirror_each_other(part: float) -> None:
    lower, upper = (Divider(4700.0, leg, Span(0.0, 1.0)) for leg in ("lower", "upper"))
    assert lower.value(part) == pytest.approx(upper.value(1 - part), rel=1e-9)
    assert lower.value(0.5) == upper.value(0.5) == 4700.0


def test_a_photoresistor_falls_by_gamma_powers_of_ten_from_10_to_100_lux() -> None:
    stage = Photoresistor(15_000.0, 0.7)
    assert stage.value(15_000.0) == 10.0
    assert stage.inverse(100.0) == pytest.approx(15_000.0 / 10**0.7)
