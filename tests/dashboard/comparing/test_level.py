"""Level, resolution, drift, pace."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dashboard.comparing.figure import figure, no_figure
from dashboard.comparing.level import (
    bias,
    biases_to_median,
    drift,
    level,
    line_rate,
    resolution,
    runs_probability,
    time_in_gaps,
)
from tests.dashboard.comparing.made import CASES, persistent_noise, series


def test_the_mean_over_time_is_not_the_mean_of_the_lines() -> None:  # tests/cases: unequal-steps
    case = CASES["unequal-steps"]
    values = [value for (value,) in case["readings"]]
    one = series(np.cumsum(case["gap_ms"]) / 1000, values)
    assert level(one).value == pytest.approx(case["mean_over_time"], abs=5e-5)
    assert float(np.mean(values)) == pytest.approx(case["mean_of_lines"], abs=5e-4)


def test_what_happened_in_a_gap_counts_for_nothing() -> None:
    seconds = [*range(10), *range(60, 70)]
    one = series(seconds, [10.0] * 10 + [20.0] * 10)
    assert level(one).value == pytest.approx(15.0)


@given(st.lists(st.floats(-100, 100), min_size=2, max_size=30), st.floats(-1e6, 1e6))
def test_the_level_moves_with_an_offset(values: list[float], offset: float) -> None:
    plain = level(series(range(len(values)), values))
    moved = level(series(range(len(values)), np.array(values) + offset))
    assert plain.value is not None
    assert moved.value == pytest.approx(plain.value + offset, abs=1e-6)


def test_the_level_of_white_noise_scatters_as_its_uncertainty_says() -> None:
    rng = np.random.default_rng(1)
    found = [level(series(range(100), rng.standard_normal(100))) for _ in range(1000)]
    held = np.mean([abs(one.value or 0) <= 2 * (one.u or 0) for one in found])
    assert 0.92 < held < 0.98


def test_a_common_uncertainty_does_not_average_out() -> None:
    assert level(series(range(1000), np.zeros(1000), u=0.3)).u == pytest.approx(0.3)


def test_no_level_without_two_joined_readings() -> None:
    assert level(series([0], [1.0])).value is None
    assert "without a gap" in level(series([0, 100], [1.0, 2.0])).words


@settings(max_examples=60)
@given(st.floats(1e-3, 10), st.floats(-100, 100), st.integers(0, 2**31))
def test_the_step_of_a_converter_is_found(step: float, offset: float, seed: int) -> None:
    counts = np.round(np.random.default_rng(seed).normal(0, 2, 200))
    assert resolution(series(range(200), offset + counts * step)).value == pytest.approx(step, rel=1e-6)


def test_steps_of_a_sixteenth_printed_with_two_decimals_are_found() -> None:
    counts = np.round(np.random.default_rng(2).normal(300, 5, 400))
    assert resolution(series(range(400), np.round(counts / 16, 2))).value == pytest.approx(1 / 16, rel=0.01)


def test_values_that_lie_on_no_steps_have_no_resolution() -> None:
    assert resolution(series(range(400), np.random.default_rng(3).standard_normal(400))).value is None
    assert "same value" in resolution(series(range(9), [1.0] * 9)).words
    assert "two values" in resolution(series(range(4), [1.0, 2.0, 1.0, 2.0])).words


def test_a_straight_course_has_its_slope_per_minute() -> None:
    found = drift(series(range(100), 20 + 0.5 * np.arange(100) / 60))
    assert found.value == pytest.approx(0.5, rel=1e-9)
    assert found.unit == "°C/min"


@pytest.mark.parametrize(("persistence", "least"), [(0.0, 0.93), (0.5, 0.92)])
def test_the_interval_of_the_drift_holds_the_truth_also_in_persistent_noise(
    persistence: float, least: float
) -> None:
    rng, n, held = np.random.default_rng(4), 300, 0
    for _ in range(600):
        found = drift(series(range(n), persistent_noise(rng, n, persistence)))
        assert found.low is not None
        assert found.high is not None
        held += found.low <= 0 <= found.high
    assert least < held / 600 < 0.98


def test_a_bent_course_is_told() -> None:
    t = np.arange(400.0)
    rng = np.random.default_rng(5)
    assert "bends" in drift(series(t, np.exp(-t / 100) + 0.05 * rng.standard_normal(400))).words
    assert "no straight line" in drift(series(t, np.exp(-t / 100))).words


def test_too_few_runs_are_improbable() -> None:
    assert runs_probability(np.array([1.0] * 20 + [-1.0] * 20)) < 1e-6
    assert runs_probability(np.array([1.0, -1.0] * 20)) > 0.99
    assert runs_probability(np.random.default_rng(6).standard_normal(500)) > 0.01
    assert runs_probability(np.zeros(5)) == 1.0


def test_the_line_rate_leaves_gaps_out_and_the_gaps_are_told() -> None:
    one = series([*range(10), *range(60, 70)], np.zeros(20))
    assert line_rate(one).value == pytest.approx(1.0)
    assert time_in_gaps(one).value == pytest.approx(51.0)
    assert time_in_gaps(one).words == "1 gap, from 9.0 s to 60.0 s"
    assert line_rate(series([0], [1])).value is None


def test_a_bias_joins_both_uncertainties() -> None:
    found = bias("bias", figure("level", "°C", 20.3, 0.3), figure("reference", "°C", 20.0, 0.4))
    assert found.value == pytest.approx(0.3)
    assert found.u == pytest.approx(0.5)
    assert "exact" in bias("bias", figure("level", "°C", 1.0, 0.1), figure("r", "°C", 1.0)).words
    assert bias("bias", no_figure("level", "°C", "no reading"), figure("r", "°C", 1.0)).words == "no reading"


def test_a_bias_to_the_median_knows_that_the_middle_bench_makes_it() -> None:
    levels = [figure("level", "°C", value, 0.001) for value in (1.0, 2.0, 3.0, 4.0, 5.0)]
    found = biases_to_median(levels)
    assert [one.value for one in found] == pytest.approx([-2, -1, 0, 1, 2])
    assert found[2].u == pytest.approx(0.0, abs=1e-12)
    assert found[0].u == pytest.approx(0.001 * math.sqrt(2), rel=0.03)
    assert found == biases_to_median(levels)


def test_a_bias_to_the_median_of_equal_benches_is_about_the_median_s_own() -> None:
    # Variance of one of p independent normals less their median, p = 5: 1 + 0.2868 - 2/5 (the covariance of a
    # value with the median is 1/p by symmetry).
    found = biases_to_median([figure("level", "°C", 1.0, 1.0)] * 5)
    assert found[0].u == pytest.approx(math.sqrt(1 + 0.28683 - 0.4), rel=0.03)


def test_a_bench_without_level_has_no_bias_and_does_not_disturb_the_others() -> None:
    levels = [figure("level", "°C", value, 0.1) for value in (1.0, 2.0, 3.0)]
    found = biases_to_median([*levels, no_figure("level", "°C", "no reading")])
    assert [one.value for one in found] == [pytest.approx(-1), 0, pytest.approx(1), None]
    assert "fewer than three" in biases_to_median(levels[:2])[0].words
    unknown = biases_to_median([*levels, figure("level", "°C", 9.0)])
    assert unknown[0].value == pytest.approx(-1.5)
    assert "not every bench" in unknown[0].words
