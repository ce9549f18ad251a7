"""The newest readings of every channel with limits: what a calmer alarm is tried on."""

from __future__ import annotations

import math
from array import array
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from bridge.core.alarm_given import AlarmGiven
from bridge.core.as_written import sum_as_written
from bridge.core.class_medians import ClassMedians
from bridge.core.conversion import OUTSIDE_CALIBRATION
from bridge.core.lesson import Channel, Lesson
from bridge.core.readings import Reading

MAX_SIGNAL = 12_000  # readings of one channel of one bench: 20 minutes at 10 a second, 200 KB


class Signal(NamedTuple):
    """Readings of one channel of one bench, in the order of their times; cheap to copy."""

    times_ns: array[int]
    values: array[float]  # NaN: missing, or not to be acted upon

    def listed(self) -> tuple[list[int], list[float | None]]:
        """Times and values, None for a missing one."""
        return self.times_ns.tolist(), [None if x != x else x for x in self.values]


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
            counts = reading.quality == "good" or reading.reason.startswith(OUTSIDE_CALIBRATION)
            found[1].append(reading.value if counts and reading.value is not None else math.nan)
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
        return Signal(times_ns[newest], values[newest])

    def of_class(self, channel: str) -> dict[int, Signal]:
        """A copy of what is kept of that channel, by bench."""
        return {bench: self.of(bench, name) for bench, name in sorted(self._kept) if name == channel}


def differences(of_class: Mapping[int, Signal], bench: int, given: AlarmGiven) -> Signal:
    """How far the bench was from the median of the class, at each full second, as an alarm on it judges.

    Args:
        of_class: Each bench's readings of the channel.
        bench: Whose differences.
        given: An alarm on the deviation.
    """
    channel = Channel(name="", limits=(given,))
    medians = ClassMedians(Lesson(title="", channels=(channel,)))
    end_ns = 0
    for number, signal in of_class.items():
        pairs = zip(signal.times_ns, signal.values, strict=True)
        medians.take(
            Reading(at_ns, number, "", value, "", None, "good", "", 0, at_ns)
            for at_ns, value in pairs if value == value
        )  # fmt: skip
        end_ns = max(end_ns, signal.times_ns[-1] if signal.times_ns else 0)
    found = Signal(array("q"), array("d"))
    for one in medians.assess(end_ns):
        value, median = one.values.get(bench), one.median
        difference = math.nan  # nobody can say
        if value is not None and median is not None and one.n_benches >= given.least_benches:
            difference = sum_as_written(value, -median)
        found.times_ns.append(one.at_ns)
        found.values.append(difference)
    return found
