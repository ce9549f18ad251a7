"""How much a field's numbers scatter about their smooth course, and how much they usually do."""

from __future__ import annotations

from collections import deque

import numpy as np

from .seen import ChannelSeen
from .window import Look, Numbers, Window

NOISE_ROWS = 60
NOISE_SPAN_NS = 30_000_000_000
LEAST_ROWS = 8
_TRIMMED = 0.05  # the largest differences are no noise: a sensor was dipped or lifted there
_LEFT_OF_VARIANCE = 0.759  # what a normal distribution keeps of its variance without its outer 5 %
_EVERY_NS = 5_000_000_000
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
    n_cut = int(_TRIMMED * len(squares))
    if n_cut:
        return float(np.sqrt(squares[:-n_cut].mean() / (6 * _LEFT_OF_VARIANCE)))
    return float(np.sqrt(squares.mean() / 6))


def newest_noise(window: Window, index: int, at_ns: int) -> float | None:
    """`noise_of` a field's newest readings: at most 60, of the last half minute unless the board is slow."""
    n = min(NOISE_ROWS, max(window.n_since(at_ns - NOISE_SPAN_NS), LEAST_ROWS))
    column: Numbers = window.values(n)[:, index]
    return noise_of(column[~np.isnan(column)] if window.has_gaps else column)


class UsualNoise:
    """What a field's noise and its usual difference from reading to reading were while it moved."""

    def __init__(self) -> None:
        self._noises: dict[int, deque[float]] = {}
        self._jumps: dict[int, deque[float]] = {}

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
            if len(x) >= 2 * LEAST_ROWS and (noise := noise_of(x)) is not None:
                self._noises.setdefault(field.index, deque(maxlen=12)).append(noise)
                usual = float(np.median(np.abs(np.diff(x))))
                self._jumps.setdefault(field.index, deque(maxlen=12)).append(usual)

    def noise(self, field: ChannelSeen) -> float | None:
        """The usual standard deviation; None before it was measured three times."""
        return _median(self._noises.get(field.index))

    def jump(self, field: ChannelSeen) -> float | None:
        """The usual difference from one reading to the next, without its sign."""
        return _median(self._jumps.get(field.index))


def _median(found: deque[float] | None) -> float | None:
    return float(np.median(found)) if found is not None and len(found) >= 3 else None
