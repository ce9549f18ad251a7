"""Both results of one recording, over the whole session: as it is, and with a changed lesson."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from bridge import (
    BenchrowError,
    KeptSession,
    LessonError,
    Recorded,
    RecordingError,
    lesson_text,
    read_session,
    try_changes,
)
from dashboard.what_if.changes import Change

Told = Callable[[float], bool]
"""Is told the share that is done, 0 to 1, some hundred times; False ends the work."""


class StoppedError(Exception):
    """Somebody ended the work before it was done."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A recording and the lesson that a change starts from."""

    path: Path
    lesson: Path | None = None  # takes the place of the recording's own
    text: str = ""  # of the lesson that is changed; "" for none
    length_ns: int = 0  # so far: a session may still be recorded
    revised_ns: tuple[int, ...] = ()  # when the recording's lesson was revised while it was recorded

    @classmethod
    def of(cls, path: Path, lesson: Path | None = None) -> Source:
        """What a change of that recording starts from: the lesson given, else the recording's last revision.

        Raises:
            RecordingError: The recording, or its lesson, can't be read.
            LessonError: The lesson that is given is faulty, or can't be read.
        """
        with Recorded(path) as recorded:
            lessons, length_ns = recorded.lessons, recorded.length_ns
        if lesson is not None:
            text = lesson_text(lesson)
            if faults := try_changes(text, []).faults:
                raise LessonError(tuple(one.fault for one in faults), file=str(lesson))
            return cls(path=path, lesson=lesson, text=text, length_ns=length_ns)
        text = lessons[-1][1] if lessons else ""
        if try_changes(text, []).faults:
            raise RecordingError(
                f"the lesson in {path.name} is faulty", remedy="Start from a corrected lesson file instead"
            )
        return cls(
            path=path,
            text=text,
            length_ns=length_ns,
            revised_ns=tuple(at_ns for at_ns, _ in lessons if at_ns > 0),
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Both:
    """What came out, of the same bytes."""

    source: Source
    changes: tuple[Change, ...]
    text: str  # of the changed lesson
    before: KeptSession  # what the recording shows
    after: KeptSession  # the whole session with the changed lesson


def both_of(
    source: Source, changes: Sequence[Change], *, told: Told, before: KeptSession | None = None
) -> Both:
    """Compute both.

    Args:
        source: The recording.
        changes: Of its lesson.
        told: Is told how far the work has come; may end it.
        before: The first of the two, where it is known already.

    Raises:
        LessonError: The changed lesson is faulty.
        RecordingError: The recording can't be read, or holds no value.
        StoppedError: `told` ended it.
    """
    tried = try_changes(source.text, [one.as_sent for one in changes])
    if tried.faults:
        raise LessonError(tuple(one.fault for one in tried.faults), file="lesson.toml")
    if tried.lesson is None:
        raise BenchrowError(
            f"{source.path.name} was recorded without a lesson", remedy="Give one with --lesson"
        )
    begins = 0.0 if before is not None else 0.5
    if before is None:
        before = read_session(source.path, source.lesson, progress=_progress(told, 0.0, 0.5))
    # A session that goes on has grown since: what came meanwhile is no difference.
    after = read_session(source.path, tried.lesson, progress=_progress(told, begins, 1.0), as_far_as=before)
    if not any(one.table["value"].notna().any() for one in (before, after)):
        raise _nothing_read(source, is_damaged=bool(before.damage))
    return Both(source=source, changes=tuple(changes), text=tried.text, before=before, after=after)


def _nothing_read(source: Source, *, is_damaged: bool) -> RecordingError:
    if is_damaged:
        return RecordingError(
            f"{source.path.name} is damaged, and no reading with a value stands before the damage",
            remedy="Use a copy of the recording if there is one",
        )
    return RecordingError(
        f"{source.path.name} holds no reading with a value yet",
        remedy="Wait for the first lines, or choose another recording",
    )


def _progress(told: Told, begins: float, ends: float) -> Callable[[float], None]:
    def at(share: float) -> None:
        if not told(begins + (ends - begins) * share):
            raise StoppedError

    return at
