"""Generated noisy sessions with known truth; `python -m tests.bridge.core.made_sessions` makes many more."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.alarm_given import AlarmGiven
from bridge.core.alarm_proposals import rises_over
from bridge.core.readings import AlarmChange, Change
from bridge.core.watch import ChannelWatch

from .made_sessions import SECOND, made_session, prove, watched


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
