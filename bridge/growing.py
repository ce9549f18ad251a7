"""A recording that is still written, read from where the last reading ended."""

from __future__ import annotations

import os
from collections.abc import Iterator

from bridge.core.classroom import Classroom
from bridge.core.lesson import OPEN_LESSON, Lesson
from bridge.kept_session import Gathered, KeptSession, Progress, last_lesson, told
from bridge.lesson_file import read_lesson
from bridge.recorded import Item, Recorded
from bridge.runs import runs_of
from bridge.table import LessonOrPath, outcomes_in


class GrowingSession:
    """What a recording holds so far, each time in the time that its new part takes.

    A line whose end has not come yet is no reading yet, and a delay that has not run out takes no effect:
    the session goes on. Used by one thread at a time.

    Args:
        path: The recording.
        lesson: Takes the place of all lessons that it holds: an object, or a lesson file.
    """

    def __init__(self, path: str | os.PathLike[str], lesson: LessonOrPath | None = None) -> None:
        self.path = os.fspath(path)
        self._given = lesson if lesson is None or isinstance(lesson, Lesson) else read_lesson(lesson)
        self._begin()

    def _begin(self) -> None:
        self._order: int | None = None
        self._n_items = 0
        self._read_ns = 0
        self._gathered = Gathered(Classroom(self._given or OPEN_LESSON, is_compared=True))

    def read_on(self, *, progress: Progress | None = None) -> KeptSession:
        """All that is written by now. After an error the next call begins anew.

        Args:
            progress: Is told how much of what is new is done.

        Raises:
            RecordingError: The recording can't be read.
            LessonError: A lesson in it is faulty.
        """
        try:
            with Recorded(self.path) as recorded:
                end_ns = recorded.length_ns
                self._take(recorded, end_ns, progress)
                lesson = self._given or last_lesson(recorded)
                return self._gathered.session(recorded, lesson, end_ns, self._n_items)
        except BaseException:
            self._begin()
            raise

    def _take(self, recorded: Recorded, end_ns: int, progress: Progress | None) -> None:
        items = self._passed_on(recorded)
        if progress is not None:
            since, whole = self._read_ns, max(1, end_ns - self._read_ns)
            tell = progress
            items = told(items, end_ns, lambda share: tell(max(0.0, (share * end_ns - since) / whole)))
        for item in runs_of(items):
            for together in outcomes_in(self._gathered.room, item, lesson=self._given, is_compared=True):
                for bench, outcome in together:
                    self._gathered.take(bench, outcome)
        self._read_ns = end_ns

    def _passed_on(self, recorded: Recorded) -> Iterator[Item]:
        for order, item in recorded.items_after(self._order):
            self._order = order
            self._n_items += 1
            yield item
