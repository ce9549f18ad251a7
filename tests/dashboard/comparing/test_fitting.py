"""Nonlinear least squares against the certified values of NIST."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from dashboard.comparing.fitting import least_squares_fit
from dashboard.comparing.moments import Floats
from tests.dashboard.comparing.made import CERTIFIED, digits, rows

Formula = Callable[[NDArray[Any], Floats], NDArray[Any]]
FORMULAS: dict[str, Formula] = {
    "Misra1a": lambda b, x: b[0] * (1 - np.exp(-b[1] * x)),
    "BoxBOD": lambda b, x: b[0] * (1 - np.exp(-b[1] * x)),
    "MGH17": lambda b, x: b[0] + b[1] * np.exp(-x * b[3]) + b[2] * np.exp(-x * b[4]),
    "Lanczos3": lambda b, x: b[0] * np.exp(-b[1] * x) + b[2] * np.exp(-b[3] * x) + b[4] * np.exp(-b[5] * x),
    "MGH10": lambda b, x: b[0] * np.exp(b[1] / (x + b[2])),
    "Chwirut1": lambda b, x: np.exp(-b[0] * x) / (b[1] + b[2] * x),
    "Chwirut2": lambda b, x: np.exp(-b[0] * x) / (b[1] + b[2] * x),
    "DanWood": lambda b, x: b[0] * x ** b[1],
}


def exact_derivatives(formula: Formula, at: Floats, x: Floats) -> Floats:
    """By a step into the imaginary, which loses no digits (Squire and Trapp, SIAM Review 40 (1998) 110)."""
    columns = []
    for k in range(len(at)):
        moved = at.astype(np.complex128)
        step = 1e-30 * (abs(at[k]) or 1.0)
        moved[k] += 1j * step
        columns.append(formula(moved, x).imag / step)
    return np.column_stack(columns)


def test_every_nonlinear_set_is_here() -> None:
    assert set(FORMULAS) == set(CERTIFIED["nonlinear"])


@pytest.mark.parametrize("start", ["start1", "start2"])
@pytest.mark.parametrize("name", sorted(FORMULAS))
def test_the_nonlinear_sets_come_out_from_both_starts(name: str, start: str) -> None:  # NIST StRD: 11 digits
    certified, formula = CERTIFIED["nonlinear"][name], FORMULAS[name]
    table = rows(f"nist/nonlinear_{name}.csv")
    x, y = (np.array([float(row[column]) for row in table]) for column in "xy")
    fit = least_squares_fit(
        lambda b: formula(b, x) - y,
        certified[start],
        jacobian_of=lambda b: exact_derivatives(formula, b, x),
    )
    assert fit.is_solved
    assert fit.dof == certified["dof"]
    for found, published in zip(fit.parameters, certified["params"], strict=True):
        assert digits(found, published) >= 10.0
    for found, published in zip(fit.u, certified["params_sd"], strict=True):
        assert digits(found, published) >= 10.0
    assert digits(fit.residual_sum_squares, certified["residual_sum_squares"]) >= 10.0
    assert digits(fit.residual_sd, certified["residual_sd"]) >= 10.0


@pytest.mark.parametrize("start", ["start1", "start2"])
@pytest.mark.parametrize("name", sorted(FORMULAS))
def test_without_derivatives_six_digits_are_left(name: str, start: str) -> None:
    certified, formula = CERTIFIED["nonlinear"][name], FORMULAS[name]
    table = rows(f"nist/nonlinear_{name}.csv")
    x, y = (np.array([float(row[column]) for row in table]) for column in "xy")
    fit = least_squares_fit(lambda b: formula(b, x) - y, certified[start])
    for found, published in zip(fit.parameters, certified["params"], strict=True):
        assert digits(found, published) >= 6.0


def test_misra1a_read_as_a_step_response_gives_its_time_constant() -> None:
    certified = CERTIFIED["nonlinear"]["Misra1a"]
    rate, u_rate = certified["params"][1], certified["params_sd"][1]
    assert 1 / rate == pytest.approx(certified["derived_tau"], rel=1e-10)
    assert u_rate / rate**2 == pytest.approx(certified["derived_tau_u"], rel=1e-9)


def test_too_few_residuals_and_a_start_without_value_are_refused() -> None:
    with pytest.raises(ValueError, match="can't tell 3"):
        least_squares_fit(lambda b: b[:2], [1.0, 2.0, 3.0])
    with pytest.raises(ValueError, match="not finite"):
        least_squares_fit(lambda b: np.array([np.nan, b[0]]), [1.0])


def test_a_parameter_without_effect_has_no_uncertainty_rather_than_a_wrong_one() -> None:
    fit = least_squares_fit(lambda b: np.array([b[0] - 1, b[0] - 2, b[0] - 4]), [0.0, 5.0])
    assert np.isnan(fit.u).all()
