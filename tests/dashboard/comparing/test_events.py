"""Events found in readings, and those that are not there."""

from __future__ import annotations

import numpy as np
import pytest

from dashboard.comparing.changepoint import break_between, calmed, first_departure
from dashboard.comparing.events import event_by_hand, find_event
from dashboard.comparing.moments import Floats
from dashboard.comparing.series import Series
from tests.dashboard.comparing.made import persistent_noise, series


def step_response(
    rng: np.random.Generator, *, tau: float, noise: float, interval: float, at: float = 20.0
) -> Series:
    t = np.arange(400) * interval + rng.uniform(0, interval)
    return series(t, np.where(t > at, 1 - np.exp(-(t - at) / tau), 0) + noise * rng.standard_normal(len(t)))


@pytest.mark.parametrize("persistence", [0.0, 0.3])
def test_noise_alone_is_no_event(persistence: float) -> None:
    rng = np.random.default_rng(1)
    n_found = sum(first_departure(persistent_noise(rng, 1000, persistence)) is not None for _ in range(150))
    assert n_found == 0


@pytest.mark.parametrize(
    ("tau", "noise", "interval", "least"),
    [(4.0, 0.02, 0.5, 0.93), (4.0, 0.02, 0.1, 0.85), (4.0, 0.1, 0.1, 0.85), (0.2, 0.02, 0.5, 0.85)],
)
def test_the_onset_is_found_within_twice_its_uncertainty(
    tau: float, noise: float, interval: float, least: float
) -> None:
    rng, at, held, late = np.random.default_rng(2), 20.0, 0, []
    for _ in range(60):
        onset = find_event(step_response(rng, tau=tau, noise=noise, interval=interval, at=at), "onset")
        assert onset.seconds is not None
        assert onset.u is not None
        assert onset.probability is not None
        assert onset.probability <= 0.001
        held += abs(onset.seconds - at) <= 2 * onset.u
        late.append(onset.seconds - at)
    assert held / 60 >= least
    assert abs(float(np.mean(late))) < 0.05 * tau + interval / 4


def test_a_fall_is_found_as_well_as_a_rise() -> None:
    rng = np.random.default_rng(3)
    up = step_response(rng, tau=3.0, noise=0.01, interval=0.5)
    down = series(up.seconds, -up.values)
    assert find_event(up, "onset").seconds == pytest.approx(find_event(down, "onset").seconds)


def touch(t: Floats, *, at: float, until: float, tau: float) -> Floats:
    warm = np.where(t > at, 1 - np.exp(-(np.minimum(t, until) - at) / tau), 0)
    return np.where(t > until, warm * np.exp(-(t - until) / tau), warm)


def test_the_release_of_a_touch_is_found_and_its_peak_beside_it() -> None:
    rng, t = np.random.default_rng(4), np.arange(0, 120, 0.25)
    one = series(t, 20 + 5 * touch(t, at=30.0, until=60.0, tau=6.0) + 0.05 * rng.standard_normal(len(t)))
    assert find_event(one, "onset").seconds == pytest.approx(30.0, abs=0.5)
    assert find_event(one, "release").seconds == pytest.approx(60.0, abs=0.5)
    peak = find_event(one, "peak")
    assert peak.seconds is not None
    assert peak.u is not None
    assert abs(peak.seconds - 60.0) < 3 * peak.u


def test_what_is_not_there_is_said() -> None:
    rng, t = np.random.default_rng(5), np.arange(200.0)
    flat = find_event(series(t, rng.standard_normal(200)), "onset")
    assert (flat.seconds, flat.by, flat.words) == (None, "none", "no change beyond the noise")
    step = series(t, np.where(t > 50, 10.0, 0.0) + 0.1 * rng.standard_normal(200))
    assert "never came back" in find_event(step, "release").words
    ramp = series(t, np.maximum(0, t - 50) + 0.1 * rng.standard_normal(200))
    assert "still going on" in find_event(ramp, "peak").words


def test_a_jump_between_two_readings_is_put_between_them() -> None:
    t, noise = np.arange(100.0), 0.05 * np.random.default_rng(10).standard_normal(100)
    onset = find_event(series(t, np.where(t > 40, 10.0, 0.0) + noise), "onset")
    assert onset.seconds is not None
    assert 40 <= onset.seconds <= 41
    assert onset.u == pytest.approx(1 / np.sqrt(12), rel=0.6)


def test_a_spike_is_no_event() -> None:
    y = 0.1 * np.random.default_rng(6).standard_normal(200)
    y[100] = 3.0
    assert find_event(series(np.arange(200.0), y), "onset").seconds is None


def test_an_event_in_coarse_steps_is_found_and_flicker_is_none() -> None:
    rng, t = np.random.default_rng(7), np.arange(0, 100, 0.5)
    course = np.where(t > 40, 20 * (1 - np.exp(-(t - 40) / 4)), 0)
    y = np.floor((20.01 + course + 0.02 * rng.standard_normal(len(t))) / 0.5) * 0.5
    assert find_event(series(t, y), "onset").seconds == pytest.approx(40.0, abs=0.6)


def test_the_search_begins_anew_after_a_gap() -> None:
    rng, t = np.random.default_rng(8), np.concatenate([np.arange(60.0), 100 + np.arange(60.0)])
    y = np.where(t > 120, 5.0, 0.0) + 0.1 * rng.standard_normal(len(t))
    assert find_event(series(t, y), "onset").seconds == pytest.approx(120.5, abs=0.6)


def test_an_event_set_by_hand_says_so() -> None:
    assert (event_by_hand(2, "onset", 12.5).seconds, event_by_hand(2, "onset", 12.5).by) == (12.5, "hand")


def test_a_break_between_two_lines_is_found_to_the_last_digits() -> None:
    t = np.arange(50.0)
    found = break_between(t, 3 + 0.5 * np.maximum(0, t - 20.3), left_degree=0, right_degree=1)
    assert found is not None
    assert found.seconds == pytest.approx(20.3, abs=1e-4)
    assert found.probability == pytest.approx(0.0, abs=1e-12)
    assert break_between(t[:4], t[:4], left_degree=0, right_degree=1) is None


def test_a_break_where_there_is_none_is_probable() -> None:
    y = np.random.default_rng(9).standard_normal(80)
    found = break_between(np.arange(80.0), y, left_degree=0, right_degree=1)
    assert found is not None
    assert found.probability > 0.05


def test_the_median_of_three_keeps_a_course_and_drops_a_spike() -> None:
    assert calmed(np.array([1.0, 2.0, 9.0, 4.0, 5.0])).tolist() == [1, 2, 4, 5, 5]
    assert calmed(np.array([1.0, 2.0])).tolist() == [1, 2]
