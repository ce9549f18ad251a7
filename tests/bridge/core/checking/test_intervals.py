"""A printed number's interval holds the number that was printed."""

from __future__ import annotations

import math
from decimal import ROUND_DOWN, ROUND_FLOOR, ROUND_HALF_DOWN, ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.checking.intervals import Interval, PrintedColumn, meets
from bridge.core.checking.mistakes import Mistake, order_of

NUMBERS = st.floats(-1e4, 1e4, allow_nan=False, allow_subnormal=False)


@given(number=NUMBERS, decimals=st.integers(0, 6))
@pytest.mark.parametrize("way", [ROUND_HALF_EVEN, ROUND_HALF_UP, ROUND_HALF_DOWN, ROUND_DOWN, ROUND_FLOOR])
def test_a_printed_number_can_be_the_number_however_it_was_rounded(
    way: str, number: float, decimals: int
) -> None:
    text = Decimal(number).quantize(Decimal(1).scaleb(-decimals), rounding=way)
    column = PrintedColumn(np.array([float(text)]), 10.0**-decimals)
    # What a 32-bit float may leave of it is given to what is computed, as everywhere.
    slack = 2e-6 * 10.0**-decimals + 1e-9 * abs(number)
    computed = Interval(np.array([[number - slack]]), np.array([[number + slack]]))
    assert meets(computed, column.readings())[0]


@given(number=NUMBERS, decimals=st.integers(0, 6))
def test_a_number_two_steps_away_is_never_it(number: float, decimals: int) -> None:
    step = 10.0**-decimals
    column = PrintedColumn(np.array([number]), step)
    for far in (number - 2 * step, number + 2 * step):
        assert not meets(Interval(np.array([[far]]), np.array([[far]])), column.readings())[0]


def test_one_way_of_printing_must_explain_all_numbers() -> None:
    # 1.04 rounded is 1.0, 1.06 cut is 1.0: no program prints both 1.0 and, of 2.06, 2.1 and, of 3.06, 3.0.
    column = PrintedColumn(np.array([2.1, 3.0]), 0.1)
    computed = np.array([[2.06, 3.06]])
    assert not meets(Interval(computed, computed), column.readings())[0]


def test_usual_mistakes_come_before_rare_ones() -> None:
    reference, gain = Mistake("reference", "a"), Mistake("own gain", "b")
    assert order_of([reference]) < order_of([gain])
    assert order_of([reference, reference]) < order_of([reference, gain])
    assert math.isfinite(order_of([]))
