"""What a fitted first-order course is, how it is fitted in lasting noise, and when the shape is another."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Literal

import numpy as np
from scipy import stats

from dashboard.comparing.figure import CONFIDENCE, Figure, figure, no_figure
from dashboard.comparing.fitting import Fit, Model, least_squares_fit
from dashboard.comparing.moments import Floats, effective_number, mean_of, persistence_of, sum_of_squares

Kind = Literal["step", "towards ambient"]

LEAST_READINGS = 8
SHAPE_PARTS = 10
SHAPE_PROBABILITY = 0.001
SHAPE_SHARE = 0.01
"""The rule for a shape that is not first order: the residuals' means over ten parts of the course lie apart
beyond chance (F test at 0.1 %, persistence of the noise allowed for), and one of them is more than 1 % of the
step."""
_WHITENINGS = 2  # rounds of fit and persistence: a third changes nothing
_FAR = 200.0  # logarithm of a time constant
_ROUNDED = 1e-9  # of the step: what rounding leaves
_MOST_PERSISTENT = 0.95
_LEAST_NEW = 1e-6  # of a reading's variance, for readings of one instant


@dataclass(frozen=True, slots=True, eq=False)
class FirstOrder:
    """A fitted first-order course: before, then after + (before - after) exp(-(t - onset) / time constant).

    Towards ambient, `before` is the value at the first reading, `after` is the ambient and `onset` the time
    of the first reading, which is not fitted.
    """

    kind: Kind
    onset: Figure  # s, in the time of the series
    time_constant: Figure  # s
    before: Figure
    after: Figure
    drift: (
        Figure | None
    )  # per min, of the level after a step, where it was needed; then `after` is at the onset
    residual_sd: float
    r_squared: float
    persistence: float  # of the noise from one reading to the next; allowed for in all intervals
    is_first_order: bool
    words: str  # about the shape and the fit
    seconds: Floats
    fitted: Floats
    residuals: Floats

    @property
    def step(self) -> float:
        """After less before."""
        return (self.after.value or 0.0) - (self.before.value or 0.0)


def rate_of(log_tau: float) -> float:
    """1 / time constant, held where numbers are finite: a search may look far away."""
    return math.exp(-min(max(log_tau, -_FAR), _FAR))


def levels(shape: Floats, y: Floats) -> tuple[float, float, float]:
    """Offset and amount of y = offset + amount * shape by a straight line, and the squares left over."""
    s, v = shape - shape.mean(), y - y.mean()
    across = float(s @ s)
    amount = float(s @ v) / across if across > 0 else 0.0
    rest = v - amount * s
    return float(y.mean() - amount * shape.mean()), amount, float(rest @ rest)


def whitened_fit(
    t: Floats, y: Floats, model: Model, slopes: Callable[[Floats], Floats], starts: list[Floats]
) -> tuple[Fit, float]:
    """The fit on what is new in each reading, and the noise's persistence over a usual interval."""
    fits = [
        least_squares_fit(lambda p: model(p) - y, start, jacobian_of=slopes, is_near=True) for start in starts
    ]
    fit = min(fits, key=lambda one: one.residual_sum_squares)
    intervals = np.diff(t) / float(np.median(np.diff(t)))
    persistence = 0.0
    for _ in range(_WHITENINGS):
        residuals = model(fit.parameters) - y
        persistence = persistence_of(residuals, n_parameters=len(fit.parameters))
        if persistence == 0 or not residuals.any():
            break
        kept = persistence ** np.maximum(intervals, 0.0)

        fit = least_squares_fit(
            partial(_new_part_of, kept, lambda p: model(p) - y),
            fit.parameters,
            jacobian_of=partial(_new_part_of, kept, slopes),
            is_near=True,
        )
    return fit, persistence


def _new_part_of(kept: Floats, columns_of: Model, parameters: Floats) -> Floats:
    """What each row of the columns brings beyond what the row before let expect."""
    columns = columns_of(parameters)
    new = columns.copy()
    if columns.ndim == 2:
        kept = kept[:, None]
    new[1:] = (columns[1:] - kept * columns[:-1]) / np.sqrt(np.maximum(1 - kept * kept, _LEAST_NEW))
    return new


