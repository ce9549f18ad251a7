"""The median of the class at each full second, for alarms on a bench that is far from it."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from statistics import median
from typing import NamedTuple

from bridge.core.lesson import Lesson
from bridge.core.rates import ASSESS_EVERY_NS
from bridge.core.readings import Reading

OLD_NS = 3_000_000_000  # an older value says nothing of now ...
OLD_INTERVALS = 3  # ... unless the board prints so seldom
_KEPT_INTERVALS = 5


class Comparison(NamedTuple):
    """One channel of the class at one instant."""

    at_ns: int  # a full second of session time
    channel: str
    values: Mapping[int, float | None]  # each bench's newest before it; None: none that is new enough
    median: float | None  # of those; None without any
    n_benches: int  # that have one


class ClassMedians:
    """Takes the readings of all benches, each bench's in the order of their times.

    For channels with an alarm on the deviation only. The cost is one step for each reading and for each
    bench and second; a session of two hours with 24 benches takes about a second in all.
    """

    def __init__(self, lesson: Lesson) -> None:
        self._series: dict[str, dict[int, _Newest]] = {}
        self._done_ns = 0  # assessed up to here
        self.revise(lesson)

    def revise(self, lesson: Lesson) -> None:
        """The lesson changed: what was read by the old one tells nothing of the new."""
        wanted = {
            one.name for one in lesson.channels if any(alarm.kind == "deviation" for alarm in one.limits)
        }
        self._series = {channel: {} for channel in sorted(wanted)}

    def take(self, readings: Iterable[Reading]) -> None:
        """Take readings; those that are not good say nothing."""
        if not self._series:
            return
        for one in readings:
            series = self._series.get(one.channel)
            if series is not None and one.value is not None and one.quality == "good":
                newest = series.get(one.bench)
                if newest is None:
                    newest = series[one.bench] = _Newest()
                newest.waiting.append((one.at_ns, one.value))

    def lose(self, bench: int) -> None:
        """The bench's board is gone, or another one may have come."""
        for series in self._series.values():
            if bench in series:
                series[bench] = _Newest()

    def assess(self, until_ns: int) -> Iterator[Comparison]:
        """The full seconds that are due by then, when every reading before them was taken."""
        start_ns = (self._done_ns // ASSESS_EVERY_NS + 1) * ASSESS_EVERY_NS
        self._done_ns = max(self._done_ns, until_ns)
        if not any(self._series.values()):
            return
        for at_ns in range(start_ns, until_ns + 1, ASSESS_EVERY_NS):
            for channel, series in self._series.items():
                values = {bench: series[bench].before(at_ns) for bench in sorted(series)}
                known = [value for value in values.values() if value is not None]
                yield Comparison(at_ns, channel, values, median(known) if known else None, len(known))


class _Newest:
    """The newest value of one bench, and how often one comes."""

    def __init__(self) -> None:
        self.waiting: deque[tuple[int, float]] = deque()  # since the last instant that was assessed
        self._at_ns: int | None = None
        self._value = 0.0
        self._intervals: deque[int] = deque(maxlen=_KEPT_INTERVALS)

    def before(self, instant_ns: int) -> float | None:
        """The value as it stood before that instant, None without one that is new enough."""
        while self.waiting and self.waiting[0][0] < instant_ns:
            at_ns, self._value = self.waiting.popleft()
            if self._at_ns is not None:
                self._intervals.append(at_ns - self._at_ns)
            self._at_ns = at_ns
        if self._at_ns is None:
            return None
        usual_ns = sorted(self._intervals)[len(self._intervals) // 2] if self._intervals else 0
        is_old = instant_ns - self._at_ns > max(OLD_NS, OLD_INTERVALS * usual_ns)
        return None if is_old else self._value
