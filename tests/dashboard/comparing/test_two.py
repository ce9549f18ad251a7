"""Two recordings of one class: what moved is told apart from what chance does."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from dashboard.comparing import Choices, Comparison, comparison_of
from dashboard.comparing.two import differences_of, only_in
from tests.dashboard.comparing.made import series, table

N = 200


def recorded(seed: int, *, warmer: dict[int, float], benches: range = range(1, 7)) -> pd.DataFrame:
    """Steady benches at 20 °C with noise of 0.1 °C; their uncertainty is that noise alone."""
    rng = np.random.default_rng(seed)
    return table(
        {
            b: series(
                np.arange(float(N)), 20 + warmer.get(b, 0.0) + 0.1 * rng.standard_normal(N), bench=b, u=0.0
            )
            for b in benches
        }
    )


def compared(rows: pd.DataFrame, unit: str | None = None) -> Comparison:
    return comparison_of(rows, Choices(channel="temperature", unit=unit, response="none"))


def test_a_bench_that_moved_is_told_apart_and_the_others_are_not() -> None:
    first, second = compared(recorded(1, warmer={})), compared(recorded(2, warmer={3: 0.2}))
    found = {one.bench: one for one in differences_of(first, second)["level"]}
    assert [bench for bench, one in found.items() if one.is_apart] == [3]
    less = found[3].less
    assert less.value is not None
    assert less.value == pytest.approx(0.2, abs=0.03)
    own, other = found[3].first.u, found[3].second.u
    assert own is not None
    assert other is not None
    assert less.u == pytest.approx(np.hypot(own, other))


def test_where_nothing_moved_a_class_is_wrongly_named_in_at_most_five_of_a_hundred() -> None:
    n_wrong = 0
    for seed in range(40):
        first, second = (compared(recorded(1000 + 2 * seed + k, warmer={})) for k in range(2))
        n_wrong += any(one.is_apart for one in differences_of(first, second, ("level",))["level"])
    assert n_wrong <= 6  # of 2 expected: more would come by chance once in 300 runs


def test_the_order_of_the_two_turns_the_sign_and_nothing_else() -> None:
    first, second = compared(recorded(1, warmer={})), compared(recorded(2, warmer={3: 0.2}))
    there, back = differences_of(first, second)["noise"], differences_of(second, first)["noise"]
    for one, other in zip(there, back, strict=True):
        assert one.less.value == pytest.approx(-(other.less.value or 0.0))
        assert (one.less.u, one.is_apart) == (other.less.u, other.is_apart)


def test_benches_of_one_recording_alone_are_named_and_figures_that_nobody_has_left_out() -> None:
    first = compared(recorded(1, warmer={}, benches=range(1, 5)))
    second = compared(recorded(2, warmer={}, benches=range(3, 7)))
    found = differences_of(first, second)
    assert [one.bench for one in found["level"]] == [3, 4]
    assert (only_in(first, second), only_in(second, first)) == ((1, 2), (5, 6))
    assert "time constant" not in found


def test_what_has_no_uncertainty_is_neither_apart_nor_together() -> None:
    found = compared(recorded(1, warmer={}))
    unsure = tuple(
        replace(one, figures=tuple(replace(each, u=None, low=None, high=None) for each in one.figures))
        for one in found.benches
    )
    for one in differences_of(found, replace(found, benches=unsure))["level"]:
        assert one.is_apart is None
        assert one.less.value == 0.0
        assert one.less.words == "not every uncertainty is known"


def test_recordings_in_two_units_are_refused() -> None:
    rows = recorded(1, warmer={})
    with pytest.raises(ValueError, match="'°C', the other in 'K'"):
        differences_of(compared(rows), compared(rows, unit="K"))
