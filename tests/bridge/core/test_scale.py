from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.scale import round_scale


@pytest.mark.parametrize(
    ("seen", "scale"),
    [
        ((21.5, 21.5), (0.0, 30.0)),
        ((0.0, 0.0), (0.0, 0.5)),
        ((-3.0, 40.0), (-20.0, 40.0)),
        ((980.0, 1020.0), (980.0, 1020.0)),
    ],
)
def test_the_ends_are_round(seen: tuple[float, float], scale: tuple[float, float]) -> None:
    assert round_scale(*seen) == pytest.approx(scale)


@given(a=st.floats(-1e9, 1e9), b=st.floats(-1e9, 1e9))
def test_the_ends_hold_what_was_seen(a: float, b: float) -> None:
    low, high = round_scale(min(a, b), max(a, b))
    tolerance = 1e-9 * max(1e-300, abs(a), abs(b))
    assert low < high
    assert low <= min(a, b) + tolerance
    assert max(a, b) <= high + tolerance
