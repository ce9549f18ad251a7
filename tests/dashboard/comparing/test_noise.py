"""Noise about the course, and the Allan deviation against published values."""

from __future__ import annotations

import numpy as np
import pytest

from dashboard.comparing.moments import moments
from dashboard.comparing.noise import allan_deviation, allan_of, noise, sd_about_neighbours
from tests.dashboard.comparing.made import series


def test_noise_is_found_on_a_bent_course_with_a_step() -> None:
    rng = np.random.default_rng(1)
    t = np.arange(2000) * 0.5
    y = 45 * np.exp(-t / 300) + np.where(t > 400, 5, 0) + 0.05 * rng.standard_normal(len(t))
    found = noise(series(t, y))
    assert found.value == pytest.approx(0.05, rel=0.1)
    assert found.low is not None
    assert found.high is not None
    assert found.low < 0.05 < found.high
    assert sd_about_neighbours(y) == pytest.approx(0.05, rel=0.1)


def test_the_interval_of_the_noise_holds_it() -> None:
    rng = np.random.default_rng(2)
    held = 0
    for _ in range(400):
        found = noise(series(range(200), 3 * rng.standard_normal(200)))
        assert found.low is not None
        assert found.high is not None
        held += found.low <= 3 <= found.high
    assert 0.92 < held / 400 < 0.985


def test_noise_below_the_step_is_said_to_be_hidden() -> None:
    y = np.round(20 + 0.01 * np.random.default_rng(3).standard_normal(200))
    y[100] += 1
    found = noise(series(range(200), y), step=1.0)
    assert "hidden by the steps" in found.words
    assert found.high == 1.0


def test_too_few_readings_have_no_noise() -> None:
    assert noise(series(range(19), range(19))).value is None


def test_the_thousand_point_set_has_its_published_allan_deviations() -> None:
    # NIST SP 1065, 12.4 (recalled): 0.2922319, 0.09159953, 0.03241343 at 1, 10 and 100 steps; mean 0.4897745.
    state, values = 1234567890, []
    for _ in range(1000):
        values.append(state / 2147483647)
        state = 16807 * state % 2147483647
    y = np.array(values)
    assert moments(y).mean == pytest.approx(0.4897745, abs=5e-8)
    assert moments(y).sd == pytest.approx(0.2884664, abs=5e-8)
    by_1 = allan_deviation([y], 1.0)
    assert [point.seconds for point in by_1] == [1, 2, 4, 8, 16, 32, 64, 128]
    assert by_1[0].deviation == pytest.approx(0.2922319, abs=5e-8)
    # Averaging time 10 and 100 by hand, as the definition says, against the same published values.
    for m, published in ((10, 0.09159953), (100, 0.03241343)):
        means = np.convolve(y, np.ones(m) / m, "valid")
        by_definition = np.sqrt(np.mean((means[m:] - means[:-m]) ** 2) / 2)
        assert by_definition == pytest.approx(published, abs=5e-9)


def test_every_allan_deviation_is_that_of_the_definition() -> None:
    y = 1e6 + np.cumsum(np.random.default_rng(4).standard_normal(300))
    for point in allan_deviation([y], 0.5):
        m = round(point.seconds / 0.5)
        means = np.convolve(y - 1e6, np.ones(m) / m, "valid")
        assert point.deviation == pytest.approx(np.sqrt(np.mean((means[m:] - means[:-m]) ** 2) / 2), rel=1e-6)


def test_the_nine_point_set_has_its_published_allan_deviations() -> None:
    # NIST SP 1065, 12.4 (recalled): 91.22945 at 1 step, 85.95287 at 2 (overlapping).
    y = np.array([892.0, 809.0, 823.0, 798.0, 671.0, 644.0, 883.0, 903.0, 677.0])
    assert [point.deviation for point in allan_deviation([y], 1.0)] == pytest.approx(
        [91.22945, 85.95287], abs=5e-6
    )


def test_white_noise_falls_with_the_root_of_the_averaging_time_and_its_intervals_hold() -> None:
    rng, held, n_points = np.random.default_rng(5), 0, 0
    for _ in range(60):
        for point in allan_deviation([rng.standard_normal(1024)], 1.0)[:6]:
            held += point.low <= point.seconds**-0.5 <= point.high
            n_points += 1
    assert 0.91 < held / n_points < 0.985


def test_a_random_walk_is_told_from_white_noise() -> None:
    rng = np.random.default_rng(6)
    assert {point.power for point in allan_deviation([rng.standard_normal(1000)], 1.0)[:4]} == {0}
    assert {point.power for point in allan_deviation([np.cumsum(rng.standard_normal(1000))], 1.0)[:4]} == {-2}


def test_no_difference_is_taken_across_a_gap() -> None:
    low, high = np.tile([0.0, 1.0], 40), np.tile([100.0, 101.0], 40)
    seconds = np.concatenate([np.arange(80.0), 200 + np.arange(80.0)])
    points, words = allan_of(series(seconds, np.concatenate([low, high])))
    assert words == ""
    assert points[0].deviation == pytest.approx(np.sqrt(0.5))


def test_uneven_steps_have_no_averaging_time() -> None:
    seconds = np.cumsum(np.random.default_rng(7).uniform(0.01, 2, 100))
    assert "uneven" in allan_of(series(seconds, np.zeros(100)))[1]
    assert "fewer" in allan_of(series([0, 1], [0, 1]))[1]
    with pytest.raises(ValueError, match="above 0"):
        allan_deviation([np.zeros(9)], 0.0)
