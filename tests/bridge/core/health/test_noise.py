from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.health.noise import noise_of

from .benches import HealthBench, celsius, columns, lines


@pytest.mark.parametrize("n", [9, 16, 24, 60])
@pytest.mark.parametrize("slope", [0.0, 3.0])
def test_the_noise_of_a_straight_course_is_its_standard_deviation(n: int, slope: float) -> None:
    chance = np.random.default_rng(7)
    found = [noise_of(2.0 * chance.standard_normal(n) + slope * np.arange(n)) for _ in range(2000)]
    assert np.sqrt(np.mean(np.square(np.array(found, float)))) == pytest.approx(2.0, rel=0.1)


def test_one_step_is_no_noise() -> None:
    x = np.random.default_rng(3).standard_normal(60)
    x[30:] += 500.0
    found = noise_of(x)
    assert found is not None
    assert found == pytest.approx(1.0, rel=0.3)


@given(st.lists(st.floats(-1e6, 1e6), max_size=7))
def test_fewer_than_eight_readings_tell_nothing(numbers: list[float]) -> None:
    assert noise_of(np.array(numbers)) is None


def test_a_bench_tells_the_noise_of_a_field_as_of_the_last_assessment() -> None:
    chance = np.random.default_rng(5)
    bench = HealthBench([celsius("t")], columns(1))
    bench.open(0.0)
    assert bench.health.noise(0) is None
    bench.feed(*lines([f"{44 - i / 50 + 0.2 * chance.standard_normal():.2f}" for i in range(80)]))
    bench.tick(20.0)
    found = bench.health.noise(0)
    assert found is not None
    assert found == pytest.approx(0.2, rel=0.3)
    bench.feed((20.1, b"99.00\r\n"))
    assert bench.health.noise(0) == found
    assert bench.health.noise(7) is None
