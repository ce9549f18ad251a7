"""How likely bytes are at a wrong rate, whatever the text says: by where in the sender's frame each began.

At two thirds of the receiver's rate and above, a byte that is heard is made of bits of one to many bytes that
were sent, and no sample of text can show all that may come. But each frame has a start and a stop bit, and
the top bit of most letters is 0: where a heard byte begins in the sender's frame (its phase, one of ten)
decides which of its bits are these, and with what was heard, where the next one may begin. The phase is not
seen: this is a hidden Markov model, its likelihood by the forward algorithm. Learnt from single letters in
any order.

Source: L. R. Rabiner, "A tutorial on hidden Markov models", Proceedings of the IEEE 77 (1989), III.A.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from random import Random
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from bridge.core.board_text import lines_of_a_program
from bridge.core.wire import BITS_A_BYTE, Receiver, frames, levels_of

OFF_BY = (-0.032, -0.021, -0.01, 0.0, 0.01, 0.021, 0.032)  # of boards' clocks and dividers
_RECEIVERS: tuple[Receiver, ...] = ("waits for a fall", "goes on")
_N_LETTERS = 6000
_BY_BITS = 20.0  # how many bytes of a phase the product of its bits' frequencies is worth
_BY_PHASE = 5.0  # and what follows a phase, for what follows a phase and a byte


class _Model(NamedTuple):
    """For each way a board may be off and a receiver may be made."""

    steps: NDArray[np.float32]  # P(byte, next phase | phase), shape (256, ways, 10, 10): phase, next phase
    first: NDArray[np.float32]  # P(phase), shape (ways, 10)


def log_probabilities(codes: NDArray[np.uint8], ratios: tuple[Fraction, ...]) -> NDArray[np.float64]:
    """Logarithms of each byte's probability, given all before it.

    Args:
        codes: The bytes that were heard, shape (n,).
        ratios: The sender's rate by the receiver's, as supposed.

    Returns:
        Shape (n, ratios, ways): each way in which clocks may be off and receivers be made.
    """
    model = _models(ratios)
    phases = model.first[:, None, :]
    likely = np.empty((len(codes), len(model.first)))
    for i, code in enumerate(codes.tolist()):
        phases = phases @ model.steps[code]
        total = phases.sum(axis=2, keepdims=True)
        likely[i] = total[:, 0, 0]
        phases /= total
    return np.log(likely).reshape(len(codes), len(ratios), -1)


@lru_cache(maxsize=3)  # some 15 MB each; all bytes of a class are read at a few rates
def _models(ratios: tuple[Fraction, ...]) -> _Model:
    models = [_model(ratio) for ratio in ratios]
    return _Model(
        np.ascontiguousarray(np.concatenate([one.steps for one in models], axis=1)),
        np.concatenate([one.first for one in models]),
    )


@lru_cache(maxsize=24)
def _model(ratio: Fraction) -> _Model:
    ways = [_way(float(ratio) * (1 + off), receiver) for off in OFF_BY for receiver in _RECEIVERS]
    return _Model(np.stack([steps for steps, _ in ways], axis=1), np.stack([first for _, first in ways]))


def _way(ratio: float, receiver: Receiver) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    text = _letters()
    codes, starts = frames(text.levels, ratio, receiver)
    begun = starts.astype(np.intp)
    phases = begun - text.starts[np.searchsorted(text.starts, begun, "right") - 1]
    phases = np.minimum(phases, BITS_A_BYTE - 1)  # within a rest: as within the stop bit before it
    n = np.zeros((BITS_A_BYTE, 256, BITS_A_BYTE))
    np.add.at(n, (phases[:-1], codes[:-1], phases[1:]), 1)
    of_phase = n.sum(axis=2)
    known = of_phase.sum(axis=1, keepdims=True)
    bits = (np.arange(256)[:, None] >> np.arange(8)) & 1
    ones = (of_phase @ bits + 0.5) / (known + 1)
    by_bits = np.where(bits, ones[:, None], 1 - ones[:, None]).prod(axis=2)
    here = (of_phase + _BY_BITS * by_bits) / (known + _BY_BITS)
    follows = (n.sum(axis=1) + 0.1) / (known + 1)
    after = (n + _BY_PHASE * follows[:, None]) / (of_phase[:, :, None] + _BY_PHASE)
    steps = (here[:, :, None] * after).transpose(1, 0, 2)
    first = (np.bincount(phases, minlength=BITS_A_BYTE) + 0.1) / (len(phases) + 1)
    return steps.astype(np.float32), first.astype(np.float32)


class _Letters(NamedTuple):
    levels: NDArray[np.uint8]
    starts: NDArray[np.intp]  # of each letter's frame, in bits


@lru_cache(maxsize=1)
def _letters() -> _Letters:
    """Letters as boards print them, in any order, now and then with a rest behind."""
    chance = Random(11)  # noqa: S311  # no secret: a fixed sample
    pool = b"".join(lines_of_a_program(chance, 160).data for _ in range(100))
    data = bytes(pool[int(chance.random() * len(pool))] for _ in range(_N_LETTERS))
    rests = [0] * len(data)
    for i in range(len(data)):
        kind = chance.random()
        if kind < 0.06:
            rests[i] = 20 + int(60 * chance.random()) if kind < 0.04 else 1 + int(12 * chance.random())
    starts = 1 + np.cumsum([0, *(BITS_A_BYTE + rest for rest in rests[:-1])])
    return _Letters(levels_of(data, rests), starts)
