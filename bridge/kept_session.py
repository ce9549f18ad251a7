"""A whole recording in one go: readings, findings, alarms, bands and lesson, with how far it has come."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from bridge.alarms_kept import JournalEntry, entries_of
from bridge.bands_kept import BandStay, stays_of
from bridge.core.lesson import OPEN_LESSON, Lesson
from bridge.core.readings import AlarmChange, Change, Reading
from bridge.findings_found import Standing, standings_of
from bridge.lesson_file import lesson_from_text, read_lesson
from bridge.recorded import Item, Recorded
from bridge.table import Anchors, LessonOrPath, outcomes_of, table_of

if TYPE_CHECKING:
    import pandas as pd

Progress = Callable[[float], None]
"""Is told the share that is done, 0 to 1, some hundred times. What it raises ends the reading."""
_TOLD_EVERY = 0.005


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class KeptSession:
    """What a recording holds, as far as it was written."""

    table: pd.DataFrame  # as `read_recording` gives it
    findings: tuple[Standing, ...]  # as `findings_of_recording` gives them
    alarms: tuple[JournalEntry, ...]  # as `journal_of_recording` gives them
    bands: tuple[BandStay, ...]  # by bench, channel and time
    seconds: NDArray[np.float64]  # session time at which each row of the table was taken
    lesson: Lesson  # the one given, else the recording's last
    title: str
    anchors: Anchors
    length_ns: int  # session time
    damage: str  # "" or what could not be read


def read_session(
    path: str | os.PathLike[str], lesson: LessonOrPath | None = None, *, progress: Progress | None = None
) -> KeptSession:
    """Compute readings, findings, alarms and bands of a recording in one go, as one of them alone would take.

    Args:
        path: The recording; it may still be written.
        lesson: Takes the place of all lessons that the recording holds: an object, or a lesson file.
        progress: Is told how far the work has come.

    Raises:
        RecordingError: The recording can't be read.
        LessonError: The lesson is faulty.
    """
    given = lesson if lesson is None or isinstance(lesson, Lesson) else read_lesson(lesson)
    with Recorded(os.fspath(path)) as recorded:
        end_ns = recorded.length_ns
        used = given or _last_lesson(recorded)
        items = recorded.items() if progress is None else _told(recorded.items(), end_ns, progress)
        readings: list[Reading] = []
        changes: list[Change] = []
        for _, outcome in outcomes_of(items, lesson=given, end_ns=end_ns):
            readings += outcome.readings
            changes += outcome.changes
        # Between benches outcomes come by runs of chunks, in which times overlap.
        readings.sort(key=lambda one: one.at_ns)
        anchors, damage, title = recorded.anchors, recorded.damage, recorded.title
    table = table_of(readings, anchors)
    table.attrs["damage"] = damage
    transitions = [one for one in changes if isinstance(one, AlarmChange)]
    transitions.sort(key=lambda one: (one.at_ns, one.bench))  # one bench's are in their order
    return KeptSession(
        table=table,
        findings=tuple(standings_of(changes)),
        alarms=tuple(entries_of(transitions, used)),
        bands=tuple(stays_of(changes, end_ns=end_ns)),
        seconds=np.array([one.taken_ns for one in readings], np.int64) / 1e9,
        lesson=used,
        title=used.title if used is not OPEN_LESSON else title,
        anchors=anchors,
        length_ns=end_ns,
        damage=damage,
    )


def _last_lesson(recorded: Recorded) -> Lesson:
    return lesson_from_text(recorded.lessons[-1][1]) if recorded.lessons else OPEN_LESSON


def _told(items: Iterable[Item], end_ns: int, progress: Progress) -> Iterator[Item]:
    progress(0.0)
    told = 0.0
    for item in items:
        share = min(1.0, item.at_ns / end_ns) if end_ns > 0 else 1.0
        if share >= told + _TOLD_EVERY:
            told = share
            progress(share)
        yield item
    progress(1.0)
