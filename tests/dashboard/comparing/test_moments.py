"""Moments against the certified values of NIST."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.comparing.moments import (
    effective_number,
    lag_1_autocorrelation,
    mean_of,
    moments,
    persistence_of,
)
from tests.dashboard.comparing.made import CERTIFIED, digits, persistent_noise, rows

# What double precision can hold of these data: their decimals are no binary fractions.
REACHED_SD = {"NumAcc3": 9.4, "NumAcc4": 8.2, "Mavro": 12.9, "Michelso": 13.0}


@pytest.mark.parametrize("name", sorted(CERTIFIED["univariate"]))
def test_the_univariate_sets_come_out_to_their_certified_digits(name: str) -> None:  # NIST StRD
    certified = CERTIFIED["univariate"][name]
    y = np.array([float(row["y"]) for row in rows(f"nist/univariate_{name}.csv")])
    found = moments(y)
    assert found.n == certified["n_obs"]
    assert digits(found.mean, certified["mean"]) >= 14.5
    assert digits(found.sd, certified["sd"]) >= REACHED_SD.get(name, 14.5)
    assert digits(lag_1_autocorrelation(y), certified["lag1_autocorrelation"]) >= REACHED_SD.get(name, 13.5)


@given(st.lists(st.floats(-1e6, 1e6), min_size=2, max_size=50), st.floats(-1e6, 1e6))
def test_an_offset_moves_the_mean_and_leaves_the_spread(values: list[float], offset: float) -> None:
    plain, moved = moments(np.array(values)), moments(np.array(values) + offset)
    assert moved.mean == pytest.approx(plain.mean + offset, abs=1e-8)
    assert moved.sd == pytest.approx(plain.sd, abs=1e-7)


def test_no_value_has_no_mean() -> None:
    with pytest.raises(ValueError, match="no value"):
        moments(np.array([]))


@pytest.mark.parametrize("persistence", [0.0, 0.3, 0.7])
def test_persistence_is_found_again_behind_a_fitted_line(persistence: float) -> None:
    rng, n = np.random.default_rng(5), 200
    x = np.linspace(-1, 1, n)
    found = []
    for _ in range(200):
        y = persistent_noise(rng, n, persistence)
        found.append(persistence_of(y - np.polyval(np.polyfit(x, y, 1), x), n_parameters=2))
    assert np.mean(found) == pytest.approx(persistence, abs=0.035)


def test_the_mean_of_persistent_noise_scatters_as_its_effective_number_says() -> None:
    rng, n = np.random.default_rng(6), 300
    means = [mean_of(persistent_noise(rng, n, 0.6)) for _ in range(2000)]
    assert np.std(means) == pytest.approx(effective_number(n, 0.6) ** -0.5, rel=0.05)
