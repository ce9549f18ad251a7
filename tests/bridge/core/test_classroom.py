"""All benches together: phases, comparisons, findings, first-out, floods; whatever the portions."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import NamedTuple

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from bridge.core.acting import act
from bridge.core.alarm_flood import FirstOut
from bridge.core.call_watch import CallsChange
from bridge.core.classroom import Classroom, Outcomes
from bridge.core.lesson import (
    AlarmGiven,
    BandsGiven,
    Bench,
    Channel,
    FieldSpec,
    Layout,
    Lesson,
    Phase,
    plain_bench,
)
from bridge.core.readings import AlarmChange, BandChange, Change

SECOND = 1_000_000_000
BANDS = BandsGiven(
    edges=(2.0, 4.0), names=("a", "b", "c"), baseline_from="start", deadband=0.3, steady_seconds=5.0,
    phases=("baseline", "run"),
)  # fmt: skip
LIMITS = (
    AlarmGiven(kind="high-high", at=34.0, deadband=0.5, latching=True),
    AlarmGiven(kind="high", at=30.0, deadband=0.5, on_delay_seconds=1.5, phases=("run",)),
    AlarmGiven(kind="low", at=15.0, off_delay_seconds=2.0),
    AlarmGiven(kind="rate of change", at=60.0, window_seconds=4.0),
    AlarmGiven(kind="deviation", at=5.0, deadband=1.0, on_delay_seconds=1.0),
    AlarmGiven(kind="stale", at=4.0),
    AlarmGiven(kind="bad quality", on_delay_seconds=0.5),
)
LAYOUT = Layout(name="one", kind="columns", fields=(FieldSpec(name="temperature"),))
N_BENCHES = 3


def lesson_of(
    *limits: AlarmGiven, bands: BandsGiven | None = None, n_benches: int = N_BENCHES, **rest: object
) -> Lesson:
    return Lesson(
        title="Cooling",
        channels=(Channel(name="temperature", unit="°C", bands=bands, limits=limits),),
        layouts=(LAYOUT,),
        benches=tuple(bench_of(n + 1) for n in range(n_benches)),
        **rest,  # type: ignore[arg-type]
    )


def bench_of(number: int) -> Bench:
    return replace(plain_bench(number), layout="one")


LESSON = lesson_of(
    *LIMITS, bands=BANDS, phases=(Phase(name="baseline"), Phase(name="run", lines_per_second=2.0)),
    alarms=(AlarmGiven(kind="finding", on_delay_seconds=1.0, weight="hint"),),
)  # fmt: skip


class Item(NamedTuple):
    """A chunk, or an event with its detail."""

    at_ns: int
    kind: str
    bench: int | None
    detail: dict[str, object]


class Seen:
    """Everything that was told, by bench."""

    def __init__(self, lesson: Lesson) -> None:
        self.room = Classroom(lesson)
        self.changes: list[Change] = []
        self.first_out: list[FirstOut] = []
        self.n_floods = 0
        self.calls: list[CallsChange] = []
        for bench in lesson.benches:
            self.take([(bench.number, self.room.break_off(bench.number, 0, cold=False))])

    def take(self, outcomes: Outcomes) -> None:
        self.changes += [change for _, outcome in outcomes for change in outcome.changes]

    def advance(self, at_ns: int) -> None:
        outcomes, first_out, floods, calls = self.room.advance(at_ns)
        self.take(outcomes)
        self.first_out += first_out
        self.n_floods += len(floods)
        self.calls += calls

    def happened(self) -> list[tuple[object, ...]]:
        """All but notes, in the order of the instants."""
        told = [one for one in self.changes if isinstance(one, AlarmChange | BandChange)]
        return sorted((one.at_ns, one.bench, one.channel, *map(repr, one[3:])) for one in told)


def event(seen: Seen, item: Item) -> None:
    seen.advance(item.at_ns)
    seen.take(act(seen.room, item.kind, item.bench, item.detail, item.at_ns))


def one_by_one(items: Sequence[Item], ticks: Iterable[int], end_ns: int) -> Seen:
    """As live: each chunk by itself, time told in between."""
    seen, told = Seen(LESSON), iter([*sorted(ticks), 1 << 60])
    tick = next(told)
    for item in items:
        while tick <= item.at_ns:
            seen.advance(tick)
            tick = next(told)
        if item.kind == "chunk":
            assert item.bench is not None
            data = str(item.detail["text"]).encode()
            seen.take([(item.bench, seen.room.feed(item.bench, data, item.at_ns))])
        else:
            event(seen, item)
    seen.advance(end_ns)
    return seen


def in_runs(items: Sequence[Item], end_ns: int) -> Seen:
    """As a recording is read: all chunks between two events bench by bench."""
    seen = Seen(LESSON)
    for is_chunk, together in itertools.groupby(items, key=lambda one: one.kind == "chunk"):
        run = list(together)
        if not is_chunk:
            for item in run:
                event(seen, item)
            continue
        for bench in sorted({one.bench or 0 for one in run}):
            chunks = [(str(one.detail["text"]).encode(), one.at_ns) for one in run if one.bench == bench]
            seen.take([(bench, seen.room.feed_many(bench, chunks))])
        seen.advance(run[-1].at_ns)
    seen.advance(end_ns)
    return seen


KEYS = [one.key for one in LIMITS]
ALARM = st.builds(
    lambda channel, key: {"channel": channel, "limit": key if channel else "finding", "who": "instructor"},
    st.sampled_from(["temperature", "temperature", ""]),
    st.sampled_from(KEYS),
)
CALLS = [
    *(f"ask/{bench}" for bench in range(1, N_BENCHES + 1)),
    *(f"alarm/temperature/{key}" for key in ("bad quality", "deviation", "stale", "high-high", "low")),
    "alarm//finding", "finding/no bytes", "finding/line rate",
]  # fmt: skip
EVENTS: dict[str, Callable[[dict[str, object], int], dict[str, object]]] = {
    "acknowledge": lambda alarm, at_ns: alarm,
    "reset": lambda alarm, at_ns: alarm,
    "shelve": lambda alarm, at_ns: alarm | {"reason": "being stirred", "until_ns": at_ns + 5 * SECOND},
    "unshelve": lambda alarm, at_ns: alarm,
    "remove": lambda alarm, at_ns: alarm,
    "restore": lambda alarm, at_ns: alarm,
    "break": lambda alarm, at_ns: {"cold": False},
    "baseline": lambda alarm, at_ns: {"channel": "temperature", "who": "instructor"},
}


@st.composite
def sessions(draw: st.DrawFn) -> list[Item]:
    """Three boards that print several times a second, with things that happen in between."""
    items: list[Item] = [
        Item(0, "link", bench, {"state": "open", "baud": 9600}) for bench in range(1, N_BENCHES + 1)
    ]
    at_ns, level = 0, [20.0] * (N_BENCHES + 1)
    for _ in range(draw(st.integers(20, 90))):
        at_ns += draw(st.sampled_from([100, 150, 250, 250, 500, 1000, 2500])) * 1_000_000
        what = draw(st.integers(0, 30))
        if what == 0:
            phase = draw(st.sampled_from(["", "baseline", "run"]))
            items.append(Item(at_ns, "phase", None, {"phase": phase, "who": "instructor"}))
        elif what == 2:
            want = draw(st.sampled_from(["help", "help", "done", "nothing"]))
            bench = draw(st.integers(1, N_BENCHES))
            items.append(Item(at_ns, "ask", bench, {"want": want, "who": "group"}))
        elif what in (3, 4):
            benches = draw(st.lists(st.integers(1, N_BENCHES), min_size=1, unique=True))
            attended: dict[str, object] = {
                "call": draw(st.sampled_from(CALLS)),
                "benches": benches,
                "who": "instructor",
            }
            items.append(Item(at_ns, "attend", None, attended))
        elif what == 1:
            kind = draw(st.sampled_from(sorted(EVENTS)))
            detail = EVENTS[kind](draw(ALARM), at_ns)
            items.append(Item(at_ns, kind, draw(st.integers(1, N_BENCHES)), detail))
        else:
            for bench in range(1, N_BENCHES + 1):
                if draw(st.integers(0, 5)):
                    if draw(st.integers(0, 15)) == 0:
                        level[bench] = draw(st.sampled_from([10.0, 20.0, 22.5, 25.0, 31.0, 36.0]))
                    noise = draw(st.integers(-2, 2)) / 10
                    text = f"{level[bench] + noise:.1f}\n" if draw(st.integers(0, 20)) else "nan\n"
                    items.append(Item(at_ns, "chunk", bench, {"text": text}))
    return items


SHELVED_BEFORE_IT_ROSE = [
    *(Item(0, "link", bench, {"state": "open", "baud": 9600}) for bench in range(1, N_BENCHES + 1)),
    Item(2_400_000_000, "chunk", 3, {"text": "20.0\n"}),
    Item(3_550_000_000, "chunk", 1, {"text": "10.0\n"}),
    Item(3_550_000_000, "chunk", 2, {"text": "20.0\n"}),
    Item(3_650_000_000, "shelve", 1, {
        "channel": "temperature", "limit": "deviation", "who": "instructor", "reason": "being stirred",
        "until_ns": 8_650_000_000,
    }),
    Item(4_150_000_000, "chunk", 3, {"text": "nan\n"}),
]  # fmt: skip


@settings(max_examples=60, deadline=None)
@example(items=SHELVED_BEFORE_IT_ROSE, ticks=[], seconds=30)
@given(
    items=sessions(),
    ticks=st.lists(st.integers(0, 60 * SECOND), max_size=30),
    seconds=st.sampled_from([30, 30, 30, 620]),  # after ten minutes what was attended to calls again
)
def test_all_alarms_and_calls_are_the_same_live_and_in_runs(
    items: list[Item], ticks: list[int], seconds: int
) -> None:
    end_ns = items[-1].at_ns + seconds * SECOND
    live, kept = one_by_one(items, ticks, end_ns), in_runs(items, end_ns)
    assert live.happened() == kept.happened()
    assert live.first_out == kept.first_out
    assert live.n_floods == kept.n_floods
    assert live.calls == kept.calls


def test_a_lesson_begins_in_no_phase_and_its_limits_are_suppressed() -> None:
    seen = Seen(LESSON)
    seen.advance(0)
    told = [one for one in seen.changes if isinstance(one, AlarmChange)]
    assert [(one.bench, one.limit, one.event, one.state) for one in told] == [
        (bench, "high", "suppress", "suppressed") for bench in (1, 2, 3)
    ]


def test_a_limit_counts_in_its_phases_only() -> None:
    seen = Seen(LESSON)
    seen.take([(1, seen.room.feed(1, b"32.0\n32.0\n", SECOND))])
    seen.advance(5 * SECOND)
    seen.take(seen.room.enter_phase("run", 5 * SECOND, "instructor"))
    high = [
        one for one in seen.changes if isinstance(one, AlarmChange) and (one.bench, one.limit) == (1, "high")
    ]
    assert [(one.event, one.state) for one in high] == [
        ("suppress", "suppressed"), ("rise", "suppressed"), ("unsuppress", "unacknowledged"),
    ]  # fmt: skip
    assert (high[-1].who, high[-1].reason) == ("instructor", "run")


def test_a_bench_that_turns_up_late_goes_through_the_phases_that_were() -> None:
    room = Classroom(LESSON)
    room.enter_phase("run", 3 * SECOND, "instructor")
    room.pipeline(7)
    changes = [change for _, outcome in room.advance(9 * SECOND).outcomes for change in outcome.changes]
    told = [one for one in changes if isinstance(one, AlarmChange)]
    assert told == []  # its fields are not known yet
    room.feed(7, b"20.1\n20.2\n20.1\n20.3\n" * 5, 9 * SECOND)
    assert room.phase == "run"


def test_bands_are_there_in_their_phases_only() -> None:
    bands = replace(BANDS, baseline=20.0, baseline_from="fixed")
    lesson = lesson_of(bands=bands, phases=LESSON.phases)
    seen = Seen(lesson)
    seen.take([(1, seen.room.feed(1, b"23.0\n", SECOND))])
    assert seen.room.pipeline(1).channels[0].edges == ()
    seen.take(seen.room.enter_phase("run", 2 * SECOND, "instructor"))
    assert seen.room.pipeline(1).channels[0].edges == (22.0, 24.0)
    seen.take(seen.room.enter_phase("", 3 * SECOND, "instructor"))
    bands_told = [(one.at_ns, one.band) for one in seen.changes if isinstance(one, BandChange)]
    assert bands_told == [(2 * SECOND, 1), (3 * SECOND, None)]


def test_a_bench_far_from_the_class_alarms_at_a_full_second() -> None:
    seen = Seen(lesson_of(AlarmGiven(kind="deviation", at=5.0)))
    for tenth in range(30):
        for bench, value in ((1, 20.0), (2, 20.4), (3, 27.0 if tenth >= 12 else 20.0)):
            seen.take([(bench, seen.room.feed(bench, f"{value}\n".encode(), tenth * SECOND // 10))])
    seen.advance(4 * SECOND)
    (alarm,) = (one for one in seen.changes if isinstance(one, AlarmChange))
    assert (alarm.bench, alarm.at_ns, alarm.event, alarm.value) == (3, 2 * SECOND, "rise", 6.6)


def test_too_few_benches_make_no_median() -> None:
    seen = Seen(lesson_of(AlarmGiven(kind="deviation", at=5.0)))
    for second in range(5):
        for bench, value in ((1, 20.0), (3, 37.0)):
            seen.take([(bench, seen.room.feed(bench, f"{value}\n".encode(), second * SECOND))])
    seen.advance(5 * SECOND)
    assert not [one for one in seen.changes if isinstance(one, AlarmChange)]


@pytest.fixture
def silent() -> Seen:
    """A bench whose board says nothing, in a lesson with an alarm on that."""
    lesson = lesson_of(n_benches=1, alarms=(AlarmGiven(kind="finding", findings=("no bytes",)),))
    seen = Seen(lesson)
    seen.take([(1, seen.room.link(1, "open", 0, baud=9600))])
    seen.advance(60 * SECOND)
    return seen


def test_a_finding_raises_the_alarm_of_its_bench(silent: Seen) -> None:
    (alarm,) = (one for one in silent.changes if isinstance(one, AlarmChange))
    assert (alarm.bench, alarm.channel, alarm.limit, alarm.state) == (1, "", "finding", "unacknowledged")


def test_an_alarm_on_findings_is_acknowledged_and_goes_with_its_finding(silent: Seen) -> None:
    detail = {"channel": "", "limit": "finding", "who": "instructor"}
    silent.take(act(silent.room, "acknowledge", 1, detail, 60 * SECOND))
    silent.take([(1, silent.room.feed(1, b"20.0\n", 61 * SECOND))])
    silent.advance(70 * SECOND)
    told = [(one.event, one.state) for one in silent.changes if isinstance(one, AlarmChange)]
    assert told == [("rise", "unacknowledged"), ("acknowledge", "acknowledged"), ("return", "normal")]


def test_an_alarm_that_is_put_into_the_lesson_is_told_what_stands() -> None:
    seen = Seen(lesson_of(n_benches=1))
    seen.take([(1, seen.room.link(1, "open", 0, baud=9600))])
    seen.advance(60 * SECOND)
    with_alarm = lesson_of(n_benches=1, alarms=(AlarmGiven(kind="finding", name="help"),))
    seen.take(seen.room.revise(with_alarm, 60 * SECOND))
    (alarm,) = (one for one in seen.changes if isinstance(one, AlarmChange))
    assert (alarm.limit, alarm.event, alarm.at_ns) == ("help", "rise", 60 * SECOND)


def test_an_alarm_that_is_changed_to_other_findings_returns(silent: Seen) -> None:
    other = lesson_of(n_benches=1, alarms=(AlarmGiven(kind="finding", findings=("stuck",)),))
    silent.take(silent.room.revise(other, 60 * SECOND))
    told = [(one.event, one.state) for one in silent.changes if isinstance(one, AlarmChange)]
    assert told == [("rise", "unacknowledged"), ("return", "returned unacknowledged")]


def test_the_first_of_several_alarms_is_told_when_its_span_is_over() -> None:
    limits = (AlarmGiven(kind="high", at=30.0), AlarmGiven(kind="high-high", at=35.0))
    seen = Seen(lesson_of(*limits))
    seen.take([(2, seen.room.feed(2, b"31.0\n", SECOND))])
    seen.take([(2, seen.room.feed(2, b"36.0\n", 2 * SECOND))])
    seen.advance(3 * SECOND)
    assert seen.first_out == []
    seen.advance(10 * SECOND)
    (found,) = seen.first_out
    assert [(one.bench, one.limit) for one in found.first] == [(2, "high")]
    assert [one.limit for one in found.others] == ["high-high"]


def test_in_a_flood_alarms_with_one_cause_are_one_group() -> None:
    lesson = lesson_of(AlarmGiven(kind="high", at=30.0), n_benches=16)
    seen = Seen(lesson)
    for bench in range(1, 17):
        seen.take([(bench, seen.room.feed(bench, b"40.0\n", bench * SECOND))])
    seen.advance(20 * SECOND)
    assert (seen.n_floods, seen.room.is_flooded) == (1, True)
    (group,) = seen.room.flood_groups()
    assert (group.by, group.limit, group.benches) == ("cause", "high", tuple(range(11, 17)))


def test_a_phase_sets_the_rate_that_is_expected() -> None:
    lesson = lesson_of(n_benches=1, phases=(Phase(name="run", lines_per_second=50.0),))
    found = {}
    for phase in ("", "run"):
        seen = Seen(lesson)
        seen.take([(1, seen.room.link(1, "open", 0, baud=9600))])
        seen.take(seen.room.enter_phase(phase, 0, "instructor"))
        for tenth in range(1, 1200):
            at_ns = tenth * SECOND // 10
            seen.take([(1, seen.room.feed(1, f"{20 + tenth % 7 / 10:.1f}\n".encode(), at_ns))])
        seen.advance(120 * SECOND)
        found[phase] = {one.kind for one in seen.room.pipeline(1).findings}
    assert "line rate" in found["run"]
    assert "line rate" not in found[""]


def test_a_lesson_without_the_phase_ends_it() -> None:
    seen = Seen(LESSON)
    seen.take(seen.room.enter_phase("run", SECOND, "instructor"))
    seen.take(seen.room.revise(lesson_of(*LIMITS[:1]), 2 * SECOND))
    assert seen.room.phase == ""


def test_the_first_out_of_several_alarms_is_told_with_its_call() -> None:
    seen = Seen(lesson_of(AlarmGiven(kind="high", at=30.0), AlarmGiven(kind="high-high", at=34.0)))
    seen.take([(1, seen.room.feed(1, b"32.0\n", SECOND))])
    seen.take([(1, seen.room.feed(1, b"36.0\n", 3 * SECOND))])
    seen.advance(5 * SECOND)
    assert not any(one.benches[0].first_out for one in seen.room.calls.calls)
    seen.advance(9 * SECOND)
    assert {one.id: one.benches[0].first_out for one in seen.room.calls.calls} == {
        "alarm/temperature/high": True, "alarm/temperature/high-high": False
    }  # fmt: skip


def test_a_bench_that_begins_anew_calls_no_more() -> None:
    seen = Seen(lesson_of(AlarmGiven(kind="high", at=30.0)))
    for bench in (1, 2):
        seen.take([(bench, seen.room.feed(bench, b"32.0\n", SECOND))])
    seen.advance(2 * SECOND)
    seen.room.renew(1)
    seen.advance(3 * SECOND)
    (call,) = seen.room.calls.calls
    assert [one.bench for one in call.benches] == [2]


def test_a_class_whose_boards_are_not_there_yet_calls_for_nobody() -> None:
    seen = Seen(LESSON)
    for bench in range(1, N_BENCHES + 1):
        seen.take([(bench, seen.room.link(bench, "searching", 0, baud=9600))])
    seen.advance(600 * SECOND)
    assert seen.calls == []
