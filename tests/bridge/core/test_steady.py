"""When a value is said to stay, and how good its mean then is."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.steady import MAX_BINS, SECOND_NS, Steady, SteadyMeter

Course = Callable[[float], float]


def readings(
    course: Course, *, seconds: float, rate: float, noise: float, step: float, seed: int, alike: float = 0.0
) -> list[tuple[float, int]]:
    """Values and their times: a course with noise (`alike` from one to the next), cut to steps."""
    rng = np.random.default_rng(seed)
    n = int(seconds * rate)
    fresh = rng.normal(0.0, noise * math.sqrt(1 - alike * alike), n)
    wander = rng.normal(0.0, noise)
    found = []
    for i in range(n):
        wander = alike * wander + fresh[i]
        value = course(i / rate) + wander
        value = round(value / step) * step if step else value
        found.append((value, round(i / rate * SECOND_NS)))
    return found


def looks(given: list[tuple[float, int]], *, seconds: int, step: float) -> list[Steady]:
    """What the meter says at each full second."""
    meter, i, said = SteadyMeter("°C"), 0, []
    for second in range(1, seconds + 1):
        while i < len(given) and given[i][1] < second * SECOND_NS:
            meter.take(*given[i])
            i += 1
        said.append(meter.look(second * SECOND_NS, step=step))
    return said


@pytest.mark.parametrize("rate", [1.0, 3.0, 10.0, 100.0, 500.0])
@pytest.mark.parametrize(("noise", "step"), [(0.0, 0.5), (0.05, 0.5), (0.3, 0.1), (0.02, 0.0)])
def test_a_value_that_stays_is_steady_before_long(rate: float, noise: float, step: float) -> None:
    given = readings(lambda _: 23.4, seconds=60, rate=rate, noise=noise, step=step, seed=3)
    said = looks(given, seconds=60, step=step)
    first = next(i for i, one in enumerate(said, start=1) if one.steady)
    assert first <= (6 if rate >= 10 else 25)
    # Now and then it may seem to drift, by chance; most while there are few readings.
    assert sum(one.steady for one in said[30:]) >= 0.9 * len(said[30:])
    assert said[-1].seconds == pytest.approx(60, abs=2)


@pytest.mark.parametrize(
    ("rate", "alike", "step"),
    [
        (10.0, 0.0, 0.0),
        (10.0, 0.6, 0.0),
        (10.0, 0.85, 0.0),
        (10.0, 0.0, 0.2),
        (2.0, 0.0, 0.0),
        (2.0, 0.5, 0.0),
    ],
)
def test_the_means_uncertainty_is_its_spread_from_time_to_time(
    rate: float, alike: float, step: float
) -> None:
    """Of 200 steady means the root mean square error is u, and few lie beyond 2 u."""
    errors, us = [], []
    for seed in range(200):
        place = 20.0 + seed / 200 * max(step, 0.1)

        def course(_: float, at: float = place) -> float:
            return at

        meter = SteadyMeter("°C")
        given = readings(course, seconds=20, rate=rate, noise=0.1, step=step, seed=seed, alike=alike)
        for value, at in given:
            meter.take(value, at)
        said = meter.look(20 * SECOND_NS, step=step)
        if said.mean is not None and said.u is not None:
            errors.append(said.mean - place)
            us.append(said.u)
    assert len(errors) > 100  # the more it wanders, the less often it is called steady
    spread, told = float(np.sqrt(np.mean(np.square(errors)))), float(np.sqrt(np.mean(np.square(us))))
    assert spread <= (1.15 if rate > 2 else 1.35) * told  # 40 readings can't show all their correlation
    if not step:  # the resolution counts whole, even where noise softens it
        assert told <= 1.5 * spread  # and the drift that noise feigns
    assert float((np.abs(errors) > 2 * np.array(us)).mean()) <= 0.15


@settings(max_examples=60, deadline=None)
@given(
    height=st.floats(-30.0, 30.0), at=st.floats(8.0, 30.0), seed=st.integers(0, 2**32 - 1),
    noise=st.sampled_from([0.02, 0.1]), step=st.sampled_from([0.01, 0.1, 0.5]),
    rate=st.sampled_from([2.0, 10.0]), lag=st.sampled_from([0.0, 3.0, 12.0]),
)  # fmt: skip
def test_after_a_change_nothing_is_steady_far_from_the_true_value(
    height: float, at: float, seed: int, noise: float, step: float, rate: float, lag: float
) -> None:
    """At once, or as a first-order sensor follows: what is then called steady lies near the course's end."""

    def course(t: float) -> float:
        if t < at:
            return 20.0
        return 20.0 + height * (1 - math.exp(-(t - at) / lag) if lag else 1.0)

    given = readings(course, seconds=60, rate=rate, noise=noise, step=step, seed=seed)
    may = 4 * max(step, 3 * noise)
    for second, one in enumerate(looks(given, seconds=60, step=step), start=1):
        if one.mean is not None:
            newest = max(t for _, t in given if t < second * SECOND_NS) / SECOND_NS
            assert abs(one.mean - course(newest)) <= may


