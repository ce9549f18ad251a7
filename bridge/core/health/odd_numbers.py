"""Numbers that stand for something else: below zero as a huge number, or no measurement at all."""

from __future__ import annotations

import numpy as np

from .noise import UsualNoise
from .seen import ChannelSeen
from .signs import SECOND_NS, Signs
from .window import Look, Numbers

NEAR_END = 0.0625  # of the whole range: beyond it a jump across zero is not taken for one
_RANGES = (2.0**16, 2.0**32)
_LIKE_BEFORE = 8.0  # the step across zero may be so many times the usual one
_FEW_STEPS = 12.0

PLACEHOLDERS = (85.0, -127.0)
"""What digital thermometers hand out before, and without, a measurement; in °C."""
FAR = 5.0  # °C: nearer to its neighbours, 85.0 was reached smoothly
PLACEHOLDER_SPAN_NS = 30 * SECOND_NS
GENERIC_TIMES = 3  # any other number must break in so often, exactly the same
GENERIC_EVERY_NS = 5 * SECOND_NS
_ONLY_ROWS, _ONLY_NS = 10, 10 * SECOND_NS


class OddNumbers:
    """Looks at single numbers among the others."""

    def __init__(self, usual: UsualNoise) -> None:
        self._usual = usual
        self._below: dict[int, tuple[float, int]] = {}  # field -> (range, since) while below zero
        self._from_first: dict[int, float] = {}  # field -> the only number that it has printed

    def signs(self, look: Look) -> list[Signs]:
        """What the new rows show."""
        signs: list[Signs] = []
        for field in look.fields:
            if field.is_measured:
                signs += self._below_zero(look, field) + self._placeholder(look, field)
        return signs

    def _below_zero(self, look: Look, field: ChannelSeen) -> list[Signs]:
        i = field.index
        if i not in self._below:
            jumps = look.jumps[:, i]
            for range_ in _ranges(field):
                for k in (jumps > (1 - 2 * NEAR_END) * range_).nonzero()[0].tolist():
                    if self._is_across_zero(look, field, k, range_):
                        self._below[i] = (range_, int(look.newest_ns[k + 1]))
        if i not in self._below:
            return []
        range_, since_ns = self._below[i]
        newest = float(look.newest[-1, i])
        if newest < range_ / 2:
            del self._below[i]
            return []
        ticks = range_ / field.step if field.step < 1 else range_
        return [
            Signs(
                "unsigned below zero", field.name, since_ns,
                f"{field.name} went below zero, and the program prints it as a huge number",
                f"{field.shown(newest)} is {field.shown(newest - range_)} plus {field.shown(range_)}"
                f"{'' if ticks > 2**17 else ': sixteen bits without a sign'}",
                "In the program, keep the number in a type with a sign, such as int16_t",
                doubt=f"{field.name} is a number below zero printed without its sign", indices=(i,),
                lasts_ns=5 * SECOND_NS,
            )
        ]  # fmt: skip

    def _is_across_zero(self, look: Look, field: ChannelSeen, k: int, range_: float) -> bool:
        """Whether the step is a usual one when the huge number is taken for one below zero."""
        before, after = float(look.newest[k, field.index]), float(look.newest[k + 1, field.index])
        near = NEAR_END * range_
        if not (0 <= before <= near and range_ - near <= after < range_):
            return False
        x = look.column(field.index, 24)
        usual = float(np.median(np.abs(np.diff(x)))) if len(x) > 2 else 0.0
        return abs(after - range_ - before) <= max(_FEW_STEPS * field.step, _LIKE_BEFORE * usual)

    def _placeholder(self, look: Look, field: ChannelSeen) -> list[Signs]:
        if field.role == "count":
            return []
        signs: list[Signs] = []
        if field.unit in ("°C", "") and field.role != "volts":
            recent = look.column(field.index, max(look.n_within(PLACEHOLDER_SPAN_NS / 1e9), look.n_new))
            for number in PLACEHOLDERS:
                if (recent == number).any():
                    signs += self._known(look, field, number)
        return signs[:1] or self._generic(look, field)

    def _known(self, look: Look, field: ChannelSeen, number: float) -> list[Signs]:
        n = max(look.n_within(PLACEHOLDER_SPAN_NS / 1e9, at_least=4), look.n_new)
        x = look.window.values(n)[:, field.index]
        runs = _runs_far_off(x, number)
        least = 1 if field.unit == "°C" else 2
        is_only = len(x) >= _ONLY_ROWS and bool((x == number).all()) and field.unit == "°C"
        if is_only:
            is_only = look.at_ns - int(look.window.times(look.window.n)[0]) >= _ONLY_NS
        if len(runs) < least and not is_only:
            return []
        first = runs[0][0] if runs else 0
        n_times = int((x == number).sum())
        return [_placeholder_signs(look, field, number, n_times, int(look.window.times(n)[first]))]

    def _generic(self, look: Look, field: ChannelSeen) -> list[Signs]:
        """Any number that breaks in exactly the same again and again."""
        n = look.n_minute
        if look.at_ns % GENERIC_EVERY_NS and not look.stands("placeholder value", field.name):
            return []
        x = look.column(field.index, n)
        if len(x) < 3 * GENERIC_TIMES:
            return []
        jumps = np.diff(x)
        far = max(20 * field.step, 20 * float(np.median(np.abs(jumps))))
        in_, out = jumps[:-1], jumps[1:]
        at = ((np.abs(in_) > far) & (np.abs(out) > far) & (in_ * out < 0)).nonzero()[0] + 1
        if len(at) < GENERIC_TIMES:
            return []
        numbers, times = np.unique(x[at], return_counts=True)
        number, n_times = float(numbers[np.argmax(times)]), int(times.max())
        if n_times < GENERIC_TIMES or number in (field.low_rail, field.high_rail) or number in PLACEHOLDERS:
            return []
        first = int(at[x[at] == number][0])
        return [_placeholder_signs(look, field, number, n_times, int(look.window.times(len(x))[first]))]


