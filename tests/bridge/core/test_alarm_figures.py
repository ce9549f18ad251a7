from __future__ import annotations

import csv
import itertools
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core import alarm_figures
from bridge.core.alarm_figures import (
    AlarmName,
    chattering_of,
    figures_of,
    load_of,
    most_in_a_minute,
)
from bridge.core.alarm_given import AlarmGiven
from bridge.core.readings import AlarmChange, Change
from bridge.core.watch import ChannelWatch

REFERENCE = Path(__file__).parents[2] / "reference"
SECOND = 1_000_000_000
MINUTE = 60 * SECOND


def journal_of(bench: int, values: list[tuple[float, float]], alarm: AlarmGiven) -> list[AlarmChange]:
    """What a real watch writes about a signal of (seconds, value)."""
    watch = ChannelWatch(bench, "temperature", bands=None, baseline=None, limits=(alarm,))
    changes: list[Change] = []
    for at, value in values:
        changes += watch.take(value, round(at * SECOND))
    return [one for one in changes if isinstance(one, AlarmChange)]


HIGH = AlarmGiven(kind="high", at=40.0)


def blinks(at_s: list[float]) -> list[tuple[float, float]]:
    """A signal that is over 40 for half a second from each of these times on."""
    return [one for at in at_s for one in ((at, 41.0), (at + 0.5, 39.0))]


def test_the_figures_are_those_of_practice() -> None:
    with (REFERENCE / "alarm_figures.csv").open() as file:
        figures = {row["figure"]: float(row["value"]) for row in csv.DictReader(file)}
    a = alarm_figures
    assert figures["average_alarms_per_10_min_likely_acceptable"] == a.ACCEPTABLE_PER_PERIOD
    assert figures["average_alarms_per_10_min_maximum_manageable"] == a.MANAGEABLE_PER_PERIOD
    assert figures["average_alarms_per_hour_likely_acceptable"] == a.ACCEPTABLE_PER_PERIOD * 6
    assert figures["average_alarms_per_hour_maximum_manageable"] == a.MANAGEABLE_PER_PERIOD * 6
    assert figures["periods_with_more_than_10_alarms"] == a.MAX_SHARE_OF_BUSY_PERIODS * 100
    assert figures["time_in_flood"] == a.MAX_SHARE_IN_FLOOD * 100
    assert figures["share_of_ten_most_frequent_alarms"] == a.MAX_SHARE_OF_TEN_MOST_FREQUENT * 100
    assert figures["chattering_detection"] == a.CHATTERING_RISES
    assert (a.PERIOD_SECONDS, a.CHATTERING_SECONDS, a.N_MOST_FREQUENT) == (600, 60, 10)


@pytest.mark.parametrize(
    ("per_period", "load"),
    [(0.0, "acceptable"), (1.0, "acceptable"), (2.0, "manageable"), (2.01, "too many")],
)
def test_a_load_is_judged_by_these_figures(per_period: float, load: str) -> None:
    assert load_of(per_period) == load


def test_the_figures_of_a_session() -> None:
    journal = [
        *journal_of(1, blinks([10, 20, 30, 700]), HIGH),
        *journal_of(2, [(100, 41.0)], HIGH),
        *journal_of(3, blinks([1300]), HIGH),
    ]
    figures = figures_of(
        journal,
        start_ns=0,
        end_ns=25 * MINUTE,
        priority_of={AlarmName(1, "temperature", "high"): "low", AlarmName(2, "temperature", "high"): "high"},
    )
    assert (figures.seconds, figures.n_calls, figures.periods) == (1500, 6, (4, 1, 1))
    assert figures.calls_per_period == pytest.approx(2.4)
    assert figures.load == "too many"
    (standing,) = figures.standing
    assert (standing.alarm.bench, standing.since_ns, standing.seconds) == (2, 100 * SECOND, 1400)
    assert figures.n_unacknowledged == 3
    assert [(one.alarm.bench, one.n_calls) for one in figures.most_frequent] == [(1, 4), (2, 1), (3, 1)]
    assert figures.most_frequent[0].share == pytest.approx(4 / 6)
    assert figures.share_of_most_frequent == 1.0
    (chattering,) = figures.chattering
    assert (chattering.alarm.bench, chattering.n_rises, chattering.most_in_a_minute) == (1, 4, 3)
    assert figures.priorities == {"low": 0.8, "high": 0.2}
    assert (figures.share_of_busy_periods, figures.share_in_flood) == (0.0, 0.0)


