"""What counts as a call, what makes it one with others, and what ends it."""

from __future__ import annotations

import copy
import pickle
from dataclasses import replace
from typing import Any

import pytest

from bridge.core.alarm_flood import FirstOut
from bridge.core.call_list import Call
from bridge.core.call_watch import CallWatch
from bridge.core.calls_standing import ATTENDED_NS, WAITING
from bridge.core.findings import Finding, FindingChange, FindingEvent, FindingKind
from bridge.core.lesson import AlarmGiven, Channel, Lesson, plain_bench
from bridge.core.readings import AlarmChange, AlarmEvent, AlarmState

SECOND = 10**9
HIGH = AlarmGiven(kind="high", at=48.0, priority="high", message="Too warm to hold", advice="Add cold water")
LESSON = Lesson(
    title="Cups",
    channels=(Channel(name="temperature", unit="°C", limits=(HIGH,)),),
    benches=tuple(plain_bench(n) for n in (1, 2, 3)),
)
ON_FINDINGS = AlarmGiven(kind="finding", priority="high", advice="Go and look")


class Watched:
    """A list of calls that is looked at every second."""

    def __init__(self, lesson: Lesson = LESSON) -> None:
        self.watch = CallWatch(lesson)
        self.now_ns = 0

    def until(self, second: float) -> list[Call]:
        self.now_ns = round(second * SECOND)
        self.watch.assess(self.now_ns)
        return list(self.watch.calls.calls)

    def ids(self, second: float) -> list[str]:
        return [one.id for one in self.until(second)]

    def alarm(
        self, second: float, state: AlarmState = "unacknowledged", *, bench: int = 1,
        before: AlarmState = "normal", event: AlarmEvent = "rise", channel: str = "temperature",
        key: str = "high",
    ) -> AlarmChange:  # fmt: skip
        change = AlarmChange(
            round(second * SECOND), bench, channel, key, event, state, before, 49.04, 48.0, "rule"
        )
        self.watch.take(change)
        return change

    def finding(
        self, second: float, event: FindingEvent = "found", *, bench: int = 1, kind: FindingKind = "stuck",
        **more: Any,
    ) -> None:  # fmt: skip
        given: dict[str, Any] = {
            "channel": "temperature", "since_ns": round(second * SECOND), "words": f"It is {kind}",
            "evidence": "", "remedy": "Look at the wires",
        }  # fmt: skip
        told = Finding(kind=kind, **(given | more))
        self.watch.take(FindingChange(round(second * SECOND), bench, event, told))


@pytest.fixture
def watched() -> Watched:
    return Watched()


# ---- alarms ----


@pytest.mark.parametrize("state", ["unacknowledged", "returned unacknowledged", "latched unacknowledged"])
def test_an_alarm_that_waits_for_acknowledgement_calls(watched: Watched, state: AlarmState) -> None:
    watched.alarm(1.5, state)
    (call,) = watched.until(2)
    assert (call.id, call.words, call.advice) == (
        "alarm/temperature/high", "Too warm to hold", "Add cold water"
    )  # fmt: skip
    assert (call.priority, call.since_ns, call.benches[0].alarm) == (
        "high", 1_500_000_000, ("temperature", "high")
    )  # fmt: skip
    assert call.benches[0].words == (
        "came at 49.0 °C" if state == "unacknowledged" else "has gone back by itself"
    )


@pytest.mark.parametrize(
    "state", ["normal", "acknowledged", "latched acknowledged", "shelved", "suppressed", "out of service"]
)
def test_an_alarm_that_was_seen_or_set_aside_does_not_call(watched: Watched, state: AlarmState) -> None:
    watched.alarm(1)
    assert watched.ids(2) == ["alarm/temperature/high"]
    watched.alarm(2, state, before="unacknowledged", event="acknowledge")
    assert watched.ids(3) == []
    assert state not in WAITING


