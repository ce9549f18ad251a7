"""The class beside one bench: readings of all benches in, what is unlike the others out."""

from __future__ import annotations

from collections.abc import Iterable

from bridge.core.findings import FindingChange
from bridge.core.health.class_health import ClassHealth
from bridge.core.lesson import Lesson
from bridge.core.readings import Reading


class ClassWatch:
    """Compares the channels that the lesson gives to every bench; a board's own fields can't be compared."""

    def __init__(self, lesson: Lesson) -> None:
        self._health = ClassHealth()
        self._channels = frozenset(one.name for one in lesson.channels)

    def revise(self, lesson: Lesson) -> None:
        """The lesson changed: readings made by the old one tell nothing of the new."""
        self._health.forget(self._channels)
        self._channels = frozenset(one.name for one in lesson.channels)

    def take(self, readings: Iterable[Reading]) -> None:
        """Take readings, each bench's in the order of their times; those that are not good say nothing."""
        grouped: dict[tuple[int, str, str], list[tuple[int, float]]] = {}
        for one in readings:
            if one.value is not None and one.quality == "good" and one.channel in self._channels:
                values = grouped.setdefault((one.bench, one.channel, one.unit), [])
                values.append((one.at_ns, one.value))
        for (bench, channel, unit), values in grouped.items():
            self._health.take(bench, channel, unit, values)

    def assess(self, until_ns: int) -> list[FindingChange]:
        """What is found at the instants that are due, with the readings before them."""
        return self._health.assess(until_ns)
