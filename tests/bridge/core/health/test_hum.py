from __future__ import annotations

import math
import random

import pytest

from .benches import Step, celsius, count, lines, watch

RAW = [count("raw", bits=12)]


def humming(
    hz: float,
    *,
    every: float,
    seconds: float,
    size: float = 9.0,
    seed: int = 15,
    jitter: float = 0.0002,
    start: float = 0.0,
) -> list[Step]:
    """Readings of a cooling cup with a wave on them, taken by a board whose pause is even."""
    chance, texts, at = random.Random(seed), [], 0.0
    for _ in range(round(seconds / every)):
        x = 500 - at / 9 + size * math.sin(2 * math.pi * hz * at) + chance.gauss(0, 1.0)
        texts.append(f"{round(x)}")
        at += every + chance.gauss(0, jitter)
    return [(t + chance.uniform(0, 0.016), data) for t, data in lines(texts, every=every, start=start)]


@pytest.mark.parametrize("hz", [50.0, 50.02, 60.0])
@pytest.mark.parametrize("every", [0.1007, 0.0523])
def test_hum_is_told_with_the_frequency_of_the_mains(hz: float, every: float) -> None:
    told = watch(humming(hz, every=every, seconds=90), RAW)
    assert told.kinds == [("mains hum", "raw")]
    assert f"{round(hz)} Hz would show" in told.changes[0].finding.evidence
    assert told.changes[0].finding.weight == "hint"


def test_hum_that_ends_clears() -> None:
    told = watch(
        humming(50.0, every=0.1007, seconds=90)
        + humming(50.0, every=0.1007, seconds=120, size=0.0, start=90.1),
        RAW,
    )
    assert [event for _, event, *_ in told.events if event != "changed"] == ["found", "gone"]


@pytest.mark.parametrize("hz", [0.55, 0.8, 1.3, 2.2, 3.1])
def test_a_swing_at_another_frequency_is_not_told(hz: float) -> None:
    """At 9.93 readings a second 50 Hz shows at 0.35 Hz and 60 Hz at 0.42 Hz."""
    assert watch(humming(hz, every=0.1007, seconds=90), RAW).events == []


@pytest.mark.parametrize("seed", range(8))
def test_stirring_is_not_told_even_near_that_frequency(seed: int) -> None:
    chance, texts, phase = random.Random(seed), [], 0.0
    for i in range(900):
        phase += 0.1007 * 2 * math.pi * (0.36 + 0.08 * math.sin(i / 40 + seed)) + chance.gauss(0, 0.12)
        texts.append(f"{round(500 - i / 90 + 9 * math.sin(phase) + chance.gauss(0, 1))}")
    assert watch(lines(texts, every=0.1007), RAW).events == []


def test_little_hum_beneath_the_noise_is_not_told() -> None:
    assert watch(humming(50.0, every=0.1007, seconds=90, size=0.7), RAW).events == []


def test_a_slow_or_uneven_board_can_not_show_it() -> None:
    assert watch(humming(50.0, every=1.003, seconds=200), RAW).events == []
    assert watch(humming(50.0, every=0.1007, seconds=90, jitter=0.015), RAW).events == []


def test_noise_alone_is_not_told() -> None:
    chance = random.Random(17)
    texts = [f"{44 + chance.gauss(0, 0.3):.2f}" for _ in range(1200)]
    assert watch(lines(texts, every=0.1007), [celsius("t")]).events == []
