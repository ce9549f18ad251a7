"""Calibrations against published ones, and their uncertainty against repeated calibrations."""

from __future__ import annotations

import csv
import math
import tomllib
from pathlib import Path
from typing import Any, cast

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bridge.core.calibration import LACK_OF_FIT_CHANCE, Calibration
from bridge.core.calibration_given import (
    DEGREE_OF,
    MAX_CALIBRATION_POINTS,
    CalibrationFit,
    CalibrationGiven,
    CalibrationPoint,
)
from bridge.core.calibration_words import lack_of_fit_words, range_words, summary

REFERENCE = Path(__file__).parents[2] / "reference"
N_REPEATS = 2000  # of a whole calibration; its standard deviation is good to 1 / sqrt(2 n)
H3: dict[str, Any] = tomllib.loads((REFERENCE / "gum/gum.toml").read_text())["h3"]


def calibration(fit: str, *points: tuple[float, ...], **given: str) -> Calibration:
    listed = tuple(CalibrationPoint(*point) for point in points)
    return Calibration(CalibrationGiven(fit=cast("CalibrationFit", fit), points=listed, **given), "°C")


def rows(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open() as file:
        return list(csv.DictReader(file))


def u_of(calibration: Calibration, x: float) -> float:
    variance = calibration.variance(x)
    assert variance is not None
    return math.sqrt(variance)


def thermometer() -> Calibration:
    points = []
    for row in rows("gum/h3_thermometer.csv"):
        reading, correction = float(row["reading_degC"]), float(row["observed_correction_degC"])
        points.append((reading + correction, reading))
    return calibration("line", *points)


def test_the_thermometer_of_the_gum_is_corrected_as_published() -> None:  # JCGM 100:2008, H.3
    line = thermometer()
    for point in H3["checkpoints"]:
        assert line.correction(point["t_degC"]) == pytest.approx(point["b_degC"], abs=1e-11)
        assert u_of(line, point["t_degC"]) == pytest.approx(point["u_degC"], abs=1e-11)
    assert round(line.correction(30.0), 4) == H3["b30_published_degC"]
    assert round(u_of(line, 30.0), 4) == H3["b30_u_published_degC"]
    assert line.residual_sd == pytest.approx(H3["residual_sd_computed_degC"], rel=1e-9)
    assert (line.dof, line.evaluated, range_words(line)) == (9, "A", "21.35 to 26.35 °C")


@pytest.mark.parametrize("fit", ["line", "quadratic"])
def test_a_real_thermistor_is_corrected_as_by_another_least_squares(fit: str) -> None:
    # Possolo and Iyer, Review of Scientific Instruments 88 (2017), 011301, table II.
    table = rows("thermistor_vs_prt.csv")
    points = [(float(row["reference_degC"]), float(row["indication_degC"])) for row in table]
    fitted = calibration(fit, *points)
    # The correction has the same powers as the reference itself, so both fits are one.
    ys, xs = zip(*points, strict=True)
    polynomial = np.polynomial.Polynomial.fit(xs, ys, DEGREE_OF[cast("CalibrationFit", fit)])
    for one in fitted.points:
        assert one.fitted == pytest.approx(float(polynomial(one.point.indication)), abs=1e-10)
        assert one.residual == pytest.approx(one.point.reference - one.fitted, abs=1e-12)
    assert fitted.residual_sd == pytest.approx({"line": 0.0584, "quadratic": 0.0211}[fit], abs=5e-5)


def test_one_point_shifts_every_value_by_the_same() -> None:
    offset = calibration(
        "offset", (45.0, 44.6, 0.1, 0.02), reference="the bath's thermometer", date="2026-03-05"
    )
    assert [offset.value(x) for x in (0.0, 44.6)] == pytest.approx([0.4, 45.0])
    assert u_of(offset, -5.0) == pytest.approx(math.hypot(0.1, 0.02))
    assert (offset.reach, offset.residual_sd) == (None, None)
    assert offset.words == "calibrated against the bath's thermometer, 2026-03-05"
    assert summary(offset) == (
        "Offset through one point: correction 0.40 ± 0.10 °C. It is taken to hold everywhere: all points "
        "stand at one place. Its uncertainty follows from those of the points."
    )


def test_two_points_without_uncertainties_leave_it_unknown() -> None:
    line = calibration("line", (0.0, 0.4), (50.0, 49.0))
    assert (line.variance(25.0), line.has_uncertainty, line.standard_errors) == (None, False, None)
    assert line.value(24.7) == pytest.approx(25.0)
    assert "uncertainty is unknown" in summary(line)
    assert line.formula(24.7) == "24.7 + 0.3 + 0.02881 × (24.7 − 24.7)"


def test_outside_its_points_a_calibration_reaches_a_tenth_of_their_span() -> None:
    line = calibration("line", (20.0, 20.5), (40.0, 40.5), (30.0, 30.4))
    assert line.reach == pytest.approx((18.5, 42.5))


@pytest.mark.parametrize(
    ("fit", "points", "words"),
    [
        ("quadratic", [(0.0, 0.0), (10.0, 10.0), (10.0, 20.0)], "turns at 15 °C, inside its own range"),
        ("line", [(0.0, 40.0), (40.0, 0.0)], "falls while the indication rises"),
        ("quadratic", [(0.0, 40.0), (18.0, 20.0), (40.0, 0.0)], "falls while the indication rises"),
        ("line", [(0.0, 40.0)], 'fit = "line" needs 2 points with different indications, found 1'),
        ("quadratic", [(0.0, 1.0), (2.0, 1.0), (3.0, 4.0)], "needs 3 points with different indic.*, found 2"),
        ("offset", [], "points must be 1 to 100, found 0"),
        ("offset", [(1.0, 1.0)] * (MAX_CALIBRATION_POINTS + 1), "found 101"),
        ("offset", [(1.0, math.inf)], "must be at most"),
        ("offset", [(1.0, 1.0, -0.1, 0.0)], "must be 0 .unknown. or more, found -0.1"),
    ],
)  # fmt: skip
def test_points_that_give_no_calibration_are_refused_with_words(
    fit: str, points: list[tuple[float, ...]], words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        calibration(fit, *points)


def test_a_quadratic_ends_where_it_turns() -> None:
    bent = calibration("quadratic", (0.0, 0.0), (19.0, 20.0), (36.0, 40.0))
    turn = bent.span.most
    assert bent.slope(turn) == pytest.approx(0.0, abs=1e-12)
    assert turn > 44.0
    assert "where the calibration's curve turns" in bent.span.refusal(turn + 1, bent.called(turn + 1))


places = st.lists(st.integers(-50, 150), min_size=4, max_size=8, unique=True).map(sorted)
errors = st.lists(st.floats(-3.0, 3.0), min_size=8, max_size=8)


@given(
    fit=st.sampled_from(["offset", "line", "quadratic"]), xs=places, errs=errors, part=st.floats(-0.1, 1.1)
)
def test_a_calibration_goes_there_and_back_and_has_its_slope(
    fit: str, xs: list[int], errs: list[float], part: float
) -> None:
    try:
        curve = calibration(fit, *((x + error, float(x)) for x, error in zip(xs, errs, strict=False)))
    except ValueError:
        assume(False)
    x = xs[0] + part * (xs[-1] - xs[0])
    assume(curve.slope(x) > 1e-3)
    assert curve.inverse(curve.value(x)) == pytest.approx(x, rel=1e-9, abs=1e-9)
    h = 1e-4
    numerical = (curve.value(x + h) - curve.value(x - h)) / (2 * h)
    assert curve.slope(x) == pytest.approx(numerical, rel=1e-6, abs=1e-6)


def spread_of_repeated_calibrations(
    fit: str, xs: list[float], u_ref: float, u_ind: float, alike: float, place: float, seed: int
) -> float:
    """JCGM 101:2008, 7: standard deviation of the correction when the calibration is made again and again.

    The part `alike` of the reference's variance is one error for all points, the rest anew at each.
    """
    n = N_REPEATS
    rng = np.random.default_rng(seed)
    common = rng.normal(0.0, u_ref * math.sqrt(alike), (n, 1))
    anew = rng.normal(0.0, u_ref * math.sqrt(1 - alike), (n, len(xs)))
    own = rng.normal(0.0, u_ind, (n, len(xs)))
    # The bench is true but for its errors: reference + error less indication with error is all there is.
    corrections = common + anew - own
    powers = np.vander(np.array(xs), DEGREE_OF[cast("CalibrationFit", fit)] + 1)
    coefficients = np.linalg.lstsq(powers, corrections.T, rcond=None)[0]
    return float(np.std(np.vander([place], powers.shape[1]) @ coefficients))


@settings(max_examples=40, deadline=None)
@given(
    fit=st.sampled_from(["offset", "line", "quadratic"]), n_points=st.integers(3, 6),
    u_ind=st.floats(0.05, 0.5), part=st.floats(-0.1, 1.1), seed=st.integers(0, 2**32 - 1),
)  # fmt: skip
def test_the_uncertainty_from_the_indications_is_that_of_repeated_calibrations(
    fit: str, n_points: int, u_ind: float, part: float, seed: int
) -> None:
    xs = [10.0 * i for i in range(n_points)]
    curve = calibration(fit, *((x, x, 0.0, u_ind) for x in xs))
    place = part * xs[-1]
    spread = spread_of_repeated_calibrations(fit, xs, 0.0, u_ind, 0.0, place, seed)
    assert u_of(curve, place) == pytest.approx(spread, rel=5 / math.sqrt(2 * N_REPEATS))
    assert (curve.dof, curve.evaluated) == (math.inf, "B")


@settings(max_examples=40, deadline=None)
@given(
    fit=st.sampled_from(["offset", "line", "quadratic"]), n_points=st.integers(3, 6),
    u_ref=st.floats(0.05, 0.5), u_ind=st.floats(0.01, 0.5), part=st.floats(-0.1, 1.1),
    seed=st.integers(0, 2**32 - 1), alike=st.sampled_from([0.0, 0.3, 0.7, 1.0]),
)  # fmt: skip
def test_no_correlation_of_the_references_errors_exceeds_the_uncertainty(
    fit: str, n_points: int, u_ref: float, u_ind: float, part: float, seed: int, alike: float
) -> None:
    xs = [10.0 * i for i in range(n_points)]
    curve = calibration(fit, *((x, x, u_ref, u_ind) for x in xs))
    place = part * xs[-1]
    spreads = [
        spread_of_repeated_calibrations(fit, xs, u_ref, u_ind, one, place, seed) for one in (0.0, alike, 1.0)
    ]
    sampling = 5 / math.sqrt(2 * N_REPEATS)
    assert spreads[1] <= u_of(curve, place) * (1 + sampling)
    # And it is no greater than one of the two extremes needs.
    assert u_of(curve, place) == pytest.approx(max(spreads[0], spreads[2]), rel=sampling)


def test_the_reference_does_not_average_away_with_more_points() -> None:
    many = calibration("offset", *((20.0 + i, 20.0 + i, 0.2, 0.01) for i in range(50)))
    assert u_of(many, 30.0) == pytest.approx(0.2, rel=0.01)


def test_points_farther_off_than_their_uncertainties_are_told_and_widen_the_curve() -> None:
    points = [(0.0, 0.0, 0.0, 0.1), (10.0, 10.0, 0.0, 0.1), (20.0, 21.0, 0.0, 0.1), (30.0, 30.0, 0.0, 0.1)]
    line = calibration("line", *points)
    assert line.lack is not None
    assert line.lack.chance < LACK_OF_FIT_CHANCE
    told = lack_of_fit_words(line)
    assert "the points lie farther from the line than their uncertainties explain (chi² = " in told
    assert "look at the point at 20 °C" in told
    good = calibration(
        "line", *((x, y, a, b) for (x, y, a, b) in (*points[:2], (20.0, 20.1, 0.0, 0.1), points[3]))
    )
    assert lack_of_fit_words(good) == ""
    assert u_of(line, 15.0) == pytest.approx(u_of(good, 15.0) * math.sqrt(line.lack.statistic / 2), rel=0.05)


def test_repeats_at_one_reference_tell_lack_of_fit_without_uncertainties() -> None:
    def points(bend: float) -> list[tuple[float, float]]:
        return [
            (t, t + bend * (t - 20.0) ** 2 + jitter)
            for t in (0.0, 10.0, 20.0, 30.0, 40.0) for jitter in (-0.01, 0.0, 0.012)
        ]  # fmt: skip

    assert lack_of_fit_words(calibration("line", *points(0.0))) == ""
    assert "than their repeats explain (F = " in lack_of_fit_words(calibration("line", *points(0.001)))
    assert lack_of_fit_words(calibration("quadratic", *points(0.001))) == ""


def test_a_point_with_a_great_uncertainty_hardly_counts() -> None:
    sure = [(0.0, 0.0, 0.01, 0.0), (40.0, 40.0, 0.01, 0.0)]
    line = calibration("line", *sure, (20.0, 25.0, 5.0, 0.0))
    assert line.value(25.0) == pytest.approx(25.0, abs=0.01)
    assert line.is_weighted
    assert not calibration("line", *sure, (20.0, 25.0)).is_weighted


@given(gain=st.floats(0.5, 2.0))
def test_an_indications_uncertainty_counts_by_the_slope(gain: float) -> None:
    points = [(gain * x, x, 0.0, 0.1) for x in (0.0, 10.0, 20.0)]
    line = calibration("line", *points)
    assert line.slope(10.0) == pytest.approx(gain)
    assert u_of(line, 10.0) == pytest.approx(gain * 0.1 / math.sqrt(3), rel=1e-6)