def test_the_same_alarm_at_several_benches_is_one_call_the_oldest_first(watched: Watched) -> None:
    watched.alarm(1.5, bench=3)
    watched.alarm(1.2, bench=2)  # benches do not tell in the order of their times
    (call,) = watched.until(2)
    assert [(one.bench, one.since_ns) for one in call.benches] == [(2, 1_200_000_000), (3, 1_500_000_000)]


def test_an_alarm_that_returns_and_rises_again_waits_since_it_came_first(watched: Watched) -> None:
    watched.alarm(1)
    watched.alarm(5, "returned unacknowledged", before="unacknowledged", event="return")
    watched.alarm(9, before="returned unacknowledged")
    (call,) = watched.until(10)
    assert call.since_ns == SECOND


def test_an_alarm_that_was_seen_and_calls_again_waits_since_then(watched: Watched) -> None:
    watched.alarm(1)
    watched.alarm(3, "acknowledged", before="unacknowledged", event="acknowledge")
    watched.alarm(5, before="acknowledged", event="re-alarm")
    (call,) = watched.until(6)
    assert call.since_ns == 5 * SECOND


def test_the_first_out_is_told(watched: Watched) -> None:
    rise = watched.alarm(1)
    assert not watched.until(2)[0].benches[0].first_out
    watched.watch.take(FirstOut(6 * SECOND, (rise,), ()))
    assert watched.until(7)[0].benches[0].first_out


def test_an_alarm_without_words_of_the_instructor_is_called_by_its_channel(watched: Watched) -> None:
    lesson = replace(
        LESSON, channels=(replace(LESSON.channels[0], limits=(AlarmGiven(kind="low", at=3.0),)),)
    )
    watched = Watched(lesson)
    watched.alarm(1, key="low")
    assert watched.until(2)[0].words == "temperature low"


def test_an_alarm_that_the_revised_lesson_does_not_have_is_over(watched: Watched) -> None:
    watched.alarm(1)
    assert watched.ids(2) == ["alarm/temperature/high"]
    watched.watch.revise(replace(LESSON, channels=()), 2 * SECOND)
    assert watched.ids(3) == []


def test_an_alarm_of_another_kind_now_begins_anew(watched: Watched) -> None:
    watched.alarm(1)
    named = replace(HIGH, kind="low", name="high")
    watched.watch.revise(
        replace(LESSON, channels=(replace(LESSON.channels[0], limits=(named,)),)), 2 * SECOND
    )
    assert watched.ids(3) == []


# ---- findings ----


@pytest.mark.parametrize(("weight", "priority"), [("fault", "medium"), ("hint", "low")])
def test_a_finding_calls_as_long_as_it_stands(watched: Watched, weight: str, priority: str) -> None:
    watched.finding(3, since_ns=SECOND, weight=weight)
    (call,) = watched.until(4)
    assert (call.id, call.channel, call.words, call.advice) == (
        "finding/stuck", "", "It is stuck", "Look at the wires"
    )  # fmt: skip
    assert (call.priority, call.since_ns, call.benches[0].alarm) == (priority, SECOND, None)
    watched.finding(4, "changed", since_ns=2 * SECOND, words="It is stuck at 3", weight=weight)
    (call,) = watched.until(5)
    assert (call.words, call.since_ns) == ("It is stuck at 3", SECOND)
    watched.finding(5, "gone")
    assert watched.until(6) == []


def test_findings_of_one_kind_are_one_call_whatever_the_boards_call_the_field(watched: Watched) -> None:
    watched.finding(1, bench=1, channel="Temp")
    watched.finding(1, bench=2, channel="raw")
    watched.finding(1, bench=2, channel="volts")
    (call,) = watched.until(2)
    assert [one.bench for one in call.benches] == [1, 2]


def test_with_several_channels_each_has_its_own_call() -> None:
    watched = Watched(replace(LESSON, channels=(*LESSON.channels, Channel(name="volts", unit="V"))))
    watched.finding(1, channel="temperature")
    watched.finding(1, channel="volts")
    watched.finding(1, bench=2, channel="raw")
    assert sorted(watched.ids(2)) == ["finding/stuck", "finding/stuck/temperature", "finding/stuck/volts"]


