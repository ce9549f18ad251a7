"""The baud rate at which a board sends, measured from the bytes that were read at another one.

For each usual rate it is known how likely bytes are when text of boards comes from there: of slower boards by
which byte follows which (`wire_pairs.py`), of others by where in the sender's frame each begins
(`wire_phases.py`). A rate is named only when the bytes are likelier by far than at every other rate, the one
they were read at included, and than noise. What repeats counts by the root of how often: a line that is
printed a hundred times is not a hundred pieces of evidence.

What can't be told: a board slower than about a ninth of the rate that it is read at, when the receiver waits
through each low bit (all bytes are zero whatever the rate); and most boards that are more than twice as fast
as they are read, of whose bits the receiver sees a small part. `worth_trying` names the rate at which such a
board would show its own.
"""

from __future__ import annotations

from fractions import Fraction
from math import log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from bridge.core import wire_pairs, wire_phases

USUAL_RATES = (
    300, 1200, 2400, 4800, 9600, 14400, 19200, 28800, 38400, 57600, 74880, 115200, 230400, 250000, 500000,
    1000000,
)  # fmt: skip
KEPT_BYTES = 512  # the newest; more would tell nothing else
LEAST_BYTES = 48
MOST_APART = 16  # a rate further away leaves no trace in the bytes

NOISE = log(1 / 256)  # a byte's log-probability when each is as likely
BY_PAIRS = Fraction(3, 5)  # below this ratio of the rates pairs of bytes tell
USUAL_FOR_TEXT = -3.5  # mean log-probability of a byte by pairs, below which it is no text
FEW = 12  # different bytes, below which phases prove nothing: any few can be made to fit
NEIGHBOURS = 1.15  # rates less apart look alike when both clocks are off: twice as much is asked for
_FAST = (115200, 250000, 1000000)  # what is slower shows itself at one of them


class _Asked(NamedTuple):
    """How much likelier the bytes must be than at any other rate; found by trial, see the tests."""

    at_each: float  # in the mean of a byte, as a logarithm: a long text must not turn a shade into a proof
    in_all: float  # as the logarithm of the odds


def _asked(ratio: float) -> _Asked:
    if ratio < BY_PAIRS:
        return _Asked(0.5, 30.0)
    return _Asked(0.4, 80.0) if ratio < 1.9 else _Asked(0.5, 120.0)


class BaudFound(NamedTuple):
    """The rate at which a board sends."""

    baud: int
    share: float  # of the bytes that are likelier for text at that rate than for noise, 0 to 1
    words: str


class BaudMeter:
    """Measures the rate at which a board sends. Depends on the newest bytes alone, not on their portions."""

    def __init__(self, *, baud: int) -> None:
        """`baud`: the rate at which the bytes were read."""
        self.baud = baud
        self._newest = b""  # at most KEPT_BYTES
        self._answer: tuple[bytes, BaudFound | None] = (b"", None)  # of these bytes

    def take(self, data: bytes) -> None:
        """Take bytes as they came."""
        self._newest = (self._newest + data[-KEPT_BYTES:])[-KEPT_BYTES:]

    def likely(self) -> BaudFound | None:
        """The rate at which the board sends; None when it is the one they were read at, or can't be told.

        The first call for a rate takes most of a second: it simulates the wire.
        """
        if self._answer[0] != self._newest:
            self._answer = self._newest, self._measure() if self._may_be_measured() else None
        return self._answer[1]

    def worth_trying(self) -> int | None:
        """Where the bytes are no text and tell no rate: a rate at which the board would show its own."""
        if not self._may_be_measured() or self.likely() is not None:
            return None
        if not any(self._newest):
            slower = [rate for rate in USUAL_RATES if rate * 6 <= self.baud]
            return slower[-1] if slower else None
        return next((rate for rate in _FAST if rate > self.baud), None)

    def _may_be_measured(self) -> bool:
        return len(self._newest) >= LEAST_BYTES and not _is_text(self._newest)

    def _measure(self) -> BaudFound | None:
        codes = np.frombuffer(self._newest, np.uint8)
        weights = _weights(codes)
        fits = _fits(codes, weights, self.baud)
        best = max(fits, key=lambda rate: fits[rate].mean)
        if best == self.baud or not fits[best].is_text:
            return None
        asked, total = _asked(best / self.baud), float(weights.sum())
        least = max(asked.at_each, asked.in_all / total)
        for rate, fit in fits.items():
            doubled = 2 if 1 / NEIGHBOURS < rate / best < NEIGHBOURS else 1
            if rate != best and fits[best].mean - fit.mean < doubled * least:
                return None
        if fits[best].mean - NOISE < least:
            return None
        share = fits[best].share
        words = (
            f"the board sends at {best} baud and is read at {self.baud}: {share:.0%} of the last "
            f"{len(codes)} bytes are what text sent at {best} looks like here"
        )
        return BaudFound(best, share, words)


def _is_text(data: bytes) -> bool:
    """Whether this is text as it stands, whatever the language."""
    text = data.decode(errors="replace")
    n_odd = sum(char == "\ufffd" or (ord(char) < 32 and char not in "\r\n\t") for char in text)
    return n_odd <= 0.05 * len(text)


def _weights(codes: NDArray[np.uint8]) -> NDArray[np.float64]:
    """What each byte from the third on counts, by how often it comes behind the same two."""
    wide = codes.astype(np.intp)
    _, which, n = np.unique(
        wide[2:] + 256 * wide[1:-1] + 65536 * wide[:-2], return_inverse=True, return_counts=True
    )
    return np.asarray(1 / np.sqrt(n[which]), np.float64)


class _Fit(NamedTuple):
    """How well bytes go with one rate, at the best of the ways in which clocks and receivers may be."""

    mean: float  # log-probability of a byte
    share: float  # of the bytes that are likelier than in noise
    is_text: bool


def _fits(codes: NDArray[np.uint8], weights: NDArray[np.float64], baud: int) -> dict[int, _Fit]:
    """How well the bytes go with each usual rate that could show in them."""
    usual = [rate for rate in USUAL_RATES if rate <= MOST_APART * baud and baud <= MOST_APART * rate]
    rates = {rate: Fraction(rate, baud) for rate in sorted({baud, *usual})}
    by_phases = {rate: ratio for rate, ratio in rates.items() if ratio >= BY_PAIRS}
    logs = wire_phases.log_probabilities(codes, tuple(by_phases.values()))[2:]
    are_many = len(set(codes.tolist())) >= FEW
    fits = {rate: _fit(logs[:, i], weights)[0]._replace(is_text=are_many) for i, rate in enumerate(by_phases)}
    for rate in rates.keys() - by_phases.keys():
        fit, way = _fit(wire_pairs.log_probabilities(codes, rates[rate])[1:], weights)
        profile = wire_pairs.profiles(rates[rate])[way]
        fits[rate] = fit._replace(is_text=fit.mean >= USUAL_FOR_TEXT and profile.resembles(codes))
    return dict(sorted(fits.items()))


def _fit(logs: NDArray[np.float64], weights: NDArray[np.float64]) -> tuple[_Fit, int]:
    means = np.average(logs, axis=0, weights=weights)
    way = int(means.argmax())
    return _Fit(float(means[way]), float((logs[:, way] > NOISE).mean()), is_text=True), way
