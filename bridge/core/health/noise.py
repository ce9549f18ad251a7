"""How much a field's numbers scatter about their smooth course, and how much they usually do."""

from __future__ import annotations

from collections import deque
from functools import lru_cache
from statistics import NormalDist

import numpy as np

from .seen import ChannelSeen
from .window import Look, Numbers, Window, middle

NOISE_ROWS = 60
NOISE_SPAN_NS = 30_000_000_000
LEAST_ROWS = 8
_TRIMMED = 0.05  # the largest differences are no noise: a sensor was dipped or lifted there
_TRIMMED_FROM = 14  # differences; one step makes two large ones
_EVERY_NS = 5_000_000_000
_KEPT, _LEAST_SEEN = 12, 3  # a minute, a quarter of one
_MOVING_WITHIN = 10  # a number that stood still for so many rows tells nothing about its noise


def noise_of(x: Numbers) -> float | None:
    """Standard deviation of numbers about their smooth course; None for fewer than 8.

    From second differences, which a steady rise or fall does not enter: of independent noise each has six
    times its variance.

    Source: J. von Neumann, Annals of Mathematical Statistics 12 (1941) 367, for first differences.
    """
    if len(x) < LEAST_ROWS:
        return None
    squares = np.sort(np.square(x[2:] - 2 * x[1:-1] + x[:-2]))
    n = len(squares)
    n_cut = max(2, int(_TRIMMED * n)) if n >= _TRIMMED_FROM else 0
    variance = np.add.reduce(squares[: n - n_cut]) / (n - n_cut)
    return float(np.sqrt(variance / (6 * _left_of_variance(n_cut / n))))


@lru_cache(maxsize=128)
def _left_of_variance(cut: float) -> float:
    """What a normal distribution keeps of its variance when that share of its outermost values is cut off."""
    if not cut:
        return 1.0
    normal = NormalDist()
    edge = normal.inv_cdf(1 - cut / 2)
    return 1 - 2 * edge * normal.pdf(edge) / (1 - cut)


def newest_noise(window: Window, index: int, at_ns: int) -> float | None:
    """`noise_of` a field's newest readings: at most 60, of the last half minute unless the board is slow."""
    n = min(NOISE_ROWS, max(window.n_since(at_ns - NOISE_SPAN_NS), LEAST_ROWS))
    column: Numbers = window.values(n)[:, index]
    return noise_of(column[~np.isnan(column)] if window.has_gaps else column)


class UsualNoise:
    """What a field's noise and its usual difference from reading to reading were while it moved."""

    def __init__(self) -> None:
        self._seen: dict[int, deque[tuple[float, float, float]]] = {}  # field -> (noise, jump, grain), newest
        self._usual: dict[int, tuple[float, float, float]] = {}

    def look(self, look: Look, standing_still: Numbers) -> None:
        """Take the newest readings, every few seconds; `standing_still`: rows since each field moved."""
        if look.at_ns % _EVERY_NS:
            return
        for field in look.fields:
            if not field.is_measured or standing_still[field.index] >= _MOVING_WITHIN:
                continue
            if look.stands("floating input", field.name):
                continue
            x = look.column(field.index, look.n_within(30.0, at_least=16))[-NOISE_ROWS:]
            if len(x) >= 2 * LEAST_ROWS:
                # By the middle of the differences: dips, many in a slow board's window, are no noise.
                noise = 1.4826 * middle(np.abs(x[2:] - 2 * x[1:-1] + x[:-2])) / 6**0.5
                jumps = np.abs(np.diff(x))
                real = jumps[jumps > field.step / 2]
                grain = float(real.min()) if len(real) else np.inf
                seen = self._seen.setdefault(field.index, deque(maxlen=_KEPT))
                seen.append((noise, middle(jumps), grain))
                noises, usual, grains = np.array(seen).T
                self._usual[field.index] = (
                    middle(noises),
                    middle(usual),
                    float(grains.min()),
                )

    def noise(self, field: ChannelSeen) -> float | None:
        """The usual standard deviation; None before it was measured three times."""
        return self._usual[field.index][0] if self._is_known(field) else None

    def jump(self, field: ChannelSeen) -> float | None:
        """The usual difference from one reading to the next, without its sign."""
        return self._usual[field.index][1] if self._is_known(field) else None

    def grain(self, field: ChannelSeen) -> float:
        """The least step that the number really makes: more than a last digit when it is computed."""
        grain = self._usual[field.index][2] if field.index in self._usual else np.inf
        return max(field.step, grain) if grain < np.inf else field.step

    def _is_known(self, field: ChannelSeen) -> bool:
        return len(self._seen.get(field.index, ())) >= _LEAST_SEEN
