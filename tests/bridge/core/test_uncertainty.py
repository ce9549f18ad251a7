from __future__ import annotations

import csv
import math
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.uncertainty import (
    NOISE_LEAVES,
    Budget,
    Part,
    coverage_factor,
    decimals_for,
    effective_dof,
    noise_beyond,
    resolution_uncertainty,
    rounded,
    suggested_deadband,
    tolerance_uncertainty,
    with_uncertainty,
)

REFERENCE = Path(__file__).parents[2] / "reference" / "gum"
GUM: dict[str, Any] = tomllib.loads((REFERENCE / "gum.toml").read_text())


def test_a_tolerance_of_half_width_a_is_a_over_the_root_of_3() -> None:  # JCGM 100:2008, 4.3.7
    rng = np.random.default_rng(1)
    n = 100_000
    spread = float(np.std(rng.uniform(-0.5, 0.5, n)))
    assert tolerance_uncertainty(0.5) == pytest.approx(spread, rel=5 * math.sqrt(0.8 / (4 * n)))
    assert tolerance_uncertainty(0.5) == pytest.approx(resolution_uncertainty(1.0))


def test_the_effective_degrees_of_freedom_are_the_published_ones() -> None:  # JCGM 100:2008, H.1.6
    h1 = GUM["welch_satterthwaite"]
    parts = list(zip(h1["u_nm"], h1["dof"], strict=True))
    u_c = math.sqrt(h1["u_c_squared_published_nm2"])
    assert effective_dof(parts, u_c) == pytest.approx(h1["v_eff_with_u_c_squared_1002_computed"], rel=1e-9)
    assert round(effective_dof(parts, u_c), 1) == h1["v_eff_published"]
    inner = list(zip(h1["dof_9p7_components_u_nm"], h1["dof_9p7_components_dof"], strict=True))
    assert effective_dof(inner, h1["u_nm"][1]) == pytest.approx(h1["dof_9p7_computed"], rel=1e-9)


def test_a_budget_combines_the_end_gauge_of_the_gum() -> None:  # JCGM 100:2008, H.1, table H.1
    h1 = GUM["welch_satterthwaite"]
    parts = tuple(
        Part("component", u, "A", "table H.1", dof) for u, dof in zip(h1["u_nm"], h1["dof"], strict=True)
    )
    budget = Budget(parts, 50_000_838.0, "nm")
    assert round(budget.u) == h1["u_c_published_nm"]
    assert budget.u == pytest.approx(h1["u_c_from_listed_components_nm"], rel=1e-9)
    assert budget.dof == pytest.approx(h1["v_eff_with_unrounded_u_c_computed"], rel=1e-9)
    assert coverage_factor(budget.dof, 0.99) == pytest.approx(h1["t99_16_computed"], rel=1e-9)
    assert round(coverage_factor(budget.dof, 0.99), 2) == h1["t99_published"]
    # The published 93 is 2.92 × 32, both rounded.
    assert budget.expanded(0.99) == pytest.approx(h1["U99_published_nm"], abs=0.7)
    assert sum(budget.shares()) == pytest.approx(1.0)
    assert budget.shares()[0] == pytest.approx(25.0**2 / budget.u**2)


def test_the_coverage_factors_are_those_of_table_g_2() -> None:
    normal = {"p68.27": math.erf(1 / math.sqrt(2)), "p95.45": math.erf(2 / math.sqrt(2)),
              "p99.73": math.erf(3 / math.sqrt(2)), "p90": 0.9, "p95": 0.95, "p99": 0.99}  # fmt: skip
    with (REFERENCE / "coverage_factors.csv").open() as file:
        table = list(csv.DictReader(file))
    assert len(table) > 20
    for row in table:
        for column, probability in normal.items():
            factor = coverage_factor(float(row["dof"]), probability)
            assert factor == pytest.approx(float(row[column]), rel=2e-9)


def test_without_any_uncertainty_a_budget_divides_by_nothing() -> None:
    budget = Budget((Part("nothing", 0.0, "B", "exact"),), 1.0, "V")
    assert (budget.u, budget.shares(), budget.dof) == (0.0, (0.0,), math.inf)


