"""One channel of one bench under watch: its band and its alarms."""

from __future__ import annotations

import math
from collections.abc import Sequence

from bridge.core.alarm_given import AlarmGiven
from bridge.core.alarm_kinds import DeviationWatch, QualityWatch
from bridge.core.alarm_set import AlarmSet
from bridge.core.as_written import sum_as_written
from bridge.core.bands import HeldBand
from bridge.core.lesson import Bands, Limit
from bridge.core.limits import NEVER_NS
from bridge.core.readings import BandChange, Change


class ChannelWatch(AlarmSet):
    """Takes a channel's values in the order of their times and tells what changed.

    `low <= value < high` says that a value changes neither a band nor a plain limit: the pipeline asks that
    first, for a whole chunk at once, since nearly every value changes nothing. Such values need no `take`;
    where `hears_all` they go to `hear`, or many of them to `hear_many` once `is_quiet` has said yes.
    """

    def __init__(
        self,
        bench: int,
        channel: str,
        *,
        bands: Bands | None,
        baseline: float | None,
        limits: Sequence[Limit | AlarmGiven],
    ) -> None:
        super().__init__(bench, channel, [alarm_from_limit(one) for one in limits])
        self.baseline = baseline if baseline is not None else (bands.baseline if bands else None)
        self.edges: tuple[float, ...] = ()
        self._held: HeldBand | None = None
        if bands is not None and self.baseline is not None:
            self.edges = tuple(sum_as_written(self.baseline, edge) for edge in bands.edges)
            self._held = HeldBand(self.edges, deadband=bands.deadband)
        self.low, self.high = -math.inf, math.inf
        self._hearers = tuple(watch for watch in self.watches if watch.hears_all)
        self.hears_all = bool(self._hearers)
        self.heeds_misses = any(isinstance(watch, QualityWatch) for watch in self.watches)
        self._settle()

    @property
    def band(self) -> int | None:
        """The band that is held."""
        return self._held.band if self._held else None

    def take(self, value: float, at_ns: int) -> list[Change]:
        """Take a good value, any one."""
        changes = self.tick(at_ns) if self.due_ns <= at_ns else []
        self.value = value
        if self._held is not None:
            before = self._held.band
            band = self._held.take(value)
            if band != before:
                changes.append(BandChange(at_ns, self.bench, self.channel, band, before))
        for watch in self.watches:
            watch.take(value, at_ns)
        self._settle()
        return changes + self.tick(at_ns)

    def hear(self, value: float, at_ns: int) -> list[Change]:
        """Take a good value within `low` and `high`: as `take`, cheaper."""
        changes = self.tick(at_ns) if self.due_ns <= at_ns else []
        self.value = value
        if self._hearers:
            for watch in self._hearers:
                watch.take(value, at_ns)
            self._settle()
            changes += self.tick(at_ns)
        return changes

    def is_quiet(self, times_ns: Sequence[int], values: Sequence[float]) -> bool:
        """Whether `hear` of these values, all within `low` and `high`, would tell nothing on the way."""
        shelf_ns = min((one.shelf.until_ns for one in self.watches if one.shelf), default=NEVER_NS)
        return shelf_ns > times_ns[-1] and all(one.is_quiet(times_ns, values) for one in self._hearers)

    def hear_many(self, times_ns: Sequence[int], values: Sequence[float]) -> None:
        """`hear` of each, after `is_quiet` has said yes: with the same outcome, many times as fast."""
        self.value = values[-1]
        for watch in self._hearers:
            watch.take_many(times_ns, values)
        if self._hearers:
            self._settle()

    def miss(self, at_ns: int, quality: str = "bad") -> list[Change]:
        """A line came without the value, or with one not to be trusted: nobody can vouch for a delay."""
        changes = self.tick(at_ns)
        for watch in self.watches:
            watch.miss(at_ns, quality)
        self._settle()
        return changes + self.tick(at_ns)

    def lose(self, at_ns: int) -> list[Change]:
        """There is no value any more: no band, no delay under way. A raised alarm stands."""
        changes = self.tick(at_ns)
        self.value = None
        for watch in self.watches:
            watch.lose()
        if self._held is not None and self._held.band is not None:
            changes.append(BandChange(at_ns, self.bench, self.channel, None, self._held.band))
            self._held.lose()
        self._settle()
        return changes

    def compare(self, value: float | None, median: float | None, n_benches: int, at_ns: int) -> list[Change]:
        """Judge the deviation from the class.

        Args:
            value: The bench's value as it stood before that instant, None without one that is new enough.
            median: That of the class at the same instant, None without one.
            n_benches: How many benches the median is made from.
            at_ns: A full second of session time.
        """
        changes = self.tick(at_ns)
        for watch in self.watches:
            if isinstance(watch, DeviationWatch):
                watch.compare(value, median, n_benches, at_ns)
        self._settle()
        return changes + self.tick(at_ns)

    def _settle(self) -> None:
        """Work out what comes next, and within which values nothing changes."""
        super()._settle()
        spans = [watch.quiet_span for watch in self.watches]
        if self._held is not None:
            spans.append((self._held.low, self._held.high))
        if any(math.isnan(low) for low, _ in spans):
            self.low = self.high = math.nan
            return
        self.low = max((low for low, _ in spans), default=-math.inf)
        self.high = min((high for _, high in spans), default=math.inf)


def alarm_from_limit(limit: Limit | AlarmGiven) -> AlarmGiven:
    """A lesson's limit as an alarm."""
    if isinstance(limit, AlarmGiven):
        return limit
    return AlarmGiven(
        kind=limit.kind,
        at=limit.at,
        deadband=limit.deadband,
        on_delay_seconds=limit.on_delay_seconds,
        off_delay_seconds=limit.off_delay_seconds,
        priority=limit.priority,
        message=limit.message,
        advice=limit.advice,
    )
