"""First-order courses: closed forms, coverage, shapes that are none."""

from __future__ import annotations

import math
import tomllib

import numpy as np
import pytest

from dashboard.comparing.ambient import ambient_fit
from dashboard.comparing.first_order import FirstOrder
from dashboard.comparing.step import step_fit
from tests.dashboard.comparing.coverage import KINDS, held
from tests.dashboard.comparing.made import CASES, REFERENCE, persistent_noise, rows
from tests.dashboard.comparing.simulated import second_order, simulated_step

CLOSED = tomllib.loads((REFERENCE / "response" / "first_order.toml").read_text(encoding="utf-8"))


def fitted(found: FirstOrder | str) -> FirstOrder:
    assert isinstance(found, FirstOrder), found
    return found


def test_a_step_without_noise_comes_out_in_closed_form() -> None:  # reference/response
    table = rows("response/first_order_noise_free.csv")
    t, y = (np.array([float(row[column]) for row in table]) for column in ("t_s", "y"))
    fit, truth = fitted(step_fit(t, y)), CLOSED["noise_free"]
    assert fit.time_constant.value == pytest.approx(truth["tau_s"], rel=1e-9)
    assert fit.onset.value == pytest.approx(truth["t0_s"], abs=1e-8)
    assert fit.before.value == pytest.approx(truth["y0"], abs=1e-8)
    assert fit.after.value == pytest.approx(truth["yinf"], abs=1e-8)
    assert fit.step == pytest.approx(truth["yinf"] - truth["y0"], abs=1e-8)
    assert fit.r_squared == pytest.approx(1.0, abs=1e-12)
    assert fit.is_first_order


def test_the_fractions_of_a_step_come_out_in_closed_form() -> None:
    table = rows("response/first_order_fraction.csv")
    t = np.array([float(row["t_over_tau"]) for row in table])
    y = np.array([float(row["remaining_fraction"]) for row in table])
    fit = fitted(ambient_fit(t, y))
    assert fit.time_constant.value == pytest.approx(1.0, rel=1e-9)
    assert fit.after.value == pytest.approx(0.0, abs=1e-9)
    given = fitted(ambient_fit(t, y, ambient=0.0))
    assert given.time_constant.value == pytest.approx(1.0, rel=1e-9)


@pytest.mark.parametrize(
    ("kind", "n"),
    [("step with dead time", 150), ("cooling, ambient fitted", 60), ("cooling, ambient given", 60)],
)
def test_the_interval_of_the_time_constant_holds_the_truth(kind: str, n: int) -> None:
    # A share of the 2,000 of `python -m tests.dashboard.comparing.coverage`: 95 % less 3 standard errors.
    simulated, fit = KINDS[kind]
    counts = held(n, 0.0, simulated, fit, seed=7)
    assert counts["no fit"] == 0
    assert counts["time constant"] / n >= 0.95 - 3 * math.sqrt(0.95 * 0.05 / n)
    assert counts["called not first order"] <= 2


def test_the_interval_allows_for_noise_that_lasts() -> None:
    simulated, fit = KINDS["step with dead time"]
    counts = held(60, 0.6, simulated, fit, seed=8)
    assert counts["time constant"] / 60 >= 0.95 - 3 * math.sqrt(0.95 * 0.05 / 60)
    rng = np.random.default_rng(3)
    one = simulated_step(rng, persistence=0.6)
    found = fitted(step_fit(one.seconds, one.values))
    assert found.persistence == pytest.approx(0.6, abs=0.25)


def test_the_fit_follows_the_units_of_time_and_value() -> None:
    one = simulated_step(np.random.default_rng(4))
    plain = fitted(step_fit(one.seconds, one.values))
    other = fitted(step_fit(1000 + 60 * one.seconds, 32 + 1.8 * one.values))
    assert plain.time_constant.value is not None
    assert other.time_constant.value == pytest.approx(60 * plain.time_constant.value, rel=1e-6)
    assert plain.onset.value is not None
    assert other.onset.value == pytest.approx(1000 + 60 * plain.onset.value, rel=1e-6)
    assert other.step == pytest.approx(1.8 * plain.step, rel=1e-6)


