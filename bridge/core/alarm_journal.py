"""The journal of alarms: every transition, with what the lesson said of the alarm when it came."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from bridge.core.alarm_figures import AlarmFigures, AlarmName, figures_of, name_of
from bridge.core.alarm_given import AlarmGiven, AlarmKind, AlarmPriority
from bridge.core.lesson import Lesson
from bridge.core.readings import AlarmChange, Change

MAX_ENTRIES = 20_000  # of a session on the screens: an alarm every second for hours; the recording has all
_SHED = 1_000  # so many at once leave, beyond it
_NO_UNIT: tuple[AlarmKind, ...] = ("bad quality", "finding")


@dataclass(frozen=True, slots=True, kw_only=True)
class JournalEntry:
    """One transition of one alarm, with what the lesson says of the alarm."""

    change: AlarmChange
    kind: AlarmKind | None  # None: the lesson never had such an alarm
    unit: str  # of the value and the limit: the channel's, per minute, "s" or none
    priority: AlarmPriority | None
    message: str


class Journal:
    """Takes transitions as they come.

    Args:
        max_entries: Beyond it the oldest leave; None: none does.
    """

    def __init__(self, *, max_entries: int | None = MAX_ENTRIES) -> None:
        self.entries: list[JournalEntry] = []  # in the order in which they came
        self.n_lost = 0  # that have left
        self._max_entries = max_entries
        self._newest: dict[AlarmName, JournalEntry] = {}

    def take(self, changes: Iterable[Change], lesson: Lesson) -> None:
        """Take what happened; the lesson is the one that held then."""
        for change in changes:
            if isinstance(change, AlarmChange):
                self._add(change, lesson)
        surplus = len(self.entries) - (self._max_entries or len(self.entries))
        if surplus > 0:
            surplus += min(_SHED, len(self.entries) // 10)
            del self.entries[:surplus]
            self.n_lost += surplus

    def in_order(self) -> list[JournalEntry]:
        """By their times; those of one bench stay in their order."""
        return in_order(self.entries)

    def _add(self, change: AlarmChange, lesson: Lesson) -> None:
        name, given = name_of(change), lesson.alarm(change.channel, change.limit)
        before = self._newest.get(name)
        if given is None and before is not None:  # its end, after it was taken out of the lesson
            entry = JournalEntry(
                change=change, kind=before.kind, unit=before.unit, priority=before.priority,
                message=before.message,
            )  # fmt: skip
        else:
            entry = JournalEntry(
                change=change,
                kind=given.kind if given else None,
                unit=unit_of(change.channel, given, lesson),
                priority=given.priority if given else None,
                message=given.message if given else "",
            )
        self._newest[name] = entry
        self.entries.append(entry)


def in_order(entries: Iterable[JournalEntry]) -> list[JournalEntry]:
    """By their times; those of one bench stay in their order."""
    return sorted(entries, key=lambda one: (one.change.at_ns, one.change.bench))


def figures_of_journal(entries: Sequence[JournalEntry], *, end_ns: int) -> AlarmFigures:
    """The figures of a session from its start to that instant."""
    return figures_of(
        (one.change for one in entries),
        start_ns=0,
        end_ns=max(1, end_ns),
        priority_of={name_of(one.change): one.priority for one in entries if one.priority is not None},
    )


def unit_of(channel: str, given: AlarmGiven | None, lesson: Lesson) -> str:
    """In what an alarm's value, limit and deadband are: the channel's unit, per minute, "s" or none."""
    unit = next((one.unit for one in lesson.channels if one.name == channel), "")
    if given is None:
        return unit
    if given.kind == "stale":
        return "s"
    if given.kind in _NO_UNIT:
        return ""
    return f"{unit}/min" if given.kind == "rate of change" else unit