def test_an_alarm_on_findings_and_its_finding_are_one_call_with_the_alarms_priority() -> None:
    watched = Watched(replace(LESSON, alarms=(ON_FINDINGS,)))
    watched.finding(1)
    assert watched.ids(2) == []  # the alarm's delay is not over
    watched.alarm(3, channel="", key="finding")
    (call,) = watched.until(4)
    assert (call.id, call.priority, call.benches[0].alarm) == ("finding/stuck", "high", ("", "finding"))
    assert call.advice == "Go and look. Look at the wires"
    watched.alarm(5, "acknowledged", channel="", key="finding", event="acknowledge")
    assert watched.ids(6) == []


def test_an_alarm_on_findings_waits_by_itself_once_its_finding_is_gone() -> None:
    watched = Watched(replace(LESSON, alarms=(ON_FINDINGS,)))
    watched.finding(1)
    watched.alarm(1, channel="", key="finding")
    watched.finding(3, "gone")
    watched.alarm(3, "returned unacknowledged", channel="", key="finding", event="return")
    (call,) = watched.until(4)
    assert (call.id, call.words) == ("alarm//finding", "finding, which has gone by itself")


def test_a_finding_that_no_alarm_is_for_calls_by_itself() -> None:
    watched = Watched(replace(LESSON, alarms=(replace(ON_FINDINGS, findings=("no bytes",)),)))
    watched.finding(1)
    assert watched.ids(2) == ["finding/stuck"]


# ---- asks ----


def test_each_group_that_asks_is_a_call_of_its_own(watched: Watched) -> None:
    watched.watch.ask(2, "help", 3 * SECOND)
    watched.watch.ask(1, "help", 4 * SECOND)
    assert watched.ids(5) == ["ask/2", "ask/1"]
    assert [tuple(one) for one in watched.watch.calls.asked] == [(2, 3 * SECOND), (1, 4 * SECOND)]
    watched.watch.ask(2, "done", 5 * SECOND)
    assert watched.ids(6) == ["ask/1"]
    assert [tuple(one) for one in watched.watch.calls.done] == [(2, 5 * SECOND)]
    watched.watch.ask(2, "nothing", 6 * SECOND)
    watched.until(7)
    assert watched.watch.calls.done == ()


def test_a_group_that_asks_twice_waits_since_the_first_time(watched: Watched) -> None:
    watched.watch.ask(2, "help", 3 * SECOND)
    watched.watch.ask(2, "help", 5 * SECOND)
    assert watched.until(6)[0].since_ns == 3 * SECOND


def test_asks_and_faults_have_one_priority_so_that_who_waits_longer_comes_first(watched: Watched) -> None:
    watched.finding(1, bench=1)
    watched.watch.ask(2, "help", 2 * SECOND)
    watched.finding(3, bench=3, kind="no text")
    assert watched.ids(4) == ["finding/stuck", "ask/2", "finding/no text"]


def test_a_group_whose_bench_leaves_the_lesson_asks_no_more(watched: Watched) -> None:
    watched.watch.ask(3, "help", SECOND)
    assert watched.ids(2) == ["ask/3"]
    watched.watch.revise(replace(LESSON, benches=LESSON.benches[:2]), 2 * SECOND)
    assert watched.ids(3) == []


def test_a_bench_that_begins_anew_keeps_what_its_group_says(watched: Watched) -> None:
    watched.watch.ask(1, "help", SECOND)
    watched.finding(1)
    watched.until(2)
    watched.finding(2, kind="no text")
    watched.watch.remove(1)
    assert watched.ids(4) == ["ask/1"]


# ---- attending ----


def test_an_ask_is_ended_by_attending(watched: Watched) -> None:
    watched.watch.ask(2, "help", SECOND)
    assert watched.ids(2) == ["ask/2"]
    watched.watch.attend("ask/2", [2], 2 * SECOND)
    assert watched.watch.asks.of(2) == "nothing"
    assert watched.ids(3) == []


