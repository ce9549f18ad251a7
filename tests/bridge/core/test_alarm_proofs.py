"""Generated noisy sessions with known truth; `python -m tests.bridge.core.made_sessions` makes many more."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.alarm_given import AlarmGiven, PlainKind
from bridge.core.alarm_proposals import rises_over
from bridge.core.classroom import Classroom
from bridge.core.lesson import Channel, FieldSpec, Layout, Lesson, plain_bench
from bridge.core.pipeline import Outcome
from bridge.core.readings import AlarmChange, Change
from bridge.core.watch import ChannelWatch

from .made_sessions import LIMIT, SECOND, Session, made_session, prove, prove_of, watched


def test_no_alarm_is_missed_none_chatters_and_delays_are_right_to_one_reading() -> None:
    assert sum(prove(made_session(seed)) for seed in range(40)) > 200


def test_without_a_deadband_the_same_sessions_chatter() -> None:
    """So the proof is not empty: it is the deadband that keeps the alarms calm."""
    n_with = n_without = 0
    for seed in range(10):
        session = made_session(seed)
        bare = AlarmGiven(kind="high", at=session.alarm.at)
        n_without += len(rises_over(bare, session.times_ns, list(session.values)))
        n_with += len([one for one in watched(session) if one.event == "rise"])
    assert n_without > 3 * n_with


@settings(max_examples=25, deadline=None)
@given(
    seed=st.integers(100, 10_000),
    sizes=st.lists(st.integers(1, 300), min_size=1, max_size=4),
    ticks=st.lists(st.integers(0, 600_000), max_size=50),
)
def test_the_same_session_gives_the_same_alarms_however_it_comes(
    seed: int, sizes: list[int], ticks: list[int]
) -> None:
    session = made_session(seed, n_excursions=3)
    watch = ChannelWatch(1, "temperature", bands=None, baseline=None, limits=(session.alarm,))
    found: list[Change] = []
    cut, i, told = itertools.cycle(sizes), 0, sorted(tick * 1_000_000 for tick in ticks)
    while i < len(session.values):
        size = next(cut)
        times, values = session.times_ns[i : i + size], session.values[i : i + size]
        while told and told[0] <= times[0]:
            found += watch.tick(told.pop(0))
        if watch.low <= min(values) and max(values) < watch.high and watch.is_quiet(times, values):
            watch.hear_many(times, values)
        else:
            for at_ns, value in zip(times, values, strict=True):
                found += watch.take(value, at_ns)
        i += size
    found += watch.tick(session.times_ns[-1] + 60 * SECOND)
    assert found == watched(session)


ROUNDING = 0.0005  # of three printed decimals
BENCHES: dict[int, PlainKind] = {1: "high", 2: "low"}  # the other side: the same signal upside down


def printed(session: Session) -> list[tuple[int, bytes, int]]:
    """Both benches' lines in the order of their times: bench, bytes, time."""
    lines = []
    for at_ns, value in zip(session.times_ns, session.values, strict=True):
        lines.append((1, f"{value:.3f}\n".encode(), at_ns))
        lines.append((2, f"{2 * LIMIT - value:.3f}\n".encode(), at_ns))
    return lines


def classroom_of(session: Session) -> Classroom:
    limits = tuple(
        replace(session.alarm, kind=kind, name=f"of bench {bench}") for bench, kind in BENCHES.items()
    )
    layout = Layout(name="one", kind="columns", fields=(FieldSpec(name="t"),))
    benches = tuple(replace(plain_bench(bench), layout="one") for bench in BENCHES)
    room = Classroom(
        Lesson(title="x", channels=(Channel(name="t", limits=limits),), layouts=(layout,), benches=benches)
    )
    for bench in BENCHES:
        room.break_off(bench, 0, cold=False)
    return room


def alarms_of(outcomes: Iterable[tuple[int, Outcome]], bench: int) -> list[AlarmChange]:
    """Those of the bench's own side: the other limit is passed nearly always."""
    changes = [change for number, outcome in outcomes if number == bench for change in outcome.changes]
    return [one for one in changes if isinstance(one, AlarmChange) and one.limit == f"of bench {bench}"]


