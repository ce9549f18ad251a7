"""The alarms of one channel, or of a whole bench; what falls due comes out in the order of its time."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence

from bridge.core.alarm_given import AlarmGiven
from bridge.core.alarm_kinds import FindingWatch, watch_of
from bridge.core.findings import Finding, FindingChange
from bridge.core.lesson import Lesson
from bridge.core.limits import NEVER_NS, AlarmWatch, Command, Happened
from bridge.core.readings import AlarmChange, AlarmEvent, AlarmState, Change


class AlarmSet:
    """Several alarms of one channel. What takes a time lets happen first what was due by then."""

    def __init__(self, bench: int, channel: str, alarms: Sequence[AlarmGiven]) -> None:
        self.bench, self.channel = bench, channel
        self.watches: tuple[AlarmWatch, ...] = tuple(watch_of(given) for given in alarms)
        self.value: float | None = None  # the channel's newest
        self.due_ns = NEVER_NS  # when `tick` has something to tell or to judge
        self.class_due_ns = NEVER_NS  # when `tick_class` has

    def tick(self, at_ns: int) -> list[Change]:
        """What fell due by now, in the order of its instants; at one instant in the order of the alarms.

        Alarms that are judged by the class have `tick_class`: a bench that is read in one go is ahead of it.
        """
        changes: list[Change] = []
        while self.due_ns <= at_ns:
            changes += self._fire(self.due_ns)
            self._settle()
        return changes

    def tick_class(self, at_ns: int) -> list[Change]:
        """`tick` of the alarms that are judged by the class, which has come so far."""
        changes: list[Change] = []
        while self.class_due_ns <= at_ns:
            due_ns = self.class_due_ns
            watch = next(one for one in self.watches if one.is_by_class and one.due_ns == due_ns)
            changes += self._told(watch, watch.fire(due_ns))
            self._settle()
        return changes

    def command(
        self, key: str, command: Command, at_ns: int, who: str, *, reason: str = "", until_ns: int = 0
    ) -> list[Change]:
        """What a person does with the alarm of that key; nothing when it does nothing, or is not there.

        Args:
            key: `AlarmGiven.key`.
            command: shelve needs a reason and until when; the others take neither.
            at_ns: Session time.
            who: Who does it.
            reason: In the person's words.
            until_ns: When the shelf ends by itself.

        Raises:
            ValueError: A shelf without an end within four hours, or without a reason.
        """
        changes = self.tick(at_ns) + self.tick_class(at_ns)
        for watch in self.watches:
            if watch.given.key == key:
                changes += self._told(
                    watch, watch.apply(command, at_ns, who, reason=reason, until_ns=until_ns)
                )
        self._settle()
        return changes

    def acknowledge(self, key: str, at_ns: int, who: str) -> list[Change]:
        """The person's acknowledgement of the alarm of that key."""
        return self.command(key, "acknowledge", at_ns, who)

    def enter_phase(self, phase: str, at_ns: int, who: str = "rule") -> list[Change]:
        """The lesson is in that phase now ("": in none): suppress what is not watched in it."""
        changes = self.tick(at_ns) + self.tick_class(at_ns)
        for watch in self.watches:
            phases = watch.given.phases
            event: AlarmEvent = "unsuppress" if not phases or phase in phases else "suppress"
            changes += self._told(watch, watch.apply(event, at_ns, who, reason=phase))
        self._settle()
        return changes

    def alarm(self, key: str) -> AlarmState:
        """The state of the alarm of that key."""
        return next((watch.state for watch in self.watches if watch.given.key == key), "normal")

    def resume_from(self, older: AlarmSet) -> None:
        """Carry over the alarms of the set that this one replaces, each by its key and kind."""
        known = {(watch.given.key, watch.given.kind): watch for watch in older.watches}
        for watch in self.watches:
            if before := known.get((watch.given.key, watch.given.kind)):
                watch.resume_from(before)
        self._settle()

    def ended_by(self, lesson: Lesson, at_ns: int) -> list[Change]:
        """The ends of the alarms that stand and that the revised lesson does not have any more."""
        changes: list[Change] = []
        for watch in self.watches:
            given = lesson.alarm(self.channel, watch.given.key)
            is_kept = given is not None and given.kind == watch.given.kind
            if not is_kept and watch.state != "normal":
                end = Happened(at_ns, "return", watch.state, "instructor", "no longer in the lesson")
                changes += [one._replace(state="normal") for one in self._told(watch, end)]
        return changes

    def _fire(self, due_ns: int) -> list[Change]:
        watch = next(one for one in self.watches if not one.is_by_class and one.due_ns == due_ns)
        return [*self._told(watch, watch.fire(due_ns))]

    def _told(self, watch: AlarmWatch, happened: Happened | None) -> list[AlarmChange]:
        if happened is None:
            return []
        return [
            AlarmChange(
                happened.at_ns,
                self.bench,
                self.channel,
                watch.given.key,
                happened.event,
                watch.state,
                happened.before,
                watch.shown_value(self.value),
                watch.given.at,
                happened.who,
                happened.reason,
                happened.until_ns,
            )
        ]

    def _settle(self) -> None:
        """Work out what comes next."""
        self.due_ns = self.class_due_ns = NEVER_NS
        for watch in self.watches:
            due_ns = min(watch.delay_ns, watch.turn_ns, watch.shelf_ns)
            if watch.is_by_class:
                self.class_due_ns = min(self.class_due_ns, due_ns)
            else:
                self.due_ns = min(self.due_ns, due_ns)


class BenchAlarms(AlarmSet):
    """The alarms of a whole bench: those on its findings."""

    def __init__(self, bench: int, alarms: Sequence[AlarmGiven]) -> None:
        super().__init__(bench, "", [given for given in alarms if given.kind == "finding"])

    def restate(self, findings: Iterable[Finding], at_ns: int) -> list[Change]:
        """Take all findings that stand, after the alarms were changed."""
        changes = self.tick(at_ns)
        standing = tuple(findings)
        for watch in self.watches:
            if isinstance(watch, FindingWatch):
                watch.restate(standing, at_ns)
        self._settle()
        return changes + self.tick(at_ns)

    def take_findings(self, findings: Iterable[FindingChange]) -> list[Change]:
        """Take findings in the order of their times; those of one instant count as one.

        So a finding that takes the place of another leaves the alarm standing, and calls again.
        """
        changes: list[Change] = []
        for at_ns, together in itertools.groupby(findings, key=lambda one: one.at_ns):
            changes += self.tick(at_ns)
            at_once = list(together)
            for watch in self.watches:
                if isinstance(watch, FindingWatch):
                    for change in at_once:
                        changes += self._told(watch, watch.take_finding(change))
            self._settle()
            changes += self.tick(at_ns)
        return changes
