"""The step of a printed number, judged by the numbers themselves: a field's last digit that was ever used."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from .seen import ChannelSeen
from .window import Numbers

MOST_DECIMALS = 9  # finer is noise of a number's binary form
_NEAR_WHOLE = 1e-6


class Steps:
    """Follows how many decimals each field has been printed with; trailing zeros count once they are none."""

    def __init__(self, n_fields: int) -> None:
        self._decimals = np.zeros(n_fields, np.int64)
        self._scales: Numbers = np.ones(n_fields)

    def take(self, rows: Numbers) -> bool:
        """Look at new rows, shape (n, fields); whether a field turned out to be finer than before."""
        is_finer = False
        while True:
            scaled = rows * self._scales
            off = np.abs(scaled - np.rint(scaled)) > _NEAR_WHOLE  # NaN is not off
            finer = off.any(axis=0) & (self._decimals < MOST_DECIMALS)
            if not finer.any():
                return is_finer
            is_finer = True
            self._decimals[finer] += 1
            self._scales = np.power(10.0, self._decimals)

    def told(self, fields: tuple[ChannelSeen, ...]) -> tuple[ChannelSeen, ...]:
        """The fields with their steps; one that says its own keeps it."""
        return tuple(
            field if field.step else replace(field, step=float(10.0 ** -self._decimals[field.index]))
            for field in fields
        )
