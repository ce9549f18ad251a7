"""A bench's own baseline: the mean of a steady stretch, with its uncertainty."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from bridge.core.limits import NEVER_NS
from bridge.core.rates import ASSESS_EVERY_NS
from bridge.core.steady import BIN_NS, SteadyMeter
from bridge.core.uncertainty import decimals_for, rounded, with_uncertainty

_COVERED = 0.9  # of the stretch by readings: the first comes after its start, the last before its end


class Baseline(NamedTuple):
    """The mean of a steady stretch, rounded to what its uncertainty leaves."""

    value: float  # in the channel's unit
    u: float  # standard uncertainty
    n: int
    seconds: float
    at_ns: int  # the end of the stretch

    def words(self, unit: str) -> str:
        """As one says it: '20.14 ± 0.02 °C, from 300 readings in 30 s'."""
        value = with_uncertainty(self.value, self.u, unit)
        return f"{value}, from {self.n} readings in {self.seconds:.0f} s"


class BaselineFinder:
    """Follows a channel, and finds its baseline: at a press, or as soon as it was steady for long enough.

    While it `seeks` it looks at each full second, from the readings before it.

    Args:
        stretch_seconds: How long the value must have stayed, at most a minute.
        seeks: Whether it looks by itself.
    """

    def __init__(self, stretch_seconds: float, *, seeks: bool) -> None:
        self._stretch_seconds = stretch_seconds
        self._meter = SteadyMeter("")
        self.step = 0.0  # the least difference between two readings, in the unit; 0: none
        self.seeks = seeks
        self.due_ns = NEVER_NS  # when it looks next
        self._newest_ns = 0

    def take_many(self, times_ns: Sequence[int], values: Sequence[float]) -> None:
        """Take good values, in the order of their times."""
        self._meter.take_many(values, times_ns)
        self._newest_ns = times_ns[-1]
        if self.seeks:
            self.due_ns = self._next_look(times_ns[0])

    def is_quiet(self, times_ns: Sequence[int]) -> bool:
        """Whether taking values at these times lets nothing fall due."""
        return not self.seeks or times_ns[-1] < self._next_look(times_ns[0])

    def look(self) -> Baseline | None:
        """What is due: whether the value is steady now. Once it is, the finder seeks no more."""
        at_ns = self.due_ns
        found = self.at(at_ns)
        self.seeks = found is None
        # Without a reading since the last look nothing can have become steady.
        is_worth = self.seeks and self._newest_ns >= at_ns - ASSESS_EVERY_NS
        self.due_ns = at_ns + ASSESS_EVERY_NS if is_worth else NEVER_NS
        return found

    def at(self, at_ns: int) -> Baseline | None:
        """The baseline from the readings before that instant; None while the value does not stay."""
        at_ns = at_ns // BIN_NS * BIN_NS
        found = self._meter.look(at_ns, step=self.step)
        if found.mean is None or found.u is None or found.seconds < _COVERED * self._stretch_seconds:
            return None
        value = float(rounded(found.mean, decimals_for(found.u)))
        return Baseline(value, found.u, found.n, found.seconds, at_ns)

    def stop(self) -> None:
        """There is a baseline: look for none."""
        self.seeks, self.due_ns = False, NEVER_NS

    def lose(self) -> None:
        """There is no value any more; the next one may come from another board."""
        self._meter.clear()
        self.due_ns = NEVER_NS

    def _next_look(self, at_ns: int) -> int:
        """When it looks next, when a reading comes at that time."""
        return self.due_ns if self.due_ns != NEVER_NS else (at_ns // ASSESS_EVERY_NS + 1) * ASSESS_EVERY_NS