def test_what_stood_before_the_stretch_still_stands_in_it() -> None:
    journal = journal_of(2, [(100, 41.0)], HIGH)
    figures = figures_of(journal, start_ns=10 * MINUTE, end_ns=20 * MINUTE)
    assert (figures.n_calls, figures.standing[0].seconds, figures.most_frequent) == (0, 1100, ())
    before = figures_of(journal, start_ns=0, end_ns=100 * SECOND)
    assert (before.n_calls, before.standing) == (0, ())


def test_a_flood_counts_by_its_time() -> None:
    calls = [c for i in range(12) for c in journal_of(i + 1, [(i * 10.0, 41.0)], HIGH)]
    figures = figures_of(calls, start_ns=0, end_ns=20 * MINUTE)
    assert figures.periods == (12, 0)
    assert figures.share_of_busy_periods == 0.5
    # From the eleventh call, at 100 s, until the eighth, at 70 s, drops out of the ten minutes.
    assert figures.share_in_flood == pytest.approx((670 - 100) / 1200)
    still_on = figures_of(calls, start_ns=0, end_ns=5 * MINUTE)
    assert still_on.share_in_flood == pytest.approx(200 / 300)


def test_what_is_set_aside_calls_nobody_and_stands_nowhere() -> None:
    watch = ChannelWatch(1, "temperature", bands=None, baseline=None, limits=(HIGH,))
    changes = watch.command("high", "shelve", 0, "instructor", reason="r", until_ns=MINUTE)
    for at, value in blinks([10, 20, 30]):
        changes += watch.take(value, round(at * SECOND))
    journal = [one for one in changes if isinstance(one, AlarmChange)]
    figures = figures_of(journal, start_ns=0, end_ns=50 * SECOND)
    assert (figures.n_calls, figures.standing, figures.n_unacknowledged) == (0, (), 0)
    assert len(figures.chattering) == 1, "it is still evaluated: what chatters on the shelf needs mending"


@pytest.mark.parametrize(("gap_s", "n"), [(29.0, 1), (29.75, 1), (31.0, 0)])
def test_three_rises_within_a_minute_are_chattering(gap_s: float, n: int) -> None:
    assert len(chattering_of(journal_of(1, blinks([0.0, gap_s, 2 * gap_s]), HIGH))) == n


@given(times=st.lists(st.integers(0, 300), max_size=30))
def test_the_busiest_minute_is_found(times: list[int]) -> None:
    brute = max((sum(start <= at <= start + 60 for at in times) for start in times), default=0)
    assert most_in_a_minute([at * SECOND for at in times]) == brute


def test_an_empty_stretch_is_refused() -> None:
    with pytest.raises(ValueError, match="the end must be after the start"):
        figures_of([], start_ns=5, end_ns=5)


@given(
    parts=st.lists(st.tuples(st.integers(1, 4), st.integers(1, 200)), max_size=30), end_s=st.integers(1, 4000)
)
def test_every_call_is_counted_once(parts: list[tuple[int, int]], end_s: int) -> None:
    journal: list[AlarmChange] = []
    for bench in range(1, 5):
        times = list(itertools.accumulate(gap for b, gap in parts if b == bench))
        journal += journal_of(bench, blinks([float(at) for at in times]), HIGH)
    figures = figures_of(journal, start_ns=0, end_ns=end_s * SECOND)
    assert sum(figures.periods) == figures.n_calls
    assert sum(one.n_calls for one in figures.most_frequent) == figures.n_calls  # four alarms at most
    assert figures.n_calls == sum(one.event == "rise" and one.at_ns < end_s * SECOND for one in journal)
