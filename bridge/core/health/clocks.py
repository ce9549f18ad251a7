"""A board's own clock that runs at another rate than time does."""

from __future__ import annotations

import numpy as np

from .seen import ChannelSeen
from .signs import SECOND_NS, Signs
from .window import Look

EVERY_NS = 10 * SECOND_NS
LEAST_NS = 20 * SECOND_NS
LEAST_ROWS = 12
OFF, STILL_OFF = 0.03, 0.02  # a ceramic resonator is within 0.5 %, a board's own oscillator within 10 %
_TICKS = {"s": 1.0, "ms": 1e-3, "µs": 1e-6, "us": 1e-6, "μs": 1e-6}
_MOST_JITTER = 2.0


class Clocks:
    """Compares a clock's rise with the time that went by."""

    def signs(self, look: Look) -> list[Signs]:
        """At each full ten seconds, over the last minute without a step back."""
        signs = []
        for field in look.fields:
            if field.role != "clock":
                continue
            ratio = self._ratio(look, field)
            off = STILL_OFF if look.stands("board clock", field.name) else OFF
            if ratio is not None and abs(ratio[0] - 1) > off:
                signs.append(_signs(field, *ratio, look.at_ns))
        return signs

    def _ratio(self, look: Look, field: ChannelSeen) -> tuple[float, float] | None:
        """Board time by arrival time, and the seconds looked at."""
        n = look.n_minute
        if n < LEAST_ROWS:
            return None
        ticks, times = look.window.values(n)[:, field.index], look.window.times(n)
        back = np.flatnonzero(~(np.diff(ticks) > 0))
        if len(back):
            ticks, times = ticks[back[-1] + 1 :], times[back[-1] + 1 :]
        if len(ticks) < LEAST_ROWS or times[-1] - times[0] < LEAST_NS:
            return None
        at = (times - times[0]) / 1e9
        x = ticks - ticks.mean()
        rate = float(x @ (at - at.mean()) / (x @ x))  # seconds of arrival a tick
        if rate <= 0 or np.ptp(at - at.mean() - rate * x) > _MOST_JITTER:
            return None
        tick = _TICKS.get(field.unit) or min(
            (1.0, 1e-3, 1e-6), key=lambda one: abs(float(np.log(one / rate)))
        )
        return tick / rate, float(at[-1])


def _signs(field: ChannelSeen, ratio: float, seconds: float, at_ns: int) -> Signs:
    return Signs(
        "board clock", field.name, at_ns - round(seconds * 1e9),
        f"The board's clock runs {'fast' if ratio > 1 else 'slow'}: its times and pauses are off",
        f"{ratio * seconds:.1f} s on {field.name} in {seconds:.1f} s of arrival: {ratio - 1:+.1%}",
        "Look which clock frequency the program was built for; times here are taken from arrival",
        weight="hint", size=abs(ratio - 1), patience_ns=EVERY_NS, lasts_ns=15 * SECOND_NS,
    )  # fmt: skip
