from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.alarm_given import AlarmGiven
from bridge.core.rates import SlopeWindow, fitted_slope, quick_coverage_factor
from bridge.core.readings import AlarmChange, Change
from bridge.core.watch import ChannelWatch

REFERENCE = Path(__file__).parents[2] / "reference"
SECOND = 1_000_000_000


def rate_watch(at: float, **given: object) -> ChannelWatch:
    alarm = AlarmGiven(kind="rate of change", at=at, **given)  # type: ignore[arg-type]
    return ChannelWatch(1, "temperature", bands=None, baseline=None, limits=(alarm,))


def rises_and_returns(
    watch: ChannelWatch, times: np.ndarray, values: np.ndarray
) -> list[tuple[str, float, float]]:
    found: list[Change] = []
    for at, value in zip(times.tolist(), values.tolist(), strict=True):
        found += watch.take(value, round(at * SECOND))
    assert all(isinstance(one, AlarmChange) for one in found)
    return [
        (one.event, one.at_ns / SECOND, one.value or 0.0) for one in found if isinstance(one, AlarmChange)
    ]


def test_coverage_factors_are_those_of_the_guide() -> None:  # JCGM 100:2008, Table G.2, 95.45 %
    with (REFERENCE / "gum" / "coverage_factors.csv").open() as file:
        rows = list(csv.DictReader(file))
    column = next(name for name in rows[0] if "95.45" in name or "95_45" in name)
    dof = next(iter(rows[0]))
    checked = 0
    for row in rows:
        if row[dof].isdigit() and int(row[dof]) >= 4:
            assert quick_coverage_factor(int(row[dof])) == pytest.approx(float(row[column]), rel=0.004)
            checked += 1
    assert checked >= 10


def test_the_slope_and_its_uncertainty_are_those_of_the_guide() -> None:  # JCGM 100:2008, H.3
    with (REFERENCE / "gum" / "h3_thermometer.csv").open() as file:
        rows = list(csv.reader(file))[1:]
    numbers = np.array([[float(cell) for cell in row[1:3]] for row in rows])
    slope = fitted_slope(numbers[:, 0] - 20.0, numbers[:, 1])
    assert slope is not None
    assert slope.per_minute / 60 == pytest.approx(0.00218, abs=5e-6)
    assert slope.u / 60 == pytest.approx(0.00067, abs=5e-6)


@given(slope=st.floats(-5, 5), n=st.integers(6, 200), level=st.floats(-1000, 1000))
def test_a_straight_line_gives_its_slope(slope: float, n: int, level: float) -> None:
    seconds = np.linspace(-30, 0, n)
    found = fitted_slope(seconds, level + slope * seconds)
    assert found is not None
    assert found.per_minute == pytest.approx(60 * slope, abs=1e-8)


def test_the_expanded_uncertainty_holds_the_truth_as_often_as_it_says() -> None:
    random, held, n = np.random.default_rng(5), 0, 2000
    seconds = np.arange(-30, 0, 1.0)
    for _ in range(n):
        found = fitted_slope(seconds, 0.02 * seconds + random.normal(0, 0.3, 30))
        assert found is not None
        held += abs(found.per_minute - 1.2) <= found.expanded
    assert held / n == pytest.approx(0.9545, abs=0.015)


def test_one_step_of_a_coarse_board_is_no_change() -> None:
    for where in range(1, 30):
        values = np.where(np.arange(30) < where, 21.0, 21.5)
        found = fitted_slope(np.arange(-30, 0, 1.0), values)
        assert found is not None
        assert abs(found.per_minute) <= found.expanded


def test_too_few_readings_give_no_slope() -> None:
    window = SlopeWindow(30 * SECOND)
    window.add([i * SECOND for i in range(5)], [20.0] * 5)
    assert window.slope(6 * SECOND) is None
    window.add([6 * SECOND], [20.0])
    assert window.slope(7 * SECOND) is None, "they cover less than half of the window"
    window.add([16 * SECOND], [20.0])
    assert window.slope(17 * SECOND) is not None
    assert window.slope(16 * SECOND) is None, "only what came before the instant counts"


