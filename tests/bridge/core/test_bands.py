from __future__ import annotations

import itertools
import math

from hypothesis import given
from hypothesis import strategies as st

from bridge.core.bands import HeldBand

EDGES = (22.0, 25.0, 30.0)


def bands(values: list[float], *, deadband: float = 0.0) -> list[int]:
    held = HeldBand(EDGES, deadband=deadband)
    return [held.take(value) for value in values]


def n_flips(found: list[int]) -> int:
    return sum(a != b for a, b in itertools.pairwise(found))


def test_a_value_on_an_edge_is_in_the_band_above_it() -> None:
    assert bands([21.9, 22.0, 24.99, 25.0, 31.0]) == [0, 1, 1, 2, 3]


def test_a_band_is_left_downwards_only_below_the_edge_less_the_deadband() -> None:
    assert bands([25.0, 24.6, 24.5, 24.49], deadband=0.5) == [2, 2, 2, 1]


def test_a_far_fall_passes_several_bands_at_once() -> None:
    assert bands([31.0, 21.0], deadband=0.5) == [3, 0]


def test_a_far_fall_still_holds_the_band_whose_edge_is_a_deadband_near() -> None:
    assert bands([31.0, 24.8], deadband=0.5) == [3, 2]


def test_a_lost_value_leaves_no_band_and_the_next_one_starts_afresh() -> None:
    held = HeldBand(EDGES, deadband=1.0)
    held.take(25.0)
    held.lose()
    assert held.band is None
    assert held.take(24.5) == 1


@given(
    centre=st.floats(15, 35),
    noise=st.lists(st.floats(-0.5, 0.5), min_size=2, max_size=200),
    deadband=st.floats(1.001, 3),
)
def test_a_deadband_wider_than_the_noise_never_flips_back_and_forth(
    centre: float, noise: list[float], deadband: float
) -> None:
    found = bands([centre + n for n in noise], deadband=deadband)
    assert n_flips(found) <= 1


@given(edge=st.sampled_from(EDGES), size=st.floats(0.01, 0.5), n=st.integers(2, 50))
def test_without_a_deadband_noise_at_an_edge_flips_every_time(edge: float, size: float, n: int) -> None:
    assert n_flips(bands([edge + size * (-1) ** i for i in range(n)])) == n - 1


@given(values=st.lists(st.floats(-1e3, 1e3), min_size=1), deadband=st.floats(0, 5))
def test_the_held_band_always_explains_its_value(values: list[float], deadband: float) -> None:
    held = HeldBand(EDGES, deadband=deadband)
    for value in values:
        band = held.take(value)
        low = EDGES[band - 1] - deadband if band else -math.inf
        high = EDGES[band] if band < len(EDGES) else math.inf
        assert low - 1e-9 <= value < high


def held_over(times_values: list[tuple[int, float]], *, dwell_ns: int) -> list[tuple[int, int]]:
    """Each change of the band with its instant."""
    held, changes = HeldBand(EDGES, deadband=0.0, dwell_ns=dwell_ns), []
    for at_ns, value in times_values:
        if held.due_ns <= at_ns:
            due_ns = held.due_ns
            changes.append((due_ns, held.fire()))
        before = held.band
        band = held.take(value, at_ns)
        if band != before:
            changes.append((at_ns, band))
    return changes


def test_a_band_that_was_entered_is_held_for_the_dwell() -> None:
    values = [(0, 21.0), (1, 23.0), (12, 21.0), (13, 23.0), (14, 21.0), (40, 21.0)]
    # entered at 0; free from 10 on, when 23 still asks; free again at 20, when 21 asks
    assert held_over(values, dwell_ns=10) == [(0, 0), (10, 1), (20, 0)]


def test_a_value_that_is_back_before_the_dwell_ends_changes_nothing() -> None:
    assert held_over([(0, 21.0), (1, 23.0), (9, 21.0), (50, 21.5)], dwell_ns=10) == [(0, 0)]


def test_a_band_held_for_long_is_left_at_once() -> None:
    assert held_over([(0, 21.0), (50, 26.0)], dwell_ns=10) == [(0, 0), (50, 2)]


def test_a_missing_value_takes_the_wish_for_another_band_back() -> None:
    held = HeldBand(EDGES, deadband=0.0, dwell_ns=10)
    held.take(21.0, 0)
    held.take(23.0, 1)
    assert held.due_ns == 10
    assert math.isnan(held.low)
    held.miss()
    assert (held.due_ns > 10**18, held.low, held.high) == (True, -math.inf, 22.0)
    assert held.take(23.0, 12) == 1


@given(values=st.lists(st.tuples(st.integers(1, 5), st.floats(15, 35)), min_size=1, max_size=80))
def test_no_band_is_held_for_less_than_the_dwell(values: list[tuple[int, float]]) -> None:
    times = itertools.accumulate(gap for gap, _ in values)
    changes = held_over([(at, value) for at, (_, value) in zip(times, values, strict=True)], dwell_ns=7)
    assert all(later - at >= 7 for (at, _), (later, _) in itertools.pairwise(changes))
