"""The same alarms however the readings are portioned and whenever time is told: every kind at once."""

from __future__ import annotations

import itertools
from typing import NamedTuple

from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.alarm_given import AlarmGiven
from bridge.core.bands_given import BandsGiven
from bridge.core.readings import AlarmChange, Change
from bridge.core.watch import ChannelWatch

SECOND = 1_000_000_000
BANDS = BandsGiven(baseline=20.0, edges=(2.0, 3.5, 5.0), names=("",) * 4, deadband=0.5, dwell_seconds=1.2)
ALARMS = (
    AlarmGiven(kind="high-high", at=25.0, deadband=0.5, latching=True),
    AlarmGiven(kind="high", at=24.0, deadband=0.5, on_delay_seconds=1.5, off_delay_seconds=2.5),
    AlarmGiven(kind="low", at=19.0, deadband=0.25, off_delay_seconds=3.0),
    AlarmGiven(kind="low-low", at=18.0, needs_acknowledgement=False),
    AlarmGiven(kind="rate of change", at=10.0, deadband=4.0, window_seconds=6.0, on_delay_seconds=2.0),
    AlarmGiven(kind="rate of change", at=20.0, window_seconds=4.0, side="below", name="falling"),
    AlarmGiven(kind="stale", at=4.0, on_delay_seconds=0.5, off_delay_seconds=1.0),
    AlarmGiven(kind="bad quality", on_delay_seconds=1.0, off_delay_seconds=2.0),
    AlarmGiven(kind="bad quality", quality="uncertain", name="doubtful"),
)


Found = tuple[list[Change], int, object]
"""What was told, the edge changes that were avoided, the times in the bands."""


class Step(NamedTuple):
    """One thing that comes to a channel."""

    at_ns: int
    what: str  # value, bad, uncertain, lost, shelve, acknowledge
    value: float


def new_watch() -> ChannelWatch:
    return ChannelWatch(3, "temperature", bands=BANDS, baseline=None, limits=ALARMS)


def other(watch: ChannelWatch, step: Step) -> list[Change]:
    if step.what == "lost":
        return watch.lose(step.at_ns)
    if step.what == "shelve":
        until_ns = step.at_ns + 7 * SECOND
        return watch.command(
            "high", "shelve", step.at_ns, "instructor", reason="being stirred", until_ns=until_ns
        )
    if step.what == "acknowledge":
        key = ALARMS[int(step.value) % len(ALARMS)].key
        return watch.acknowledge(key, step.at_ns, "instructor")
    return watch.miss(step.at_ns, step.what)


def finished(watch: ChannelWatch, found: list[Change], steps: list[Step]) -> Found:
    end_ns = steps[-1].at_ns + 60 * SECOND
    found += watch.tick(end_ns)
    assert watch.tally is not None
    return found, watch.n_edge_changes_avoided, (watch.tally.totals(end_ns), watch.tally.n_changes)


def one_by_one(steps: list[Step]) -> Found:
    watch, found = new_watch(), []
    for step in steps:
        found += watch.take(step.value, step.at_ns) if step.what == "value" else other(watch, step)
    return finished(watch, found, steps)


def quickly(steps: list[Step], ticks: list[int]) -> Found:
    """Values within the quiet span are only heard; time is told in between."""
    watch, found = new_watch(), []
    told = iter([*sorted(ticks), 1 << 60])
    tick = next(told)
    for step in steps:
        while tick <= step.at_ns:
            found += watch.tick(tick) if watch.due_ns <= tick else []
            tick = next(told)
        if step.what != "value":
            found += other(watch, step)
        elif watch.low <= step.value < watch.high:
            found += watch.hear(step.value, step.at_ns)
        else:
            found += watch.take(step.value, step.at_ns)
    return finished(watch, found, steps)


def in_bulk(steps: list[Step], sizes: list[int]) -> tuple[Found, int]:
    """Runs of values at once where they are quiet, as the pipeline takes a chunk; and how many were."""
    watch, found, n_quiet = new_watch(), [], 0
    cut = itertools.cycle(sizes)
    rest = steps
    while rest:
        size = next(cut)
        values = list(itertools.takewhile(lambda step: step.what == "value", rest[:size]))
        if len(values) > 1 and all(watch.low <= step.value < watch.high for step in values):
            times, numbers = [step.at_ns for step in values], [step.value for step in values]
            if watch.is_quiet(times, numbers):
                watch.hear_many(times, numbers)
                n_quiet += len(values)
                rest = rest[len(values) :]
                continue
        step = rest[0]
        found += watch.take(step.value, step.at_ns) if step.what == "value" else other(watch, step)
        rest = rest[1:]
    return finished(watch, found, steps), n_quiet


STEPS = st.lists(
    st.tuples(
        st.sampled_from([1, 40, 100, 250, 250, 500, 1000, 1000, 4000, 9000]),
        st.sampled_from(["value"] * 25 + ["bad", "uncertain", "lost", "shelve", "acknowledge"]),
        st.floats(-1.0, 1.0),
        st.floats(0, 9),
    ),
    min_size=1,
    max_size=80,
)


def steps_of(parts: list[tuple[int, str, float, float]], start: float) -> list[Step]:
    """A walk with rests: neighbouring values are near each other, as a sensor's are."""
    steps, at_ms, value = [], 0, start
    for gap_ms, what, move, which in parts:
        at_ms += gap_ms
        value = min(27.0, max(17.0, value + (move if abs(move) > 0.5 else move / 50)))
        steps.append(Step(at_ms * 1_000_000, what, round(value, 2) if what == "value" else which))
    return steps


@settings(max_examples=150, deadline=None)
@given(parts=STEPS, start=st.floats(17, 27), ticks=st.lists(st.integers(0, 120_000)))
def test_the_alarms_do_not_depend_on_ticks_nor_on_what_is_only_heard(
    parts: list[tuple[int, str, float, float]], start: float, ticks: list[int]
) -> None:
    steps = steps_of(parts, start)
    assert quickly(steps, [tick * 1_000_000 for tick in ticks]) == one_by_one(steps)


@settings(max_examples=150, deadline=None)
@given(parts=STEPS, start=st.floats(17, 27), sizes=st.lists(st.integers(2, 40), min_size=1, max_size=5))
def test_the_alarms_do_not_depend_on_how_many_values_come_at_once(
    parts: list[tuple[int, str, float, float]], start: float, sizes: list[int]
) -> None:
    steps = steps_of(parts, start)
    assert in_bulk(steps, sizes)[0] == one_by_one(steps)


def test_a_calm_stretch_is_taken_at_once() -> None:
    steps = [Step(i * SECOND // 10, "value", 21.0 + 0.01 * (i % 7)) for i in range(600)]
    (changes, _, _), n_quiet = in_bulk(steps, [100])
    assert n_quiet >= 500
    assert not [one for one in changes if isinstance(one, AlarmChange) and one.limit != "stale"]


@settings(max_examples=100, deadline=None)
@given(parts=STEPS, start=st.floats(17, 27))
def test_the_journal_is_in_the_order_of_time_and_each_entry_follows_from_the_one_before(
    parts: list[tuple[int, str, float, float]], start: float
) -> None:
    changes, n_avoided, _ = one_by_one(steps_of(parts, start))
    assert n_avoided >= 0
    times = [one.at_ns for one in changes]
    assert times == sorted(times)
    states: dict[str, str] = {}
    for change in changes:
        if isinstance(change, AlarmChange):
            assert change.before == states.get(change.limit, "normal")
            states[change.limit] = change.state