@pytest.mark.parametrize("damping", [0.2, 0.4, 0.6])
def test_an_overshooting_course_is_told_to_be_none(damping: float) -> None:
    rng, t = np.random.default_rng(5), np.arange(0, 80, 0.2)
    y = 20 + 10 * second_order(t - 10, damping=damping, period=15.0) + 0.05 * rng.standard_normal(len(t))
    found = fitted(step_fit(t, y))
    assert not found.is_first_order
    assert "not first order" in found.words
    assert "not first order" in found.time_constant.words


def test_a_ramp_up_to_a_level_is_told_to_be_none() -> None:
    rng, t = np.random.default_rng(6), np.arange(0, 60, 0.2)
    y = np.clip((t - 10) / 15, 0, 1) * 10 + 0.05 * rng.standard_normal(len(t))
    assert not fitted(step_fit(t, y)).is_first_order


def test_first_order_in_lasting_noise_is_not_called_another_shape() -> None:
    rng, n_wrong = np.random.default_rng(7), 0
    for _ in range(60):
        one = simulated_step(rng, persistence=0.5)
        n_wrong += not fitted(step_fit(one.seconds, one.values)).is_first_order
    assert n_wrong <= 2


def test_what_is_no_step_has_words_and_no_time_constant() -> None:
    t = np.arange(100.0)
    assert step_fit(t, np.full(100, 3.0)) == "the value never changes"
    assert "fewer than 8" in str(step_fit(t[:5], t[:5]))
    assert isinstance(step_fit(t, 0.3 * t), str)


def test_groups_that_started_apart_cool_at_their_own_rates() -> None:  # tests/cases: different-starts
    case = CASES["different-starts"]
    for letter, step, rate in zip("AD", case["step_s"], case["rate_per_min"], strict=True):
        values = np.array([value for (value,) in case[f"readings_{letter}"]])
        found = fitted(ambient_fit(step * np.arange(len(values)), values, ambient=case["room_C"]))
        assert found.time_constant.value is not None
        assert 60 / found.time_constant.value == pytest.approx(rate, rel=0.004)


def test_an_ambient_that_is_uncertain_makes_the_time_constant_uncertain() -> None:
    t = np.arange(0, 600, 5.0)
    y = 20 + 25 * np.exp(-t / 900) + 0.02 * persistent_noise(np.random.default_rng(8), len(t), 0.0)
    sure = fitted(ambient_fit(t, y, ambient=20.0)).time_constant
    unsure = fitted(ambient_fit(t, y, ambient=20.0, u_ambient=0.5)).time_constant
    assert sure.u is not None
    assert unsure.u is not None
    # d tau / d ambient by hand: two points' slope ln((y0 - a)/(y1 - a)) / span, moved by 0.5.
    by_hand = [600 / math.log((45 - a) / (20 + 25 * math.exp(-600 / 900) - a)) for a in (19.5, 20.5)]
    assert unsure.u == pytest.approx((by_hand[0] - by_hand[1]) / 2, rel=0.15)
    assert sure.u < unsure.u / 3


def test_a_course_that_hardly_bends_asks_for_the_ambient() -> None:
    t = np.arange(0, 60, 1.0)
    y = 45 - 0.01 * t + 0.02 * np.random.default_rng(9).standard_normal(60)
    assert "give the ambient" in str(ambient_fit(t, y))


def test_a_level_that_drifts_after_the_step_does_not_shorten_the_time_constant() -> None:
    rng, held, n = np.random.default_rng(10), 0, 40
    t = np.arange(0, 60, 0.25)
    for _ in range(n):
        since = np.maximum(t - 15.1, 0)
        y = 20.5 - 24 * np.expm1(-since / 4) - 0.03 * since + 0.05 * rng.standard_normal(len(t))
        found = fitted(step_fit(t, y, unit="°C"))
        assert found.is_first_order
        assert found.drift is not None
        assert found.drift.unit == "°C/min"
        assert found.drift.value == pytest.approx(-1.8, abs=0.15)
        assert found.time_constant.low is not None
        assert found.time_constant.high is not None
        held += found.time_constant.low <= 4 <= found.time_constant.high
    assert held >= 34


def test_a_step_without_drift_is_given_none() -> None:
    rng = np.random.default_rng(11)
    made = [simulated_step(rng) for _ in range(40)]
    assert sum(fitted(step_fit(one.seconds, one.values)).drift is not None for one in made) <= 1
