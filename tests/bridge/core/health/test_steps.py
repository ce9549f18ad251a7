from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.health.seen import ChannelSeen
from bridge.core.health.steps import Steps


def field(index: int, *, step: float = 0.0) -> ChannelSeen:
    return ChannelSeen(
        name=f"column {index}",
        index=index,
        unit="",
        role="",
        width_bits=0,
        low_rail=None,
        high_rail=None,
        step=step,
    )


def steps_of(*rows: tuple[float, ...]) -> list[float]:
    steps = Steps(len(rows[0]))
    steps.take(np.array(rows))
    return [one.step for one in steps.told(tuple(field(i) for i in range(len(rows[0]))))]


def test_the_step_is_the_last_digit_that_was_printed() -> None:
    assert steps_of((512.0, 2.5, 21.12), (511.0, 2.49, 21.1)) == [1.0, 0.01, 0.01]


def test_a_missing_number_says_nothing_of_the_step() -> None:
    assert steps_of((float("nan"), 2.5), (3.0, float("nan"))) == [1.0, 0.1]


def test_a_step_that_is_told_is_kept() -> None:
    steps = Steps(1)
    assert steps.take(np.array([[21.125]]))
    assert steps.told((field(0, step=0.5),))[0].step == 0.5


@given(
    decimals=st.integers(0, 6),
    numbers=st.lists(st.integers(-(10**9), 10**9), min_size=1, max_size=30),
    cut=st.integers(0, 30),
)
def test_the_step_does_not_depend_on_how_the_rows_were_handed_over(
    decimals: int, numbers: list[int], cut: int
) -> None:
    rows = np.array([[float(f"{number}e-{decimals}")] for number in numbers])
    at_once, in_parts = Steps(1), Steps(1)
    at_once.take(rows)
    in_parts.take(rows[:cut])
    in_parts.take(rows[cut:])
    told = [one.told((field(0),))[0].step for one in (at_once, in_parts)]
    assert told[0] == told[1]
    used = max(
        (len(f"{number:09d}".rstrip("0")) - 9 + decimals for number in map(abs, numbers) if number), default=0
    )
    if all(abs(number) < 10**9 for number in numbers):
        assert told[0] == pytest.approx(10.0 ** -max(0, used))
