"""A figure is a number with its worth, or words."""

from __future__ import annotations

import math

import pytest

from dashboard.comparing.figure import Figure, figure, no_figure


def test_an_interval_is_made_of_the_uncertainty_when_none_is_given() -> None:
    made = figure("level", "°C", 20.0, 0.1)
    assert made.low == pytest.approx(19.804, abs=1e-4)
    assert made.high == pytest.approx(20.196, abs=1e-4)


def test_without_uncertainty_there_is_no_interval() -> None:
    made = figure("gaps", "s", 3.0)
    assert (made.u, made.low, made.high) == (None, None, None)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_number_that_is_none_becomes_words(value: float) -> None:
    made = figure("level", "°C", value)
    assert made.value is None
    assert made.words
    assert not made.is_known


def test_an_uncertainty_that_is_no_number_is_left_out() -> None:
    made = figure("level", "°C", 1.0, math.inf, interval=(-math.inf, 2.0))
    assert (made.u, made.low, made.high) == (None, None, 2.0)


def test_no_figure_without_a_reason() -> None:
    assert no_figure("level", "°C", "no reading").words == "no reading"
    with pytest.raises(ValueError, match="says why"):
        Figure(name="level", unit="°C")
    with pytest.raises(ValueError, match="finite"):
        Figure(name="level", unit="°C", value=math.nan)
