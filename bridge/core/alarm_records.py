"""What a session knows of its alarms' past: the journal, which alarms chatter, and what would calm them."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from bridge.core.alarm_figures import CHATTERING_RISES, AlarmName, most_in_a_minute, name_of
from bridge.core.alarm_given import AlarmGiven
from bridge.core.alarm_journal import Journal, unit_of
from bridge.core.alarm_proposals import Proposal, proposals_for
from bridge.core.kept_signals import KeptSignals, Signal, differences
from bridge.core.lesson import Lesson
from bridge.core.readings import AlarmChange, Change, Reading

MAX_RISES = 1_000  # of one alarm, since it is set as it is
TRIED_ANEW_NS = 10_000_000_000  # a trial costs up to seconds of a core, and an alarm may rise every second
NOT_TRIED = ("bad quality", "finding")  # kinds that judge no number of their channel


class Chattering(NamedTuple):
    """How an alarm came since it is set as it is."""

    given: AlarmGiven
    n_rises: int
    most_in_a_minute: int


class ToCalm(NamedTuple):
    """An alarm that chatters, with all that is needed to try it with other settings."""

    alarm: AlarmName
    given: AlarmGiven
    n_rises: int  # since it is set as it is
    most_in_a_minute: int
    signal: Signal
    decimals: int  # of the channel
    unit: str  # of a deadband: the channel's, per minute of a rate
    of_class: Mapping[int, Signal]  # of a deviation the same channel of all benches, else nothing
    known: tuple[Proposal, ...] | None = None  # what was found a moment ago

    def proposals(self) -> tuple[Proposal, ...]:
        """What would have calmed it; nothing for one on findings, or on the quality of readings.

        Takes up to a few seconds: not for the thread that serves a class.
        """
        if self.known is not None:
            return self.known
        if self.given.kind in NOT_TRIED:
            return ()
        signal = self.signal
        if self.given.kind == "deviation":
            signal = differences(self.of_class, self.alarm.bench, self.given)
        return proposals_for(self.given, *signal.listed(), decimals=self.decimals)


class AlarmRecords:
    """Follows a session's alarms and the readings that they judge.

    Args:
        lesson: What the instructor set.
        is_whole: Nothing kept is ever thrown away: for a recording, which is computed once.
    """

    def __init__(self, lesson: Lesson, *, is_whole: bool = False) -> None:
        self._lesson = lesson
        self.journal = Journal(max_entries=None) if is_whole else Journal()
        self._signals = KeptSignals(lesson, max_readings=None) if is_whole else KeptSignals(lesson)
        self._rises: dict[AlarmName, tuple[AlarmGiven, deque[int]]] = {}
        self._tried: dict[AlarmName, tuple[AlarmGiven, int, tuple[Proposal, ...]]] = {}

    def take(self, readings: Iterable[Reading], changes: Iterable[Change], lesson: Lesson) -> None:
        """Take what came of a bench's bytes or of the passing of time; the lesson is the one that held."""
        if lesson is not self._lesson:
            self._lesson = lesson
            self._signals.revise(lesson)
        if readings:
            self._signals.take(readings)
        if changes:
            self.journal.take(changes, lesson)
            for change in changes:
                if isinstance(change, AlarmChange) and change.event == "rise":
                    self._take_rise(change)

    def remove(self, bench: int) -> None:
        """The bench is no part of the session any more; what it did stays in the journal."""
        self._signals.remove(bench)
        self._rises = {name: one for name, one in self._rises.items() if name.bench != bench}

    def chattering(self) -> dict[AlarmName, Chattering]:
        """The alarms that chatter as they are set now."""
        found = {}
        for name, (given, rises) in self._rises.items():
            most = most_in_a_minute(rises)
            if most >= CHATTERING_RISES and self._lesson.alarm(name.channel, name.limit) == given:
                found[name] = Chattering(given, len(rises), most)
        return found

    def to_calm(self, bench: int | None = None) -> list[ToCalm]:
        """The alarms that chatter as they are set now, of one bench or of all."""
        found = []
        for name, (given, rises, most) in self.chattering().items():
            if bench in (None, name.bench) and name.channel:
                signal = self._signals.of(name.bench, name.channel)
                channel = next(one for one in self._lesson.channels if one.name == name.channel)
                unit = unit_of(name.channel, given, self._lesson)
                known = self._known(name, given, signal)
                of_class = self._signals.of_class(name.channel) if given.kind == "deviation" else {}
                found.append(
                    ToCalm(name, given, rises, most, signal, channel.decimals, unit, of_class, known)
                )
        return found

    def remember(self, tried: ToCalm, found: tuple[Proposal, ...]) -> None:
        """What came of a trial: who asks within the next seconds is told the same. From any thread."""
        if tried.signal.times_ns:
            self._tried[tried.alarm] = tried.given, tried.signal.times_ns[-1], found

    def _known(self, name: AlarmName, given: AlarmGiven, signal: Signal) -> tuple[Proposal, ...] | None:
        tried, newest_ns, found = self._tried.get(name, (None, 0, ()))
        is_fresh = signal.times_ns and 0 <= signal.times_ns[-1] - newest_ns < TRIED_ANEW_NS
        return found if tried == given and is_fresh else None

    def _take_rise(self, change: AlarmChange) -> None:
        given = self._lesson.alarm(change.channel, change.limit)
        if given is None:
            return
        name = name_of(change)
        if self._rises.get(name, (None,))[0] != given:  # it is set otherwise now: count anew
            self._rises[name] = given, deque(maxlen=MAX_RISES)
        self._rises[name][1].append(change.at_ns)
