"""First-order responses with known truth, as different as boards, covers and sampling make them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from dashboard.comparing.moments import Floats
from tests.dashboard.comparing.made import persistent_noise


@dataclass(frozen=True, slots=True, eq=False)
class Simulated:
    """Readings of one response and what is true of it."""

    seconds: Floats
    values: Floats
    tau: float
    onset: float
    before: float
    after: float


def simulated_step(rng: np.random.Generator, *, persistence: float = 0.0) -> Simulated:
    """A step with dead time: 8 to 40 readings a time constant at uneven steps, 4 to 9 time constants long.

    The noise is 1/15 to 1/150 of the step and lasts as told.
    """
    tau = rng.uniform(2, 20)
    interval = tau / rng.uniform(8, 40)
    onset = rng.uniform(0.5, 2) * tau
    n = int((rng.uniform(4, 9) * tau + onset) / interval)
    t = np.cumsum(rng.uniform(0.8, 1.2, n) * interval)
    step = float(rng.choice([-1, 1])) * rng.uniform(5, 30)
    noise = abs(step) / rng.uniform(15, 150)
    y = 20 - step * np.expm1(-np.maximum(t - onset, 0) / tau) + noise * persistent_noise(rng, n, persistence)
    return Simulated(t, y, tau, onset, 20.0, 20.0 + step)


def simulated_cooling(rng: np.random.Generator, *, persistence: float = 0.0) -> Simulated:
    """Cooling from the first reading on, 2 to 5 time constants long."""
    tau = rng.uniform(100, 900)
    n = int(rng.uniform(80, 400))
    t = np.cumsum(rng.uniform(0.8, 1.2, n)) * rng.uniform(2, 5) * tau / n
    drop = rng.uniform(15, 30)
    noise = drop / rng.uniform(30, 200)
    y = 20 + drop * np.exp(-(t - t[0]) / tau) + noise * persistent_noise(rng, n, persistence)
    return Simulated(t, y, tau, float(t[0]), 20 + drop, 20.0)


def second_order(t: Floats, *, damping: float, period: float) -> Floats:
    """The unit step response of a second-order system, below critical damping."""
    fast = math.sqrt(1 - damping**2)
    phase = 2 * math.pi * np.maximum(t, 0.0) / period
    answer: Floats = 1 - np.exp(-damping * phase) * (
        np.cos(fast * phase) + damping / fast * np.sin(fast * phase)
    )
    return answer
