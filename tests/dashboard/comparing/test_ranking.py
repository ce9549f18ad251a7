"""Ranks that say no more than the uncertainties allow."""

from __future__ import annotations

import itertools

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from dashboard.comparing.figure import Figure, figure, no_figure
from dashboard.comparing.ranking import ranking_of


def figures(values: dict[int, float], u: float) -> dict[int, Figure]:
    return {bench: figure("time constant", "s", value, u) for bench, value in values.items()}


def test_benches_that_the_uncertainty_does_not_separate_are_tied() -> None:
    found = ranking_of(figures({1: 900.0, 2: 700.0, 3: 905.0, 4: 400.0}, 10.0))
    assert [(one.bench, one.best_rank, one.worst_rank) for one in found.ranked] == [
        (3, 1, 2),
        (1, 1, 2),
        (2, 3, 3),
        (4, 4, 4),
    ]
    assert found.groups == ((3, 1), (2,), (4,))
    assert found.sentences({1: "A", 3: "C"})[0] == "C and A cannot be told apart"
    assert "bench 2 is number 3, apart from all others" in found.sentences()


def test_a_chain_of_neighbours_is_no_single_tie() -> None:
    found = ranking_of(figures({1: 10.0, 2: 12.5, 3: 15.0}, 1.0), highest_first=False)
    assert found.groups == ((1, 2), (2, 3))
    assert [(one.best_rank, one.worst_rank) for one in found.ranked] == [(1, 2), (1, 3), (2, 3)]


def test_the_lowest_comes_first_when_less_is_better() -> None:
    assert [one.bench for one in ranking_of(figures({1: 3.0, 2: 1.0}, 0.1), highest_first=False).ranked] == [
        2,
        1,
    ]


def test_a_bench_without_value_or_uncertainty_has_no_rank_and_says_why() -> None:
    found = ranking_of(
        {
            1: figure("level", "°C", 3.0, 0.1),
            2: no_figure("level", "°C", "no reading"),
            3: figure("level", "°C", 4.0),
        }
    )
    assert [one.bench for one in found.ranked] == [1]
    assert found.unranked == ((2, "no reading"), (3, "its uncertainty is unknown"))
    assert "bench 2 has no rank: no reading" in found.sentences()


def test_exact_values_are_told_apart_unless_equal() -> None:
    assert ranking_of(figures({1: 1.0, 2: 1.0, 3: 2.0}, 0.0)).groups == ((3,), (1, 2))


def test_a_class_of_equals_is_seldom_split() -> None:
    rng, n_split = np.random.default_rng(1), 0
    for _ in range(500):
        found = ranking_of(figures({i: rng.standard_normal() for i in range(10)}, 1.0))
        n_split += len(found.groups) > 1
    assert n_split / 500 < 0.07


@given(st.dictionaries(st.integers(1, 24), st.floats(-100, 100), min_size=1, max_size=12), st.floats(0, 20))
def test_ranks_are_in_order_and_ties_mutual(values: dict[int, float], u: float) -> None:
    found = ranking_of(figures(values, u))
    assert {one.bench for one in found.ranked} == set(values)
    ties = {one.bench: set(one.tied_with) for one in found.ranked}
    assert all(a in ties[b] for a in ties for b in ties[a])
    for one, following in itertools.pairwise(found.ranked):
        assert one.best_rank <= following.best_rank
        assert one.worst_rank <= following.worst_rank
        assert one.best_rank <= one.worst_rank
    assert {bench for group in found.groups for bench in group} == set(values)


def test_an_empty_class_has_an_empty_ranking() -> None:
    assert ranking_of({}).ranked == ()
