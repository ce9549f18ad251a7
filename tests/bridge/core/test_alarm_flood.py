from __future__ import annotations

import csv
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.alarm_flood import (
    FLOOD_ENDS_BELOW,
    FLOOD_STARTS_ABOVE,
    FLOOD_WINDOW_SECONDS,
    FirstOut,
    FirstOutFinder,
    FloodChange,
    FloodWatch,
    Member,
    grouped,
)
from bridge.core.readings import AlarmChange, AlarmEvent, AlarmState

REFERENCE = Path(__file__).parents[2] / "reference"
SECOND = 1_000_000_000


def change(
    at_s: float,
    bench: int = 1,
    limit: str = "high",
    *,
    channel: str = "temperature",
    event: AlarmEvent = "rise",
    state: AlarmState = "unacknowledged",
    before: AlarmState = "normal",
) -> AlarmChange:
    return AlarmChange(
        round(at_s * SECOND), bench, channel, limit, event, state, before, None, 40.0, "rule"
    )  # fmt: skip


def first_outs(changes: list[AlarmChange], *, room: bool = False) -> list[FirstOut]:
    finder = FirstOutFinder(span_seconds=5.0, scope="room" if room else "bench")
    for one in changes:
        finder.take(one)
    return finder.advance(1 << 60)


def test_the_first_of_several_is_told_with_those_that_followed() -> None:
    stale, high, low = change(10, limit="stale"), change(12, limit="high"), change(15, limit="low")
    (found,) = first_outs([low, stale, change(15.1, limit="deviation"), high])
    assert found == FirstOut(15 * SECOND, (stale,), (high, low))


def test_those_at_the_same_instant_are_all_first() -> None:
    a, b, c = change(10, limit="a"), change(10, limit="b"), change(11, limit="c")
    assert first_outs([c, b, a]) == [FirstOut(15 * SECOND, (a, b), (c,))]


def test_one_alarm_alone_is_no_first() -> None:
    assert first_outs([change(10), change(20, limit="low"), change(30, limit="stale")]) == []


def test_an_alarm_that_comes_and_goes_is_not_the_first_of_several() -> None:
    again = [change(10), change(11, before="returned unacknowledged")]
    assert first_outs(again) == []
    (found,) = first_outs([*again, change(12, limit="low")])
    assert (found.first, found.others) == ((again[0],), (change(12, limit="low"),))


def test_benches_have_nothing_to_do_with_each_other_unless_the_room_is_asked() -> None:
    changes = [change(10, 1), change(11, 2)]
    assert first_outs(changes) == []
    assert first_outs(changes, room=True) == [FirstOut(15 * SECOND, (changes[0],), (changes[1],))]


def test_what_calls_nobody_is_not_first() -> None:
    shelved = change(10, limit="low", state="shelved", before="shelved")
    returned = change(11, event="return", state="returned unacknowledged", before="unacknowledged")
    assert first_outs([shelved, returned, change(12)]) == []


CALLS = st.lists(
    st.tuples(st.integers(0, 1500), st.integers(1, 6), st.sampled_from(["high", "low", "stale"])), max_size=60
)


@given(calls=CALLS, cuts=st.lists(st.integers(0, 1500), max_size=5), order=st.randoms())
def test_what_is_told_does_not_depend_on_when_or_in_which_order_it_came(
    calls: list[tuple[int, int, str]], cuts: list[int], order: object
) -> None:
    changes = [change(at, bench, limit) for at, bench, limit in calls]
    once, parts = FirstOutFinder(), FirstOutFinder()
    flood_once, flood_parts = FloodWatch(), FloodWatch()
    for one in changes:
        once.take(one)
        flood_once.take(one)
    told: list[FirstOut] = []
    floods: list[FloodChange] = []
    start = 0
    for cut in [*sorted(cuts), 5000]:
        part = [one for one in changes if start <= one.at_ns / SECOND < cut]
        order.shuffle(part)  # type: ignore[attr-defined]
        for one in part:
            parts.take(one)
            flood_parts.take(one)
        told += parts.advance(cut * SECOND)
        floods += flood_parts.advance(cut * SECOND)
        start = cut
    assert sorted(told) == sorted(once.advance(5000 * SECOND))
    assert floods == flood_once.advance(5000 * SECOND)
    assert flood_parts.groups() == flood_once.groups()


