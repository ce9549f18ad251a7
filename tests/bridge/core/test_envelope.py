from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from bridge.core.envelope import BLOCK_NS, LEAST_OF_BLOCK, MAX_CORNERS, N_BLOCKS, LowerEnvelope

points = st.lists(st.tuples(st.integers(0, 10**12), st.integers(-(10**9), 10**12)), min_size=1, max_size=60)


@given(points=points)
@example(points=[(0, 0)] * 15 + [(32_000_000_001, 0), (32_000_000_001, 1)])  # two blocks meet at one time
def test_the_line_lies_beneath_every_point_and_touches_one(points: list[tuple[int, int]]) -> None:
    envelope = LowerEnvelope()
    for time, above in sorted(points):
        envelope.add(time, above)
    under = envelope.under(-1e9, 1e9)
    gaps = [above - under.at_zero_ns - under.slope * time for time, above in points]
    size = 1e-9 * (1 + max(abs(above) + abs(under.slope * time) for time, above in points))
    assert min(gaps) >= -size
    assert min(gaps) <= size


def test_points_on_a_line_with_some_above_it_give_the_line() -> None:
    envelope = LowerEnvelope()
    for i in range(1000):
        envelope.add(i * 10**8, 5_000_000 + i * 20_000 + (i % 7) * 3_000_000)
    under = envelope.under(-0.05, 0.05)
    assert under.slope == pytest.approx(200e-6, rel=1e-9)
    assert under.at_zero_ns == pytest.approx(5_000_000, abs=1)


def test_the_line_is_the_closest_in_sum_of_all_beneath_the_points() -> None:
    data = [(0, 40), (10, 0), (20, 55), (30, 30), (40, 10), (50, 90), (60, 20)]
    envelope = LowerEnvelope()
    for time, above in data:
        envelope.add(time, above)
    under = envelope.under(-1e9, 1e9)
    best = min(
        sum(y - b - a * x for x, y in data)
        for a in [i / 1000 for i in range(-4000, 4000)]
        for b in [min(y - a * x for x, y in data)]
    )
    assert sum(y - under.at_zero_ns - under.slope * x for x, y in data) <= best + 1e-6


def test_lines_that_had_waited_at_the_beginning_or_wait_at_the_end_are_no_skew() -> None:
    envelope = LowerEnvelope()
    for i in range(20):
        envelope.add(i * 10**9, (20 - i) * 10**9)  # all came at once, at 20 s
    for i in range(20, 60):
        envelope.add(i * 10**9, i * 100_000)
    for i in range(60, 65):
        envelope.add(i * 10**9, (i - 59) * 3 * 10**9)
    assert envelope.under(-0.05, 0.05).slope == pytest.approx(100e-6, rel=1e-6)


def test_only_the_newest_minutes_count_and_little_is_kept() -> None:
    envelope = LowerEnvelope()
    step = BLOCK_NS // (2 * LEAST_OF_BLOCK)
    for i in range(40 * 2 * LEAST_OF_BLOCK):
        slope = -400e-6 if i < 20 * 2 * LEAST_OF_BLOCK else 300e-6
        envelope.add(i * step, 10**10 + round(slope * i * step))
    under = envelope.under(-0.05, 0.05)
    assert under.slope == pytest.approx(300e-6, rel=1e-6)
    assert under.span_ns <= (N_BLOCKS + 2) * BLOCK_NS


def test_a_hull_of_ever_more_corners_is_thinned() -> None:
    envelope = LowerEnvelope()
    for i in range(10_000):
        envelope.add(i * 10**6, i * i)
    assert len(envelope._hull) <= MAX_CORNERS


def test_without_points_there_is_no_line() -> None:
    with pytest.raises(ValueError, match="no points"):
        LowerEnvelope().under(-1, 1)
