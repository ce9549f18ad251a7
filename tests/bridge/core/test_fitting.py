"""Least squares against certified and published values: NIST StRD, the GUM, EURACHEM/CITAC CG4."""

from __future__ import annotations

import csv
import math
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bridge.core.fitting import MAX_FIT_POINTS, fit_polynomial

REFERENCE = Path(__file__).parents[2] / "reference"
NIST: dict[str, Any] = tomllib.loads((REFERENCE / "nist/certified.toml").read_text())["linear"]
GUM: dict[str, Any] = tomllib.loads((REFERENCE / "gum/gum.toml").read_text())


def columns(name: str, *wanted: str) -> list[list[float]]:
    with (REFERENCE / name).open() as file:
        rows = list(csv.DictReader(file))
    return [[float(row[one]) for row in rows] for one in wanted]


def same_digits(found: float, certified: float) -> float:
    """How many significant digits agree (the log relative error); a certified 0 is compared absolutely."""
    error = abs(found - certified) / abs(certified) if certified else abs(found)
    return 16.0 if error == 0 else min(16.0, -math.log10(error))


@pytest.mark.parametrize("name", NIST)
def test_the_fit_agrees_with_every_certified_value_to_thirteen_digits(name: str) -> None:
    certified = NIST[name]
    xs, ys = columns(f"nist/{certified['file']}", "x", "y")
    through_origin = not certified["intercept"]
    degree = certified["n_par"] - certified["intercept"]
    fit = fit_polynomial(xs, ys, degree=degree, through_origin=through_origin)
    assert fit.standard_errors is not None
    assert fit.residual_sd is not None
    first = 1 if through_origin else 0
    pairs = [(fit.residual_sd, certified["residual_sd"]), (fit.r_squared, certified["r_squared"])]
    for power, (estimate, error) in enumerate(
        zip(fit.coefficients, fit.standard_errors, strict=True), start=first
    ):
        pairs += [(estimate, certified[f"B{power}"]), (error, certified[f"B{power}_se"])]
    assert fit.dof == certified["dof"]
    assert min(same_digits(*pair) for pair in pairs) > 13
    if "computed_covariance" in certified:
        assert fit.covariance is not None
        for row, wanted in zip(fit.covariance, certified["computed_covariance"], strict=True):
            assert row == pytest.approx(wanted, rel=1e-12)


def test_the_thermometer_of_the_gum_comes_out_to_its_published_digits() -> None:  # JCGM 100:2008, H.3
    h3 = GUM["h3"]
    readings, corrections, predicted, differences = columns(
        "gum/h3_thermometer.csv", "reading_degC", "observed_correction_degC", "predicted_correction_degC",
        "difference_degC",
    )  # fmt: skip
    fit = fit_polynomial(readings, corrections, degree=1, origin=20.0)
    assert fit.standard_errors is not None
    assert fit.covariance is not None
    y1, y2 = fit.coefficients
    u1, u2 = fit.standard_errors
    assert (round(y1, 4), round(u1, 4)) == (h3["y1_published_degC"], h3["y1_u_published_degC"])
    assert (round(y2, 5), round(u2, 5)) == (h3["y2_published"], h3["y2_u_published"])
    assert round(fit.covariance[0][1] / (u1 * u2), 3) == h3["correlation_published"]
    assert fit.residual_sd == pytest.approx(h3["residual_sd_computed_degC"], rel=1e-13)
    assert (round(fit.value(30.0), 4), fit.dof) == (h3["b30_published_degC"], h3["dof"])
    for point in h3["checkpoints"]:
        assert fit.value(point["t_degC"]) == pytest.approx(point["b_degC"], abs=1e-12)
        assert fit.u(point["t_degC"]) == pytest.approx(point["u_degC"], abs=1e-13)
    assert [fit.value(x) for x in readings] == pytest.approx(predicted, abs=1e-12)
    assert fit.residuals == pytest.approx(differences, abs=1e-12)


