from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from .benches import count, lines, seen, watch

TWO = [count("a", 0), count("b", 1)]


def leaking(part: float, *, n: int = 40, after: int = 40, jump: int = 45, seed: int = 13) -> list[str]:
    """Pin a keeps a part of what pin b had; b falls at row n, as when its sensor is pulled off."""
    chance, texts = random.Random(seed), []
    for i in range(n + after):
        b = (92 if i < n else 92 - jump) + chance.gauss(0, 0.3)
        a = 41 + part * (b - 41) + chance.gauss(0, 0.2)
        texts.append(f"{round(a)},{round(b)}")
    return texts


@pytest.mark.parametrize("part", [0.1, 0.2, 0.3])
def test_a_channel_that_shows_a_part_of_the_others_jump_is_a_hint(part: float) -> None:
    told = watch(lines(leaking(part)), TWO)
    assert told.kinds == [("neighbour", "a")]
    assert told.changes[0].finding.weight == "hint"
    assert told.at("found", "neighbour") <= 17.0


def test_it_goes_when_the_jump_is_a_minute_ago() -> None:
    told = watch(lines(leaking(0.2, after=400)), TWO)
    assert [event for _, event, *_ in told.events] == ["found", "gone"]


@pytest.mark.parametrize("part", [0.0, 0.01, 0.9, 1.0, -0.2])
def test_two_pins_that_do_not_share_a_part_are_not_told(part: float) -> None:
    assert watch(lines(leaking(part)), TWO).events == []


def test_a_reference_that_sags_moves_both_by_the_same_share() -> None:
    texts = [f"{300 if i < 40 else 330},{800 if i < 40 else 880}" for i in range(80)]
    assert watch(lines(texts), TWO).events == []


@settings(max_examples=20, deadline=None)
@given(
    fast=st.floats(0.1, 8), slow=st.floats(0.1, 20), warm=st.floats(35, 60),
    every=st.sampled_from([0.25, 1.0]), seed=st.integers(0, 2**32),
)  # fmt: skip
def test_two_sensors_lifted_together_are_never_told(
    fast: float, slow: float, warm: float, every: float, seed: int
) -> None:
    """Whatever their inertia: the slow one creeps on where a leak would stay."""
    chance, texts = random.Random(seed), []
    a = b = warm
    for i in range(80):
        around = warm if i < 40 else 20.0
        a += (around - a) * min(1.0, every / fast)
        b += (around - b) * min(1.0, every / slow)
        ab = [max(0, round((one + chance.gauss(0, 0.1)) * 1024 / 500)) for one in (a, b)]
        texts.append(f"{ab[0]},{ab[1]}")
    assert watch(lines(texts, every=every), TWO).events == []


def test_what_is_computed_from_a_count_is_no_neighbour_of_it() -> None:
    texts = [f"{n},{n / 10:.1f}" for n in [92] * 40 + [40] * 40]
    assert watch(lines(texts), [count("raw"), seen("tenth", 1, "value", step=0.1)]).events == []
