from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.core.alarm_given import AlarmGiven
from bridge.core.limits import MAX_SHELF_NS
from bridge.core.readings import AlarmChange, Change
from bridge.core.watch import ChannelWatch

SECOND = 1_000_000_000
HIGH = AlarmGiven(kind="high", at=40.0, deadband=0.5)


def watch_of(*alarms: AlarmGiven) -> ChannelWatch:
    return ChannelWatch(1, "temperature", bands=None, baseline=None, limits=alarms)


def told(changes: list[Change]) -> list[tuple[float, str, str, str]]:
    """Time in seconds, event, state after it, who."""
    alarms = [one for one in changes if isinstance(one, AlarmChange)]
    assert len(alarms) == len(changes)
    return [(one.at_ns / SECOND, one.event, one.state, one.who) for one in alarms]


def shelve(watch: ChannelWatch, at_s: float, until_s: float) -> list[Change]:
    return watch.command(
        "high",
        "shelve",
        round(at_s * SECOND),
        "instructor",
        reason="the cup is being refilled",
        until_ns=round(until_s * SECOND),
    )


def test_a_shelved_alarm_comes_back_by_itself_at_its_instant() -> None:
    watch = watch_of(HIGH)
    watch.take(41.0, 0)
    (change,) = shelve(watch, 1, 31)
    assert isinstance(change, AlarmChange)
    assert (change.state, change.reason, change.until_ns) == (
        "shelved", "the cup is being refilled", 31 * SECOND)  # fmt: skip
    assert watch.due_ns == 31 * SECOND
    assert told(watch.tick(40 * SECOND)) == [(31.0, "unshelve", "unacknowledged", "rule")]


def test_what_happens_on_the_shelf_is_recorded_and_calls_nobody() -> None:
    watch = watch_of(HIGH)
    shelve(watch, 0, 30)
    assert told(watch.take(41.0, 5 * SECOND)) == [(5.0, "rise", "shelved", "rule")]
    assert told(watch.take(39.0, 6 * SECOND)) == [(6.0, "return", "shelved", "rule")]
    assert told(watch.tick(60 * SECOND)) == [(30.0, "unshelve", "normal", "rule")]


def test_a_shelf_that_ends_before_a_delay_does_lets_it_go_on() -> None:
    watch = watch_of(replace(HIGH, off_delay_seconds=10.0))
    watch.take(41.0, 0)
    shelve(watch, 1, 5)
    watch.take(39.0, 2 * SECOND)
    assert told(watch.tick(60 * SECOND)) == [
        (5.0, "unshelve", "unacknowledged", "rule"),
        (12.0, "return", "returned unacknowledged", "rule"),
    ]


def test_a_shelf_can_be_ended_and_set_anew() -> None:
    watch = watch_of(HIGH)
    shelve(watch, 0, 30)
    assert len(shelve(watch, 10, 90)) == 1
    assert watch.tick(60 * SECOND) == []
    assert told(watch.command("high", "unshelve", 61 * SECOND, "instructor")) == [
        (61.0, "unshelve", "normal", "instructor")
    ]
    assert watch.tick(200 * SECOND) == []
    assert watch.command("high", "unshelve", 201 * SECOND, "instructor") == []


@pytest.mark.parametrize("until_ns", [SECOND, 0, 2 * SECOND + MAX_SHELF_NS])
def test_a_shelf_needs_an_end_that_is_ahead_and_near(until_ns: int) -> None:
    watch = watch_of(HIGH)
    with pytest.raises(ValueError, match="ends within 4 hours"):
        watch.command("high", "shelve", SECOND, "instructor", reason="stirred", until_ns=until_ns)
    assert watch.alarm("high") == "normal"


def test_a_shelf_needs_a_reason() -> None:
    with pytest.raises(ValueError, match="has a reason"):
        watch_of(HIGH).command("high", "shelve", 0, "instructor", until_ns=SECOND)


