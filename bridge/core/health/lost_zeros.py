"""Fractions that lost their zeros: 21.09 printed as 21.9 by a program that prints two whole numbers."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bridge.core.framing import Line

from .noise import UsualNoise
from .seen import ChannelSeen
from .signs import SECOND_NS, Signs
from .steps import fraction_of
from .window import Look, Numbers

EVERY_NS = 5 * SECOND_NS
LEAST_SHORT = 3  # numbers with too few digits that fit better with a zero put in
SMOOTHER = 4.0  # so many times nearer to their neighbours
WHOLE_COURSE = 3.0  # so much less the course goes up and down with the zeros put in
CLEARLY = 4.0  # so many times farther off than readings usually lie
_LEAST_ROWS = 6


class LostZeros:
    """Looks at the texts of the newest rows."""

    def __init__(self, usual: UsualNoise) -> None:
        self._usual = usual

    def signs(self, look: Look) -> list[Signs]:
        """At each full five seconds."""
        lines = list(look.window.lines)[-look.window.n :]
        signs = []
        for field in look.fields:
            if field.role not in ("value", "volts", "") or not 0 < field.step < 0.1:
                continue
            x = look.window.values(len(lines))[:, field.index]
            grain = self._usual.grain(field)
            if len(x) >= _LEAST_ROWS and not np.isnan(x).any() and _may_be_lost(x, field.step, grain):
                found = _lost(x, lines, grain)
                if found is not None:
                    signs.append(_signs(field, *found))
        return signs


def _may_be_lost(x: Numbers, step: float, grain: float) -> bool:
    """Whether some of the numbers could be written with fewer digits, and jump: to be told without texts."""
    coarse = x / (step * 10)
    is_short = np.abs(coarse - np.round(coarse)) < 1e-6
    if not LEAST_SHORT <= int(is_short.sum()) < len(x):
        return False
    jumps = np.abs(np.diff(x)) > CLEARLY * grain
    return int((is_short[1:] & jumps | is_short[:-1] & jumps).sum()) >= LEAST_SHORT


def _lost(x: Numbers, lines: Sequence[Line], grain: float) -> tuple[int, int, str, float, float] | None:
    """(rows that fit better with a zero put in, since, an example, as printed, put right)."""
    digits = [fraction_of(value, line.text) for value, line in zip(x.tolist(), lines, strict=True)]
    n_digits = max(map(len, digits))
    short = np.array([0 < len(one) < n_digits for one in digits])
    if n_digits < 2 or short.sum() < LEAST_SHORT or short.all():
        return None
    right = np.array(
        [_with_zeros(value, one, n_digits) for value, one in zip(x.tolist(), digits, strict=True)]
    )
    differs = short & (np.abs(right - x) > 1e-9)
    if differs.sum() < LEAST_SHORT:
        return None
    jumps, jumps_right = np.abs(np.diff(x)), np.abs(np.diff(right))
    beside = differs[1:] | differs[:-1]
    if jumps_right[beside].sum() * WHOLE_COURSE > jumps[beside].sum():
        return None
    grain = max(grain, float(jumps[jumps > 0].min(initial=np.inf)))
    course = _course(right)
    off = np.abs(right - course)
    printed, mended = np.abs(x - course)[differs], off[differs]
    usual = max(grain, float(np.quantile(off, 0.75)))  # readings that jump as far by themselves prove nothing
    n_fits = int(((printed > CLEARLY * usual) & (mended * SMOOTHER <= printed)).sum())
    n_against = int((mended > CLEARLY * usual).sum())
    if n_fits < LEAST_SHORT or n_against > 0.2 * n_fits:
        return None
    i = int(np.flatnonzero(differs)[np.argmax(printed)])
    first = int(np.flatnonzero(differs)[0])
    return n_fits, lines[first].at_ns, lines[i].text, float(x[i]), float(right[i])


def _with_zeros(value: float, digits: str, n_digits: int) -> float:
    whole = float(np.trunc(value))
    if not digits or len(digits) >= n_digits:
        return value
    return whole + float(np.copysign(int(digits) / 10**n_digits, value))


def _course(x: Numbers) -> Numbers:
    """The middle of the two before and the two behind each number."""
    padded = np.concatenate((x[2:0:-1], x, x[-2:-4:-1]))
    beside = np.stack((padded[:-4], padded[1:-3], padded[3:-1], padded[4:]))
    middle: Numbers = np.median(beside, axis=0)
    return middle


def _signs(field: ChannelSeen, n: int, since_ns: int, text: str, printed: float, right: float) -> Signs:
    return Signs(
        "lost zeros", field.name, since_ns,
        f"{field.name} loses zeros behind its decimal sign",
        f"{n} numbers have fewer digits and jump; with a zero put in they do not: {printed:g} in "
        f"'{text[-40:]}' would be {right:g}",
        "In the program, print the fraction with its leading zeros, or print a decimal number at once",
        weight="hint", size=float(n), lasts_ns=60 * SECOND_NS,
    )  # fmt: skip