def first_order(
    kind: Kind,
    fit: Fit,
    persistence: float,
    seconds: Floats,
    values: Floats,
    fitted: Floats,
    unit: str,
    *,
    onset: tuple[float, float],
    drift: tuple[float, float] | None = None,
    resolution: float,
    log_tau: tuple[float, float],
    before: tuple[float, float],
    after: tuple[float, float],
) -> FirstOrder:
    """A fit's parameters as figures, with the verdict on its shape.

    Args:
        kind: Which model.
        fit: On what is new in each reading.
        persistence: Of the noise, that the fit allowed for.
        seconds: Of the readings.
        values: Of the readings.
        fitted: The course at the same times.
        unit: Of the values.
        onset: Value and standard uncertainty, s; so the others in their units.
        log_tau: Logarithm of the time constant.
        before: Level.
        after: Level.
        drift: Per minute, after the onset.
        resolution: The step that the values lie on.
    """
    residuals = values - fitted
    # As many readings as are worth as much when noise lasts: they tell its spread no better than so few.
    dof = max(2.0, effective_number(len(values), persistence) - len(fit.parameters))
    factor = float(stats.t.ppf(1 - (1 - CONFIDENCE) / 2, dof))

    def made(name: str, in_unit: str, found: tuple[float, float]) -> Figure:
        value, u = found
        return figure(name, in_unit, value, u, interval=(value - factor * u, value + factor * u))

    tau, u_log = math.exp(log_tau[0]), log_tau[1]
    # The logarithm of the time constant is nearer to normal than itself: its interval is longer above.
    interval = (tau * math.exp(-factor * u_log), tau * math.exp(factor * u_log))
    words, is_first_order = _shape(residuals, abs(after[0] - before[0]), len(fit.parameters), resolution)
    squares = math.fsum(residuals * residuals)
    total = sum_of_squares(values, mean_of(values))
    is_exact = onset[1] == 0 and kind == "towards ambient"
    return FirstOrder(
        kind=kind,
        onset=figure("onset", "s", onset[0], words="the first reading")
        if is_exact
        else made("onset", "s", onset),
        time_constant=figure("time constant", "s", tau, tau * u_log, interval=interval, words=words),
        before=made("level before", unit, before),
        after=made("ambient" if kind == "towards ambient" else "level after", unit, after),
        drift=None
        if drift is None
        else made("drift after the step", f"{unit}/min" if unit else "1/min", drift),
        residual_sd=math.sqrt(squares / max(1, len(values) - len(fit.parameters))),
        r_squared=1 - squares / total if total > 0 else math.nan,
        persistence=persistence,
        is_first_order=is_first_order,
        words=words,
        seconds=seconds,
        fitted=fitted,
        residuals=residuals,
    )


def _shape(residuals: Floats, step: float, n_parameters: int, resolution: float) -> tuple[str, bool]:
    """Whether the residuals are noise; see SHAPE_SHARE."""
    n_parts = min(SHAPE_PARTS, len(residuals) // 5)
    if n_parts <= n_parameters:
        return "too few readings to judge the shape", True
    parts = np.array_split(residuals, n_parts)
    means = np.array([part.mean() for part in parts])
    largest = float(np.abs(means).max()) / step if step > 0 else math.inf
    lasting = _lasting_variance(residuals)
    # Within one step of a converter the readings stay on one side of the course for as long as it takes.
    errors = [lasting / len(part) + resolution**2 / 12 for part in parts]
    squares = float(np.sum(means**2 / np.maximum(errors, 1e-300))) / (n_parts - n_parameters)
    probability = float(stats.f.sf(squares, n_parts - n_parameters, len(residuals) / 2))
    if probability >= SHAPE_PROBABILITY or largest <= _ROUNDED:
        return "", True
    if largest <= SHAPE_SHARE:
        return f"departs from first order by at most {largest:.1%} of the step", True
    return f"not first order: departs by up to {largest:.1%} of the step, beyond the noise", False


def _lasting_variance(residuals: Floats) -> float:
    """The variance of a mean of their noise times its number: sd^2 (1 + r) / (1 - r) with persistence r.

    From second differences over one step and over two, which a smooth shape hardly reaches: their squares
    are as 1 to (1 + r) (3 - r^2) / (3 - r). The persistence is taken two standard errors larger than it
    comes out.
    """
    over_1 = float(np.mean((residuals[:-2] - 2 * residuals[1:-1] + residuals[2:]) ** 2))
    over_2 = float(np.mean((residuals[:-4] - 2 * residuals[2:-2] + residuals[4:]) ** 2))
    grid = np.linspace(0, 1, 101)
    ratios = (1 + grid) * (3 - grid**2) / (3 - grid)
    found = float(np.interp(over_2 / over_1, ratios, grid)) if over_1 > 0 else 0.0
    r = min(found + 2 / math.sqrt(len(residuals)), _MOST_PERSISTENT)
    return over_1 / (2 * (1 - r) * (3 - r)) * (1 + r) / (1 - r)


def no_time_constant(words: str) -> Figure:
    """The figure of a fit that failed."""
    return no_figure("time constant", "s", words)
