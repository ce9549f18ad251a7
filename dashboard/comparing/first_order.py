"""A first-order course fitted: a step with dead time, or cooling and warming towards ambient."""

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
_N_TAUS = 40
_N_STARTS = 24
_WHITENINGS = 2  # rounds of fit and persistence: a third changes nothing
_FAR = 200.0  # logarithm of a time constant
_ROUNDED = 1e-9  # of the step: what rounding leaves
_MOST_PERSISTENT = 0.95
_LEAST_NEW = 1e-6  # of a reading's variance, for readings of one instant
_MOST_SCANNED = 150  # readings among which the starting values are looked for


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


def step_fit(seconds: Floats, values: Floats, *, unit: str = "", resolution: float = 0.0) -> FirstOrder | str:
    """Fit a first-order step with dead time; the words why when there is none.

    The starting values come from the readings: for a grid of onsets and time constants the best levels before
    and after follow by a straight line; the best three are then fitted in full. Noise that lasts is allowed
    for: its persistence is estimated from the residuals and the fit repeated on the differences that are new.

    Args:
        seconds: Rising; some readings from before the step, and more from after it.
        values: Of the same shape.
        unit: Of the values.
        resolution: The step that the values lie on: no shape is told from less.

    Source: Prais and Winsten, Cowles Commission paper 383 (1954), for the repeated fit.
    """
    n = len(values)
    if n < LEAST_READINGS:
        return f"fewer than {LEAST_READINGS} readings"
    t, y = seconds - seconds[0], values - values[0]
    span = float(t[-1])
    if not span > 0 or not np.ptp(y) > 0:
        return "the value never changes"

    def model(p: Floats) -> Floats:
        course: Floats = p[0] + p[1] * _risen(t, p[2], p[3])
        return course

    def slopes(p: Floats) -> Floats:
        since = np.maximum(t - p[2], 0.0)
        left = np.exp(-since * _rate(p[3]))
        has_begun = t > p[2]
        rate = _rate(p[3])
        by_onset = np.where(has_begun, -p[1] * rate * left, 0.0)
        by_log_tau = np.where(has_begun, -p[1] * since * rate * left, 0.0)
        return np.column_stack([np.ones(n), 1 - left, by_onset, by_log_tau])

    starts = _step_starts(t, y)
    fit, persistence = _whitened_fit(t, y, model, slopes, starts)
    p = fit.parameters
    tau = 1 / _rate(p[3])
    if not _is_sound(fit, span, tau, p[2]):
        return "no first-order step fits: the readings show no onset followed by a bend"
    return _first_order(
        "step", fit, persistence, seconds, values, model(p) + values[0], unit,
        onset=(float(p[2] + seconds[0]), float(fit.u[2])),
        resolution=resolution,
        log_tau=(float(p[3]), float(fit.u[3])),
        before=(float(p[0] + values[0]), float(fit.u[0])),
        after=(float(p[0] + p[1] + values[0]), math.sqrt(float(fit.covariance[:2, :2].sum()))),
    )  # fmt: skip


def ambient_fit(
    seconds: Floats,
    values: Floats,
    *,
    unit: str = "",
    ambient: float | None = None,
    u_ambient: float = 0.0,
    resolution: float = 0.0,
) -> FirstOrder | str:
    """Fit cooling or warming towards ambient, from the first reading on; the words why when there is none.

    Args:
        seconds: Rising.
        values: Of the same shape.
        unit: Of the values.
        ambient: Given, in the unit; None: fitted too, which needs a course that bends clearly.
        u_ambient: Standard uncertainty of the ambient that was given.
        resolution: The step that the values lie on.
    """
    n = len(values)
    if n < LEAST_READINGS:
        return f"fewer than {LEAST_READINGS} readings"
    t, y = seconds - seconds[0], values - values[0]
    span = float(t[-1])
    if not span > 0 or not np.ptp(y) > 0:
        return "the value never changes"
    if ambient is not None:
        return _given_ambient_fit(seconds, values, unit, ambient, u_ambient, resolution)

    def model(p: Floats) -> Floats:
        course: Floats = p[0] + p[1] * np.exp(-t * _rate(p[2]))
        return course

    def slopes(p: Floats) -> Floats:
        left = np.exp(-t * _rate(p[2]))
        return np.column_stack([np.ones(n), left, p[1] * left * t * _rate(p[2])])

    log_taus = np.log(np.geomspace(span / n, 20 * span, _N_TAUS))
    starts = [[*_levels(np.exp(-t * math.exp(-one)), y)[:2], float(one)] for one in log_taus]
    starts.sort(key=lambda start: float(np.sum((model(np.array(start)) - y) ** 2)))
    fit, persistence = _whitened_fit(t, y, model, slopes, [np.array(start) for start in starts[:3]])
    p = fit.parameters
    tau = 1 / _rate(p[2])
    if not np.isfinite(fit.u).all() or fit.u[2] > 1 or tau > 20 * span:
        return "the course bends too little to tell its ambient: give the ambient, or record for longer"
    return _first_order(
        "towards ambient", fit, persistence, seconds, values, model(p) + values[0], unit,
        onset=(float(seconds[0]), 0.0),
        resolution=resolution,
        log_tau=(float(p[2]), float(fit.u[2])),
        before=(float(p[0] + p[1] + values[0]), math.sqrt(float(fit.covariance[:2, :2].sum()))),
        after=(float(p[0] + values[0]), float(fit.u[0])),
    )  # fmt: skip


