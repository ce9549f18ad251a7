"""One time grid for all benches."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.comparing.alignment import Alignment, aligned, cut_to, grid_of, values_at
from tests.dashboard.comparing.made import CASES, series


def test_straight_lines_lead_from_reading_to_reading_and_nowhere_beyond() -> None:
    one = series([0, 1, 2, 10, 11], [0.0, 10.0, 20.0, 30.0, 40.0], u=0.1)
    values, u = values_at(one, np.array([-0.1, 0.0, 0.5, 2.0, 5.0, 10.0, 10.5, 11.0, 11.1]))
    assert values.tolist() == pytest.approx([np.nan, 0, 5, 20, np.nan, 30, 35, 40, np.nan], nan_ok=True)
    assert u[2] == pytest.approx(0.1)
    assert np.isnan(u[4])


def test_the_previous_value_is_held_up_to_the_next_reading_but_not_in_a_gap() -> None:
    one = series([0, 1, 2, 10, 11], [0.0, 10.0, 20.0, 30.0, 40.0])
    values, _ = values_at(one, np.array([0.9, 1.0, 2.5, 10.9, 11.0]), "previous")
    assert values.tolist() == pytest.approx([0, 10, np.nan, 30, 40], nan_ok=True)


def test_of_readings_at_one_instant_the_last_counts() -> None:
    values, _ = values_at(series([0, 1, 1, 2], [0.0, 5.0, 9.0, 9.0]), np.array([1.0, 1.5]))
    assert values.tolist() == [9.0, 9.0]


@given(st.lists(st.floats(-50, 50), min_size=2, max_size=20), st.lists(st.floats(0, 19), max_size=20))
def test_an_interpolated_value_lies_between_its_readings(values: list[float], times: list[float]) -> None:
    found, _ = values_at(series(range(len(values)), values), np.array(times))
    for at, value in zip(times, found, strict=True):
        if at > len(values) - 1:
            assert np.isnan(value)
        else:
            ends = values[int(at)], values[min(int(at) + 1, len(values) - 1)]
            assert min(ends) - 1e-9 <= value <= max(ends) + 1e-9


def test_the_grid_steps_as_the_slowest_bench_and_shows_gaps() -> None:
    benches = {
        1: series(np.arange(0, 20, 0.1), np.arange(0, 20, 0.1)),
        2: series([0, 1, 2, 3, 4, 12, 13, 14, 15], np.zeros(9), bench=2),
    }
    grid = grid_of(benches)
    assert grid.seconds[:3].tolist() == [0, 1, 2]
    assert grid.benches == (1, 2)
    assert grid.values[:, 0] == pytest.approx(grid.seconds)
    assert np.isnan(grid.values[5:12, 1]).all()
    assert not np.isnan(grid.values[12:16, 1]).any()


def test_differences_are_to_the_median_of_at_least_three() -> None:
    benches = {n: series(range(5 + n), np.full(5 + n, float(n**2)), bench=n) for n in (1, 2, 3)}
    grid = grid_of(benches)
    assert grid.differences[0].tolist() == [-3, 0, 5]
    assert np.isnan(grid.differences[-1]).all()


def test_an_uncertain_time_makes_a_steep_course_uncertain() -> None:
    benches = {
        1: series(range(50), 2.0 * np.arange(50), u=0.3),
        2: series(range(50), np.zeros(50), bench=2, u=0.3),
    }
    grid = grid_of(benches, u_zero={1: 0.2, 2: 0.2})
    assert grid.u[20].tolist() == pytest.approx([0.5, 0.3])


def test_what_has_no_grid_is_refused() -> None:
    with pytest.raises(ValueError, match="two readings"):
        grid_of({1: series([0], [1])})
    with pytest.raises(ValueError, match="several units"):
        grid_of({1: series([0, 1], [1, 1]), 2: series([0, 1], [1, 1], bench=2, unit="K")})


def test_groups_that_started_apart_are_compared_since_they_poured() -> None:  # tests/cases: different-starts
    case = CASES["different-starts"]
    benches = {}
    for bench, letter, start, step in zip((1, 4), "AD", case["start_s"], case["step_s"], strict=True):
        values = [value for (value,) in case[f"readings_{letter}"]]
        benches[bench] = series(start + step * np.arange(len(values)), values, bench=bench)
    poured = dict(zip((1, 4), map(float, case["start_s"]), strict=True))
    since, events = aligned(benches, Alignment(kind="onset", by_hand=poured))
    assert {event.by for event in events.values()} == {"hand"}
    grid = grid_of(since, from_seconds=0.0, to_seconds=120.0, step=15.0)
    assert (grid.values[0] - grid.values[-1]).tolist() == pytest.approx(case["drop_in_120_s"], abs=1e-9)
    together = grid_of(aligned(benches, Alignment())[0])
    both = np.isfinite(together.values).all(axis=1)
    assert together.seconds[both].min() >= 95.0


def test_a_bench_without_the_event_is_named_and_not_aligned() -> None:
    rng, t = np.random.default_rng(1), np.arange(100.0)
    benches = {
        1: series(t, np.where(t > 40, 5.0, 0.0) + 0.1 * rng.standard_normal(100)),
        2: series(t, 0.1 * rng.standard_normal(100), bench=2),
    }
    since, events = aligned(benches, Alignment(kind="onset"))
    assert list(since) == [1]
    assert events[2].by == "none"
    late, _ = aligned(benches, Alignment(kind="onset", from_seconds=60.0))
    assert late == {}


def test_a_window_cuts_every_bench() -> None:
    cut = cut_to({1: series(range(10), range(10))}, 2.0, 4.0)
    assert cut[1].seconds.tolist() == [2, 3, 4]
    assert len(cut_to(cut, None, None)[1]) == 3