def test_a_latched_alarm_waits_for_its_reset() -> None:
    watch = watch_of(replace(HIGH, latching=True))
    watch.take(41.0, 0)
    assert told(watch.take(39.0, SECOND)) == [(1.0, "return", "latched unacknowledged", "rule")]
    assert watch.command("high", "reset", 2 * SECOND, "instructor") == []
    watch.acknowledge("high", 3 * SECOND, "instructor")
    assert told(watch.command("high", "reset", 4 * SECOND, "instructor")) == [
        (4.0, "reset", "normal", "instructor")
    ]


def test_what_is_out_of_service_calls_nobody_until_it_is_restored() -> None:
    watch = watch_of(HIGH)
    watch.command("high", "remove", 0, "instructor")
    watch.take(41.0, SECOND)
    assert watch.alarm("high") == "out of service"
    assert told(watch.command("high", "restore", 3 * SECOND, "instructor")) == [
        (3.0, "restore", "unacknowledged", "instructor")
    ]


def test_an_alarm_is_watched_only_in_its_phases() -> None:
    watch = watch_of(replace(HIGH, phases=("run", "cool-down")), AlarmGiven(kind="low", at=10.0))
    assert told(watch.enter_phase("set-up", 0)) == [(0.0, "suppress", "suppressed", "rule")]
    watch.take(41.0, SECOND)
    assert watch.enter_phase("set-up", 2 * SECOND) == []
    (change,) = watch.enter_phase("run", 3 * SECOND)
    assert told([change]) == [(3.0, "unsuppress", "unacknowledged", "rule")]
    assert isinstance(change, AlarmChange)
    assert change.reason == "run"
    assert watch.enter_phase("cool-down", 4 * SECOND) == []
    assert told(watch.enter_phase("", 5 * SECOND)) == [(5.0, "suppress", "suppressed", "rule")]


def test_two_alarms_of_one_kind_are_told_apart_by_name() -> None:
    watch = watch_of(HIGH, replace(HIGH, at=42.0, name="much too warm"))
    watch.take(43.0, 0)
    watch.acknowledge("much too warm", 1, "instructor")
    assert (watch.alarm("high"), watch.alarm("much too warm")) == ("unacknowledged", "acknowledged")


def test_a_command_for_an_alarm_that_is_not_there_does_nothing() -> None:
    assert watch_of(HIGH).acknowledge("low", 0, "instructor") == []


def test_a_revised_lesson_keeps_what_stands_and_what_was_set_aside() -> None:
    older = watch_of(replace(HIGH, latching=True), AlarmGiven(kind="low", at=10.0))
    older.take(41.0, 0)
    older.acknowledge("high", 1 * SECOND, "instructor")
    older.command("low", "shelve", SECOND, "instructor", reason="r", until_ns=30 * SECOND)
    newer = watch_of(replace(HIGH, at=39.0, latching=True), AlarmGiven(kind="low", at=12.0))
    newer.resume_from(older)
    assert (newer.alarm("high"), newer.alarm("low")) == ("acknowledged", "shelved")
    assert told(newer.take(38.0, 2 * SECOND)) == [(2.0, "return", "latched acknowledged", "rule")]
    assert told(newer.tick(60 * SECOND)) == [(30.0, "unshelve", "normal", "rule")]


def test_a_revision_that_leaves_an_alarm_as_it_is_leaves_its_delay_running() -> None:
    slow = replace(HIGH, on_delay_seconds=10.0)
    older = watch_of(slow, AlarmGiven(kind="stale", at=20.0))
    older.take(41.0, 0)
    newer = watch_of(slow, AlarmGiven(kind="stale", at=25.0))
    newer.resume_from(older)
    assert told(newer.tick(60 * SECOND)) == [
        (10.0, "rise", "unacknowledged", "rule"),
        (25.0, "rise", "unacknowledged", "rule"),
    ]


def test_a_revision_that_changes_a_limit_starts_its_delay_anew() -> None:
    older = watch_of(replace(HIGH, on_delay_seconds=10.0))
    older.take(41.0, 0)
    newer = watch_of(replace(HIGH, at=45.0, on_delay_seconds=10.0))
    newer.resume_from(older)
    assert newer.tick(60 * SECOND) == []