@pytest.mark.parametrize(
    ("per_minute", "words"),
    [(-3.0, "still falling 3.0 °C a minute"), (20.0, "still rising 20 °C a minute")],
)
def test_a_drift_is_told_with_its_way_and_rate(per_minute: float, words: str) -> None:
    given = readings(lambda t: 40.0 + per_minute * t / 60, seconds=30, rate=10, noise=0.0, step=0.01, seed=1)
    last = looks(given, seconds=30, step=0.01)[-1]
    assert (last.steady, last.mean, last.seconds) == (False, None, 0.0)
    assert last.words == words


def test_a_steady_value_is_told_with_its_uncertainty() -> None:
    given = readings(lambda _: 23.412, seconds=12, rate=10, noise=0.05, step=0.01, seed=1)
    assert looks(given, seconds=12, step=0.01)[-1].words == "steady for 12 s: 23.410 ± 0.005 °C"


def test_noise_much_coarser_than_the_value_settles_is_called_restless() -> None:
    hum = readings(
        lambda t: 20 + 3 * math.sin(2 * math.pi * t / 8), seconds=9, rate=2, noise=0, step=0.1, seed=1
    )
    said = looks(hum, seconds=9, step=0.1)
    assert not said[5].steady
    assert said[3].words.startswith("not enough readings to tell yet: 10 in 5 s")


def test_a_board_that_fell_silent_is_not_steady() -> None:
    given = readings(lambda _: 23.4, seconds=20, rate=10, noise=0.0, step=0.1, seed=1)
    said = looks(given, seconds=24, step=0.1)
    assert [one.steady for one in said[19:]] == [True, True, False, False, False]


@settings(max_examples=30, deadline=None)
@given(
    values=st.lists(st.floats(15.0, 16.0), min_size=60, max_size=300), seed=st.integers(0, 2**32 - 1),
    more=st.integers(0, 200),
)  # fmt: skip
def test_what_is_taken_later_changes_no_look(values: list[float], seed: int, more: int) -> None:
    """Portions and the moment of asking make no difference: only what came before the instant counts."""
    at = [i * 97_000_000 for i in range(len(values))]
    due = (at[-1] // SECOND_NS + 1) * SECOND_NS
    prompt = SteadyMeter("V")
    for value, one in zip(values, at, strict=True):
        prompt.take(value, one)
    said = prompt.look(due, step=0.1)
    late = SteadyMeter("V")
    late.take_many(values, at)
    rng = np.random.default_rng(seed)
    late.take_many(rng.normal(99.0, 50.0, more).tolist(), [due + i * 97_000_000 for i in range(more)])
    assert late.look(due, step=0.1) == said
    assert prompt.look(due, step=0.1) == said


def test_what_is_kept_has_a_bound() -> None:
    meter = SteadyMeter("V")
    for i in range(5 * MAX_BINS):
        meter.take(1.0, i * 100_000_000)
    assert len(meter._table) <= 2 * MAX_BINS + 1
    assert meter.look(500 * MAX_BINS // 1000 * SECOND_NS, step=0.1).steady
    meter.clear()
    assert not meter.look(500 * MAX_BINS // 1000 * SECOND_NS, step=0.1).steady


def test_large_values_lose_no_digits() -> None:
    given = readings(lambda _: 1e6, seconds=20, rate=50, noise=1e-4, step=0.0, seed=1)
    said = looks(given, seconds=20, step=0.0)[-1]
    assert said.steady
    assert said.u == pytest.approx(1e-4 / math.sqrt(said.n), rel=0.5)