def test_the_origin_changes_neither_value_nor_uncertainty() -> None:  # JCGM 100:2008, H.3.5
    readings, corrections = columns("gum/h3_thermometer.csv", "reading_degC", "observed_correction_degC")
    centre = GUM["h3"]["t0_zero_correlation_degC"]
    fit = fit_polynomial(readings, corrections, degree=1, origin=centre)
    assert fit.covariance is not None
    assert fit.covariance[0][1] == pytest.approx(0.0, abs=1e-19)
    assert fit.value(30.0) == pytest.approx(GUM["h3"]["b30_computed_degC"], rel=1e-13)
    assert fit.u(30.0) == pytest.approx(GUM["h3"]["b30_u_computed_degC"], rel=1e-13)


def test_a_calibration_line_read_backwards_agrees_with_the_guide() -> None:  # EURACHEM/CITAC CG4, A5
    a5 = GUM["inverse_prediction"]
    xs, ys = columns("gum/eurachem_a5_calibration.csv", "concentration_mg_per_L", "absorbance")
    fit = fit_polynomial(xs, ys, degree=1)
    assert fit.standard_errors is not None
    assert fit.residual_sd is not None
    intercept, slope = fit.coefficients
    assert fit.standard_errors == pytest.approx((a5["intercept_u_computed"], a5["slope_u_computed"]), 1e-12)
    assert (round(slope, 4), round(intercept, 4)) == (a5["slope_published"], a5["intercept_published"])
    assert round(fit.residual_sd, 6) == a5["residual_sd_published"]
    assert math.sqrt(fit.r_squared) == pytest.approx(a5["correlation_r_computed"], rel=1e-12)
    x = (a5["observed_mean"] - intercept) / slope
    u_line = fit.u(x)
    assert u_line is not None
    u = math.hypot(fit.residual_sd / math.sqrt(a5["p_readings"]), u_line) / slope
    assert x == pytest.approx(a5["x_computed"], rel=1e-12)
    assert u == pytest.approx(a5["x_u_computed"], rel=1e-12)
    assert round(u, 3) == a5["x_u_published"]


@pytest.mark.parametrize(("degree", "sd"), [(1, 0.0595), (2, 0.0209), (3, 0.0121)])
def test_a_real_thermistor_has_the_published_scatter(degree: int, sd: float) -> None:
    # Possolo and Iyer, Review of Scientific Instruments 88 (2017), 011301, table II.
    xs, ys = columns("thermistor_vs_prt.csv", "reference_degC", "indication_degC")
    assert fit_polynomial(xs, ys, degree=degree, origin=30.0).residual_sd == pytest.approx(sd, abs=5e-5)


def test_repeats_tell_a_curve_from_a_line() -> None:
    xs, ys = columns("gum/eurachem_a5_calibration.csv", "concentration_mg_per_L", "absorbance")
    straight = fit_polynomial(xs, ys, degree=1).lack_of_fit
    assert straight is not None
    assert (straight.test, straight.dof) == ("F", (3, 10))
    # By hand: SS of the means about the line over 3, SS within the five groups over 10.
    table = {x: [y for other, y in zip(xs, ys, strict=True) if other == x] for x in xs}
    line = np.polynomial.Polynomial([0.0087, 0.2410])
    within = sum(float(np.var(group)) * 3 for group in table.values())
    between = sum(3 * (float(np.mean(group)) - float(line(x))) ** 2 for x, group in table.items())
    assert straight.statistic == pytest.approx(between / 3 / (within / 10), rel=1e-6)
    assert 0.01 < straight.chance < 0.05
    bent = fit_polynomial(xs, [y - 0.1 * (x - 0.5) ** 2 for x, y in zip(xs, ys, strict=True)], degree=1)
    assert bent.lack_of_fit is not None
    assert bent.lack_of_fit.chance < 0.01


def test_repeats_without_scatter_test_nothing() -> None:
    assert fit_polynomial([1, 1, 2, 2, 3, 3], [1, 1, 2, 2, 4, 4], degree=1).lack_of_fit is None


def test_given_uncertainties_weigh_the_points_and_judge_the_fit() -> None:
    # Two means of one quantity: the weighted mean of 10.0 (0.1) and 10.4 (0.2), chi² = 0.16 / 0.05.
    fit = fit_polynomial([1.0, 2.0], [10.0, 10.4], degree=0, u_ys=[0.1, 0.2])
    assert fit.coefficients[0] == pytest.approx(10.08)
    assert fit.standard_errors == pytest.approx((math.sqrt(1 / 125),))
    assert fit.lack_of_fit is not None
    assert fit.lack_of_fit.statistic == pytest.approx(3.2)
    # Chi² of 1 degree of freedom is a normal deviate squared.
    assert fit.lack_of_fit.chance == pytest.approx(math.erfc(math.sqrt(3.2 / 2)), rel=1e-12)


