"""The baud rate at which a board sends, measured from the bytes that were read at another one.

For each usual rate the wire is simulated once with made-up text of boards: which byte follows which, and how
often. The bytes that came are then looked up in each of these profiles. A rate is named only when the bytes
are as usual for it as text of boards is, and stand clearly above every other rate, the one they were read at
included. Bytes that repeat count by the logarithm of how often: a line that is printed a hundred times is not
a hundred pieces of evidence.

What can't be told: a board slower than about a ninth of the rate that it is read at, when the receiver waits
through each low bit (all bytes are zero whatever the rate); and most boards that are faster than the rate
that they are read at, of whose bits the receiver sees a small part. `worth_trying` names the rate at which
such a board would show its own.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from random import Random
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from bridge.core.board_text import lines_of_a_program
from bridge.core.wire import RECEIVERS, Receiver, frames, levels_of

USUAL_RATES = (
    300, 1200, 2400, 4800, 9600, 14400, 19200, 28800, 38400, 57600, 74880, 115200, 230400, 250000, 500000,
    1000000,
)  # fmt: skip
KEPT_BYTES = 512  # the newest; more would tell nothing else
LEAST_BYTES = 48
MOST_APART = 16  # a rate further away leaves no trace in the bytes

USUAL_FOR_TEXT = -3.5  # mean log-probability of a byte, given the one before; noise has ln(1/256) = -5.5
CLEARLY_ABOVE = 30.0  # the evidence against the next best rate, as a logarithm of the odds
ABOVE_EACH = 0.5  # and by this much at each byte: a long text must not turn a shade into a proof
COMMON = 0.05  # a byte that is at least this frequent in what comes from text at that rate
MISSED = 0.35  # and so much of what comes may be common bytes that did not come
COVERED = 0.15  # and at least so much of what comes must be bytes that came: two bytes in turn prove nothing
NEIGHBOURS = 1.15  # rates that are less apart look alike when both clocks are off: twice of both is asked for

_FAST = (115200, 250000, 1000000)  # what is slower shows itself at one of them
_OFF_BY = (-0.03, -0.015, 0.0, 0.015, 0.03)  # clocks of boards, and rates that their dividers can't make
_PROGRAM_BYTES = 160
_N_PROGRAMS, _N_FOR_SLOW, _SLOW = 30, 10, Fraction(1, 3)  # of a slow board come few different bytes
_SMOOTHING = 8.0  # how many pairs the single byte's frequency is worth


class BaudFound(NamedTuple):
    """The rate at which a board sends."""

    baud: int
    share: float  # of the bytes that are usual for text at that rate, 0 to 1
    words: str


class BaudMeter:
    """Measures the rate at which a board sends. Depends on the newest bytes alone, not on their portions."""

    def __init__(self, *, baud: int) -> None:
        """`baud`: the rate at which the bytes were read."""
        self.baud = baud
        self._newest = b""  # at most KEPT_BYTES

    def take(self, data: bytes) -> None:
        """Take bytes as they came."""
        self._newest = (self._newest + data[-KEPT_BYTES:])[-KEPT_BYTES:]

    def likely(self) -> BaudFound | None:
        """The rate at which the board sends; None when it is the one they were read at, or can't be told.

        The first call for a rate takes some tenths of a second: it simulates the wire.
        """
        data = self._newest
        if len(data) < LEAST_BYTES or _is_text(data):
            return None
        pairs, weights = _pairs_of(data)
        scored = {rate: _best_of(profiles, pairs, weights) for rate, profiles in _near(self.baud).items()}
        best = max(scored, key=lambda rate: scored[rate][0])
        usual, profile = scored[best]
        if best >= self.baud or usual < USUAL_FOR_TEXT or not profile.resembles(data):
            return None
        total = float(weights.sum())
        for rate, (score, _) in scored.items():
            doubled = 2 if 1 / NEIGHBOURS < rate / best < NEIGHBOURS else 1
            if rate != best and usual - score < doubled * max(ABOVE_EACH, CLEARLY_ABOVE / total):
                return None
        share = profile.share_of(data)
        return BaudFound(
            best, share,
            f"the board sends at {best} baud and is read at {self.baud}: {share:.0%} of the last {len(data)} "
            f"bytes are what text sent at {best} looks like here",
        )  # fmt: skip

    def worth_trying(self) -> int | None:
        """Where the bytes are no text and tell no rate: a rate at which the board would show its own."""
        data = self._newest
        if len(data) < LEAST_BYTES or _is_text(data) or self.likely() is not None:
            return None
        if not any(data):
            slower = [rate for rate in USUAL_RATES if rate * 6 <= self.baud]
            return slower[-1] if slower else None
        return next((rate for rate in _FAST if rate > self.baud), None)


def _is_text(data: bytes) -> bool:
    """Whether this is text as it stands, whatever the language."""
    text = data.decode(errors="replace")
    n_odd = sum(char == "\ufffd" or (ord(char) < 32 and char not in "\r\n\t") for char in text)
    return n_odd <= 0.05 * len(text)


def _pairs_of(data: bytes) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Each pair of a byte and the next one, once, and how much it counts."""
    codes = np.frombuffer(data, np.uint8).astype(np.intp)
    pairs, n = np.unique(codes[:-1] * 256 + codes[1:], return_counts=True)
    return pairs, np.sqrt(n)


