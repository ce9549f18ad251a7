from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.findings import FindingChange
from bridge.core.health import ClassHealth

SECOND = 1_000_000_000
SECONDS = 300
Wrong = Callable[[float], float]


def cup(bench: int, at: float, *, room: float = 20.5) -> float:
    """Poured at its own time, cooling under its own cover."""
    poured = 18.0 + 2 * bench
    if at < poured:
        return room
    left = math.exp(-(at - poured) / (60 * (10 + 6 * bench)))
    warm = room + 24.5 * left
    return warm - (warm - room) * math.exp(-(at - poured) / 4)


def readings(bench: int, chance: random.Random, wrong: Wrong | None) -> list[tuple[int, float]]:
    every = chance.choice([0.25, 0.5, 1.0])
    return [
        (round(i * every * SECOND), (wrong or float)(cup(bench, i * every) + chance.gauss(0, 0.05)))
        for i in range(round(SECONDS / every))
    ]


def judged(
    wrong: dict[int, Wrong],
    *,
    benches: Sequence[int] = range(1, 9),
    seed: int = 1,
    units: dict[int, str] | None = None,
) -> list[FindingChange]:
    chance, health = random.Random(seed), ClassHealth()
    for bench in benches:
        health.take(bench, "t", (units or {}).get(bench, "°C"), readings(bench, chance, wrong.get(bench)))
    return health.assess(SECONDS * SECOND)


WRONGS: dict[str, tuple[Wrong, str]] = {
    "ten times": (lambda x: 10 * x, "divided by 10"),
    "a hundredth": (lambda x: x / 100, "multiplied by 100"),
    "thousand times": (lambda x: 1000 * x, "divided by 1000"),
    "Fahrenheit": (lambda x: 1.8 * x + 32, "as Fahrenheit"),
    "5 V for 3.3 V": (lambda x: x * 5 / 3.3, "times 3.3/5"),
    "3.3 V for 5 V": (lambda x: x * 3.3 / 5, "times 5/3.3"),
    "nonsense": (lambda x: x - 400, "away"),
}


@pytest.mark.parametrize("name", WRONGS)
@pytest.mark.parametrize("bench", [1, 4, 8])
def test_a_bench_with_another_unit_or_scale_is_told(name: str, bench: int) -> None:
    wrong, evidence = WRONGS[name]
    changes = judged({bench: wrong})
    found = [one for one in changes if one.event == "found"]
    assert {(one.bench, one.finding.kind, one.finding.channel) for one in found} == {
        (bench, "unlike the others", "t")
    }
    assert found[0].at_ns <= 30 * SECOND
    assert evidence in found[0].finding.evidence


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 2**32), n=st.integers(4, 24))
def test_a_class_with_nothing_wrong_is_left_alone(seed: int, n: int) -> None:
    assert judged({}, benches=range(1, n + 1), seed=seed) == []


@pytest.mark.parametrize("bench", [1, 3, 8])
def test_a_sensor_lifted_out_or_not_yet_in_is_no_other_scale(bench: int) -> None:
    assert judged({bench: lambda _: 20.5}) == []
    assert judged({bench: lambda x: min(x, 33.0)}) == []


def test_warmer_water_is_no_other_scale() -> None:
    assert judged({5: lambda x: 20.5 + 1.2 * (x - 20.5)}) == []


def test_three_benches_are_too_few_to_judge_one() -> None:
    assert judged({2: lambda x: 10 * x}, benches=[1, 2, 3]) == []
    assert judged({2: lambda x: 10 * x}, benches=[1, 2, 3, 4]) != []


def test_a_bench_that_prints_another_unit_is_told_by_its_unit() -> None:
    changes = judged({3: lambda x: 1.8 * x + 32}, units={3: "°F"})
    assert [(one.event, one.bench) for one in changes] == [("found", 3)]
    assert "in °F" in changes[0].finding.words


def test_a_formula_that_was_put_right_clears() -> None:
    chance, health = random.Random(3), ClassHealth()
    for bench in range(1, 9):
        values = readings(bench, chance, None)
        if bench == 6:
            values = [(at, 10 * x if at < 120 * SECOND else x) for at, x in values]
        health.take(bench, "t", "°C", values)
    changes = health.assess(SECONDS * SECOND)
    assert [(one.event, one.bench) for one in changes] == [("found", 6), ("gone", 6)]
    assert changes[1].at_ns <= 150 * SECOND
    assert health.findings(6) == ()


def test_a_bench_that_falls_silent_is_no_longer_compared() -> None:
    chance, health = random.Random(4), ClassHealth()
    for bench in range(1, 9):
        values = readings(bench, chance, (lambda x: 10 * x) if bench == 2 else None)
        health.take(bench, "t", "°C", [one for one in values if bench != 2 or one[0] < 100 * SECOND])
    assert [one.event for one in health.assess(SECONDS * SECOND)] == ["found", "gone"]


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 2**32))
def test_it_does_not_depend_on_how_the_readings_were_handed_over(seed: int) -> None:
    chance = random.Random(seed)
    wrong: dict[int, Wrong] = {2: lambda x: 10 * x, 5: lambda x: x * 5 / 3.3 if x < 40 else x}
    everything = {bench: readings(bench, random.Random(bench), wrong.get(bench)) for bench in range(1, 7)}
    at_once, piece_by_piece = ClassHealth(), ClassHealth()
    for bench, values in everything.items():
        at_once.take(bench, "t", "°C", values)
    changes, told = [], 0
    while told < SECONDS * SECOND:
        until = told + chance.randrange(1, 40 * SECOND)
        for bench, values in everything.items():
            piece_by_piece.take(bench, "t", "°C", [one for one in values if told <= one[0] < until])
        changes += piece_by_piece.assess(until)
        told = until
    assert [one for one in changes if one.at_ns <= SECONDS * SECOND] == at_once.assess(SECONDS * SECOND)
