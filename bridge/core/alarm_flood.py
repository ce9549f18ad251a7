"""Many alarms at once: which came first, and, in a flood, which belong together.

Alarms of different benches do not come here in the order of their times: one whose delay ran out is told when
the next reading comes. So all is worked out in the order of the instants, once everything before has come.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable
from operator import attrgetter
from typing import Literal, NamedTuple

from bridge.core.readings import AlarmChange

TOGETHER_SECONDS = 5.0  # alarms that rise within so long after the first are taken for one story
FLOOD_WINDOW_SECONDS = 600.0
FLOOD_STARTS_ABOVE = 10  # alarms in 10 minutes, for one person. Source: IEC 62682
FLOOD_ENDS_BELOW = 5  # Source: IEC 62682, an example value
SHARED_BY = 3  # benches with the same alarm make the alarm the cause, fewer the bench

_ORDER = attrgetter("at_ns", "bench", "channel", "limit")


def is_call(change: AlarmChange) -> bool:
    """Whether the change calls for a person: an alarm came, came again, or came back from being set aside."""
    return change.state == "unacknowledged" and change.before != "unacknowledged"


class InTime:
    """Puts changes that come out of order into the order of their instants."""

    def __init__(self) -> None:
        self._waiting: list[AlarmChange] = []  # no older than the last `until`

    def take(self, change: AlarmChange) -> None:
        """Take a change, not older than the instant that `until` was asked for last."""
        self._waiting.append(change)

    def until(self, before_ns: int) -> list[AlarmChange]:
        """Those before that instant, which no change that is still to come may be older than."""
        ready = sorted((one for one in self._waiting if one.at_ns < before_ns), key=_ORDER)
        self._waiting = [one for one in self._waiting if one.at_ns >= before_ns]
        return ready


class FirstOut(NamedTuple):
    """Alarms that rose together, and the one that was first."""

    at_ns: int  # when it is known: the span after the first
    first: tuple[AlarmChange, ...]  # more than one where they rose at the same instant
    others: tuple[AlarmChange, ...]  # in the order of their times


class FirstOutFinder:
    """Tells which alarm was first, when several rise within a span of time.

    Args:
        span_seconds: From the first one on.
        scope: bench: alarms of one bench have to do with each other; room: all alarms have, as when the
            mains fail.
    """

    def __init__(
        self, *, span_seconds: float = TOGETHER_SECONDS, scope: Literal["bench", "room"] = "bench"
    ) -> None:
        self._span_ns = round(span_seconds * 1e9)
        self._scope = scope
        self._in_time = InTime()
        self._open: dict[int, list[AlarmChange]] = {}  # by bench, or 0 for the room

    def take(self, change: AlarmChange) -> None:
        """Take any transition; only rises that call for a person count."""
        if change.event == "rise" and is_call(change):
            self._in_time.take(change)

    def advance(self, before_ns: int) -> list[FirstOut]:
        """What is known once every change before that instant was taken."""
        found: list[FirstOut] = []
        for change in self._in_time.until(before_ns):
            key = change.bench if self._scope == "bench" else 0
            group = self._open.get(key)
            if group and change.at_ns > group[0].at_ns + self._span_ns:
                found += self._closed(key)
            group = self._open.setdefault(key, [])
            if not any(_of_one_alarm(one, change) for one in group):  # what comes again is no second one
                group.append(change)
        over = [key for key, group in self._open.items() if group[0].at_ns + self._span_ns < before_ns]
        for key in over:
            found += self._closed(key)
        return sorted(found, key=lambda one: (one.at_ns, one.first[0].bench))

    def _closed(self, key: int) -> list[FirstOut]:
        group = self._open.pop(key)
        start_ns = group[0].at_ns
        first = tuple(one for one in group if one.at_ns == start_ns)
        if len(group) < 2:
            return []
        return [FirstOut(start_ns + self._span_ns, first, tuple(group[len(first) :]))]


def _of_one_alarm(a: AlarmChange, b: AlarmChange) -> bool:
    return (a.bench, a.channel, a.limit) == (b.bench, b.channel, b.limit)


class Member(NamedTuple):
    """One alarm in a flood, however often it called."""

    bench: int
    channel: str
    limit: str
    n_calls: int
    first_ns: int
    newest_ns: int


class AlarmGroup(NamedTuple):
    """Alarms that belong together: one cause at several benches, or several alarms of one bench."""

    by: Literal["cause", "bench"]
    channel: str  # of the cause; "" for a bench
    limit: str
    benches: tuple[int, ...]
    members: tuple[Member, ...]  # in the order of their first calls

    @property
    def n_calls(self) -> int:
        """How often its alarms called."""
        return sum(one.n_calls for one in self.members)


class FloodChange(NamedTuple):
    """A flood began or ended."""

    at_ns: int
    event: Literal["begins", "ends"]
    n_calls: int  # in it so far


class FloodWatch:
    """Says when alarms come faster than a person can act on, and groups those that come then.

    Nothing is lost: each alarm that calls during the flood is in exactly one group, with how often it did.

    Args:
        starts_above: Calls within the window; one more begins a flood.
        ends_below: Fewer within the window end it, at most `starts_above`.
        window_seconds: The span of time that is counted.

    Raises:
        ValueError: A flood would end before it begins.
    """

    def __init__(
        self,
        *,
        starts_above: int = FLOOD_STARTS_ABOVE,
        ends_below: int = FLOOD_ENDS_BELOW,
        window_seconds: float = FLOOD_WINDOW_SECONDS,
    ) -> None:
        if not 1 <= ends_below <= starts_above:
            raise ValueError(f"ends_below must be from 1 to starts_above, found {ends_below}")
        self.is_on = False
        self._starts_above, self._ends_below = starts_above, ends_below
        self._window_ns = round(window_seconds * 1e9)
        self._in_time = InTime()
        self._newest: deque[int] = deque(maxlen=starts_above + 1)  # as many calls as tell begin and end
        self._members: dict[tuple[int, str, str], Member] = {}  # one for each alarm that there is, at most
        self._n_calls = 0

    def take(self, change: AlarmChange) -> None:
        """Take any transition; only what calls for a person counts."""
        if is_call(change):
            self._in_time.take(change)

    def advance(self, before_ns: int) -> list[FloodChange]:
        """What began or ended, once every change before that instant was taken."""
        changes: list[FloodChange] = []
        for call in self._in_time.until(before_ns):
            changes += self._ended(call.at_ns)
            self._newest.append(call.at_ns)
            oldest_ns = self._newest[0]
            is_above = len(self._newest) > self._starts_above and call.at_ns - oldest_ns < self._window_ns
            begins = is_above and not self.is_on
            if begins:
                self.is_on, self._members, self._n_calls = True, {}, 0
            if self.is_on:
                self._count(call)
            if begins:
                changes.append(FloodChange(call.at_ns, "begins", self._n_calls))
        return changes + self._ended(before_ns - 1)

    def groups(self) -> tuple[AlarmGroup, ...]:
        """The alarms of the flood that is on, or of the last one; see `grouped`."""
        return grouped(self._members.values())

    @property
    def n_calls(self) -> int:
        """How many calls came in the flood that is on, or in the last one."""
        return self._n_calls

    def _ended(self, now_ns: int) -> list[FloodChange]:
        """The end, at the instant at which the call drops out of the window that leaves too few."""
        if not self.is_on:
            return []
        end_ns = self._newest[-self._ends_below] + self._window_ns
        if end_ns > now_ns:
            return []
        self.is_on = False
        return [FloodChange(end_ns, "ends", self._n_calls)]

    def _count(self, call: AlarmChange) -> None:
        self._n_calls += 1
        key = (call.bench, call.channel, call.limit)
        before = self._members.get(key)
        n_calls, first_ns = (before.n_calls, before.first_ns) if before else (0, call.at_ns)
        self._members[key] = Member(*key, n_calls + 1, first_ns, call.at_ns)


def grouped(members: Iterable[Member]) -> tuple[AlarmGroup, ...]:
    """Each alarm in one group: with its cause where three benches or more share it, else with its bench.

    The groups with most benches come first, then the older ones.
    """
    ordered = sorted(members, key=lambda one: (one.first_ns, one.bench, one.channel, one.limit))
    by_cause: dict[tuple[str, str], list[Member]] = defaultdict(list)
    by_bench: dict[int, list[Member]] = defaultdict(list)
    for one in ordered:
        by_cause[one.channel, one.limit].append(one)
    groups: list[AlarmGroup] = []
    for (channel, limit), alike in by_cause.items():
        benches = sorted({one.bench for one in alike})
        if len(benches) >= SHARED_BY:
            groups.append(AlarmGroup("cause", channel, limit, tuple(benches), tuple(alike)))
        else:
            for one in alike:
                by_bench[one.bench].append(one)
    for bench, own in by_bench.items():
        own.sort(key=lambda one: (one.first_ns, one.channel, one.limit))
        groups.append(AlarmGroup("bench", "", "", (bench,), tuple(own)))
    return tuple(sorted(groups, key=lambda one: (-len(one.benches), one.members[0].first_ns, one.benches)))