@settings(max_examples=6, deadline=None)
@given(
    seed=st.integers(0, 1_000_000),
    sizes=st.lists(st.integers(1, 400), min_size=1, max_size=4),
    ticks=st.lists(st.integers(0, 600_000), max_size=20),
)
def test_bytes_of_any_noisy_session_raise_the_alarms_of_its_truth_however_they_come(
    seed: int, sizes: list[int], ticks: list[int]
) -> None:
    """From what boards print to alarms: none missed above limit plus deadband, no chatter, delays right."""
    session = made_session(seed, n_excursions=2)
    lines, end_ns = printed(session), session.times_ns[-1] + 60 * SECOND
    live, told = classroom_of(session), sorted(tick * 1_000_000 for tick in ticks)
    one_by_one: list[tuple[int, Outcome]] = []
    for bench, data, at_ns in lines:
        while told and told[0] < at_ns:
            one_by_one += live.advance(told.pop(0)).outcomes
        one_by_one.append((bench, live.feed(bench, data, at_ns)))
    one_by_one += live.advance(end_ns).outcomes

    bulk, in_runs = classroom_of(session), list[tuple[int, Outcome]]()
    cut, rest = itertools.cycle(sizes), lines
    while rest:
        size = next(cut)
        for bench in BENCHES:
            chunks = [(data, at_ns) for number, data, at_ns in rest[:size] if number == bench]
            if chunks:
                in_runs.append((bench, bulk.feed_many(bench, chunks)))
        in_runs += bulk.advance(rest[:size][-1][2]).outcomes
        rest = rest[size:]
    in_runs += bulk.advance(end_ns).outcomes

    n_true = sum(one.is_alarm for one in session.excursions)
    for bench in BENCHES:
        changes = alarms_of(one_by_one, bench)
        assert prove_of(session, changes, rounding=ROUNDING) == n_true
        assert alarms_of(in_runs, bench) == changes


READINGS = st.lists(
    st.tuples(st.integers(1, 4), st.sampled_from([39.0, 39.6, 40.0, 40.5, None])), max_size=40
)


@settings(deadline=None)
@given(readings=READINGS, on_delay=st.integers(0, 9), off_delay=st.integers(0, 9))
@pytest.mark.parametrize("deadband", [0.0, 0.5])
def test_a_delay_is_exactly_as_long_as_stated(
    readings: list[tuple[int, float | None]], on_delay: int, off_delay: int, deadband: float
) -> None:
    """Beside a plain reading of the definition: past the limit at every reading all through the delay."""
    alarm = AlarmGiven(
        kind="high", at=40.0, deadband=deadband,
        on_delay_seconds=on_delay / 1e9, off_delay_seconds=off_delay / 1e9,
    )  # fmt: skip
    times = list(itertools.accumulate(gap for gap, _ in readings))
    values = [value for _, value in readings]
    end = (times[-1] if times else 0) + 20
    watch = ChannelWatch(1, "temperature", bands=None, baseline=None, limits=(alarm,))
    changes: list[Change] = []
    for at, value in zip(times, values, strict=True):
        changes += watch.miss(at) if value is None else watch.take(value, at)
    changes += watch.tick(end)
    found = [(one.at_ns, one.event) for one in changes if isinstance(one, AlarmChange)]

    def asks(value: float | None, is_active: bool) -> bool:
        return value is not None and (value <= 40.0 - deadband if is_active else value > 40.0)

    expected: list[tuple[int, str]] = []
    is_active, start = False, 0
    while True:
        delay = off_delay if is_active else on_delay
        due = next(
            (
                times[i] + delay
                for i in range(start, len(times))
                if asks(values[i], is_active)
                and all(
                    asks(values[j], is_active)
                    for j in range(i, len(times))
                    if times[j] < times[i] + delay or j == i
                )
            ),
            None,
        )
        if due is None:
            break
        is_active = not is_active
        expected.append((due, "rise" if is_active else "return"))
        # A reading at the very instant is judged after what fell due; one that raised by itself was judged.
        start = next((j for j, at in enumerate(times) if at > due or (at == due and delay > 0)), len(times))
    assert found == expected
