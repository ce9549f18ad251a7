from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.exporting.drawing.scales import Scale, padded, tick_texts, ticks

FINITE = st.floats(-1e9, 1e9, allow_nan=False)


@pytest.mark.parametrize(
    ("low", "high", "values"),
    [
        (0.0, 20.0, [0.0, 5.0, 10.0, 15.0, 20.0]),
        (-3.0, 4.0, [-2.0, 0.0, 2.0, 4.0]),
        (0.02, 0.024, [0.02, 0.021, 0.022, 0.023, 0.024]),
    ],
)
def test_ticks_stand_at_round_values(low: float, high: float, values: list[float]) -> None:
    assert ticks(low, high) == pytest.approx(values)


@given(st.tuples(FINITE, FINITE).filter(lambda ends: ends[1] - ends[0] > 1e-6 * max(1, *map(abs, ends))))
def test_there_are_some_ticks_few_enough_in_even_steps_within_the_range(ends: tuple[float, float]) -> None:
    found = ticks(*ends)
    width = ends[1] - ends[0]
    assert 1 <= len(found) <= 7
    assert all(ends[0] - 1e-6 * width <= one <= ends[1] + 1e-6 * width for one in found)
    steps = [b - a for a, b in itertools.pairwise(found)]
    assert all(step == pytest.approx(steps[0], rel=1e-6) for step in steps)


@pytest.mark.parametrize(
    ("values", "texts"),
    [
        ([0.0, 0.5, 1.0], ["0.0", "0.5", "1.0"]),
        ([-20.0, 0.0], ["−20", "0"]),
        ([2e8, 4e8], ["2e+08", "4e+08"]),
        ([0.0], ["0"]),
    ],
)
def test_ticks_are_written_with_the_decimals_of_their_step(values: list[float], texts: list[str]) -> None:
    assert tick_texts(values) == texts


def test_a_scale_places_its_ends() -> None:
    scale = Scale(10.0, 20.0, 300.0, 100.0)
    assert (scale(10.0), scale(20.0), scale(15.0)) == (300.0, 100.0, 200.0)
    with pytest.raises(ValueError, match="rises"):
        Scale(1.0, 1.0, 0.0, 1.0)


@pytest.mark.parametrize("value", [0.0, 5.0, -3.0])
def test_a_range_without_width_gets_one(value: float) -> None:
    low, high = padded(value, value)
    assert low < value < high
