"""Cooling or warming towards ambient, fitted with the ambient found or given."""

from __future__ import annotations

import math

import numpy as np

from dashboard.comparing.first_order import (
    LEAST_READINGS,
    FirstOrder,
    first_order,
    levels,
    rate_of,
    whitened_fit,
)
from dashboard.comparing.fitting import Fit
from dashboard.comparing.moments import Floats

_N_TAUS = 40


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
        course: Floats = p[0] + p[1] * np.exp(-t * rate_of(p[2]))
        return course

    def slopes(p: Floats) -> Floats:
        left = np.exp(-t * rate_of(p[2]))
        return np.column_stack([np.ones(n), left, p[1] * left * t * rate_of(p[2])])

    log_taus = np.log(np.geomspace(span / n, 20 * span, _N_TAUS))
    starts = [[*levels(np.exp(-t * math.exp(-one)), y)[:2], float(one)] for one in log_taus]
    starts.sort(key=lambda start: float(np.sum((model(np.array(start)) - y) ** 2)))
    fit, persistence = whitened_fit(t, y, model, slopes, [np.array(start) for start in starts[:3]])
    p = fit.parameters
    tau = 1 / rate_of(p[2])
    if not np.isfinite(fit.u).all() or fit.u[2] > 1 or tau > 20 * span:
        return "the course bends too little to tell its ambient: give the ambient, or record for longer"
    return first_order(
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
            course: Floats = p[0] * np.exp(-t * rate_of(p[1]))
            return course

        def slopes(p: Floats) -> Floats:
            left = np.exp(-t * rate_of(p[1]))
            return np.column_stack([left, p[0] * left * t * rate_of(p[1])])

        log_taus = np.log(np.geomspace(t[-1] / len(t), 1000 * t[-1], 2 * _N_TAUS))
        lefts = [np.exp(-t * math.exp(-one)) for one in log_taus]
        starts = [
            np.array([float(left @ y) / float(left @ left), one])
            for left, one in zip(lefts, log_taus, strict=True)
        ]
        starts.sort(key=lambda start: float(np.sum((model(start) - y) ** 2)))
        fit, persistence = whitened_fit(t, y, model, slopes, starts[:2])
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
    return first_order(
        "towards ambient", fit, persistence, seconds, values, fitted, unit,
        onset=(float(seconds[0]), 0.0),
        resolution=resolution,
        log_tau=(log_tau, u_log_tau),
        before=(float(fit.parameters[0]) + ambient, float(fit.u[0])),
        after=(ambient, u_ambient),
    )  # fmt: skip
