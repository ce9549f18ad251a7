"""A first-order step with dead time, fitted from starting values that the readings give."""

from __future__ import annotations

import math
from functools import partial

import numpy as np

from dashboard.comparing.first_order import (
    LEAST_READINGS,
    FirstOrder,
    first_order,
    rate_of,
    whitened_fit,
)
from dashboard.comparing.fitting import Fit
from dashboard.comparing.moments import Floats

_N_TAUS = 40
_N_STARTS = 24
_MOST_SCANNED = 150  # readings among which the starting values are looked for
_LEAST_FOR_DRIFT = 4.0  # time constants after the onset: in less, a drift looks like a longer one
_CLEAR_DRIFT = 4.0  # standard uncertainties


def step_fit(seconds: Floats, values: Floats, *, unit: str = "", resolution: float = 0.0) -> FirstOrder | str:
    """Fit a first-order step with dead time; the words why when there is none.

    The starting values come from the readings: for a grid of onsets and time constants the best levels before
    and after follow by a straight line; the best three are then fitted in full. Noise that lasts is allowed
    for: its persistence is estimated from the residuals and the fit repeated on the differences that are new.

    A level that drifts after the step (water that cools under the sensor) would make the time constant too
    short. Where a straight drift after the onset is beyond chance (four standard uncertainties) and makes the
    shape first order, it is part of the fit.

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

    starts = _step_starts(t, y)
    plain = _fit_of(t, y, starts, drifts=False)
    if not _is_sound(plain[0], span):
        return "no first-order step fits: the readings show no onset followed by a bend"
    found = _found(seconds, values, *plain, unit, resolution)
    p = plain[0].parameters
    if span - p[2] < _LEAST_FOR_DRIFT / rate_of(p[3]):
        return found
    drifting = _fit_of(t, y, [np.append(p, 0.0)], drifts=True)
    size = abs(float(drifting[0].parameters[4]))
    if not _is_sound(drifting[0], span) or size < _CLEAR_DRIFT * float(drifting[0].u[4]):
        return found
    with_drift = _found(seconds, values, *drifting, unit, resolution)
    return with_drift if with_drift.is_first_order else found


def _fit_of(t: Floats, y: Floats, starts: list[Floats], *, drifts: bool) -> tuple[Fit, float]:
    """Parameters: level before, step, onset, logarithm of the time constant, drift per second after it."""

    def slopes(p: Floats) -> Floats:
        since, rate = np.maximum(t - p[2], 0.0), rate_of(p[3])
        left = np.exp(-since * rate)
        has_begun = t > p[2]
        drift = float(p[4]) if drifts else 0.0
        by_onset = np.where(has_begun, -p[1] * rate * left - drift, 0.0)
        by_log_tau = np.where(has_begun, -p[1] * since * rate * left, 0.0)
        columns = [np.ones(len(t)), 1 - left, by_onset, by_log_tau]
        return np.column_stack([*columns, since] if drifts else columns)

    return whitened_fit(t, y, partial(_course, t), slopes, starts)


def _course(t: Floats, p: Floats) -> Floats:
    course: Floats = p[0] + p[1] * _risen(t, p[2], p[3])
    return course + p[4] * np.maximum(t - p[2], 0.0) if len(p) > 4 else course


def _found(
    seconds: Floats, values: Floats, fit: Fit, persistence: float, unit: str, resolution: float
) -> FirstOrder:
    p = fit.parameters
    fitted = _course(seconds - seconds[0], p) + values[0]
    return first_order(
        "step", fit, persistence, seconds, values, fitted, unit,
        onset=(float(p[2] + seconds[0]), float(fit.u[2])),
        drift=(60 * float(p[4]), 60 * float(fit.u[4])) if len(p) > 4 else None,
        resolution=resolution,
        log_tau=(float(p[3]), float(fit.u[3])),
        before=(float(p[0] + values[0]), float(fit.u[0])),
        after=(float(p[0] + p[1] + values[0]), math.sqrt(float(fit.covariance[:2, :2].sum()))),
    )  # fmt: skip


def _risen(t: Floats, onset: float, log_tau: float) -> Floats:
    risen: Floats = -np.expm1(-np.maximum(t - onset, 0.0) * rate_of(log_tau))
    return risen


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


def _is_sound(fit: Fit, span: float) -> bool:
    """Whether the fit is one of a step within the readings."""
    onset, tau = float(fit.parameters[2]), 1 / rate_of(fit.parameters[3])
    return bool(np.isfinite(fit.u).all()) and tau < 10 * span and fit.u[3] < 1 and -span < onset < span
