"""How likely bytes are at a wrong rate, by which byte follows which: for boards that send more slowly.

Up to two thirds of the receiver's rate a byte that is heard is made of a few bits of one or two bytes that
were sent. There are few different ones, and made-up text shows them all: the wire is simulated once for each
ratio of the rates, and pairs of bytes are counted.
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

COMMON = 0.05  # a byte that is at least this frequent in what comes from text at that ratio
MISSED = 0.35  # so much of what comes may be common bytes of which none came
COVERED = 0.15  # and so much must be bytes that came: two bytes in turn prove nothing

_OFF_BY = (-0.03, -0.015, 0.0, 0.015, 0.03)  # clocks of boards, and rates that their dividers can't make
_PROGRAM_BYTES = 160
_N_PROGRAMS, _N_FOR_SLOW, _SLOW = 30, 10, Fraction(1, 3)  # of a slow board come few different bytes
_SMOOTHING = 8.0  # how many pairs the single byte's frequency is worth


class Profile(NamedTuple):
    """What text of boards looks like through one receiver, at one ratio of the rates."""

    logs: NDArray[np.float32]  # of a byte's probability behind another, shape (65536,): before * 256 + byte
    shares: NDArray[np.float64]  # of each byte, shape (256,)

    def resembles(self, codes: NDArray[np.uint8]) -> bool:
        """Whether the bytes that come are there: the common ones, and enough of all; more than one."""
        here = np.zeros(256, bool)
        here[codes] = True
        missed = self.shares[~here & (self.shares >= COMMON)].sum()
        return bool(here.sum() > 1 and missed <= MISSED and self.shares[here].sum() >= COVERED)


@lru_cache(maxsize=64)
def profiles(ratio: Fraction) -> tuple[Profile, ...]:
    """One for each kind of receiver; `ratio` is the sender's rate by the receiver's."""
    return tuple(_profile(ratio, receiver) for receiver in RECEIVERS)


def log_probabilities(codes: NDArray[np.uint8], ratio: Fraction) -> NDArray[np.float64]:
    """Logarithms of each byte's probability, given the one before it.

    Args:
        codes: The bytes that were heard, shape (n,).
        ratio: The sender's rate by the receiver's, as supposed.

    Returns:
        Shape (n - 1, receivers), from the second byte on.
    """
    pairs = codes[:-1].astype(np.intp) * 256 + codes[1:]
    return np.stack([one.logs[pairs] for one in profiles(ratio)], axis=1).astype(np.float64)


def _profile(ratio: Fraction, receiver: Receiver) -> Profile:
    n = np.zeros(1 << 16)
    for off, levels in _lines(_N_FOR_SLOW if ratio < _SLOW else _N_PROGRAMS):
        codes = frames(levels, float(ratio) * (1 + off), receiver).codes.astype(np.intp)
        n += np.bincount(codes[:-1] * 256 + codes[1:], minlength=1 << 16)
    table = n.reshape(256, 256)
    shares = table.sum(axis=0) / n.sum()
    single = (table.sum(axis=0) + 0.02) / (n.sum() + 256 * 0.02)
    known = table.sum(axis=1, keepdims=True)
    logs = np.log((table + _SMOOTHING * single) / (known + _SMOOTHING)).astype(np.float32)
    return Profile(logs.ravel(), shares)


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