def test_a_board_that_stands_still_never_changes_fast_however_noisy_it_is() -> None:
    random = np.random.default_rng(11)
    times = np.arange(0, 900, 0.1)
    values = 45 + random.normal(0, 0.3, len(times))
    assert np.abs(np.diff(values)).max() * 600 > 1000, "differences of neighbours would be far off"
    assert rises_and_returns(rate_watch(1.0), times, values) == []


@pytest.mark.parametrize("side", ["either", "below"])
def test_a_cup_that_cools_too_fast_is_told_once_with_its_rate(side: str) -> None:
    random = np.random.default_rng(3)
    times = np.arange(0, 600, 0.5)
    true = 45 - np.clip(times - 200, 0, 100) * 3.0 / 60  # from 200 s to 300 s at 3 °C a minute
    watch = rate_watch(2.0, deadband=0.5, side=side)
    (rise, rose, rate), (back, returned, _) = rises_and_returns(
        watch, times, true + random.normal(0, 0.05, 1200)
    )
    assert (rise, back) == ("rise", "return")
    assert 200 < rose <= 231, "by the time the whole window lies in the fall"
    assert rose == int(rose), "at a full second"
    assert -3.3 < rate < -2.0
    assert 300 < returned <= 331


def test_the_side_that_is_not_watched_is_quiet() -> None:
    times = np.arange(0, 120, 0.5)
    assert rises_and_returns(rate_watch(2.0, side="above"), times, 45 - times * 3.0 / 60) == []
    assert len(rises_and_returns(rate_watch(2.0, side="above"), times, 20 + times * 3.0 / 60)) == 1


def test_an_on_delay_runs_from_the_second_that_saw_the_rate() -> None:
    times = np.arange(0, 120, 0.5)
    values = 20 + times * 3.0 / 60
    ((_, plain, _),) = rises_and_returns(rate_watch(2.0), times, values)
    ((_, later, _),) = rises_and_returns(rate_watch(2.0, on_delay_seconds=4.25), times, values)
    assert later == plain + 4.25


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 1000), noise=st.floats(0.01, 0.3), excess=st.floats(1.1, 3))
def test_a_rate_well_past_the_limit_is_never_missed(seed: int, noise: float, excess: float) -> None:
    times = np.arange(0, 90, 0.2)
    u = noise * 60 * math.sqrt(12 / 150) / 30  # of a slope over 30 s with 150 readings
    values = (2.0 + 5 * u) * excess / 60 * times + np.random.default_rng(seed).normal(0, noise, len(times))
    assert rises_and_returns(rate_watch(2.0), times, values)[0][0] == "rise"


def test_readings_of_another_board_do_not_make_a_slope() -> None:
    watch = rate_watch(2.0)
    for i in range(60):
        watch.take(20.0, i * SECOND)
    watch.lose(60 * SECOND)
    found = [change for i in range(61, 130) for change in watch.take(45.0, i * SECOND)]
    assert found == []


def test_the_alarm_stands_without_readings_and_goes_on_when_they_come_back() -> None:
    watch = rate_watch(2.0)
    changes = [c for i in range(60) for c in watch.take(20 + i * 0.1, i * SECOND)]
    assert [c.event for c in changes if isinstance(c, AlarmChange)] == ["rise"]
    assert watch.tick(5000 * SECOND) == []
    assert watch.due_ns > 5000 * SECOND, "nothing is assessed while nothing comes"
    assert watch.alarm("rate of change") == "unacknowledged"
    back = [c for i in range(5000, 5060) for c in watch.take(30.0, i * SECOND)]
    assert [c.event for c in back if isinstance(c, AlarmChange)] == ["return"]
