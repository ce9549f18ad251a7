"""Cochran's and Grubbs' tests and their critical values."""

from __future__ import annotations

import numpy as np
import pytest

from dashboard.comparing.agreement import cells_of
from dashboard.comparing.outliers import (
    cochran,
    cochran_critical,
    grubbs,
    grubbs_critical,
    grubbs_pair_critical,
)
from tests.dashboard.comparing.made import rows


def test_cochran_s_critical_values_are_those_of_the_table() -> None:
    table = rows("precision/cochran_critical.csv")
    assert len(table) > 50
    for row in table:
        p, n = int(row["p"]), int(row["n"])
        for level, name in ((0.01, "1pct"), (0.05, "5pct")):
            found = cochran_critical(p, n, level)
            assert found == pytest.approx(float(row[f"c_{name}"]), abs=1e-7)
            if printed := row[f"iso_table_{name}_recalled"]:
                assert found == pytest.approx(float(printed), abs=0.001)


def test_grubbs_critical_values_are_those_of_the_table() -> None:
    for row in rows("precision/grubbs_critical.csv"):
        n = int(row["n"])
        for level, name in ((0.01, "1pct"), (0.05, "5pct")):
            assert grubbs_critical(n, level) == pytest.approx(float(row[f"two_sided_{name}"]), abs=1e-6)
            one_sided = grubbs_critical(n, level, two_sided=False)
            assert one_sided == pytest.approx(float(row[f"one_sided_{name}"]), abs=1e-6)
            if row[f"published_{name}"]:
                assert grubbs_critical(n, level) == pytest.approx(float(row[f"published_{name}"]), abs=0.001)


@pytest.mark.parametrize("n", [5, 8, 12])
def test_the_critical_values_of_pairs_are_near_the_table(n: int) -> None:
    row = next(row for row in rows("precision/grubbs_critical.csv") if int(row["n"]) == n)
    assert grubbs_pair_critical(n, 0.05) == pytest.approx(float(row["double_5pct_simulated"]), rel=0.03)
    assert grubbs_pair_critical(n, 0.01) == pytest.approx(
        float(row["double_1pct_simulated"]), rel=0.05, abs=3e-4
    )


def test_the_uranium_example_has_an_outlier() -> None:  # NIST/SEMATECH e-Handbook, 1.3.5.17.1
    values = [float(row["value"]) for row in rows("precision/handbook_uranium.csv")]
    highest = grubbs(dict(enumerate(values)))[0]
    assert highest.statistic == pytest.approx(2.4687, abs=1e-4)
    assert grubbs_critical(8, 0.05, two_sided=False) == pytest.approx(2.032, abs=5e-4)
    assert highest.verdict == "outlier"
    assert values[highest.benches[0]] == max(values)


def test_two_that_hide_each_other_are_found_together() -> None:
    values = dict(enumerate([20.0, 20.1, 19.9, 20.05, 19.95, 20.02, 26.0, 26.1]))
    tests = grubbs(values)
    assert tests[0].verdict == ""
    pair = next(test for test in tests if test.test == "Grubbs, two highest")
    assert pair.verdict == "outlier"
    assert set(pair.benches) == {6, 7}


def test_a_bench_that_scatters_more_is_named() -> None:
    rng = np.random.default_rng(1)
    results = {i: rng.standard_normal(6) * (8 if i == 3 else 1) for i in range(1, 7)}
    found = cochran(cells_of(results))
    assert found is not None
    assert (found.benches, found.verdict) == ((3,), "outlier")


def test_alike_benches_are_seldom_called_outlying() -> None:
    rng, n_cochran, n_grubbs = np.random.default_rng(2), 0, 0
    for _ in range(1000):
        results = {i: rng.standard_normal(4) for i in range(8)}
        cells = cells_of(results)
        spread = cochran(cells)
        assert spread is not None
        n_cochran += spread.verdict != ""
        n_grubbs += any(test.verdict for test in grubbs({i: cell.mean for i, cell in cells.items()})[:2])
    assert 0.03 < n_cochran / 1000 < 0.07
    assert 0.03 < n_grubbs / 1000 < 0.07


def test_nothing_stands_out_where_nothing_differs() -> None:
    assert grubbs({1: 1.0, 2: 1.0, 3: 1.0}) == ()
    assert grubbs({1: 1.0, 2: 2.0}) == ()
    assert cochran(cells_of({1: np.array([1.0, 1.0]), 2: np.array([2.0, 2.0])})) is None
    assert cochran(cells_of({1: np.array([1.0])})) is None