def test_a_call_that_was_attended_to_stands_behind_and_calls_again_after_ten_minutes(
    watched: Watched,
) -> None:
    watched.alarm(1)
    watched.finding(1, bench=2, weight="hint")
    assert watched.ids(2) == ["alarm/temperature/high", "finding/stuck"]
    watched.watch.attend("alarm/temperature/high", [1], 2 * SECOND)
    assert watched.ids(3) == ["finding/stuck", "alarm/temperature/high"]
    assert [one.attended for one in watched.until(601)] == [False, True]
    assert ATTENDED_NS == 600 * SECOND
    assert watched.ids(602) == ["alarm/temperature/high", "finding/stuck"]


def test_one_bench_of_a_call_can_be_attended_to(watched: Watched) -> None:
    watched.finding(1, bench=1)
    watched.finding(2, bench=2)
    watched.watch.attend("finding/stuck", [1], 3 * SECOND)
    (call,) = watched.until(4)
    assert [(one.bench, one.attended) for one in call.benches] == [(2, False), (1, True)]
    assert (call.attended, call.since_ns) == (False, 2 * SECOND)


def test_a_kind_in_several_fields_of_a_bench_is_attended_to_as_one(watched: Watched) -> None:
    watched.finding(1, channel="raw", words="raw stands still")
    watched.finding(2, channel="volts", words="volts stand still")
    assert [one.words for one in watched.until(3)] == ["raw stands still"]
    watched.watch.attend("finding/stuck", [1], 3 * SECOND)
    watched.finding(4, "gone", channel="raw")
    (call,) = watched.until(5)
    assert (call.words, call.attended) == ("volts stand still", True)
    watched.finding(6, channel="Temp", words="Temp stands still")
    (call,) = watched.until(7)
    assert (call.words, call.attended) == ("Temp stands still", False)


def test_a_cause_that_comes_anew_calls_at_once(watched: Watched) -> None:
    watched.finding(1)
    watched.watch.attend("finding/stuck", [1], 2 * SECOND)
    watched.finding(3, "gone")
    watched.finding(4)
    assert [one.attended for one in watched.until(5)] == [False]


def test_attending_what_does_not_call_does_nothing(watched: Watched) -> None:
    watched.watch.attend("finding/stuck", [1], SECOND)
    watched.finding(2)
    assert [one.attended for one in watched.until(3)] == [False]


# ---- full seconds ----


def test_the_list_is_that_of_the_last_full_second_with_what_came_before(watched: Watched) -> None:
    watched.watch.ask(2, "help", 1_500_000_000)
    watched.alarm(2.0)
    assert watched.ids(2.0) == ["ask/2"]
    assert watched.ids(2.999) == ["ask/2"]
    assert watched.ids(3.0) == ["alarm/temperature/high", "ask/2"]


def test_every_second_that_changed_the_list_is_told_also_in_one_go(watched: Watched) -> None:
    watched.alarm(1.5)
    watched.watch.ask(2, "help", 3 * SECOND)
    told = watched.watch.assess(9 * SECOND)
    assert [(one.at_ns // SECOND, len(one.calls.calls)) for one in told] == [(2, 1), (4, 2)]


def test_time_alone_moves_nothing(watched: Watched) -> None:
    watched.finding(1, bench=1)
    watched.watch.ask(2, "help", 40 * SECOND)
    watched.finding(90, bench=3, kind="no text")
    before = watched.until(91)
    assert watched.watch.assess(4000 * SECOND) == []
    assert list(watched.watch.calls.calls) == before


@pytest.mark.parametrize("copied", [copy.deepcopy, lambda one: pickle.loads(pickle.dumps(one))])
def test_a_copy_goes_on_like_the_original(watched: Watched, copied: Any) -> None:
    watched.alarm(1)
    watched.watch.ask(2, "help", SECOND)
    watched.until(2)
    watched.watch.attend("alarm/temperature/high", [1], 2_500_000_000)
    other = copied(watched.watch)
    for one in (watched.watch, other):
        one.ask(3, "help", 3 * SECOND)
    assert watched.watch.assess(4 * SECOND) == other.assess(4 * SECOND) != []
