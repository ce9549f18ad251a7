"""Numbers that stand still although they should move, and numbers that move in steps far too coarse."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .companions import Companions, sources
from .noise import UsualNoise
from .seen import ChannelSeen
from .signs import SECOND_NS, Signs
from .window import Look, Numbers, middle

STUCK_NS = 60 * SECOND_NS
STUCK_ROWS = 30
STUCK_NOISE = (
    2.0  # the noise of before, in steps that the number really makes: with it two readings seldom agree
)
STUCK_BESIDE_NS = 5 * SECOND_NS
BESIDE_ROWS = 10
BESIDE_STEPS = 6.0  # by so many of its steps the number should have moved with the count beside it
_BESIDE_COUNTS = 4

WHOLE_ROWS = 8
_WHOLE_STILL = 4
_CLEARLY_ABOVE_ZERO = 10.0  # counts
_ROWS_LOOKED_AT = 300
TOO_FEW_DECIMALS = 10.0  # a digit worth more than so many counts hides what the converter saw
NOISY_DIGIT = 3.0  # but not where the count's own noise is more than a third of it
_DECIMALS_ROWS = 10


class Standstill:
    """Keeps for each field how long its number has been the same, and how long whole."""

    def __init__(self, companions: Companions, usual: UsualNoise, n_fields: int) -> None:
        self._companions, self._usual = companions, usual
        self._n_fields = n_fields
        # Behind each other: since the number has changed, the changed row the first; since it was not whole.
        self._rows = np.zeros(2 * n_fields)
        self._since_ns = np.zeros(2 * n_fields, np.int64)
        self._skip = np.repeat((0, 1), n_fields)  # the row that is not whole does not count

    # No attributes: a copy of the state would hold copies of these parts, which nothing would move any more.

    @property
    def same_rows(self) -> NDArray[np.float64]:
        """For each field, of how many rows on end its number has been the same."""
        return self._rows[: self._n_fields]

    @property
    def _whole_rows(self) -> NDArray[np.float64]:
        return self._rows[self._n_fields :]

    @property
    def _same_ns(self) -> NDArray[np.int64]:
        return self._since_ns[: self._n_fields]

    @property
    def _whole_ns(self) -> NDArray[np.int64]:
        return self._since_ns[self._n_fields :]

    def take(self, look: Look) -> None:
        """Look at the new rows."""
        n, k = look.n_new, self._n_fields
        new, times = look.newest[-n:], look.newest_ns[-n:]
        broken = np.ones((n, 2 * k), bool)
        broken[n - len(look.jumps) :, :k] = look.jumps != 0
        broken[:, k:] = new != np.floor(new)
        if not len(look.jumps) or look.window.n == n:
            self._since_ns[:] = times[0]
        has = broken.any(axis=0)
        first = n - 1 - broken[::-1].argmax(axis=0) + self._skip
        self._rows[:] = np.where(has, n - first, self._rows + n)
        self._since_ns[:] = np.where(has, times[np.minimum(first, n - 1)], self._since_ns)

    def signs(self, look: Look) -> list[Signs]:
        """Whole-number division first: it makes a number stand still as well."""
        coarse = self._divided(look)
        cut = {index for one in coarse for index in one.indices}
        told = {one.name for one in look.fields if one.index in cut}
        return coarse + self._few_decimals(look, told) + self._stuck(look, told)

    def _stuck(self, look: Look, told: set[str]) -> list[Signs]:
        signs = []
        for field in look.fields:
            n, since_ns = int(self.same_rows[field.index]), int(self._same_ns[field.index])
            if n < BESIDE_ROWS or not field.is_measured or field.name in told:
                continue
            if look.stands("bottom rail", field.name) or look.stands("top rail", field.name):
                continue
            evidence = self._stuck_alone(look, field, n, since_ns) or self._stuck_beside(
                look, field, n, since_ns
            )
            if evidence:
                value = float(look.newest[-1, field.index])
                signs.append(
                    Signs(
                        "stuck", field.name, since_ns,
                        f"{field.name} has stood at exactly {field.shown(value)} although it should move",
                        evidence,
                        "Look whether the program still measures within its loop, and whether it prints the "
                        "right variable",
                        size=(look.at_ns - since_ns) / 1e9, lasts_ns=0,
                        doubt=f"{field.name} has not moved at all", indices=(field.index,),
                    )
                )  # fmt: skip
        return signs

    def _stuck_alone(self, look: Look, field: ChannelSeen, n: int, since_ns: int) -> str:
        noise = self._usual.noise(field)
        if (
            n < STUCK_ROWS
            or look.at_ns - since_ns < STUCK_NS
            or noise is None
            or noise < STUCK_NOISE * self._usual.grain(field)
        ):
            return ""
        return (
            f"{n} readings in {(look.at_ns - since_ns) / 1e9:.0f} s are the same to the last digit; before, "
            f"they scattered by {field.shown(noise)}"
        )

    def _stuck_beside(self, look: Look, field: ChannelSeen, n: int, since_ns: int) -> str:
        if look.at_ns - since_ns < STUCK_BESIDE_NS:
            return ""
        for x in sources(look.fields):
            slope = self._slope(look, x, field)
            if x.index == field.index or slope is None:
                continue
            xs, _ = look.columns(x.index, field.index, min(n, _ROWS_LOOKED_AT))
            moved = abs(slope) * float(np.ptp(xs)) / field.step if len(xs) else 0.0
            if moved >= BESIDE_STEPS and len(np.unique(xs)) >= _BESIDE_COUNTS:
                return (
                    f"{n} readings are the same to the last digit, while {x.name} beside it went from "
                    f"{x.shown(float(xs.min()))} to {x.shown(float(xs.max()))}: {moved:.0f} of its steps"
                )
        return ""

    def _slope(self, look: Look, x: ChannelSeen, y: ChannelSeen) -> float | None:
        """What one unit of x is worth in y: as learned, else from rail to rail where there is but one pin."""
        line = self._companions.line(x.index, y.index)
        if line is not None:
            return line.slope
        is_only_pin = sum(one.role == x.role for one in look.fields) == 1
        is_only_one = sum(one.role == y.role for one in look.fields) == 1
        if not (is_only_pin and is_only_one) or x.span is None or y.span is None:
            return None
        return y.span / x.span

    def _divided(self, look: Look) -> list[Signs]:
        """Numbers that are always whole, printed with decimals, beside a count that moves finer."""
        found: list[tuple[ChannelSeen, str]] = []
        for field in sorted(
            look.fields, key=lambda one: one.rank
        ):  # what is made of cut volts is cut as well
            n = int(self._whole_rows[field.index])
            if field.role not in ("volts", "value", "") or field.step >= 1 or n < _WHOLE_STILL:
                continue
            stands = look.stands("too coarse", field.name)
            evidence = "it still is whole" if stands else self._division(look, field, n)
            if evidence:
                found.append((field, evidence))
        if not found:
            return []
        field, evidence = found[0]
        return [
            Signs(
                "too coarse", field.name, int(self._whole_ns[field.index]),
                f"{field.name} comes in whole numbers only: the program probably divides whole ones",
                evidence,
                "In the program, divide by a number with a decimal point, such as 1024.0",
                lasts_ns=0, doubt=f"{field.name} is cut to whole numbers",
                indices=tuple(one.index for one, _ in found),
            )
        ]  # fmt: skip

    def _division(self, look: Look, field: ChannelSeen, n: int) -> str:
        for x in sources(look.fields):
            if x.index == field.index or x.role != "count":
                continue
            xs, ys = look.columns(x.index, field.index, min(n, _ROWS_LOOKED_AT))
            if len(xs) < _WHOLE_STILL:
                continue
            low, high = float(xs.min()), float(xs.max())
            at = field.shown(float(ys[-1]))
            beside = f"{len(ys)} readings at {at} beside {x.name} from {low:.0f} to {high:.0f}"
            line = self._companions.line(x.index, field.index)
            if line is not None:
                expected = line.offset + line.slope * xs
                # One number may be whole by chance when the formula was put right.
                is_certain = not ys.any() or (n >= WHOLE_ROWS and len(np.unique(xs)) >= _BESIDE_COUNTS)
                if is_certain and line.covers(xs) and bool((np.abs(ys - expected) > 3 * field.step).all()):
                    return f"{beside}; before, {x.name} {xs[-1]:.0f} gave {field.shown(float(expected[-1]))}"
            elif n >= WHOLE_ROWS and _is_cut(x, field, xs, ys):
                return beside
        return ""

    def _few_decimals(self, look: Look, told: set[str]) -> list[Signs]:
        """A last digit that is worth many counts."""
        if look.window.n < _DECIMALS_ROWS:
            return []
        signs = []
        for x in sources(look.fields):
            for y in look.fields:
                if x.role != "count" or y.role not in ("volts", "value") or y.name in told:
                    continue
                slope = self._slope(look, x, y)
                if slope is None or y.step <= TOO_FEW_DECIMALS * abs(slope):
                    continue
                if y.step > NOISY_DIGIT * abs(slope) * (self._usual.noise(x) or 0.0):
                    signs.append(_few_decimals_signs(look, x, y, y.step / abs(slope)))
        return signs


def _is_cut(x: ChannelSeen, y: ChannelSeen, xs: Numbers, ys: Numbers) -> bool:
    """Whether y is x cut to whole numbers, seen without having known how y was before."""
    n_counts, found = len(np.unique(xs)), np.unique(ys)
    if len(found) == 1 and found[0] == 0:
        if y.role == "volts" and x.span:
            return bool(middle(xs) >= 0.05 * x.span)
        return n_counts >= _BESIDE_COUNTS and xs.min() >= _CLEARLY_ABOVE_ZERO
    if len(found) == 1:
        if y.role != "volts" or y.span is None or x.span is None:
            return False
        return bool(np.ptp(xs) * y.span / x.span >= BESIDE_STEPS * y.step) and n_counts >= _BESIDE_COUNTS
    if len(found) < (2 if y.role == "volts" else 3) or n_counts < 3 * len(found):
        return False
    order = np.argsort(xs, kind="stable")
    rising = np.diff(ys[order])
    return bool((rising >= 0).all() or (rising <= 0).all())


def _few_decimals_signs(look: Look, x: ChannelSeen, y: ChannelSeen, n_counts: float) -> Signs:
    return Signs(
        "too coarse", y.name, int(look.window.times(look.window.n)[0]),
        f"{y.name} is printed with too few decimals to show what the converter sees",
        f"its last digit, {y.shown(y.step)}, is worth {n_counts:.0f} counts of {x.name}",
        "Print one more decimal",
        weight="hint", size=n_counts, lasts_ns=30 * SECOND_NS,
    )  # fmt: skip
