from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.alarm_figures import most_in_a_minute
from bridge.core.alarm_given import AlarmGiven
from bridge.core.alarm_proposals import proposals_for, rises_over, round_steps

SECOND = 1_000_000_000
HIGH = AlarmGiven(kind="high", at=40.0)


def signal(values: np.ndarray, *, per_second: int = 2) -> tuple[list[int], list[float | None]]:
    return [i * SECOND // per_second for i in range(len(values))], [round(v, 2) for v in values.tolist()]


def noisy_hump(noise: float, *, seed: int = 4) -> tuple[list[int], list[float | None]]:
    """Twice slowly over 40 and back within ten minutes, with noise: the truth is two alarms."""
    at = np.arange(1200) / 2
    truth = 39.0 + 1.2 * np.abs(np.sin(np.pi * at / 300))
    return signal(truth + np.random.default_rng(seed).normal(0, noise, len(at)))


def test_the_proposal_says_what_it_would_have_spared() -> None:
    times, values = noisy_hump(0.1)
    before = len(rises_over(HIGH, times, values))
    deadband, *_ = proposals_for(HIGH, times, values)
    assert deadband.changes == "deadband"
    assert deadband.words("°C") == (
        f"with a deadband of {deadband.value:g} °C this alarm would have come 2 times instead of {before}"
    )
    assert before > 15
    assert len(rises_over(deadband.applied(HIGH), times, values)) == deadband.n_after == 2


def test_the_proposed_deadband_is_the_smallest_round_one_that_calms() -> None:
    times, values = noisy_hump(0.1)
    deadband = proposals_for(HIGH, times, values, at_most=2)[0]
    smaller = [step for step in round_steps(0.1, 24) if step < deadband.value]
    assert smaller
    for step in smaller:
        alarm = AlarmGiven(kind="high", at=40.0, deadband=step)
        assert len(rises_over(alarm, times, values)) > 2


def test_delays_calm_too_and_say_what_they_cost() -> None:
    times, values = noisy_hump(0.1)
    by_change = {one.changes: one for one in proposals_for(HIGH, times, values)}
    assert set(by_change) == {"deadband", "off_delay_seconds", "on_delay_seconds"}
    assert (
        by_change["deadband"].first_later_seconds == by_change["off_delay_seconds"].first_later_seconds == 0
    )
    on = by_change["on_delay_seconds"]
    assert on.first_later_seconds >= on.value
    assert "the first time" in on.words("°C")
    for one in by_change.values():
        assert most_in_a_minute(rises_over(one.applied(HIGH), times, values)) < 3


def test_an_on_delay_that_would_silence_the_alarm_is_not_proposed() -> None:
    values = np.full(1200, 39.0)
    values[100:160:2] = 41.0  # single readings over the limit, two a second
    found = proposals_for(HIGH, *signal(values))
    assert [one.changes for one in found] == ["deadband", "off_delay_seconds"]


def test_a_calm_alarm_needs_no_proposal() -> None:
    assert proposals_for(HIGH, *signal(np.linspace(35, 45, 600))) == ()
    assert proposals_for(HIGH, [], []) == ()


def test_missing_readings_end_a_delay_in_a_replay_as_they_did_live() -> None:
    slow = AlarmGiven(kind="high", at=40.0, on_delay_seconds=3.0)
    times = [i * SECOND for i in range(6)]
    assert rises_over(slow, times, [41.0] * 6) == [3 * SECOND]
    assert rises_over(slow, times, [41.0, 41.0, None, 41.0, 41.0, 41.0]) == []


def test_a_deviation_is_replayed_over_its_differences() -> None:
    random = np.random.default_rng(2)
    differences = np.where(np.arange(600) % 300 < 150, -1.05, -0.2) + random.normal(0, 0.05, 600)
    given = AlarmGiven(kind="deviation", at=1.0)
    deadband = proposals_for(given, *signal(differences), at_most=2)[0]
    assert (deadband.changes, deadband.n_after) == ("deadband", 2)
    assert deadband.value < given.at


def test_a_stale_alarm_gets_delays_only() -> None:
    times = [i * 4 * SECOND for i in range(100)]
    found = proposals_for(AlarmGiven(kind="stale", at=3.0), times, [20.0] * 100)
    assert [one.changes for one in found] == ["off_delay_seconds", "on_delay_seconds"][: len(found)]
    assert found[0].changes == "off_delay_seconds"


def test_steps_are_what_a_person_writes() -> None:
    assert round_steps(0.1, 10) == [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 2.0, 3.0]
    assert round_steps(1.0, 3) == [1.0, 2.0, 3.0]


@settings(max_examples=12, deadline=None)
@given(noise=st.floats(0.02, 0.3), seed=st.integers(0, 99), decimals=st.integers(1, 2))
def test_what_is_proposed_always_calms_and_never_silences(noise: float, seed: int, decimals: int) -> None:
    times, values = noisy_hump(noise, seed=seed)
    before = rises_over(HIGH, times, values)
    for one in proposals_for(HIGH, times, values, decimals=decimals):
        after = rises_over(one.applied(HIGH), times, values)
        assert most_in_a_minute(after) < 3
        assert (len(after), len(before)) == (one.n_after, one.n_before)
        assert 1 <= one.n_after < one.n_before
        assert math.isfinite(one.first_later_seconds)
        assert (one.first_later_seconds == 0) or one.changes == "on_delay_seconds"
    if most_in_a_minute(before) >= 3:
        assert proposals_for(HIGH, times, values, decimals=decimals), "a deadband always calms such noise"


@pytest.mark.parametrize("kind", ["low", "low-low"])
def test_the_lower_side_is_proposed_alike(kind: str) -> None:
    times, values = noisy_hump(0.1)
    mirrored = [None if one is None else -one for one in values]
    low = AlarmGiven(kind="low" if kind == "low" else "low-low", at=-40.0)
    assert proposals_for(low, times, mirrored) == proposals_for(HIGH, times, values)
