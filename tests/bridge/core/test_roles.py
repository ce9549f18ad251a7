from __future__ import annotations

from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.roles import RoleFound, refined, roles_of

SECOND = 1_000_000_000
COUNTS = [512, 530, 498, 611, 377, 720, 512, 505]


def role(
    numbers: Sequence[float | None], name: str = "column 1", unit: str = "", every_ns: int = SECOND
) -> RoleFound:
    at_ns = [i * every_ns for i in range(len(numbers))]
    (found,) = roles_of([name], [unit], [numbers], at_ns)
    return found


@pytest.mark.parametrize(
    ("most", "width"), [(17, 8), (255, 8), (256, 9), (1023, 10), (1024, 11), (4095, 12), (65535, 16)]
)
def test_whole_numbers_from_zero_are_a_count_of_the_least_width_that_holds(most: int, width: int) -> None:
    assert role([3, most, 5, 0, most - 1]) == RoleFound("count", 0, width)


@pytest.mark.parametrize("numbers", [[-1, 5, 3], [5, 70000, 3], [5, 2.5, 3]])
def test_other_numbers_are_no_count(numbers: list[float]) -> None:
    assert role(numbers).role == "value"


def test_a_running_number_is_an_index_though_it_starts_anew_or_misses_one() -> None:
    assert role([5, 6, 7, 8]).role == "index"
    assert role([21, 22, 23, 24, 25, 1, 2, 3, 5, 6, 7]).role == "index"
    assert role([5, 6, 8, 9, 12, 13]).role != "index"


@pytest.mark.parametrize(
    ("per_second", "clock_ns"), [(1.0, SECOND), (1000.0, SECOND // 1000), (1_000_000.0, 1000)]
)
def test_a_clock_is_judged_against_the_times_of_arrival(per_second: float, clock_ns: int) -> None:
    numbers = [17 + round(i * 2.003 * per_second, 3) for i in range(8)]
    assert role(numbers, every_ns=2 * SECOND) == RoleFound("clock", clock_ns)


def test_a_clock_that_passes_its_32_bits_or_starts_anew_is_a_clock() -> None:
    assert role([4294965000, 4294966000, 4294967000, 704, 1704]) == RoleFound("clock", 1_000_000)
    assert role([20000, 21000, 22000, 300, 1300, 2300]) == RoleFound("clock", 1_000_000)


def test_a_rising_number_that_keeps_no_time_is_no_clock() -> None:
    assert role([100, 140, 190, 260, 300, 390]).role == "count"


def test_a_running_number_once_a_second_is_a_clock_only_where_it_is_called_so() -> None:
    assert role([1, 2, 3, 4, 5]).role == "index"
    assert role([1, 2, 3, 4, 5], name="time") == RoleFound("clock", SECOND)
    assert role([1, 2, 3, 4, 5], unit="s") == RoleFound("clock", SECOND)


def test_without_times_a_clock_is_known_by_its_unit_or_name() -> None:
    assert role([1000, 1500, 2000], unit="ms", every_ns=0) == RoleFound("clock", 1_000_000)
    assert role([1000, 1500, 2000], name="millis", every_ns=0) == RoleFound("clock", 1_000_000)
    assert role([1000, 1500, 2000], every_ns=0).role == "count"


def test_the_unit_says_what_a_number_is() -> None:
    assert role([2.5], unit="V").role == "volts"
    assert role([2500, 2400], unit="mV").role == "volts"
    assert role([25, 26, 27], unit="°C").role == "value"
    assert role([20, 35, 30], unit="ms").role == "value"
    assert role([512, 513], unit="").role == ""


def test_volts_follow_a_count_and_stay_within_a_supply() -> None:
    volts = [round(count * 5 / 1024, 2) for count in COUNTS]
    degrees = [round(count * 500 / 1024, 1) for count in COUNTS]
    at_ns = [i * SECOND for i in range(len(COUNTS))]
    found = roles_of(["a", "b", "c"], ["", "", ""], [COUNTS, volts, degrees], at_ns)
    assert [one.role for one in found] == ["count", "volts", "value"]
    unlike = [1.0, 1.2, 0.9, 1.1, 1.3, 1.0, 1.2, 1.1]
    assert [one.role for one in roles_of(["a", "b"], ["", ""], [COUNTS, unlike], at_ns)] == ["count", "value"]


def test_millivolts_beside_their_count_are_no_second_count() -> None:
    millivolts = [round(count * 5000 / 1024) for count in COUNTS]
    at_ns = [i * SECOND for i in range(len(COUNTS))]
    found = roles_of(["a", "b"], ["", ""], [COUNTS, millivolts], at_ns)
    assert [one.role for one in found] == ["count", "value"]


def test_a_name_says_what_a_whole_number_is() -> None:
    assert role([40, 41, 40], name="Hum").role == "value"
    assert role([40, 41, 40], name="raw").role == "count"


def test_numbers_printed_with_decimals_are_no_count_though_they_are_whole() -> None:
    at_ns = [0, SECOND, 2 * SECOND]
    (found,) = roles_of(["column 1"], [""], [[45.0, 45.0, 44.0]], at_ns, decimals=[2])
    assert found.role == "value"


def test_missing_numbers_do_not_count() -> None:
    assert role([512, None, 513, None, 700]).role == "count"
    assert role([None, None, None, 5]).role == ""


def test_more_lines_make_a_count_wider_and_tell_volts_among_values() -> None:
    count, wider = RoleFound("count", 0, 10), RoleFound("count", 0, 12)
    before = (count, RoleFound("value"), RoleFound("value"), RoleFound(), RoleFound("index"))
    after = (wider, RoleFound("count", 0, 8), RoleFound("volts"), RoleFound("index"), count)
    wanted = (wider, RoleFound("value"), RoleFound("volts"), RoleFound("index"), RoleFound("index"))
    assert refined(before, after, [0.0, 0.0, 5.0, 9.0, 9.0]) == wanted
    assert refined((wider,), (count,), [4095.0]) == (wider,)
    assert refined((RoleFound("value"),), (RoleFound("volts"),), [21.0]) == (RoleFound("value"),)


@given(
    columns=st.lists(
        st.lists(st.none() | st.floats(-1e12, 1e12) | st.integers(-5, 70000), min_size=9, max_size=9),
        min_size=1, max_size=4,
    ),
    steps=st.lists(st.integers(0, 3 * SECOND), min_size=9, max_size=9),
)  # fmt: skip
def test_any_numbers_have_roles(columns: list[list[float | None]], steps: list[int]) -> None:
    at_ns = [sum(steps[:i]) for i in range(9)]
    found = roles_of([""] * len(columns), [""] * len(columns), columns, at_ns)
    assert len(found) == len(columns)
    assert all(8 <= one.width_bits <= 16 for one in found if one.role == "count")
    assert all(one.clock_ns > 0 for one in found if one.role == "clock")
