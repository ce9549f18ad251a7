"""The newest readings of every channel with limits: what a calmer alarm is tried on."""

from __future__ import annotations

import math
from array import array
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from bridge.core.lesson import Lesson
from bridge.core.readings import Reading

MAX_SIGNAL = 12_000  # readings of one channel of one bench: 20 minutes at 10 a second, 200 KB


class Signal(NamedTuple):
    """Readings of one channel of one bench, in the order of their times."""

    times_ns: Sequence[int]
    values: Sequence[float | None]  # None: missing, or not to be acted upon


class KeptSignals:
    """Keeps readings as they come.

    Args:
        lesson: Says which channels have limits.
        max_readings: Of one channel of one bench; beyond it the oldest leave. None: none does.
    """

    def __init__(self, lesson: Lesson, *, max_readings: int | None = MAX_SIGNAL) -> None:
        self._max_readings = max_readings
        self._kept: dict[tuple[int, str], tuple[array[int], array[float]]] = {}
        self._channels: frozenset[str] = frozenset()
        self.revise(lesson)

    def revise(self, lesson: Lesson) -> None:
        """Other channels may have limits now; what was kept of them stays."""
        self._channels = frozenset(one.name for one in lesson.channels if one.limits)

    def take(self, readings: Iterable[Reading]) -> None:
        """Take readings; those of channels without limits pass."""
        channels, kept = self._channels, self._kept
        if not channels:
            return
        for reading in readings:
            if reading.channel not in channels:
                continue
            found = kept.get((reading.bench, reading.channel))
            if found is None:
                found = kept[reading.bench, reading.channel] = array("q"), array("d")
            found[0].append(reading.at_ns)
            is_good = reading.value is not None and reading.quality == "good"
            found[1].append(reading.value if is_good else math.nan)  # type: ignore[arg-type]
            if self._max_readings is not None and len(found[0]) >= 2 * self._max_readings:
                del found[0][: -self._max_readings], found[1][: -self._max_readings]

    def remove(self, bench: int) -> None:
        """The bench is no part of the session any more."""
        for key in [key for key in self._kept if key[0] == bench]:
            del self._kept[key]

    def of(self, bench: int, channel: str) -> Signal:
        """A copy of what is kept."""
        times_ns, values = self._kept.get((bench, channel), (array("q"), array("d")))
        newest = slice(-self._max_readings if self._max_readings is not None else None, None)
        return Signal(times_ns[newest].tolist(), [None if x != x else x for x in values[newest]])
