"""What a check keeps of a session: bounded, spread, whatever the order and the repetitions."""

from __future__ import annotations

import random
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.checking.kept import MAX_RECORDS, N_RECENT, KeptRecords
from bridge.core.printed import Printed, printed

COUNTS = st.lists(st.integers(0, 4095), min_size=1, max_size=400)


def number(text: str) -> Printed:
    one = printed(text)
    assert one is not None
    return one


def kept_of(counts: list[int]) -> KeptRecords:
    kept = KeptRecords(has_count=True, has_volts=False, has_value=True)
    for count in counts:
        kept.take(number(str(count)), None, number(f"{count * 0.1:.2f}"))
    return kept


@given(counts=COUNTS, seed=st.integers(0, 9))
def test_what_is_kept_depends_on_which_records_came_and_nothing_else(counts: list[int], seed: int) -> None:
    again = [count for count in counts for _ in range(2)]
    random.Random(seed).shuffle(again)
    assert kept_of(again).records == kept_of(counts).records


@given(counts=COUNTS)
def test_both_ends_of_the_range_are_kept_and_the_rest_is_bounded(counts: list[int]) -> None:
    records = kept_of(counts).records
    assert records[0][0] == min(counts)
    assert records[-1][0] == max(counts)
    assert len(records) <= MAX_RECORDS + 2
    assert len(records) == len(set(records))


def test_every_record_is_kept_while_there_is_room() -> None:
    assert len(kept_of(list(range(MAX_RECORDS))).records) == MAX_RECORDS


def test_many_records_are_spread_over_the_range() -> None:
    records = kept_of(list(range(4096))).records
    counts = [record[0] for record in records if record[0] is not None]
    assert len(counts) >= MAX_RECORDS // 2
    assert max(b - a for a, b in pairwise(counts)) <= 64


def test_the_newest_are_the_last_that_came_and_a_repeated_one_is_new_again() -> None:
    kept = kept_of([*range(100), 60])
    newest = [record[0] for record in kept.recent]
    assert len(newest) == N_RECENT
    assert newest[-2:] == [99, 60]
    assert newest.count(60) == 1


def test_a_repeated_record_changes_no_version() -> None:
    kept = kept_of([1, 2, 3])
    version = kept.version, kept.recent_version
    kept.take(number("2"), None, number("0.20"))
    assert (kept.version, kept.recent_version) == version


@pytest.mark.parametrize("count", [None, Printed("nan", None, 0)])
def test_a_record_that_lacks_a_number_is_not_kept(count: Printed | None) -> None:
    kept = KeptRecords(has_count=True, has_volts=False, has_value=True)
    assert kept.take(count, None, number("1.5")) is None
    assert kept.records == []


def test_the_largest_number_of_decimals_counts() -> None:
    kept = KeptRecords(has_count=True, has_volts=False, has_value=True)
    for text in ("1.5", "1.25", "2.0"):
        kept.take(number("7"), None, number(text))
    assert kept.decimals == [0, 0, 2]
