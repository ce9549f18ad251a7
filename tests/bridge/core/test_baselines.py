from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.bands_given import BandsGiven
from bridge.core.baselines import Baseline, BaselineFinder
from bridge.core.readings import BandChange, Change
from bridge.core.watch import ChannelWatch

SECOND = 1_000_000_000
FROM_START = BandsGiven(edges=(2.0, 5.0), names=("", "", ""), baseline_from="start", steady_seconds=8.0)


def finder_after(values: np.ndarray, *, step: float = 0.0, per_second: int = 10) -> Baseline | None:
    """What a press finds after these readings."""
    finder = BaselineFinder(20.0, seeks=False)
    finder.step = step
    times = [i * SECOND // per_second for i in range(len(values))]
    finder.take_many(times, values.tolist())
    return finder.at(times[-1] + SECOND // per_second)


def test_the_uncertainty_of_a_baseline_holds_the_truth() -> None:
    random, within, n_steady = np.random.default_rng(8), 0, 0
    for _ in range(200):
        found = finder_after(20.0 + random.normal(0, 0.1, 400))
        if found is not None:
            n_steady += 1
            within += abs(found.value - 20.0) <= 2 * found.u
    assert n_steady >= 100
    assert within / n_steady >= 0.93


def test_a_value_that_drifts_is_no_baseline() -> None:
    random = np.random.default_rng(8)
    drift = np.linspace(0, 2.0, 400)
    assert all(finder_after(20.0 + drift + random.normal(0, 0.1, 400)) is None for _ in range(20))


def test_a_baseline_is_no_finer_than_the_boards_step() -> None:
    found = finder_after(np.full(400, 20.5), step=0.5)
    assert found is not None
    assert found.u >= 0.5 / np.sqrt(12)
    assert found.value == 20.5


def test_a_baseline_is_told_to_the_digits_that_mean_something() -> None:
    found = finder_after(20.0 + np.random.default_rng(1).normal(0, 0.1, 400))
    assert found is not None
    assert found.value == round(found.value, 4)
    assert found.words("°C").startswith(f"{found.value} ± ")
    assert " °C, from " in found.words("°C")


def test_a_stretch_that_is_too_short_is_no_baseline() -> None:
    assert finder_after(np.full(150, 20.0)) is None


def test_a_bench_finds_its_baseline_at_the_first_steady_stretch() -> None:
    random = np.random.default_rng(3)
    at = np.arange(0, 60, 0.1)
    truth = np.where(at < 20, 15 + at / 4, 20.0)  # it warms up for 20 s, then stands
    watch = ChannelWatch(1, "temperature", bands=FROM_START, baseline=None, limits=())
    changes: list[Change] = []
    for t, value in zip(at.tolist(), (truth + random.normal(0, 0.05, len(at))).tolist(), strict=True):
        changes += watch.take(value, round(t * SECOND))
    assert watch.found is not None
    assert watch.found.value == watch.baseline == pytest.approx(20.0, abs=0.03)
    assert 28 <= watch.found.at_ns / SECOND <= 36
    assert changes == [BandChange(watch.found.at_ns, 1, "temperature", 0, None)]
    assert watch.edges[0] == pytest.approx(22.0, abs=0.03)


def test_the_value_that_comes_with_the_baseline_is_seen_in_its_band() -> None:
    taken = ChannelWatch(1, "temperature", bands=FROM_START, baseline=None, limits=())
    heard = ChannelWatch(1, "temperature", bands=FROM_START, baseline=None, limits=())
    readings = [(i * SECOND // 10, 20.0) for i in range(80)] + [(8 * SECOND, 26.0)]
    by_take = [change for at_ns, value in readings for change in taken.take(value, at_ns)]
    by_hear = [change for at_ns, value in readings for change in heard.hear(value, at_ns)]
    assert by_hear == by_take
    assert [(one.at_ns // SECOND, one.band) for one in by_hear if isinstance(one, BandChange)] == [
        (8, 0), (8, 2)]  # fmt: skip


def test_a_press_takes_the_stretch_before_it() -> None:
    given = replace(FROM_START, baseline_from="captured")
    watch = ChannelWatch(1, "temperature", bands=given, baseline=None, limits=())
    for i in range(95):
        watch.take(20.0 + 0.1 * (i % 3), i * SECOND // 10)
    assert watch.baseline is None, "nobody pressed yet"
    assert watch.baseline_now(6 * SECOND) is None, "the stretch was not covered yet"
    pressed = watch.baseline_now(9_450_000_000)
    assert pressed is not None
    assert pressed.value == pytest.approx(20.1, abs=0.01)
    watch.set_baseline(pressed.value, 9_450_000_000)
    assert watch.band == 0
    assert watch.edges[0] == pytest.approx(22.1, abs=0.01)


def test_a_baseline_that_is_set_ends_the_search() -> None:
    watch = ChannelWatch(1, "temperature", bands=FROM_START, baseline=None, limits=())
    for i in range(50):
        watch.take(20.0, i * SECOND // 10)
    watch.set_baseline(17.0, 5 * SECOND)
    assert [c for i in range(50, 200) for c in watch.take(20.0, i * SECOND // 10)] == []
    assert (watch.found, watch.baseline, watch.band) == (None, 17.0, 1)


def test_a_fixed_baseline_is_not_captured() -> None:
    fixed = BandsGiven(edges=(2.0,), names=("", ""), baseline=20.0)
    watch = ChannelWatch(1, "temperature", bands=fixed, baseline=None, limits=())
    watch.take(20.0, 0)
    assert watch.baseline_now(SECOND) is None


def test_the_board_that_comes_after_a_break_starts_its_own_stretch() -> None:
    watch = ChannelWatch(1, "temperature", bands=FROM_START, baseline=None, limits=())
    for i in range(60):
        watch.take(20.0, i * SECOND // 10)
    watch.lose(6 * SECOND)
    assert [c for i in range(90, 150) for c in watch.take(30.0, i * SECOND // 10)] == []
    assert [c for i in range(150, 190) for c in watch.take(30.0, i * SECOND // 10)] != []
    assert watch.baseline == 30.0


@settings(max_examples=60, deadline=None)
@given(
    seed=st.integers(0, 1000),
    sizes=st.lists(st.integers(1, 60), min_size=1, max_size=5),
    ticks=st.lists(st.integers(0, 60_000), max_size=20),
    lost=st.integers(0, 400),
)
def test_the_baseline_does_not_depend_on_the_portions(
    seed: int, sizes: list[int], ticks: list[int], lost: int
) -> None:
    random = np.random.default_rng(seed)
    at = np.arange(0, 40, 0.1)
    values = np.where(at < 10, 15 + at / 2, 20.0) + random.normal(0, 0.3, len(at))
    readings = [(round(t * 1e9), round(v, 2)) for t, v in zip(at.tolist(), values.tolist(), strict=True)]
    one = ChannelWatch(1, "temperature", bands=FROM_START, baseline=None, limits=())
    plainly: list[Change] = []
    for i, (at_ns, value) in enumerate(readings):
        plainly += one.take(value, at_ns)
        plainly += one.lose(at_ns) if i == lost else []
    other = ChannelWatch(1, "temperature", bands=FROM_START, baseline=None, limits=())
    found: list[Change] = []
    cut, i, told = itertools.cycle(sizes), 0, sorted(tick * 1_000_000 for tick in ticks)
    while i < len(readings):
        while told and told[0] <= readings[i][0]:
            found += other.tick(told.pop(0))
        size = next(cut)
        part = readings[i : min(i + size, lost + 1) if i <= lost else i + size]
        times, numbers = [t for t, _ in part], [v for _, v in part]
        is_inside = other.low <= min(numbers) and max(numbers) < other.high
        if is_inside and other.is_quiet(times, numbers):
            other.hear_many(times, numbers)
        else:
            for at_ns, value in part:
                is_inside = other.low <= value < other.high
                found += other.hear(value, at_ns) if is_inside else other.take(value, at_ns)
        i += len(part)
        if i == lost + 1:
            found += other.lose(part[-1][0])
    assert found == plainly
    assert (other.found, other.baseline) == (one.found, one.baseline)
    assert other.n_edge_changes_avoided == one.n_edge_changes_avoided