def _ranges(field: ChannelSeen) -> list[float]:
    """How much is added to a number below zero, whole or in tenths, hundredths, thousandths."""
    decimals = 0 if field.step >= 1 else min(3, round(-float(np.log10(field.step))))
    return [range_ / 10**d for range_ in _RANGES for d in range(decimals + 1)]


def _runs_far_off(x: Numbers, number: float) -> list[tuple[int, int]]:
    """Where the number stands, first and last row, far off what stands on either side."""
    is_it = np.concatenate(([False], x == number, [False]))
    starts = np.flatnonzero(is_it[1:] & ~is_it[:-1])
    ends = np.flatnonzero(~is_it[1:] & is_it[:-1]) - 1
    runs = []
    for first, last in zip(starts.tolist(), ends.tolist(), strict=True):
        sides = [float(x[first - 1])] * (first > 0) + [float(x[last + 1])] * (last + 1 < len(x))
        if sides and all(abs(side - number) > FAR for side in sides):
            runs.append((first, last))
    return runs


def _placeholder_signs(look: Look, field: ChannelSeen, number: float, n_times: int, since_ns: int) -> Signs:
    is_known = number in PLACEHOLDERS
    return Signs(
        "placeholder value", field.name, since_ns,
        f"{field.name} is {field.shown(number)} now and then, which is no measurement"
        if n_times < look.window.n
        else f"{field.name} is always {field.shown(number)}, which is probably no measurement",
        f"{field.shown(number)} came {n_times} times, far from the readings beside it"
        + ("; it is what a digital sensor hands out before, or without, measuring" if is_known else ""),
        "Wait in the program until the sensor has measured, and check its wire and pull-up resistor; leave "
        "such numbers out",
        weight="hint", size=float(n_times), lasts_ns=5 * SECOND_NS,
    )  # fmt: skip
