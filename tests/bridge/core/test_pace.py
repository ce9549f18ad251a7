from __future__ import annotations

import pytest

from bridge.core.pace import Pace

SECOND = 1_000_000_000


def pace_of(*arrivals: tuple[float, int]) -> Pace:
    pace = Pace()
    for at_seconds, n_lines in arrivals:
        pace.take(n_lines, round(at_seconds * SECOND))
    return pace


def test_a_burst_of_four_lines_each_second_is_four_lines_a_second() -> None:
    pace = pace_of(*((float(i), 4) for i in range(8)))
    assert pace.lines_per_second(7 * SECOND) == pytest.approx(4.0)
    assert pace.usual_interval_ns == SECOND


def test_a_line_each_second_is_old_after_three_seconds() -> None:
    pace = pace_of(*((float(i), 1) for i in range(8)))
    assert not pace.is_old(round(9.99 * SECOND))
    assert pace.is_old(10 * SECOND)
    assert pace.lines_per_second(10 * SECOND) == 0.0


def test_a_line_each_ten_seconds_is_old_after_thirty() -> None:
    pace = pace_of(*((10.0 * i, 1) for i in range(5)))
    assert not pace.is_old(69 * SECOND)
    assert pace.is_old(70 * SECOND)
    assert pace.lines_per_second(41 * SECOND) == pytest.approx(0.1)


def test_a_fast_board_still_has_three_seconds() -> None:
    pace = pace_of(*((0.01 * i, 1) for i in range(50)))
    assert pace.old_after_ns == 3 * SECOND
    assert pace.lines_per_second(round(0.5 * SECOND)) == pytest.approx(100.0, rel=0.01)


def test_before_the_first_line_nothing_is_old() -> None:
    assert not Pace().is_old(100 * SECOND)
    assert Pace().lines_per_second(100 * SECOND) == 0.0


def test_a_break_is_no_interval() -> None:
    pace = pace_of((0, 1), (1, 1), (2, 1))
    pace.restart()
    for i in range(3):
        pace.take(1, (40 + i) * SECOND)
    assert pace.usual_interval_ns == SECOND


def test_two_arrivals_of_the_same_instant_are_one() -> None:
    pace = pace_of((0, 1), (1, 1), (1, 2), (2, 1))
    assert pace.usual_interval_ns == SECOND
    assert pace.lines_per_second(2 * SECOND) == pytest.approx(2.0)
