"""How often the 95 % intervals hold the truth: `python -m tests.dashboard.comparing.coverage [N]`.

Some minutes for the 2,000 responses of each kind. The share that must come out is 93 to 97 %.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Callable

import numpy as np

from dashboard.comparing.ambient import ambient_fit
from dashboard.comparing.figure import Figure
from dashboard.comparing.first_order import FirstOrder
from dashboard.comparing.step import step_fit
from tests.dashboard.comparing.simulated import Simulated, simulated_cooling, simulated_step

SEED = 20_261
KINDS = {
    "step with dead time": (simulated_step, lambda one: step_fit(one.seconds, one.values)),
    "cooling, ambient fitted": (simulated_cooling, lambda one: ambient_fit(one.seconds, one.values)),
    "cooling, ambient given": (
        simulated_cooling,
        lambda one: ambient_fit(one.seconds, one.values, ambient=20.0),
    ),
}  # fmt: skip


def holds(figure: Figure, truth: float) -> bool:
    return figure.low is not None and figure.high is not None and figure.low <= truth <= figure.high


def held(
    n: int,
    persistence: float,
    simulated: Callable[..., Simulated],
    fitted: Callable[[Simulated], FirstOrder | str],
    seed: int = SEED,
) -> Counter[str]:
    """How many of n intervals hold the time constant, the onset and the level after; how many had no fit."""
    rng = np.random.default_rng(seed)
    counts: Counter[str] = Counter()
    for _ in range(n):
        one = simulated(rng, persistence=persistence)
        fit = fitted(one)
        if isinstance(fit, str):
            counts["no fit"] += 1
            continue
        counts["time constant"] += holds(fit.time_constant, one.tau)
        if fit.kind == "step":
            counts["onset"] += holds(fit.onset, one.onset)
        if fit.after.u:  # not where it was given
            counts["level after"] += holds(fit.after, one.after)
        counts["called not first order"] += not fit.is_first_order
        counts["given a drift"] += fit.drift is not None
    return counts


def main() -> None:
    n = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    for name, (simulated, fitted) in KINDS.items():
        for persistence in (0.0, 0.3, 0.6):
            counts = held(n, persistence, simulated, fitted)
            shares = ", ".join(f"{what} {count / n:.2%}" for what, count in sorted(counts.items()))
            print(f"{name}, noise of persistence {persistence}, {n} responses: {shares}", flush=True)


if __name__ == "__main__":
    main()
