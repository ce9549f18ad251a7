"""The journal of what was kept: every transition of every alarm, and the figures that practice asks of it."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass

from bridge.core.alarm_figures import AlarmFigures, AlarmName, figures_of, name_of
from bridge.core.alarm_given import AlarmGiven, AlarmKind, AlarmPriority
from bridge.core.alarm_proposals import Proposal, proposals_for
from bridge.core.lesson import OPEN_LESSON, Lesson
from bridge.core.readings import AlarmChange, Reading
from bridge.lesson_file import lesson_from_text, read_lesson
from bridge.recorded import Recorded
from bridge.table import LessonOrPath, outcomes_of

_PER_MINUTE: AlarmKind = "rate of change"
_NO_UNIT: tuple[AlarmKind, ...] = ("bad quality", "finding")


@dataclass(frozen=True, slots=True, kw_only=True)
class JournalEntry:
    """One transition of one alarm, with what the lesson says of the alarm."""

    change: AlarmChange
    kind: AlarmKind | None  # None: the lesson has no such alarm any more
    unit: str  # of the value and the limit: the channel's, per minute, "s" or none
    priority: AlarmPriority | None
    message: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptFigures:
    """The figures of a session, and what would calm each alarm that chattered, by its name."""

    figures: AlarmFigures
    proposals: dict[AlarmName, tuple[Proposal, ...]]
    units: dict[AlarmName, str]


def journal_of_recording(
    path: str | os.PathLike[str], lesson: LessonOrPath | None = None
) -> list[JournalEntry]:
    """Every transition of every alarm of a recording, in the order of their times.

    Args:
        path: The recording; it may still be written.
        lesson: Takes the place of all lessons that the recording holds: what would have come with it.

    Raises:
        RecordingError: The recording can't be read.
        LessonError: The lesson is faulty.
    """
    return _Kept(path, lesson, of_readings=False).entries()


def alarm_figures_of_recording(
    path: str | os.PathLike[str], lesson: LessonOrPath | None = None
) -> KeptFigures:
    """The figures of a recording's whole length; an alarm that chattered is tried with other settings.

    Raises:
        RecordingError: The recording can't be read.
        LessonError: The lesson is faulty.
    """
    kept = _Kept(path, lesson, of_readings=True)
    entries = kept.entries()
    figures = figures_of(
        (one.change for one in entries),
        start_ns=0,
        end_ns=max(1, kept.end_ns),
        priority_of={name_of(one.change): one.priority for one in entries if one.priority is not None},
    )
    proposals = {one.alarm: kept.proposals(one.alarm) for one in figures.chattering}
    return KeptFigures(
        figures=figures, proposals=proposals, units={name_of(one.change): one.unit for one in entries}
    )


class _Kept:
    """A recording computed once."""

    def __init__(
        self, path: str | os.PathLike[str], lesson: LessonOrPath | None, *, of_readings: bool
    ) -> None:
        given = lesson if lesson is None or isinstance(lesson, Lesson) else read_lesson(lesson)
        self.changes: list[AlarmChange] = []
        self._readings: dict[tuple[int, str], list[Reading]] = {}
        self._lesson = given or OPEN_LESSON
        with Recorded(os.fspath(path)) as recorded:
            self.end_ns = recorded.length_ns
            if given is None and recorded.lessons:
                self._lesson = lesson_from_text(recorded.lessons[-1][1])
            for _, outcome in outcomes_of(recorded.items(), lesson=given, end_ns=self.end_ns):
                self.changes += [one for one in outcome.changes if isinstance(one, AlarmChange)]
                if of_readings:
                    for reading in outcome.readings:
                        self._readings.setdefault((reading.bench, reading.channel), []).append(reading)
        self.changes.sort(key=lambda one: (one.at_ns, one.bench))  # one bench's are in their order

    def entries(self) -> list[JournalEntry]:
        return entries_of(self.changes, self._lesson)

    def proposals(self, alarm: AlarmName) -> tuple[Proposal, ...]:
        """What would have calmed the alarm; nothing for one that is judged by more than its channel."""
        given = self._lesson.alarm(alarm.channel, alarm.limit)
        if given is None or given.kind in ("deviation", "finding"):
            return ()
        readings = self._readings.get((alarm.bench, alarm.channel), [])
        decimals = next((one.decimals for one in self._lesson.channels if one.name == alarm.channel), 1)
        return proposals_for(
            given,
            [one.at_ns for one in readings],
            [one.value if one.quality == "good" else None for one in readings],
            decimals=decimals,
        )


def entries_of(changes: Iterable[AlarmChange], lesson: Lesson) -> list[JournalEntry]:
    """The journal of these transitions, in their order, with what the lesson says of each alarm."""
    return [_entry(one, lesson) for one in changes]


def _entry(change: AlarmChange, lesson: Lesson) -> JournalEntry:
    given = lesson.alarm(change.channel, change.limit)
    return JournalEntry(
        change=change,
        kind=given.kind if given else None,
        unit=_unit(change.channel, given, lesson),
        priority=given.priority if given else None,
        message=given.message if given else "",
    )


def _unit(channel: str, given: AlarmGiven | None, lesson: Lesson) -> str:
    unit = next((one.unit for one in lesson.channels if one.name == channel), "")
    if given is None:
        return unit
    if given.kind == "stale":
        return "s"
    if given.kind in _NO_UNIT:
        return ""
    return f"{unit}/min" if given.kind == _PER_MINUTE else unit
