"""A lesson with other values, before anybody keeps it: what it would be, or which change is at fault."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from bridge.core.lesson import Lesson
from bridge.errors import Fault, LessonError
from bridge.lesson_file import faults_of, lesson_from_text, revised
from bridge.lesson_revising import Step

LessonChange = tuple[Sequence[Step], object]
"""A path and its value, as the control `revise` takes them: (("channel", "temperature", "low"), 10.0)."""


class ChangeFault(NamedTuple):
    """What is wrong with a changed lesson."""

    change: int | None  # which of the changes; None: only together
    fault: Fault


@dataclass(frozen=True, slots=True, kw_only=True)
class TriedLesson:
    """A lesson's text with the changes in it, its remarks kept."""

    text: str  # as it was where there are faults
    lesson: Lesson | None  # None where there are faults
    faults: tuple[ChangeFault, ...]


def try_changes(text: str, changes: Sequence[LessonChange]) -> TriedLesson:
    """The lesson with these values; the faults are those that `benchrow check` would tell of it.

    Args:
        text: A lesson's text; "" for none.
        changes: In their order; see `bridge.lesson_file.revised`.
    """
    if not changes and not text.strip():
        return TriedLesson(text=text, lesson=None, faults=())
    try:
        after = revised(text, changes) if changes else text
        return TriedLesson(text=after, lesson=lesson_from_text(after), faults=())
    except LessonError as error:
        return TriedLesson(text=text, lesson=None, faults=tuple(_blamed(text, changes, error.faults)))


def _blamed(text: str, changes: Sequence[LessonChange], faults: Sequence[Fault]) -> list[ChangeFault]:
    """Each fault with the change that alone brings it: a line of the text would help nobody in a form."""
    by_words: dict[str, int] = {}
    for i, change in enumerate(changes):
        for fault in _faults_with(text, change):
            by_words.setdefault(fault.wrong, i)
    return [ChangeFault(by_words.get(fault.wrong), fault) for fault in faults]


def _faults_with(text: str, change: LessonChange) -> Sequence[Fault]:
    before = {fault.wrong for fault in faults_of(text)}
    try:
        revised(text, [change])
    except LessonError as error:
        return [fault for fault in error.faults if fault.wrong not in before]
    return ()
