"""Rise time, settling time and overshoot, measured."""

from __future__ import annotations

import math
import tomllib

import numpy as np
import pytest

from dashboard.comparing.events import find_event
from dashboard.comparing.response import response_of, response_window
from dashboard.comparing.series import Series
from tests.dashboard.comparing.made import REFERENCE, rows, series
from tests.dashboard.comparing.simulated import second_order

CLOSED = tomllib.loads((REFERENCE / "response" / "first_order.toml").read_text(encoding="utf-8"))


def noise_free() -> Series:
    table = rows("response/first_order_noise_free.csv")
    return series([float(row["t_s"]) for row in table], [float(row["y"]) for row in table])


def test_a_step_without_noise_has_its_closed_rise_and_settling_times() -> None:  # reference/response
    one, truth = noise_free(), CLOSED["noise_free"]
    found = response_of(one, (0.0, 60.0))
    # Straight lines between readings every 0.25 s miss the curve by at most interval^2 / (8 tau) = 2 ms.
    assert found.rise.value == pytest.approx(truth["rise_10_90_s"], abs=0.004)
    assert found.settling.value == pytest.approx(truth["settle_2pct_after_t0_s"], abs=0.004)
    assert found.overshoot.value == 0.0
    assert found.time_constant.value == pytest.approx(truth["tau_s"], rel=1e-9)
    for band, name in ((0.1, "settle_10pct"), (0.05, "settle_5pct"), (0.01, "settle_1pct")):
        settled = response_of(one, (0.0, 60.0), settling_band=band).settling
        assert settled.value == pytest.approx(truth["tau_s"] * CLOSED[name], abs=0.004)


def test_noise_leaves_rise_and_settling_within_their_uncertainty() -> None:
    rng, held_rise, held_settling = np.random.default_rng(1), 0, 0
    t = np.arange(0, 60, 0.25)
    for _ in range(40):
        y = 20 + 10 * -np.expm1(-np.maximum(t - 10.1, 0) / 4) + 0.03 * rng.standard_normal(len(t))
        found = response_of(series(t, y), (0.0, 60.0))
        assert found.rise.value is not None
        assert found.rise.u is not None
        assert found.settling.value is not None
        assert found.settling.u is not None
        held_rise += abs(found.rise.value - 4 * math.log(9)) <= 2 * found.rise.u
        held_settling += abs(found.settling.value - 4 * math.log(50)) <= 3 * found.settling.u
    assert held_rise >= 34
    assert held_settling >= 32


@pytest.mark.parametrize("damping", [0.2, 0.4, 0.6])
def test_the_overshoot_of_a_second_order_step_is_that_of_its_damping(damping: float) -> None:
    t = np.arange(0, 150, 0.1)
    y = 20 - 8 * second_order(t - 15, damping=damping, period=12.0)
    y += 0.01 * np.random.default_rng(2).standard_normal(len(t))
    found = response_of(series(t, y), (0.0, 150.0))
    # Closed form: exp(-pi d / sqrt(1 - d^2)).
    assert found.overshoot.value == pytest.approx(
        100 * math.exp(-math.pi * damping / math.sqrt(1 - damping**2)), abs=0.5
    )
    assert found.fit is not None
    assert not found.fit.is_first_order


def test_what_has_not_settled_says_so() -> None:
    t = np.arange(0, 30, 0.25)
    y = (
        20
        + 10 * -np.expm1(-np.maximum(t - 10, 0) / 10)
        + 0.01 * np.random.default_rng(3).standard_normal(120)
    )
    found = response_of(series(t, y), (0.0, 30.0))
    assert found.time_constant.is_known
    assert "not settled" in found.settling.words
    assert "not settled" in found.overshoot.words


def test_noise_wider_than_the_band_has_no_settling_time() -> None:
    t = np.arange(0, 60, 0.25)
    y = 20 + 10 * -np.expm1(-np.maximum(t - 10, 0) / 4) + 0.3 * np.random.default_rng(4).standard_normal(240)
    found = response_of(series(t, y), (0.0, 60.0), settling_band=0.01)
    assert "wider than the band" in found.settling.words


def test_no_step_has_words_everywhere() -> None:
    found = response_of(series(range(30), np.zeros(30)), (0.0, 30.0))
    assert found.fit is None
    for one in (found.onset, found.time_constant, found.rise, found.settling, found.overshoot):
        assert (one.value, one.words) == (None, "the value never changes")


def test_a_band_beyond_the_step_is_refused() -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        response_of(noise_free(), (0.0, 60.0), settling_band=2.0)


def test_the_window_holds_the_answer_and_ends_before_the_next_one() -> None:
    t = np.arange(0, 300, 0.25)
    y = 20 + 10 * -np.expm1(-np.maximum(t - 30, 0) / 4)
    y -= 10 * -np.expm1(-np.maximum(t - 200, 0) / 8)
    one = series(t, y + 0.05 * np.random.default_rng(5).standard_normal(len(t)))
    onset = find_event(one, "onset")
    window = response_window(one, onset)
    assert window is not None
    assert window[0] < 28
    assert 50 < window[1] < 205
    assert response_of(one, window).time_constant.value == pytest.approx(4.0, rel=0.03)
    back = find_event(one, "release")
    assert back.seconds is not None
    after = response_window(one, back)
    assert after is not None
    assert response_of(one, after).time_constant.value == pytest.approx(8.0, rel=0.05)


def test_without_an_event_there_is_no_window() -> None:
    one = series(range(50), np.random.default_rng(6).standard_normal(50))
    assert response_window(one, find_event(one, "onset")) is None