@pytest.mark.parametrize(
    ("u", "decimals", "shown"),
    [
        (0.023, 3, "1.234 ± 0.023"),
        (0.0354, 3, "1.234 ± 0.035"),
        (0.0356, 2, "1.23 ± 0.04"),
        (0.094, 2, "1.23 ± 0.09"),
        (0.0951, 2, "1.23 ± 0.10"),
        (0.14, 2, "1.23 ± 0.14"),
        (0.5, 1, "1.2 ± 0.5"),
        (0.97, 1, "1.2 ± 1.0"),
        (1.0, 1, "1.2 ± 1.0"),
        (7.0, 0, "1 ± 7"),
        (23.0, 0, "1 ± 23"),
        (70.0, -1, "0 ± 70"),
        (96.0, -1, "0 ± 100"),
        (120.0, -1, "0 ± 120"),
    ],
)
def test_a_value_is_shown_to_the_digits_that_its_uncertainty_reaches(
    u: float, decimals: int, shown: str
) -> None:
    assert (decimals_for(u), with_uncertainty(1.2345, u, "")) == (decimals, shown)


@given(u=st.floats(1e-8, 1e8))
def test_what_is_shown_of_an_uncertainty_is_never_off_by_more_than_a_seventh(u: float) -> None:
    decimals = decimals_for(u)
    shown = float(rounded(u, decimals))
    assert shown == pytest.approx(u, rel=1 / 7)
    digits = f"{shown:.12e}".partition("e")[0].replace(".", "").rstrip("0")
    assert len(digits) <= 2
    # One digit more would say less than a fifth of u in its last place.
    assert 10.0**-decimals >= u / 36
    assert 10.0**-decimals <= u * 1.0500001


@pytest.mark.parametrize("u", [0.0, math.inf, math.nan])
def test_an_uncertainty_that_says_nothing_hides_no_digit(u: float) -> None:
    assert decimals_for(u, most=6) == 6


def test_a_value_below_zero_that_rounds_to_zero_has_no_sign() -> None:
    assert (rounded(-0.04, 1), rounded(-4.0, -1), rounded(-0.06, 1)) == ("0.0", "0", "-0.1")


@pytest.mark.parametrize("sigma_in_steps", [0.5, 1.0, 3.0])
def test_noise_and_resolution_together_give_the_observed_scatter_back(sigma_in_steps: float) -> None:
    """What is observed holds both; the budget must hold each once."""
    rng = np.random.default_rng(7)
    step, n = 0.5, 200_000
    true = rng.uniform(0, step, n)  # anywhere within a step
    printed = np.round((true + rng.normal(0, sigma_in_steps * step, n)) / step) * step
    sd = float(np.std(printed - true))
    beyond = noise_beyond(sd, resolution_uncertainty(step))
    assert beyond == pytest.approx(sigma_in_steps * step, rel=0.01)
    assert noise_beyond(0.1, resolution_uncertainty(1.0)) == 0.0


@given(
    sigma=st.sampled_from([0.0, 0.05, 0.2, 0.5, 1.0, 2.0]), place=st.floats(0.0, 1.0),
    edge=st.floats(0.0, 1.0), seed=st.integers(0, 2**32 - 1),
)  # fmt: skip
def test_noise_leaves_the_suggested_deadband_less_than_once_in_a_thousand(
    sigma: float, place: float, edge: float, seed: int
) -> None:
    """Wherever the true value and the edge stand within a step, a band changes at most so often."""
    n, step = 20_000, 1.0
    width = suggested_deadband(sigma, step, "counts").width
    readings = np.round(place + np.random.default_rng(seed).normal(0.0, sigma, n))
    # The worst edge: its deadband lies around the true value.
    upper = place + width / 2 + (edge - 0.5) * width
    above, changes = bool(readings[0] >= upper), 0
    for reading in readings.tolist():
        if (reading < upper - width) if above else (reading >= upper):
            above, changes = not above, changes + 1
    # A change needs a reading beyond one end and then one beyond the other: at most half as often.
    assert changes <= 1 + NOISE_LEAVES / 2 * n + 5 * math.sqrt(NOISE_LEAVES / 2 * n)


def test_without_noise_the_deadband_is_one_step() -> None:
    suggested = suggested_deadband(0.0, 0.5, "°C")
    assert suggested.width == 0.5
    assert "one step of 0.5 °C" in suggested.words
    assert suggested_deadband(0.1, 0.5, "°C").width == 1.2  # 1.158, rounded up


@given(noise=st.floats(0, 1e3), step=st.floats(1e-6, 1e3))
def test_the_suggested_deadband_is_rounded_up_never_down(noise: float, step: float) -> None:
    exact = 2 * 3.2905267314919255 * noise + step
    width = suggested_deadband(noise, step, "").width
    assert exact * (1 - 1e-6) <= width <= max(exact * 1.3, exact)
