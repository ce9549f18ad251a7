"""Numbers that stand for no measurement: 85.0 and -127.0 of digital thermometers, or any that breaks in."""

from __future__ import annotations

import numpy as np

from .noise import UsualNoise
from .seen import ChannelSeen
from .signs import SECOND_NS, Signs
from .window import Look, Numbers, middle

PLACEHOLDERS = (85.0, -127.0)
"""What digital thermometers hand out before, and without, a measurement; in °C."""
FAR = 5.0  # °C: nearer to its neighbours, 85.0 was reached smoothly
SPAN_NS = 30 * SECOND_NS
_ONLY_ROWS, _ONLY_NS = 10, 10 * SECOND_NS
_TIMES_WITHOUT_UNIT = 2

ANY_TIMES = 3  # any other number must break in so often, exactly the same
ANY_EVERY_NS = 5 * SECOND_NS
_FAR_OFF = 20.0  # times the usual jump, and the least one


class Placeholders:
    """Looks at single numbers among the others; what is computed from a count has no placeholder."""

    def __init__(self, usual: UsualNoise) -> None:
        self._usual = usual
        self._came_ns: dict[int, int] = {}  # field -> when it last printed a known one
        self._any: list[Signs] = []

    def signs(self, look: Look) -> list[Signs]:
        """What the rows show."""
        fields = [one for one in look.fields if one.is_measured and one.role not in ("count", "volts")]
        if not fields or any(one.role == "count" for one in look.fields):
            return []
        has_known = np.any(np.isin(look.newest, PLACEHOLDERS), axis=0, keepdims=True)[0].tolist()
        signs: list[Signs] = []
        for field in fields:
            if has_known[field.index]:
                self._came_ns[field.index] = look.at_ns
            if look.at_ns - self._came_ns.get(field.index, -SPAN_NS) < SPAN_NS:
                signs += self._known(look, field)
        if look.at_ns % ANY_EVERY_NS == 0:
            self._any = [one for field in fields for one in self._any_number(look, field)]
        told = {one.channel for one in signs}
        return signs + [one for one in self._any if one.channel not in told]

    def _known(self, look: Look, field: ChannelSeen) -> list[Signs]:
        if field.unit not in ("°C", ""):
            return []
        n = max(look.n_within(SPAN_NS / 1e9, at_least=4), look.n_new)
        x, times = look.window.values(n)[:, field.index], look.window.times(n)
        for number in PLACEHOLDERS:
            runs = _runs_far_off(x, number)
            if len(runs) >= (1 if field.unit == "°C" else _TIMES_WITHOUT_UNIT):
                n_times = sum(last - first + 1 for first, last in runs)
                return [_signs(field, number, n_times, int(times[runs[0][0]]))]
            if field.unit == "°C" and _is_all(look, field, number):
                return [_signs(field, number, look.window.n, int(look.window.times(look.window.n)[0]))]
        return []

    def _any_number(self, look: Look, field: ChannelSeen) -> list[Signs]:
        """Any number that breaks in exactly the same again and again."""
        x = look.column(field.index, look.n_minute)
        if len(x) < 3 * ANY_TIMES or look.stands("lost zeros", field.name):  # 20.9 for 20.09 comes back too
            return []
        jumps = np.diff(x)
        sizes = np.abs(jumps)
        grain = self._usual.grain(field)
        if sizes.max() <= _FAR_OFF * grain:
            return []
        real = sizes[sizes > field.step / 2]
        far = _FAR_OFF * max(grain, float(real.min()), middle(sizes))
        is_out = (sizes[:-1] > far) & (sizes[1:] > far) & (jumps[:-1] * jumps[1:] < 0)
        at = is_out.nonzero()[0] + 1
        if len(at) < ANY_TIMES:
            return []
        numbers, times = np.unique(x[at], return_counts=True)
        number, n_times = float(numbers[np.argmax(times)]), int(times.max())
        if n_times < ANY_TIMES or number in (field.low_rail, field.high_rail, *PLACEHOLDERS):
            return []
        first = int(at[x[at] == number][0])
        return [_signs(field, number, n_times, int(look.window.times(len(x))[first]))]


def _is_all(look: Look, field: ChannelSeen, number: float) -> bool:
    """Whether nothing else has come since the port was opened."""
    n = look.window.n
    x, first_ns = look.window.values(n)[:, field.index], int(look.window.times(n)[0])
    return n >= _ONLY_ROWS and look.at_ns - first_ns >= _ONLY_NS and bool((x == number).all())


def _runs_far_off(x: Numbers, number: float) -> list[tuple[int, int]]:
    """Where the number stands, first and last row, far off what stands on either side."""
    is_it = np.concatenate(([False], x == number, [False]))
    starts = np.flatnonzero(is_it[1:] & ~is_it[:-1])
    ends = np.flatnonzero(~is_it[1:] & is_it[:-1]) - 1
    runs = []
    for first, last in zip(starts.tolist(), ends.tolist(), strict=True):
        sides = [float(x[i]) for i in (first - 1, last + 1) if 0 <= i < len(x)]
        if sides and all(abs(side - number) > FAR for side in sides):
            runs.append((first, last))
    return runs


def _signs(field: ChannelSeen, number: float, n_times: int, since_ns: int) -> Signs:
    is_known = number in PLACEHOLDERS
    return Signs(
        "placeholder value", field.name, since_ns,
        f"{field.name} is {field.shown(number)} now and then, which is probably no measurement",
        f"{field.shown(number)} came {n_times} times"
        + (", what a digital sensor gives before it has measured" if is_known else ", far from the others"),
        "Wait in the program until the sensor has measured; check its wire and its pull-up resistor",
        weight="hint", size=float(n_times), lasts_ns=5 * SECOND_NS,
    )  # fmt: skip