def test_the_figures_of_a_flood_are_those_of_practice() -> None:
    with (REFERENCE / "alarm_figures.csv").open() as file:
        figures = {row["figure"]: (float(row["value"]), row["unit"]) for row in csv.DictReader(file)}
    assert figures["flood_starts_above"] == (FLOOD_STARTS_ABOVE, "alarms/10 min")
    assert figures["flood_ends_below"] == (FLOOD_ENDS_BELOW, "alarms/10 min")
    assert FLOOD_WINDOW_SECONDS == 600


def test_a_flood_begins_with_one_more_than_stated_and_ends_when_few_are_left() -> None:
    flood = FloodWatch()
    for i in range(10):
        flood.take(change(i * 10, i))
    assert flood.advance(100 * SECOND) == []
    flood.take(change(100, 11))
    flood.take(change(101, 12))
    assert flood.advance(110 * SECOND) == [FloodChange(100 * SECOND, "begins", 1)]
    assert flood.is_on
    # Calls at 0, 10 ... 90, 100, 101: five are left until the one at 70 drops out; then there are four.
    assert flood.advance(2000 * SECOND) == [FloodChange(670 * SECOND, "ends", 2)]
    assert not flood.is_on


@given(calls=CALLS)
def test_a_flood_is_on_exactly_while_the_counts_say_so(calls: list[tuple[int, int, str]]) -> None:
    flood = FloodWatch()
    for at, bench, limit in calls:
        flood.take(change(at, bench, limit))
    changes = flood.advance(5000 * SECOND)
    times = sorted(at for at, _, _ in calls)
    expected: list[tuple[int, str]] = []
    is_on = False
    for now in range(3000):  # second by second, by counting
        for i, at in enumerate(times):
            if at == now:
                window = [one for one in times[: i + 1] if now - 600 < one]
                if is_on and len([one for one in times[:i] if now - 600 < one]) < 5:
                    is_on = False
                    expected.append((now, "ends"))
                if not is_on and len(window) > 10:
                    is_on = True
                    expected.append((now, "begins"))
        if is_on and len([one for one in times if now - 600 < one <= now]) < 5:
            is_on = False
            expected.append((now, "ends"))
    assert [(one.at_ns // SECOND, one.event) for one in changes] == expected


MEMBERS = st.builds(
    Member,
    bench=st.integers(1, 8),
    channel=st.sampled_from(["temperature", "volts"]),
    limit=st.sampled_from(["high", "low", "stale"]),
    n_calls=st.integers(1, 40),
    first_ns=st.integers(0, 9),
    newest_ns=st.integers(10, 20),
)


@given(members=st.lists(MEMBERS, unique_by=lambda one: one[:3]))
def test_no_alarm_is_lost_in_a_flood_and_none_is_told_twice(members: list[Member]) -> None:
    groups = grouped(members)
    assert Counter(one for group in groups for one in group.members) == Counter(members)
    for group in groups:
        if group.by == "cause":
            assert len(group.benches) >= 3
            assert {(one.channel, one.limit) for one in group.members} == {(group.channel, group.limit)}
        assert group.benches == tuple(sorted({one.bench for one in group.members}))


def test_every_call_of_a_flood_is_counted() -> None:
    flood = FloodWatch(starts_above=2, ends_below=1)
    for i in range(30):
        flood.take(change(i, bench=1 + i % 4, limit="high"))
    flood.take(change(30, bench=9, limit="low"))
    flood.advance(31 * SECOND)
    cause, bench = flood.groups()
    assert (cause.by, cause.benches, cause.n_calls) == ("cause", (1, 2, 3, 4), 28)  # from the third on
    assert (bench.by, bench.benches, bench.n_calls) == ("bench", (9,), 1)


@pytest.mark.parametrize("ends_below", [0, 11])
def test_a_flood_that_would_end_before_it_begins_is_refused(ends_below: int) -> None:
    with pytest.raises(ValueError, match="ends_below"):
        FloodWatch(ends_below=ends_below)