class _Profile(NamedTuple):
    """What text of boards looks like through one receiver, at one ratio of the rates."""

    logs: NDArray[np.float32]  # of a byte's probability behind another, shape (65536,): before * 256 + byte
    shares: NDArray[np.float64]  # of each byte, shape (256,)

    def resembles(self, data: bytes) -> bool:
        """Whether the bytes that come are there: the common ones, and enough of all; more than one."""
        here = np.zeros(256, bool)
        here[list(set(data))] = True
        missed = self.shares[~here & (self.shares >= COMMON)].sum()
        return bool(here.sum() > 1 and missed <= MISSED and self.shares[here].sum() >= COVERED)

    def share_of(self, data: bytes) -> float:
        """The share of the bytes that are usual behind the one before."""
        codes = np.frombuffer(data, np.uint8).astype(np.intp)
        return float((self.logs[codes[:-1] * 256 + codes[1:]] > USUAL_FOR_TEXT - 2).mean())


def _best_of(
    profiles: tuple[_Profile, ...], pairs: NDArray[np.intp], weights: NDArray[np.float64]
) -> tuple[float, _Profile]:
    """The mean log-probability of the pairs, and the profile that gives most."""
    scores = [float(np.average(one.logs[pairs], weights=weights)) for one in profiles]
    return max(scores), profiles[scores.index(max(scores))]


def _near(baud: int) -> dict[int, tuple[_Profile, ...]]:
    """The rates that bytes read at `baud` could show, each with a profile for every receiver that differs."""
    rates = [rate for rate in USUAL_RATES if rate <= MOST_APART * baud and baud <= MOST_APART * rate]
    return {rate: _profiles(Fraction(rate, baud)) for rate in sorted({baud, *rates})}


@lru_cache(maxsize=256)
def _profiles(ratio: Fraction) -> tuple[_Profile, ...]:
    """`ratio` is the sender's rate by the receiver's."""
    receivers = RECEIVERS if ratio < 1 else RECEIVERS[: 1 if ratio == 1 else 2]
    return tuple(_profile(ratio, receiver) for receiver in receivers)


def _profile(ratio: Fraction, receiver: Receiver) -> _Profile:
    n = np.zeros(1 << 16)
    for off, levels in _lines(_N_FOR_SLOW if ratio < _SLOW else _N_PROGRAMS):
        codes = frames(levels, float(ratio) * (1 + off), receiver).astype(np.intp)
        n += np.bincount(codes[:-1] * 256 + codes[1:], minlength=1 << 16)
    table = n.reshape(256, 256)
    shares = table.sum(axis=0) / n.sum()
    single = (table.sum(axis=0) + 0.02) / (n.sum() + 256 * 0.02)
    known = table.sum(axis=1, keepdims=True)
    logs = np.log((table + _SMOOTHING * single) / (known + _SMOOTHING)).astype(np.float32)
    return _Profile(logs.ravel(), shares)


@lru_cache(maxsize=2)
def _lines(n_programs: int) -> tuple[tuple[float, NDArray[np.uint8]], ...]:
    """The made-up text on the wire, for each share by which a board's rate may be off."""
    chance = Random(7)  # noqa: S311  # no secret: a fixed sample
    lines = []
    for off in _OFF_BY:
        printed = [lines_of_a_program(chance, _PROGRAM_BYTES) for _ in range(n_programs)]
        idle_bits = [bits for one in printed for bits in one.idle_bits]
        lines.append((off, levels_of(b"".join(one.data for one in printed), idle_bits)))
    return tuple(lines)
