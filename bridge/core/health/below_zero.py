"""A number that went below zero and is printed as a huge one, because its type has no sign."""

from __future__ import annotations

import numpy as np

from .seen import ChannelSeen
from .signs import SECOND_NS, Signs
from .window import Look, middle

NEAR_END = 0.0625  # of the whole range: a jump from or to further inside is none across zero
_RANGES = (2.0**16, 2.0**32)
_MOST_DECIMALS = 3
_LEAST_JUMP = (1 - 2 * NEAR_END) * _RANGES[0] / 10**_MOST_DECIMALS
_LIKE_BEFORE = 8.0  # the step across zero may be so many times the usual one
_FEW_STEPS = 12.0
_MOST_STEP = 0.02  # of the whole range


class BelowZero:
    """Remembers which fields are below zero now."""

    def __init__(self) -> None:
        self._below: dict[int, tuple[float, int]] = {}  # field -> (range, since)

    def signs(self, look: Look) -> list[Signs]:
        """What the new rows show."""
        jumps = look.jumps.max(axis=0, initial=0.0).tolist()
        signs = []
        for field in look.fields:
            i = field.index
            if field.is_measured and i not in self._below and not jumps[i] < _LEAST_JUMP:
                self._look_at_jumps(look, field)
            if i in self._below:
                range_, since_ns = self._below[i]
                newest = float(look.newest[-1, i])
                if newest < range_ / 2:
                    del self._below[i]
                else:
                    signs.append(_signs(field, newest, range_, since_ns))
        return signs

    def _look_at_jumps(self, look: Look, field: ChannelSeen) -> None:
        jumps = look.jumps[:, field.index]
        for range_ in _ranges(field):
            for k in (jumps > (1 - 2 * NEAR_END) * range_).nonzero()[0].tolist():
                if _is_across_zero(look, field, k, range_):
                    self._below[field.index] = (range_, int(look.newest_ns[k + 1]))


def _ranges(field: ChannelSeen) -> list[float]:
    """How much is added to a number below zero, whole or in tenths, hundredths, thousandths."""
    decimals = 0 if field.step >= 1 else min(_MOST_DECIMALS, round(-float(np.log10(field.step))))
    return [range_ / 10**d for range_ in _RANGES for d in range(decimals + 1)]


def _is_across_zero(look: Look, field: ChannelSeen, k: int, range_: float) -> bool:
    """Whether the step is a usual one when the huge number is taken for one below zero."""
    before, after = float(look.newest[k, field.index]), float(look.newest[k + 1, field.index])
    near = NEAR_END * range_
    if not (0 <= before <= near and range_ - near <= after < range_):
        return False
    x = look.column(field.index, 24)
    usual = middle(np.abs(np.diff(x))) if len(x) > 2 else 0.0
    most = min(max(_FEW_STEPS * field.step, _LIKE_BEFORE * usual), _MOST_STEP * range_)
    return abs(after - range_ - before) <= most


def _signs(field: ChannelSeen, newest: float, range_: float, since_ns: int) -> Signs:
    return Signs(
        "unsigned below zero", field.name, since_ns,
        f"{field.name} went below zero, and the program prints it as a huge number",
        f"{field.shown(newest)} is {field.shown(newest - range_)} plus {field.shown(range_)}, the range of a "
        "number without a sign",
        "In the program, keep the number in a type with a sign, such as int16_t",
        doubt=f"{field.name} is a number below zero printed without its sign", indices=(field.index,),
        lasts_ns=5 * SECOND_NS,
    )  # fmt: skip
