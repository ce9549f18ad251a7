from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.bands_given import BandsGiven, equal_edges, percent_edges
from bridge.core.lesson import Channel

GIVEN = BandsGiven(baseline=20.0, edges=(2.0, 5.0), names=("", "", ""))


@pytest.mark.parametrize(
    ("wrong", "rule"),
    [
        ({"edges": ()}, "edges must rise from above 0"),
        ({"edges": (0.0, 1.0)}, "edges must rise from above 0"),
        ({"edges": (2.0, 2.0)}, "edges must rise from above 0"),
        ({"edges": (2.0, float("nan"))}, "edges must rise from above 0"),
        ({"edges": tuple(range(1, 14)), "names": ("",) * 14}, "edges must be 12 or fewer"),
        ({"names": ("", "")}, "names must be one more than edges"),
        ({"deadband": -1.0}, "deadband must be 0 or more"),
        ({"dwell_seconds": -1.0}, "dwell_seconds must be 0 or more"),
        ({"steady_seconds": 61.0}, "steady_seconds must be from 5 to 60"),
        ({"baseline": None}, "a fixed baseline needs its value"),
    ],
)
def test_bands_that_cannot_be_held_are_refused(wrong: dict[str, Any], rule: str) -> None:
    with pytest.raises(ValueError, match=rule):
        replace(GIVEN, **wrong)


def test_a_baseline_that_is_found_later_needs_no_value() -> None:
    assert replace(GIVEN, baseline=None, baseline_from="start").baseline is None


@given(step=st.integers(1, 999), n=st.integers(1, 12))
def test_equal_steps_are_what_a_person_would_write(step: int, n: int) -> None:
    assert equal_edges(step / 100, n) == tuple(step * k / 100 for k in range(1, n + 1))


def test_percents_are_of_the_span_of_the_scale() -> None:
    assert percent_edges([10, 20, 50], 15.0, 50.0) == (3.5, 7.0, 17.5)
    assert percent_edges([0.1], 0.0, 0.3) == (0.0003,)


@pytest.mark.parametrize("percents", [[], [0.0], [10.0, 10.0], list(range(1, 14))])
def test_percents_that_do_not_rise_are_refused(percents: list[float]) -> None:
    with pytest.raises(ValueError, match="percents rise"):
        percent_edges(percents, 0.0, 100.0)


@pytest.mark.parametrize(("step", "n"), [(0.0, 3), (-1.0, 3), (1.0, 0), (1.0, 13)])
def test_steps_that_make_no_bands_are_refused(step: float, n: int) -> None:
    with pytest.raises(ValueError, match=r"step must be above 0|1 to 12 edges"):
        equal_edges(step, n)


def test_a_phase_has_its_own_bands_else_those_of_the_channel_where_these_hold() -> None:
    base, run = (
        replace(GIVEN, phases=("", "run", "pour")),
        replace(GIVEN, edges=(4.0,), names=("", ""), phases=("run",)),
    )
    channel = Channel(name="t", bands=base, phase_bands=(run,))
    assert [channel.bands_in(phase) for phase in ("", "run", "pour", "cool-down")] == [base, run, base, None]
    assert Channel(name="t", bands=GIVEN).bands_in("run") == GIVEN
    assert Channel(name="t").bands_in("run") is None
