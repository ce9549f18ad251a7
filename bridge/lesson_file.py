"""The lesson file: read with every fault told at once, changed with its remarks kept, saved whole."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from collections.abc import Iterable, Sequence
from pathlib import Path

from bridge.core.lesson import Lesson
from bridge.errors import Fault, LessonError
from bridge.lesson_lines import outline_of
from bridge.lesson_reading import lesson_of
from bridge.lesson_revising import Step, changed
from bridge.lesson_syntax import parsed
from bridge.lesson_tables import Faults

__all__ = ["faults_of", "lesson_from_text", "lesson_text", "read_lesson", "revised", "save_lesson"]

_BOM = "\ufeff"


def read_lesson(path: str | os.PathLike[str]) -> Lesson:
    """The lesson that a file holds.

    Raises:
        LessonError: The file can't be read or is faulty; every fault is told.
    """
    return lesson_from_text(lesson_text(path), file=os.fspath(path))


def lesson_text(path: str | os.PathLike[str]) -> str:
    """The text of a lesson file, with its line ends as they are and without a byte order mark.

    Raises:
        LessonError: There is no such file, it can't be read, or it is not UTF-8.
    """
    file = os.fspath(path)
    try:
        data = Path(path).read_bytes()
    except (OSError, ValueError) as error:
        what = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise _unreadable(file, f"the lesson {file} can't be read: {what}") from error
    try:
        return data.decode("utf-8").removeprefix(_BOM)
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        wrong = f"the file is not UTF-8, found the byte {data[error.start]:#04x}"
        fault = Fault(file=file, line=line, wrong=wrong, write="the same text, saved as UTF-8 in the editor")
        raise LessonError((fault,), file=file) from error


def _unreadable(file: str, happened: str) -> LessonError:
    fault = Fault(file=file, line=1, wrong=happened, write="the name of a file that is there")
    error = LessonError((fault,), file=file)
    # No fault in the file: to check it again would help nobody.
    error.happened, error.remedy = happened, "Check the name and whether you may read the file"
    return error


def lesson_from_text(text: str, *, file: str = "lesson.toml") -> Lesson:
    """The lesson that a text holds; `file` is the name that faults bear.

    Raises:
        LessonError: The text is faulty; every fault is told.
    """
    lesson, faults = _read(text, file)
    if lesson is None:
        raise LessonError(tuple(faults), file=file)
    return lesson


def faults_of(text: str, file: str = "lesson.toml") -> list[Fault]:
    """Every fault of a lesson's text by its line, none for a good one."""
    return _read(text, file)[1]


def _read(text: str, file: str) -> tuple[Lesson | None, list[Fault]]:
    found = parsed(text.removeprefix(_BOM))
    faults = Faults(file, outline_of(found.text).lines, recovered=bool(found.misread))
    faults.found += [
        Fault(file=file, line=one.line, wrong=one.wrong, write=one.write) for one in found.misread
    ]
    lesson = None if found.values is None else lesson_of(found.values, faults)
    return lesson, sorted(faults.found, key=lambda fault: fault.line)


def revised(text: str, changes: Iterable[tuple[Sequence[Step], object]], *, file: str = "lesson.toml") -> str:
    """The text with other values; remarks, order and spelling of all the rest stay.

    Args:
        text: A lesson's text.
        changes: Paths and values. Arrays of tables are addressed by name, bench number or kind of limit:
            ("bench", 3, "channel", "temperature", "offset"),
            ("channel", "temperature", "limit", "high", "at").
            Missing tables are made. A dict sets several keys, None takes a key away.
        file: The name that faults bear.

    Raises:
        LessonError: A path leads nowhere, or the text would be faulty.
    """
    plain = text.removeprefix(_BOM)
    if parsed(plain).misread:  # no TOML: nothing could be changed in it
        raise LessonError(tuple(faults_of(plain, file)), file=file)
    result = _with_ends_of(plain, changed(plain.replace("\r\n", "\n"), changes, file=file))
    lesson_from_text(result, file=file)
    return text[: len(text) - len(plain)] + result


def _with_ends_of(before: str, text: str) -> str:
    # As most lines end, not as one does: a single line may have been pasted in.
    text = text.replace("\r\n", "\n")
    return text.replace("\n", "\r\n") if before.count("\r\n") * 2 > before.count("\n") else text


def save_lesson(path: str | os.PathLike[str], text: str) -> None:
    """Put a lesson's text in its file, whole or not at all; line ends, byte order mark and mode stay.

    Raises:
        LessonError: The text is faulty.
        OSError: The file can't be written.
    """
    lesson_from_text(text, file=os.fspath(path))
    target = Path(path).resolve()  # behind a link, the file itself
    before = target.read_bytes().decode("utf-8", "replace") if target.exists() else text
    mark = _BOM if before.startswith(_BOM) else ""
    _write(target, (mark + _with_ends_of(before, text.removeprefix(_BOM))).encode("utf-8"))


def _write(target: Path, data: bytes) -> None:
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if target.exists():
            shutil.copymode(target, name)
        else:
            Path(name).chmod(0o644)
        Path(name).replace(target)
    except BaseException:
        with contextlib.suppress(OSError):
            Path(name).unlink()
        raise
