from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.history import History, Row

SECOND = 10**9


def history_of(readings: list[tuple[float, float | None]], **bounds: int) -> History:
    history = History(**bounds)
    for seconds, value in readings:
        history.add(round(seconds * SECOND), value)
    return history


def steady(n: int, every_seconds: float = 0.1) -> list[tuple[float, float | None]]:
    return [(i * every_seconds, 20.0) for i in range(n)]


def drawn(rows: list[Row | None]) -> list[Row]:
    return [row for row in rows if row is not None]


def test_few_readings_come_out_one_by_one() -> None:
    rows = history_of([(1, 20.0), (2, 21.0), (3, 19.5)]).rows(0, 10 * SECOND, 100)
    assert rows == [(SECOND, 20.0, 20.0), (2 * SECOND, 21.0, 21.0), (3 * SECOND, 19.5, 19.5)]


def test_a_column_holds_the_least_and_the_greatest_of_its_readings() -> None:
    readings: list[tuple[float, float | None]] = [(i, float(i % 10)) for i in range(100)]
    rows = history_of(readings).rows(0, 100 * SECOND - 1, 10)
    assert rows == [(i * 10 * SECOND, 0.0, 9.0) for i in range(10)]


def test_a_missing_value_breaks_the_curve() -> None:
    rows = history_of([(1, 20.0), (2, None), (3, 21.0)]).rows(0, 10 * SECOND, 100)
    assert rows == [(SECOND, 20.0, 20.0), None, (3 * SECOND, 21.0, 21.0)]


def test_a_missing_value_breaks_the_curve_also_when_it_was_looked_at_meanwhile() -> None:
    history = history_of([(1, 20.0), (2, None)])
    assert history.rows(0, 10 * SECOND, 100) == [(SECOND, 20.0, 20.0)]
    history.add(3 * SECOND, 21.0)
    assert history.rows(0, 10 * SECOND, 100) == [(SECOND, 20.0, 20.0), None, (3 * SECOND, 21.0, 21.0)]


def test_a_silence_of_more_than_three_seconds_breaks_the_curve_of_a_fast_board() -> None:
    before = steady(20)
    assert None not in history_of([*before, (4.8, 20.0)]).rows(0, 10 * SECOND, 100)
    assert None in history_of([*before, (5.0, 20.0)]).rows(0, 10 * SECOND, 100)


def test_a_slow_board_is_not_taken_for_one_that_falls_silent() -> None:
    slow: list[tuple[float, float | None]] = [(10.0 * i, 20.0) for i in range(10)]
    assert None not in history_of(slow).rows(0, 1000 * SECOND, 100)
    assert None not in history_of([*slow, (119.0, 20.0)]).rows(0, 1000 * SECOND, 100)
    assert None in history_of([*slow, (121.0, 20.0)]).rows(0, 1000 * SECOND, 100)


def test_lines_that_came_in_one_chunk_do_not_make_the_usual_interval_nothing() -> None:
    bursts: list[tuple[float, float | None]] = [(10.0 * i, 20.0) for i in range(10) for _ in range(5)]
    assert None not in history_of(bursts).rows(0, 1000 * SECOND, 100)


def test_a_spike_outlives_any_thinning() -> None:
    readings = steady(20_000)
    readings[7_777] = (readings[7_777][0], 99.0)
    rows = drawn(history_of(readings, max_fine=64, max_columns=64).rows(0, 2000 * SECOND, 50))
    assert max(row[2] for row in rows) == 99.0
    assert len(rows) <= 50


def test_the_newest_part_is_kept_reading_by_reading() -> None:
    history = history_of(steady(20_000), max_fine=128, max_columns=64)
    rows = history.rows(round(1995.05 * SECOND), 2000 * SECOND, 200)
    assert len(rows) == 49


def test_rows_end_where_they_were_asked_to() -> None:
    rows = drawn(history_of(steady(1000)).rows(20 * SECOND, 30 * SECOND, 1000))
    assert rows[0][0] == 20 * SECOND
    assert rows[-1][0] == 30 * SECOND


def test_an_empty_history_has_no_rows() -> None:
    assert History().rows(0, SECOND, 10) == []
    assert History().first_ns is None


def test_values_that_are_not_finite_never_come_out() -> None:
    rows = history_of([(1, float("inf")), (2, float("nan")), (3, 20.0)]).rows(0, 10 * SECOND, 10)
    assert drawn(rows) == [(3 * SECOND, 20.0, 20.0)]


@settings(deadline=None)
@given(
    gaps=st.lists(st.integers(0, 5000), max_size=300),
    values=st.lists(st.none() | st.floats(-1e6, 1e6), min_size=300, max_size=300),
    n=st.integers(2, 60),
    looks=st.sets(st.integers(0, 300), max_size=5),
)
def test_rows_keep_their_number_their_order_and_the_extremes(
    gaps: list[int], values: list[float | None], n: int, looks: set[int]
) -> None:
    history = History(max_fine=16, max_columns=16, max_pending=7)
    at_ns = 0
    taken: list[float] = []
    for i, gap in enumerate(gaps):
        at_ns += gap * 10**6
        history.add(at_ns, values[i])
        if (value := values[i]) is not None:
            taken.append(value)
        if i in looks:
            history.rows(0, at_ns, n)
    rows = history.rows(0, at_ns, n)
    assert len(rows) <= n
    times = [row[0] for row in drawn(rows)]
    assert times == sorted(times)
    assert all(row[1] <= row[2] for row in drawn(rows))
    assert min((row[1] for row in drawn(rows)), default=None) == min(taken, default=None)
    assert max((row[2] for row in drawn(rows)), default=None) == max(taken, default=None)
    assert None not in (rows[:1] + rows[-1:])
