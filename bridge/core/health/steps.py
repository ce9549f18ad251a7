"""The step of a printed number, where nobody told it: a field's last digit that was ever used."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from .seen import ChannelSeen
from .window import Numbers

MOST_DECIMALS = 9  # finer is noise of a number's binary form
_NEAR_WHOLE = 5e-7
_TEXT_OF_FIRST, _TEXT_EVERY = 10, 10  # a text is looked at in the first seconds, then now and then
_number = re.compile(r"[-+]?[0-9]+[.,]([0-9]+)").finditer


class Steps:
    """Follows how many decimals each field has been printed with; the numbers tell all but trailing zeros."""

    def __init__(self, n_fields: int) -> None:
        self._decimals = np.zeros(n_fields, np.int64)
        self._scales: Numbers = np.ones(n_fields)
        self._n_takes = 0

    def take(self, rows: Numbers, text: str = "") -> bool:
        """Look at new rows, shape (n, fields), and the last one's text; whether a field turned out finer."""
        was = self._decimals.tolist()
        while True:
            scaled = rows * self._scales
            off = np.abs(scaled - np.rint(scaled)) > _NEAR_WHOLE  # NaN is not off
            finer = off.any(axis=0) & (self._decimals < MOST_DECIMALS)
            if not finer.any():
                break
            self._decimals[finer] += 1
            self._scales = np.array([10.0**n for n in self._decimals.tolist()])
        self._n_takes += 1
        if len(rows) and (self._n_takes <= _TEXT_OF_FIRST or self._n_takes % _TEXT_EVERY == 0):
            self._take_text(rows[-1].tolist(), text)
        return bool(self._decimals.tolist() != was)

    def _take_text(self, row: Sequence[float], text: str) -> None:
        """A number may be printed with zeros behind its last other digit."""
        for i, n in enumerate(self._decimals.tolist()):
            if len(digits := fraction_of(row[i], text)) > n:
                self._decimals[i] = min(len(digits), MOST_DECIMALS)
                self._scales[i] = 10.0 ** self._decimals[i]

    def told(self, fields: Sequence[ChannelSeen]) -> tuple[ChannelSeen, ...]:
        """The fields with their steps; one that says its own keeps it."""
        return tuple(
            field if field.step else replace(field, step=float(10.0 ** -self._decimals[field.index]))
            for field in fields
        )


def fraction_of(value: float, text: str) -> str:
    """The digits behind the decimal sign with which a line prints that value; "" when it is not there."""
    for match in _number(text):
        if abs(float(match[0].replace(",", ".")) - value) < 1e-9:
            return match[1]
    return ""
