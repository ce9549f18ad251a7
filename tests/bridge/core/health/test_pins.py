from __future__ import annotations

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.health import ChannelSeen

from .benches import HealthBench, Step, celsius, columns, count, lines, volts, watch

RAW = [count("raw")]


def warm(n: int, *, seed: int = 4, level: float = 92.0, noise: float = 0.6) -> list[str]:
    chance = random.Random(seed)
    return [f"{round(level + chance.gauss(0, noise))}" for _ in range(n)]


def loose(n: int, *, seed: int = 5, walk: float = 78.0) -> list[str]:
    """A pin with nothing on it: it wanders, pulled to the middle."""
    chance, at, texts = random.Random(seed), 300.0, []
    for _ in range(n):
        at = abs(at + chance.gauss(0, walk) + 0.15 * (340 - at))
        texts.append(f"{min(1023, round(at))}")
    return texts


@pytest.mark.parametrize(("value", "kind"), [("0", "bottom rail"), ("1023", "top rail")])
@pytest.mark.parametrize("every", [0.1, 1.0, 10.0])
def test_a_pin_at_a_rail_is_told_and_clears(value: str, kind: str, every: float) -> None:
    good, bad = warm(20), [value] * max(10, round(20 / every))
    told = watch(lines(good + bad + warm(max(20, round(15 / every)), seed=6), every=every), RAW)
    assert told.kinds == [(kind, "raw")]
    assert told.at("found", kind) <= 20 * every + max(6.0, 6 * every)
    assert told.events[-1][1] == "gone"


@pytest.mark.parametrize("value", ["1", "1022", "3"])
def test_a_pin_near_a_rail_is_not_told(value: str) -> None:
    assert watch(lines(warm(20) + [value] * 80), RAW).events == []


def test_touching_a_rail_now_and_then_is_not_told() -> None:
    texts = ["0" if i % 2 else "4" for i in range(200)]
    assert watch(lines(texts), RAW).events == []


def test_count_volts_and_unit_of_one_pin_are_told_once_and_all_doubted() -> None:
    bench = HealthBench([count("raw"), volts(), celsius("t", 2)], columns(3))
    bench.open(0.0)
    bench.feed(
        *lines(
            [
                f"{n},{n * 5 / 1024:.3f},{n * 500 / 1024:.2f}"
                for n in [*range(40, 80), *range(80, 60, -1), *[1023] * 40]
            ]
        )
    )
    bench.tick(26.0)
    assert bench.watched.kinds == [("top rail", "raw")]
    assert bench.health.doubts().keys() == {0, 1, 2}


def test_volts_alone_are_told_at_the_reference() -> None:
    for text in ("5.000", "4.995"):  # divided by 1023, or by 1024
        assert watch(lines(["0.451", "0.449"] * 20 + [text] * 60), [volts(index=0)]).kinds == [
            ("top rail", "volts")
        ]


def test_a_pin_with_nothing_on_it_is_told_and_clears() -> None:
    told = watch(lines(warm(60) + loose(120) + warm(80, seed=8)), RAW)
    assert told.kinds == [("floating input", "raw")]
    assert told.at("found", "floating input") <= 15.0 + 6.0
    assert 45.0 < told.at("gone", "floating input") < 55.0


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 2**32))
def test_a_loose_pin_is_told_whatever_its_course(seed: int) -> None:
    assert ("floating input", "raw") in watch(lines(loose(80, seed=seed)), RAW).kinds


def physical(seed: int, every: float) -> list[Step]:
    """A sensor that somebody dips, lifts, dips: whenever, however warm, fast or slow; with its noise."""
    chance = random.Random(seed)
    now = around = chance.uniform(5, 40)
    slow, noise = chance.choice([0.2, 1.0, 4.0, 14.0]), chance.choice([0.0, 0.05, 0.5])
    texts = []
    for _ in range(round(60 / every)):
        if chance.random() < every / 12:
            around = chance.uniform(1, 60)
        now += (around - now) * (1 - math.exp(-every / slow))
        texts.append(f"{max(0, round((now + chance.gauss(0, noise)) * 1024 / 500))}")
    return lines(texts, every=every)


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 2**32), every=st.sampled_from([0.1, 0.25, 1.0]))
def test_dipping_and_lifting_is_never_told_as_a_loose_pin(seed: int, every: float) -> None:
    kinds = {kind for kind, _ in watch(physical(seed, every), RAW).kinds}
    assert "floating input" not in kinds


def test_a_digital_sensor_that_swings_as_none_does() -> None:
    chance = random.Random(9)
    texts = [f"{chance.uniform(-20, 120):.2f}" for _ in range(40)]
    assert watch(lines(texts), [celsius("t")]).kinds == [("floating input", "t")]


def test_a_number_of_unknown_kind_is_compared_with_its_own_past() -> None:
    chance = random.Random(10)
    field = [
        ChannelSeen(
            name="x", index=0, unit="", role="", width_bits=0, low_rail=None, high_rail=None, step=1.0
        )
    ]
    calm = [f"{round(5000 + chance.gauss(0, 2))}" for _ in range(160)]
    wild = [f"{round(5000 + chance.gauss(0, 800))}" for _ in range(60)]
    assert watch(lines(calm + wild), field).kinds == [("floating input", "x")]
    assert watch(lines(wild), field).events == []


def test_rows_with_missing_numbers_are_looked_at_as_well() -> None:
    texts = [f"{n},{'nan' if i % 3 == 0 else '44.1'}" for i, n in enumerate(loose(80))]
    told = watch(lines(texts), [count("raw"), celsius("t", 1)])
    assert told.kinds == [("floating input", "raw")]
