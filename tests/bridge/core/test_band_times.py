from __future__ import annotations

import itertools
from bisect import bisect_right

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.band_times import BandTally, BandTotal, Flicker, PlainBands, flickers_between
from bridge.core.bands import HeldBand
from bridge.core.bands_given import BandsGiven
from bridge.core.watch import ChannelWatch

SECOND = 1_000_000_000
EDGES = (22.0, 25.0, 30.0)


def test_time_and_entries_of_each_band_add_up() -> None:
    tally = BandTally(3)
    for band, at_s in [(0, 1), (2, 4), (None, 10), (2, 12), (1, 13)]:
        tally.take(band, at_s * SECOND)
    assert tally.totals(20 * SECOND) == (BandTotal(3.0, 1), BandTotal(7.0, 1), BandTotal(7.0, 2))
    assert (tally.n_changes, tally.n_edge_changes) == (2, 3)


@given(
    values=st.lists(st.floats(15, 35), min_size=1, max_size=60),
    sizes=st.lists(st.integers(1, 9), min_size=1, max_size=4),
)
def test_a_plain_board_counts_the_same_one_by_one_and_many_at_once(
    values: list[float], sizes: list[int]
) -> None:
    bands = [bisect_right(EDGES, value) for value in values]
    expected = sum(abs(b - a) for a, b in itertools.pairwise(bands))
    one, many = PlainBands(EDGES), PlainBands(EDGES)
    times = [i * SECOND // 4 for i in range(len(values))]
    assert [one.take(value, at_ns) for value, at_ns in zip(values, times, strict=True)] == bands
    start, cut = 0, itertools.cycle(sizes)
    while start < len(values):
        end = start + next(cut)
        many.take_many(values[start:end], times[start:end])
        start = end
    assert one.flickers == many.flickers
    assert one.n_edge_changes == many.n_edge_changes == expected
    assert one.band == many.band == bands[-1]
    n_changes = 1 + sum(a != b for a, b in itertools.pairwise(bands))
    assert sum(flicker.n_changes for flicker in one.flickers) == n_changes
    assert one.flickers[-1].band == bands[-1]


@given(
    values=st.lists(st.floats(15, 35), min_size=1, max_size=100),
    deadband=st.floats(0, 3),
    dwell_ns=st.integers(0, 5),
)
def test_a_held_band_never_passes_more_edges_than_a_plain_one(
    values: list[float], deadband: float, dwell_ns: int
) -> None:
    held, plain, tally = (
        HeldBand(EDGES, deadband=deadband, dwell_ns=dwell_ns),
        PlainBands(EDGES),
        BandTally(4),
    )
    for i, value in enumerate(values):
        if held.due_ns <= i:
            tally.take(held.fire(), i)
        plain.take(value, i)
        tally.take(held.take(value, i), i)
    assert tally.n_edge_changes <= plain.n_edge_changes


def test_a_gap_is_shown_as_one_and_changes_no_edge() -> None:
    plain = PlainBands(EDGES)
    plain.take(21.0, 0)
    plain.lose(SECOND)
    plain.lose(2 * SECOND)
    plain.take(23.0, 3 * SECOND)
    assert plain.n_edge_changes == 0
    assert [(one.at_ns // SECOND, one.band) for one in plain.flickers] == [(0, 0), (1, None), (3, 1)]


def test_what_changes_within_a_second_is_told_as_one_flicker() -> None:
    plain = PlainBands(EDGES)
    for i, value in enumerate([21.0, 23.0, 21.0, 26.0, 21.0, 21.0]):
        plain.take(value, i * SECOND // 5)
    plain.take(21.0, 2 * SECOND)
    assert list(plain.flickers) == [Flicker(0, 4 * SECOND // 5, 0, 5, 2)]
    plain.take(23.0, 7 * SECOND)
    plain.take(26.0, 9 * SECOND)
    found = flickers_between(plain.flickers, 7_500_000_000, 20 * SECOND, 100)
    assert [(one.at_ns // SECOND, one.band) for one in found] == [(7, 1), (9, 2)]
    assert flickers_between(plain.flickers, 0, 20 * SECOND, 1)[1:] == [
        Flicker(7 * SECOND, 9 * SECOND, 2, 2, 2),
    ]


def test_what_a_deadband_spares_a_class_is_told() -> None:
    bands = BandsGiven(baseline=20.0, edges=(2.0, 5.0), names=("", "", ""), deadband=0.5)
    watch = ChannelWatch(1, "temperature", bands=bands, baseline=None, limits=())
    random = np.random.default_rng(7)
    times = np.arange(600)
    values = (21.0 + times / 300 + random.normal(0, 0.07, 600)).tolist()  # once through the edge at 22
    for at, value in zip(times.tolist(), values, strict=True):
        watch.take(value, at * SECOND)
    assert watch.tally is not None
    assert watch.tally.n_changes == 1
    n_plain = sum(a != b for a, b in itertools.pairwise([value >= 22.0 for value in values]))
    assert n_plain >= 9
    assert watch.n_edge_changes_avoided == n_plain - 1
