"""The journal, the readings that are kept for it, and what would calm an alarm that chatters."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from bridge.core.alarm_figures import AlarmName
from bridge.core.alarm_given import AlarmGiven
from bridge.core.alarm_journal import Journal
from bridge.core.alarm_records import AlarmRecords
from bridge.core.classroom import Classroom
from bridge.core.conversion import OUTSIDE_CALIBRATION
from bridge.core.kept_signals import KeptSignals
from bridge.core.lesson import Bench, Channel, FieldSpec, Layout, Lesson, plain_bench
from bridge.core.pipeline import Outcome
from bridge.core.readings import AlarmChange, Reading

SECOND = 1_000_000_000
HIGH = AlarmGiven(kind="high", at=40.0, message="Too warm", priority="high")
LAYOUT = Layout(name="one", kind="columns", fields=(FieldSpec(name="t"),))


def lesson_of(*limits: AlarmGiven, unit: str = "°C") -> Lesson:
    benches: tuple[Bench, ...] = tuple(replace(plain_bench(n), layout="one") for n in (1, 2))
    channel = Channel(name="t", unit=unit, limits=limits)
    return Lesson(title="x", channels=(channel,), layouts=(LAYOUT,), benches=benches)


def rise(at_s: float, *, bench: int = 1) -> AlarmChange:
    at_ns = round(at_s * SECOND)
    return AlarmChange(at_ns, bench, "t", "high", "rise", "unacknowledged", "normal", 40.5, 40.0, "rule")


def reading(at_s: float, value: float | None, *, quality: str = "good", channel: str = "t") -> Reading:
    at_ns = round(at_s * SECOND)
    return Reading(at_ns, 1, channel, value, "°C", 0.1, quality, "", 1, at_ns)  # type: ignore[arg-type]


def test_each_entry_has_the_lesson_that_held_when_it_came() -> None:
    journal = Journal()
    journal.take([rise(1)], lesson_of(HIGH))
    journal.take([rise(2)], lesson_of(replace(HIGH, message="Hot", priority="low"), unit="K"))
    told = [(one.unit, one.priority, one.message) for one in journal.entries]
    assert told == [("°C", "high", "Too warm"), ("K", "low", "Hot")]


def test_beyond_its_bound_the_oldest_entries_leave_and_are_counted() -> None:
    journal = Journal(max_entries=100)
    for second in range(250):
        journal.take([rise(second)], lesson_of(HIGH))
        assert len(journal.entries) <= 100
        assert journal.n_lost + len(journal.entries) == second + 1
        assert journal.entries[-1].change.at_ns == second * SECOND
    assert len(journal.entries) > 80


def test_an_alarm_that_is_taken_out_of_the_lesson_ends_in_the_journal() -> None:
    room, records = Classroom(lesson_of(HIGH)), AlarmRecords(lesson_of(HIGH))
    for second in range(5):
        outcome = room.feed(1, b"41.5\n", second * SECOND)
        records.take(outcome.readings, outcome.changes, room.lesson)
    for _, outcome in room.revise(lesson_of(), 7 * SECOND):
        records.take(outcome.readings, outcome.changes, room.lesson)
    begun, ended = records.journal.entries
    assert begun.change.event == "rise"
    end = ended.change
    assert (end.at_ns, end.event, end.before, end.state) == (7 * SECOND, "return", "unacknowledged", "normal")
    assert (end.who, end.reason) == ("instructor", "no longer in the lesson")
    assert (ended.kind, ended.unit, ended.message) == ("high", "°C", "Too warm")


@given(
    n=st.integers(0, 60), bound=st.integers(1, 10), sizes=st.lists(st.integers(1, 7), min_size=1, max_size=4)
)
def test_the_newest_readings_are_kept_and_no_more(n: int, bound: int, sizes: list[int]) -> None:
    signals = KeptSignals(lesson_of(HIGH), max_readings=bound)
    readings = [reading(i, None if i % 5 == 0 else float(i)) for i in range(n)]
    start, i = 0, 0
    while start < n:
        size = sizes[i % len(sizes)]
        signals.take(readings[start : start + size])
        start, i = start + size, i + 1
    kept = readings[-bound:]
    assert signals.of(1, "t").listed() == ([one.at_ns for one in kept], [one.value for one in kept])


def test_what_may_not_be_acted_upon_is_kept_as_missing_and_other_channels_not_at_all() -> None:
    signals = KeptSignals(lesson_of(HIGH))
    signals.take([reading(1, 39.0), reading(2, 41.0, quality="bad"), reading(3, 41.0, channel="volts")])
    assert signals.of(1, "t").listed() == ([SECOND, 2 * SECOND], [39.0, None])
    beyond = reading(4, 43.0, quality="uncertain")._replace(reason=f"{OUTSIDE_CALIBRATION} 20 to 42 °C")
    signals.take([beyond])
    assert signals.of(1, "t").values[-1] == 43.0  # uncertain, and yet an alarm rises on it
    assert signals.of(1, "volts").listed() == ([], [])


def chattering(room: Classroom, records: AlarmRecords, seconds: range) -> None:
    for second in seconds:
        value = 40.0 + (0.3 if second % 4 < 2 else -0.3)
        outcome = room.feed(1, f"{value:.1f}\n".encode(), second * SECOND)
        records.take(outcome.readings, outcome.changes, room.lesson)


def test_a_chattering_alarm_is_calmed_by_what_is_proposed_and_then_counted_anew() -> None:
    room = Classroom(lesson_of(HIGH))
    records = AlarmRecords(room.lesson)
    chattering(room, records, range(60))
    assert records.to_calm(2) == []
    (found,) = records.to_calm(1)
    assert (found.alarm, found.n_rises) == (AlarmName(1, "t", "high"), 15)
    deadband = found.proposals()[0]
    assert (deadband.changes, deadband.n_before, deadband.n_after) == ("deadband", 15, 1)
    records.remember(found, found.proposals())
    assert [one.known for one in records.to_calm()] == [found.proposals()]  # not tried anew so soon
    calmer = lesson_of(deadband.applied(HIGH))
    for _, outcome in room.revise(calmer, 60 * SECOND):
        records.take(outcome.readings, outcome.changes, room.lesson)
    n_before = len(records.journal.entries)
    chattering(room, records, range(61, 180))
    assert records.to_calm() == []
    assert len(records.journal.entries) - n_before <= 1  # the same signal, and at most one call


def test_a_trial_is_made_anew_once_there_is_more_to_try_it_on() -> None:
    room = Classroom(lesson_of(HIGH))
    records = AlarmRecords(room.lesson)
    chattering(room, records, range(30))
    (first,) = records.to_calm()
    records.remember(first, first.proposals())
    chattering(room, records, range(30, 36))
    assert records.to_calm()[0].known == first.proposals()
    chattering(room, records, range(36, 60))
    (later,) = records.to_calm()
    assert later.known is None
    assert later.proposals()[0].n_before > first.proposals()[0].n_before


def test_an_alarm_on_the_deviation_is_tried_on_the_differences_from_the_class() -> None:
    given = AlarmGiven(kind="deviation", at=1.0)
    benches = tuple(replace(plain_bench(n), layout="one") for n in (1, 2, 3))
    lesson = Lesson(
        title="x",
        channels=(Channel(name="t", unit="°C", limits=(given,)),),
        layouts=(LAYOUT,),
        benches=benches,
    )
    room, records = Classroom(lesson), AlarmRecords(lesson)

    def took(outcomes: Iterable[tuple[int, Outcome]]) -> None:
        for _, outcome in outcomes:
            records.take(outcome.readings, outcome.changes, room.lesson)

    for second in range(60):
        off = 1.3 if second % 4 < 2 else 0.8  # bench 1 swings about 1 °C above the class, which warms up
        for bench, value in ((1, off), (2, 0.0), (3, -0.1)):
            line = f"{20 + second / 10 + value:.1f}\n".encode()
            took([(bench, room.feed(bench, line, second * SECOND + bench))])
        took(room.advance(second * SECOND + 10).outcomes)
    (found,) = records.to_calm(1)
    assert found.given.kind == "deviation"
    deadband = found.proposals()[0]
    assert (deadband.changes, deadband.n_before, deadband.n_after) == ("deadband", found.n_rises, 1)
    assert 0.2 < deadband.value <= 0.4
