"""The journal of what was kept: every transition of every alarm, and the figures that practice asks of it."""

from __future__ import annotations

import os
from dataclasses import dataclass

from bridge.core.alarm_figures import AlarmFigures, AlarmName, name_of
from bridge.core.alarm_journal import JournalEntry as JournalEntry
from bridge.core.alarm_journal import figures_of_journal
from bridge.core.alarm_proposals import Proposal
from bridge.core.alarm_records import AlarmRecords
from bridge.core.classroom import Classroom
from bridge.core.lesson import OPEN_LESSON, Lesson
from bridge.lesson_file import read_lesson
from bridge.recorded import Recorded
from bridge.table import LessonOrPath, outcomes_of


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptFigures:
    """The figures of a session, and what would calm each alarm that chatters as it is set last."""

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
    return _kept(path, lesson, of_readings=False)[0].journal.in_order()


def alarm_figures_of_recording(
    path: str | os.PathLike[str], lesson: LessonOrPath | None = None
) -> KeptFigures:
    """The figures of a recording's whole length; an alarm that chattered is tried with other settings.

    Raises:
        RecordingError: The recording can't be read.
        LessonError: The lesson is faulty.
    """
    records, end_ns = _kept(path, lesson, of_readings=True)
    entries = records.journal.in_order()
    figures = figures_of_journal(entries, end_ns=end_ns)
    calmed = {one.alarm: one.proposals() for one in records.to_calm()}
    return KeptFigures(
        figures=figures,
        proposals=calmed,
        units={name_of(one.change): one.unit for one in entries},
    )


def _kept(
    path: str | os.PathLike[str], lesson: LessonOrPath | None, *, of_readings: bool
) -> tuple[AlarmRecords, int]:
    """A recording computed once: its alarms, and where it ends. What was set when something came counts."""
    given = lesson if lesson is None or isinstance(lesson, Lesson) else read_lesson(lesson)
    room = Classroom(given or OPEN_LESSON, is_compared=True)
    records = AlarmRecords(room.lesson, is_whole=True)
    with Recorded(os.fspath(path)) as recorded:
        for _, outcome in outcomes_of(recorded.items(), lesson=given, end_ns=recorded.length_ns, room=room):
            records.take(outcome.readings if of_readings else (), outcome.changes, room.lesson)
        return records, recorded.length_ns