def _given_ambient_fit(
    seconds: Floats, values: Floats, unit: str, ambient: float, u_ambient: float, resolution: float
) -> FirstOrder | str:
    t = seconds - seconds[0]

    def fitted_to(to: float) -> tuple[Fit, float, Floats] | str:
        y = values - to

        def model(p: Floats) -> Floats:
            course: Floats = p[0] * np.exp(-t * _rate(p[1]))
            return course

        def slopes(p: Floats) -> Floats:
            left = np.exp(-t * _rate(p[1]))
            return np.column_stack([left, p[0] * left * t * _rate(p[1])])

        log_taus = np.log(np.geomspace(t[-1] / len(t), 1000 * t[-1], 2 * _N_TAUS))
        lefts = [np.exp(-t * math.exp(-one)) for one in log_taus]
        starts = [
            np.array([float(left @ y) / float(left @ left), one])
            for left, one in zip(lefts, log_taus, strict=True)
        ]
        starts.sort(key=lambda start: float(np.sum((model(start) - y) ** 2)))
        fit, persistence = _whitened_fit(t, y, model, slopes, starts[:2])
        if not np.isfinite(fit.u).all() or fit.u[1] > 1:
            return "the values come no nearer to the ambient"
        return fit, persistence, model(fit.parameters) + to

    found = fitted_to(ambient)
    if isinstance(found, str):
        return found
    fit, persistence, fitted = found
    log_tau, u_log_tau = float(fit.parameters[1]), float(fit.u[1])
    if u_ambient > 0:  # what the ambient's own uncertainty does, by fitting at either end of it
        ends = [fitted_to(ambient + sign * u_ambient) for sign in (-1, 1)]
        moves = [float(end[0].parameters[1]) - log_tau for end in ends if not isinstance(end, str)]
        u_log_tau = math.hypot(u_log_tau, max(map(abs, moves), default=0.0))
    return _first_order(
        "towards ambient", fit, persistence, seconds, values, fitted, unit,
        onset=(float(seconds[0]), 0.0),
        resolution=resolution,
        log_tau=(log_tau, u_log_tau),
        before=(float(fit.parameters[0]) + ambient, float(fit.u[0])),
        after=(ambient, u_ambient),
    )  # fmt: skip


def _rate(log_tau: float) -> float:
    """1 / time constant, held where numbers are finite: a search may look far away."""
    return math.exp(-min(max(log_tau, -_FAR), _FAR))


def _risen(t: Floats, onset: float, log_tau: float) -> Floats:
    risen: Floats = -np.expm1(-np.maximum(t - onset, 0.0) * _rate(log_tau))
    return risen


def _levels(shape: Floats, y: Floats) -> tuple[float, float, float]:
    """Offset and amount of y = offset + amount * shape by a straight line, and the squares left over."""
    s, v = shape - shape.mean(), y - y.mean()
    across = float(s @ s)
    amount = float(s @ v) / across if across > 0 else 0.0
    rest = v - amount * s
    return float(y.mean() - amount * shape.mean()), amount, float(rest @ rest)


def _step_starts(t: Floats, y: Floats) -> list[Floats]:
    """The best three of a grid of onsets and time constants, the second and third with another onset."""
    thin = np.unique(np.linspace(0, len(t) - 1, min(len(t), _MOST_SCANNED)).astype(int))
    t, y = t[thin], y[thin]
    span = float(t[-1])
    # Half of the onsets where the value changes fastest, half spread evenly: one of them is near.
    change = np.cumsum(np.abs(np.diff(y, prepend=y[0])) ** 2)
    quick = np.interp(np.linspace(0.02, 0.98, _N_STARTS // 2) * change[-1], change, t)
    onsets = np.unique(np.concatenate([quick - span / len(t), np.linspace(0, 0.9, _N_STARTS) * span]))
    log_taus = np.log(np.geomspace(span / (2 * len(t)), 3 * span, _N_TAUS))
    v, rates = y - y.mean(), np.exp(-log_taus)[:, None]
    found: list[tuple[float, Floats]] = []
    for onset in np.maximum(onsets, 0.0):
        shapes = -np.expm1(-np.maximum(t - onset, 0.0) * rates)
        middle = shapes.mean(axis=1, keepdims=True)
        across = np.sum((shapes - middle) ** 2, axis=1)
        amounts = np.divide((shapes - middle) @ v, across, out=np.zeros(len(rates)), where=across > 0)
        best = int(np.argmax(amounts**2 * across))
        offset = float(y.mean() - amounts[best] * middle[best, 0])
        squares = -float(amounts[best] ** 2 * across[best])
        found.append((squares, np.array([offset, amounts[best], onset, log_taus[best]])))
    found.sort(key=lambda one: one[0])
    return [start for _, start in found[:3]]


def _whitened_fit(
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


def _is_sound(fit: Fit, span: float, tau: float, onset: float) -> bool:
    """Whether the fit is one of a step within the readings."""
    return bool(np.isfinite(fit.u).all()) and tau < 10 * span and fit.u[3] < 1 and -span < onset < span


def _first_order(
    kind: Kind,
    fit: Fit,
    persistence: float,
    seconds: Floats,
    values: Floats,
    fitted: Floats,
    unit: str,
    *,
    onset: tuple[float, float],
    resolution: float,
    log_tau: tuple[float, float],
    before: tuple[float, float],
    after: tuple[float, float],
) -> FirstOrder:
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
