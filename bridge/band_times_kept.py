"""The times in bands of a recording, as they stood at its end."""

from __future__ import annotations

import os

from bridge.core.band_times import BandTimes
from bridge.core.classroom import Classroom
from bridge.core.lesson import OPEN_LESSON, Lesson
from bridge.lesson_file import read_lesson
from bridge.recorded import Recorded
from bridge.table import LessonOrPath, outcomes_of


def band_times_of_recording(
    path: str | os.PathLike[str], lesson: LessonOrPath | None = None
) -> list[tuple[int, BandTimes]]:
    """How long each bench was in each band: what its page said when the recording ended.

    Args:
        path: The recording; it may still be written.
        lesson: Takes the place of all lessons that the recording holds.

    Returns:
        (bench, times) by bench and channel; where phases have bands of their own, one for each of them.

    Raises:
        RecordingError: The recording can't be read.
        LessonError: The lesson is faulty.
    """
    given = lesson if lesson is None or isinstance(lesson, Lesson) else read_lesson(lesson)
    room = Classroom(given or OPEN_LESSON, is_compared=False)
    with Recorded(os.fspath(path)) as recorded:
        for _ in outcomes_of(recorded.items(), lesson=given, end_ns=recorded.length_ns, room=room):
            pass
    return [
        (bench, one) for bench, pipeline in sorted(room.pipelines.items()) for one in pipeline.band_times()
    ]
