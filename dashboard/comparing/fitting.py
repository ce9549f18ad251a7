"""Nonlinear least squares with what the parameters are worth."""

from __future__ import annotations

import math
import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy import optimize

from dashboard.comparing.moments import Floats, mean_of, sum_of_squares

Model = Callable[[Floats], Floats]
_ROUNDING = float(np.finfo(np.float64).eps)
_MOST_EVALUATIONS = 20_000
_MOST_NEAR = 200  # from a start near the solution
_NEAR_ENOUGH = 1e-10  # there, for the polishing finds the last digits
_MOST_POLISHING = 8
_LAST_DIGIT = 1e-13  # of a parameter
_SMALL_STEP = 1e-3  # of a parameter: beyond it the solution is not near


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """The parameters of least squared residuals.

    Standard uncertainties and covariance are those of the linear approximation at the solution, with the
    variance taken from the residuals (n - p degrees of freedom).
    """

    parameters: Floats
    covariance: Floats
    residuals: Floats
    is_solved: bool

    @property
    def dof(self) -> int:
        """n - p."""
        return len(self.residuals) - len(self.parameters)

    @property
    def u(self) -> Floats:
        """Standard uncertainties of the parameters."""
        standard: Floats = np.sqrt(np.diag(self.covariance))
        return standard

    @property
    def residual_sum_squares(self) -> float:
        """Of the residuals as they were minimised."""
        return math.fsum(self.residuals * self.residuals)

    @property
    def residual_sd(self) -> float:
        """With n - p degrees of freedom; NaN without any."""
        return math.sqrt(self.residual_sum_squares / self.dof) if self.dof > 0 else math.nan

    def r_squared(self, observed: Floats) -> float:
        """The share of the observed values' variance that the fit explains; NaN without any."""
        total = sum_of_squares(observed, mean_of(observed))
        return 1 - self.residual_sum_squares / total if total > 0 else math.nan


def least_squares_fit(
    residuals_of: Model,
    start: Sequence[float] | Floats,
    *,
    jacobian_of: Callable[[Floats], Floats] | None = None,
    is_near: bool = False,
) -> Fit:
    """Minimise a sum of squares from one starting point.

    The steps of Levenberg and Marquardt are tried first, then a trust region (which does not walk off where
    the model is flat); the smaller sum counts. Parameters are scaled by their own effect on the residuals.

    Args:
        residuals_of: The residuals for parameters, shape (n,); not finite ones are as bad as very large ones.
        start: Shape (p,), p <= n.
        is_near: The start is near the solution already: the first way is enough.
        jacobian_of: Their derivatives, shape (n, p). None: by differences.

    Raises:
        ValueError: More parameters than residuals, or the residuals at the start are not finite.

    Source: Moré, in Numerical Analysis, Lecture Notes in Mathematics 630 (1978) 105; Branch, Coleman and Li,
    SIAM J. Sci. Comput. 21 (1999) 1.
    """
    begin = np.asarray(start, np.float64)
    at_start = residuals_of(begin)
    if len(at_start) < len(begin):
        raise ValueError(f"{len(at_start)} residuals can't tell {len(begin)} parameters")
    if not np.isfinite(at_start).all():
        raise ValueError("the residuals at the starting point are not finite")

    def bounded(parameters: Floats) -> Floats:
        return np.nan_to_num(residuals_of(parameters), nan=1e150, posinf=1e150, neginf=-1e150)

    best: optimize.OptimizeResult | None = None
    for method in ("lm",) if is_near else ("lm", "trf"):
        found = _minimised(bounded, begin, method, jacobian_of, _MOST_NEAR if is_near else _MOST_EVALUATIONS)
        if found is not None and (best is None or found.cost < best.cost * (1 - 1e-9)):
            best = found
    if best is None:
        return Fit(begin, np.full((len(begin), len(begin)), np.nan), at_start, False)
    parameters, jacobian = _polished(bounded, best, jacobian_of)
    residuals = bounded(parameters)
    return Fit(parameters, _covariance(jacobian, residuals), residuals, bool(best.success))


def _polished(
    residuals_of: Model, found: optimize.OptimizeResult, jacobian_of: Callable[[Floats], Floats] | None
) -> tuple[Floats, Floats]:
    """The last digits, by a few full steps of Gauss and Newton.

    A sum of squares is flat at its least value: a method that goes by it stops with half the digits.
    """
    parameters, jacobian, last = found.x, found.jac, math.inf
    residuals = residuals_of(parameters)
    for _ in range(_MOST_POLISHING):
        scale = np.sqrt((jacobian * jacobian).sum(axis=0))
        if not scale.all() or not np.isfinite(jacobian).all():
            break
        step = np.linalg.lstsq(jacobian / scale, -residuals, rcond=None)[0] / scale
        size = float(np.max(np.abs(step) / np.maximum(np.abs(parameters), 1e-300)))
        if size >= last or size > _SMALL_STEP:
            break
        moved = parameters + step
        after = residuals_of(moved)
        if float(after @ after) > float(residuals @ residuals) * (1 + 1e-9):
            break
        parameters, residuals, last = moved, after, size
        jacobian = _derivatives(residuals_of, parameters, jacobian_of)
        if size < _LAST_DIGIT:
            break
    return parameters, jacobian


def _derivatives(residuals_of: Model, at: Floats, jacobian_of: Callable[[Floats], Floats] | None) -> Floats:
    """By the function that gives them, else by central differences."""
    if jacobian_of is not None:
        return jacobian_of(at)
    columns = []
    for k, value in enumerate(at):
        step = np.zeros(len(at))
        step[k] = _ROUNDING ** (1 / 3) * (abs(value) or 1.0)
        columns.append((residuals_of(at + step) - residuals_of(at - step)) / (2 * step[k]))
    return np.column_stack(columns)


def _minimised(
    residuals_of: Model, start: Floats, method: str, jacobian_of: Callable[[Floats], Floats] | None, most: int
) -> optimize.OptimizeResult | None:
    tolerance = _NEAR_ENOUGH if most == _MOST_NEAR else 4 * _ROUNDING
    try:
        with np.errstate(all="ignore"), warnings.catch_warnings():
            warnings.simplefilter("ignore", RuntimeWarning)
            return optimize.least_squares(
                residuals_of,
                start,
                jac="3-point" if jacobian_of is None else jacobian_of,
                method=method,
                x_scale="jac",
                ftol=tolerance,
                xtol=tolerance,
                gtol=tolerance,
                max_nfev=most,
            )
    except (ValueError, np.linalg.LinAlgError):  # where it walked to, there are no finite derivatives
        return None


def _covariance(jacobian: Floats, residuals: Floats) -> Floats:
    n, p = jacobian.shape
    scale = np.sqrt((jacobian * jacobian).sum(axis=0))
    if n <= p or not np.isfinite(jacobian).all() or not scale.all():
        return np.full((p, p), np.nan)
    singular, v = np.linalg.svd(jacobian / scale, full_matrices=False)[1:]
    if singular[-1] <= singular[0] * _ROUNDING * n:
        return np.full((p, p), np.nan)
    half = v.T / singular
    variance = math.fsum(residuals * residuals) / (n - p)
    covariance: Floats = half @ half.T * variance / np.outer(scale, scale)
    return covariance
