"""A whole recording in one go: readings, findings, alarms, bands and lesson, with how far it has come."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from bridge.bands_kept import BandStay, stays_of
from bridge.core.alarm_journal import Journal, JournalEntry
from bridge.core.classroom import Classroom, PhaseStart
from bridge.core.lesson import OPEN_LESSON, Lesson
from bridge.core.pipeline import READ, Outcome
from bridge.core.readings import Change, Note, Reading
from bridge.findings_found import Standing, standings_of
from bridge.layouts_found import LayoutFound, layout_found
from bridge.lesson_file import lesson_from_text, read_lesson
from bridge.recorded import Item, Marker, Recorded
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
    layouts: tuple[LayoutFound, ...]  # as `layouts_of_recording` gives them
    phases: tuple[PhaseStart, ...]  # of the lesson, as they were started; "" ends one
    markers: tuple[Marker, ...]  # named instants
    seconds: NDArray[np.float64]  # session time at which each row of the table was taken
    reasons: tuple[str, ...]  # of each row, why its quality is not good; "" when it is
    lesson: Lesson  # the one given, else the recording's last
    title: str
    anchors: Anchors
    length_ns: int  # session time
    n_items: int  # of the recording that were read: a growing one has more by now
    damage: str  # "" or what could not be read


def read_session(
    path: str | os.PathLike[str],
    lesson: LessonOrPath | None = None,
    *,
    progress: Progress | None = None,
    as_far_as: KeptSession | None = None,
) -> KeptSession:
    """Compute all that a recording holds in one go, in the time that readings and findings alone would take.

    Args:
        path: The recording; it may still be written.
        lesson: Takes the place of all lessons that the recording holds: an object, or a lesson file.
        progress: Is told how far the work has come.
        as_far_as: Read no further than that reading of the same recording: both have the same bytes, also
            while it is still written.

    Raises:
        RecordingError: The recording can't be read.
        LessonError: The lesson is faulty.
    """
    given = lesson if lesson is None or isinstance(lesson, Lesson) else read_lesson(lesson)
    with Recorded(os.fspath(path)) as recorded:
        end_ns = as_far_as.length_ns if as_far_as else recorded.length_ns
        used = given or last_lesson(recorded)
        read = _UpTo(recorded.items(), end_ns, as_far_as.n_items if as_far_as else None)
        items = read if progress is None else told(read, end_ns, progress)
        gathered = Gathered(Classroom(given or OPEN_LESSON, is_compared=True))
        for bench, outcome in outcomes_of(items, lesson=given, end_ns=end_ns, room=gathered.room):
            gathered.take(bench, outcome)
        return gathered.session(recorded, used, end_ns, read.n)


class _UpTo:
    """The items up to that time, and no more than so many; counts those that it has given."""

    def __init__(self, items: Iterable[Item], end_ns: int, most: int | None) -> None:
        self._items, self._end_ns = islice(items, most), end_ns
        self.n = 0

    def __iter__(self) -> Iterator[Item]:
        for item in self._items:
            if item.at_ns > self._end_ns:
                return  # written since the length was asked for
            self.n += 1
            yield item


class Gathered:
    """All that became of a recording's items so far."""

    def __init__(self, room: Classroom) -> None:
        self.room = room
        self._readings: list[Reading] = []
        self._changes: list[Change] = []
        self._journal = Journal(max_entries=None)
        self._texts = _Texts()

    def take(self, bench: int, outcome: Outcome) -> None:
        """Add what comes next."""
        self._readings += outcome.readings
        self._changes += outcome.changes
        self._journal.take(outcome.changes, self.room.lesson)
        self._texts.take(bench, outcome)

    def session(self, recorded: Recorded, lesson: Lesson, end_ns: int, n_items: int) -> KeptSession:
        """As a whole, with what the recording itself tells."""
        # Between benches outcomes come by runs of chunks, in which times overlap.
        readings = sorted(self._readings, key=lambda one: one.at_ns)
        table = table_of(readings, recorded.anchors)
        table.attrs["damage"] = recorded.damage
        return KeptSession(
            table=table,
            findings=tuple(standings_of(self._changes)),
            alarms=tuple(self._journal.in_order()),
            bands=tuple(stays_of(self._changes, end_ns=end_ns)),
            layouts=self._texts.found(self.room),
            phases=tuple(one for one in self.room.phases if one.phase or one.at_ns),
            markers=tuple(recorded.markers),
            reasons=tuple(one.reason for one in readings),
            seconds=np.array([one.taken_ns for one in readings], np.int64) / 1e9,
            lesson=lesson,
            title=lesson.title if lesson is not OPEN_LESSON else recorded.title,
            anchors=recorded.anchors,
            length_ns=end_ns,
            n_items=n_items,
            damage=recorded.damage,
        )


class _Texts:
    """How each bench's text was read, counted while outcomes go by."""

    def __init__(self) -> None:
        self._words: dict[int, list[str]] = {}
        self._n_read: Counter[int] = Counter()

    def take(self, bench: int, outcome: Outcome) -> None:
        self._n_read[bench] += sum(fate == READ for _, fate in outcome.lines)
        for change in outcome.changes:
            if isinstance(change, Note) and change.kind == "layout":
                words = self._words.setdefault(bench, [])
                if change.words not in words:
                    words.append(change.words)

    def found(self, room: Classroom) -> tuple[LayoutFound, ...]:
        return tuple(
            layout_found(bench, pipeline.text, self._words.get(bench, ()), self._n_read[bench])
            for bench, pipeline in sorted(room.pipelines.items())
        )


def last_lesson(recorded: Recorded) -> Lesson:
    """The recording's newest, else the open one."""
    return lesson_from_text(recorded.lessons[-1][1]) if recorded.lessons else OPEN_LESSON


def told(items: Iterable[Item], end_ns: int, progress: Progress) -> Iterator[Item]:
    """The items as they are; the progress is told on the way."""
    progress(0.0)
    last = 0.0
    for item in items:
        share = min(1.0, item.at_ns / end_ns) if end_ns > 0 else 1.0
        if share >= last + _TOLD_EVERY:
            last = share
            progress(share)
        yield item
    progress(1.0)
