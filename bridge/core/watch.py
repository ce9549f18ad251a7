"""One channel of one bench under watch: its band and its limits."""

from __future__ import annotations

import math

from bridge.core.as_written import sum_as_written
from bridge.core.bands import HeldBand
from bridge.core.lesson import Bands, Limit
from bridge.core.limits import NEVER_NS, LimitWatch
from bridge.core.readings import AlarmChange, AlarmEvent, AlarmState, BandChange, Change


class ChannelWatch:
    """Takes a channel's values in the order of their times and tells what changed.

    `low <= value < high` says that a value changes nothing: the pipeline asks that first, for a whole chunk
    at once, since nearly every value changes nothing.
    """

    def __init__(
        self,
        bench: int,
        channel: str,
        *,
        bands: Bands | None,
        baseline: float | None,
        limits: tuple[Limit, ...],
    ) -> None:
        self.bench, self.channel = bench, channel
        self.baseline = baseline if baseline is not None else (bands.baseline if bands else None)
        self.edges: tuple[float, ...] = ()
        self._held: HeldBand | None = None
        if bands is not None and self.baseline is not None:
            self.edges = tuple(sum_as_written(self.baseline, edge) for edge in bands.edges)
            self._held = HeldBand(self.edges, deadband=bands.deadband)
        self.limits = tuple(LimitWatch(limit) for limit in limits)
        self.low, self.high, self.due_ns = -math.inf, math.inf, NEVER_NS
        self.value: float | None = None
        self._settle()

    @property
    def band(self) -> int | None:
        """The band that is held."""
        return self._held.band if self._held else None

    def take(self, value: float, at_ns: int) -> list[Change]:
        """Take a value that may change something."""
        changes = self.tick(at_ns) if self.due_ns <= at_ns else []
        self.value = value
        if self._held is not None:
            before = self._held.band
            band = self._held.take(value)
            if band != before:
                changes.append(BandChange(at_ns, self.bench, self.channel, band, before))
        for watch in self.limits:
            watch.take(value, at_ns)
        changes += self.tick(at_ns)
        self._settle()
        return changes

    def tick(self, at_ns: int) -> list[Change]:
        """What fell due by now, in the order of its instants."""
        changes: list[Change] = []
        for watch in self.limits:
            fired = watch.fire(at_ns)
            if fired is not None:
                when, event = fired
                changes += self._apply(watch, event, when, "rule")
        if changes:
            self._settle()
        return sorted(changes, key=_instant)

    def acknowledge(self, kind: str, at_ns: int, who: str) -> list[Change]:
        """The person's acknowledgement of the limit of that kind."""
        changes = self.tick(at_ns)
        for watch in self.limits:
            if watch.limit.kind == kind:
                changes += self._apply(watch, "acknowledge", at_ns, who)
        return changes

    def miss(self, at_ns: int) -> list[Change]:
        """A line came without the value: a delay under way ends, for nobody can vouch for it."""
        changes = self.tick(at_ns)
        for watch in self.limits:
            watch.lose()
        self._settle()
        return changes

    def lose(self, at_ns: int) -> list[Change]:
        """There is no value any more: no band, no delay under way. A raised alarm stands."""
        changes = self.tick(at_ns)
        self.value = None
        for watch in self.limits:
            watch.lose()
        if self._held is not None and self._held.band is not None:
            changes.append(BandChange(at_ns, self.bench, self.channel, None, self._held.band))
            self._held.lose()
        self._settle()
        return changes

    def resume_from(self, older: ChannelWatch) -> None:
        """Carry over the alarms of the watch that this one replaces; the band is found anew."""
        states = {watch.limit.kind: watch for watch in older.limits}
        for watch in self.limits:
            if before := states.get(watch.limit.kind):
                watch.state, watch.active = before.state, before.active
        self._settle()

    def alarm(self, kind: str) -> AlarmState:
        """The state of the alarm of the limit of that kind."""
        return next((watch.state for watch in self.limits if watch.limit.kind == kind), "normal")

    def _apply(self, watch: LimitWatch, event: AlarmEvent, at_ns: int, who: str) -> list[Change]:
        before = watch.apply(event)
        if before is None:
            return []
        limit = watch.limit
        return [
            AlarmChange(
                at_ns,
                self.bench,
                self.channel,
                limit.kind,
                event,
                watch.state,
                before,
                self.value,
                limit.at,
                who,
            )
        ]

    def _settle(self) -> None:
        """Work out within which values nothing changes."""
        low, high = (self._held.low, self._held.high) if self._held else (-math.inf, math.inf)
        self.due_ns = NEVER_NS
        for watch in self.limits:
            if watch.due_ns != NEVER_NS:
                self.due_ns = min(self.due_ns, watch.due_ns)
                low = high = math.nan  # a delay is under way: each value must be looked at
            if watch.limit.kind == "high":
                if watch.active:
                    low = max(low, math.nextafter(watch.clear, math.inf))
                else:
                    high = min(high, watch.limit.at)
            elif watch.active:
                high = min(high, watch.clear)
            else:
                low = max(low, math.nextafter(watch.limit.at, math.inf))
        self.low, self.high = low, high


def _instant(change: Change) -> int:
    return change.at_ns