def test_as_many_points_as_coefficients_have_no_scatter() -> None:
    fit = fit_polynomial([0.0, 10.0], [1.0, 3.0], degree=1)
    assert (fit.coefficients, fit.residuals) == ((1.0, 0.2), (0.0, 0.0))
    assert (fit.residual_sd, fit.covariance, fit.standard_errors, fit.u(5.0)) == (None, None, None, None)
    known = fit_polynomial([0.0, 10.0], [1.0, 3.0], degree=1, u_ys=[0.1, 0.1])
    assert known.u(5.0) == pytest.approx(0.1 / math.sqrt(2))
    assert known.u(10.0) == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("xs", "ys", "u_ys", "words"),
    [
        ([1, 1, 1], [1, 2, 3], None, "2 different places, found 1"),
        ([1, 2], [1, 2, 3], None, "one x, one y"),
        ([1, 2, 3], [1, 2, 3], [1, 0, 1], "above 0 and finite, found .1, 0, 1."),
        ([1, 2, 3], [1, 2, 3], [1], "one uncertainty"),
        (list(range(MAX_FIT_POINTS + 1)), [0] * (MAX_FIT_POINTS + 1), None, "at most 1000"),
    ],
)
def test_what_can_not_be_fitted_is_refused(
    xs: list[float], ys: list[float], u_ys: list[float] | None, words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        fit_polynomial(xs, ys, degree=1, u_ys=u_ys)


numbers = st.floats(-1e3, 1e3)


@given(
    points=st.lists(st.tuples(numbers, numbers), min_size=4, max_size=12, unique_by=lambda point: point[0]),
    degree=st.integers(0, 2), origin=numbers, at=numbers,
)  # fmt: skip
def test_no_neighbour_of_the_fit_is_better(
    points: list[tuple[float, float]], degree: int, origin: float, at: float
) -> None:
    """At the least sum of squares every column is at right angles to the residuals."""
    xs, ys = ([point[i] for point in points] for i in (0, 1))
    try:
        fit = fit_polynomial(xs, ys, degree=degree, origin=origin)
    except ValueError:  # points so near that no double holds the slope between them
        assume(False)
    spread = max(abs(x - origin) for x in xs)
    scale = max(map(abs, ys), default=0.0) + 1e-300
    for power in range(degree + 1):
        dot = sum(((x - origin) / spread) ** power * r for x, r in zip(xs, fit.residuals, strict=True))
        assert dot == pytest.approx(0.0, abs=1e-11 * scale * len(xs))


@settings(max_examples=40, deadline=None)
@given(
    draws=st.integers(0, 2**32 - 1),
    u_ys=st.lists(st.floats(0.1, 3.0), min_size=4, max_size=7),
    degree=st.integers(0, 2),
)  # fmt: skip
def test_the_covariance_is_that_of_repeated_fits(draws: int, u_ys: list[float], degree: int) -> None:
    """JCGM 101:2008, 7: the same calibration again and again, with other errors."""
    xs = [float(i) for i in range(len(u_ys))]
    fit = fit_polynomial(xs, [0.0] * len(xs), degree=degree, u_ys=u_ys, origin=1.5)
    n = 2000
    errors = np.random.default_rng(draws).normal(0.0, u_ys, (n, len(xs)))
    powers = np.vander(np.array(xs) - 1.5, degree + 1, increasing=True)
    weighted = np.linalg.lstsq(powers / np.array(u_ys)[:, None], (errors / u_ys).T, rcond=None)[0]
    found = np.std(np.polynomial.polynomial.polyval(4.0 - 1.5, weighted))
    assert float(found) == pytest.approx(fit.u(4.0), rel=5 / math.sqrt(2 * n))


def test_points_too_near_each_other_are_refused_in_words() -> None:
    with pytest.raises(ValueError, match="too near"):
        fit_polynomial([0.0, 5e-324, 1e-323, 1.5e-323], [0.0, 1e3, 2e3, 3e3], degree=1)
