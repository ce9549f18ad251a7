"""The order in which one person should go, by the rule in `bridge.core.call_list`."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.alarm_given import AlarmPriority
from bridge.core.call_list import (
    FURTHER_BENCH_NS,
    MAX_CALLS,
    URGENCY,
    BenchCall,
    Call,
    benches_in_order,
    in_order,
)

MINUTE = 60 * 10**9


def call(
    name: str, priority: AlarmPriority = "medium", *, since_minutes: float = 0.0, n_benches: int = 1,
    attended: bool = False,
) -> Call:  # fmt: skip
    since_ns = round(since_minutes * MINUTE)
    benches = tuple(BenchCall(n + 1, since_ns, attended=attended) for n in range(n_benches))
    return Call(name, "finding", "", name, "", priority, benches)


def order(*calls: Call) -> list[str]:
    return [one.id for one in in_order(calls)[0]]


def test_the_higher_priority_comes_first_however_young_it_is() -> None:
    calls = call("old", "low"), call("new", "high", since_minutes=50), call("between", since_minutes=20)
    assert order(*calls) == ["new", "between", "old"]


def test_within_a_priority_who_has_waited_longest_comes_first() -> None:
    calls = call("third", since_minutes=9), call("first", since_minutes=1), call("second", since_minutes=5)
    assert order(*calls) == ["first", "second", "third"]


@pytest.mark.parametrize(("minutes", "first"), [(3.9, "shared"), (4.1, "alone")])
def test_two_further_benches_count_as_four_minutes_of_waiting(minutes: float, first: str) -> None:
    calls = call("alone"), call("shared", since_minutes=minutes, n_benches=3)
    assert order(*calls)[0] == first


def test_what_was_attended_to_stands_behind_all_else() -> None:
    calls = call("seen", "high", attended=True), call("hint", "low", since_minutes=30)
    assert order(*calls) == ["hint", "seen"]


def test_of_a_call_that_was_attended_to_in_part_the_other_benches_count() -> None:
    benches = [BenchCall(1, 0, attended=True), BenchCall(2, 5 * MINUTE), BenchCall(3, 0, attended=True)]
    part = call("part")._replace(benches=benches_in_order(benches))
    assert [one.bench for one in part.benches] == [2, 1, 3]
    assert not part.attended
    assert part.since_ns == 5 * MINUTE
    assert order(part, call("older", since_minutes=4)) == ["older", "part"]
    assert order(part, call("younger", since_minutes=6)) == ["part", "younger"]


def test_no_more_than_the_bound_are_listed_and_the_rest_is_counted() -> None:
    calls = [call(f"{n}", since_minutes=n) for n in range(MAX_CALLS + 7)]
    shown, n_more = in_order(reversed(calls))
    assert list(shown) == calls[:MAX_CALLS]
    assert n_more == 7


ANY_CALL: st.SearchStrategy[dict[str, Any]] = st.fixed_dictionaries(
    {
        "priority": st.sampled_from(list(URGENCY)),
        "since_minutes": st.integers(0, 60),
        "n_benches": st.integers(1, 8),
        "attended": st.booleans(),
    }
)
SOME_CALLS = st.lists(ANY_CALL, max_size=12).map(
    lambda given: [call(f"{i}", **one) for i, one in enumerate(given)]
)


@given(calls=SOME_CALLS)
def test_a_more_urgent_call_is_never_behind_a_less_urgent_one_that_is_younger_and_shared_by_fewer(
    calls: list[Call],
) -> None:
    shown, _ = in_order(calls)
    for i, behind in enumerate(shown):
        for before in shown[:i]:
            is_more_urgent = URGENCY[behind.priority] < URGENCY[before.priority]
            is_older_and_shared_by_more = behind.since_ns < before.since_ns and len(behind.benches) > len(
                before.benches
            )
            as_urgent = URGENCY[behind.priority] <= URGENCY[before.priority]
            if behind.attended == before.attended:
                assert not is_more_urgent
                assert not (as_urgent and is_older_and_shared_by_more)
            else:
                assert behind.attended


@given(calls=SOME_CALLS, random=st.randoms())
def test_the_order_does_not_depend_on_the_order_in_which_they_came(calls: list[Call], random: Any) -> None:
    mixed = list(calls)
    random.shuffle(mixed)
    assert in_order(mixed) == in_order(calls)


@given(calls=SOME_CALLS, newcomer=ANY_CALL)
def test_a_call_that_comes_or_goes_leaves_the_others_in_their_order(
    calls: list[Call], newcomer: dict[str, Any]
) -> None:
    new = call("new", **newcomer)
    assert [one for one in order(*calls, new) if one != "new"] == order(*calls)


@given(calls=SOME_CALLS)
def test_a_call_that_one_more_bench_shares_never_falls_behind(calls: list[Call]) -> None:
    for i, one in enumerate(calls):
        joined = BenchCall(99, one.since_ns, attended=one.attended)
        more = one._replace(benches=(*one.benches, joined))
        others = calls[:i] + calls[i + 1 :]
        assert order(*others, more).index(one.id) <= order(*others, one).index(one.id)
    assert FURTHER_BENCH_NS > 0
