"""The lesson file: read with every fault told at once, changed with its remarks kept, saved whole."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from pathlib import Path

from bridge.core.lesson import Lesson
from bridge.errors import Fault, LessonError
from bridge.lesson_lines import lines_of
from bridge.lesson_reading import lesson_of
from bridge.lesson_syntax import parsed
from bridge.lesson_tables import Faults

__all__ = ["faults_of", "lesson_from_text", "lesson_text", "read_lesson", "save_lesson"]

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
    faults = Faults(file, lines_of(found.text), recovered=bool(found.misread))
    faults.found += [
        Fault(file=file, line=one.line, wrong=one.wrong, write=one.write) for one in found.misread
    ]
    lesson = None if found.values is None else lesson_of(found.values, faults)
    return lesson, sorted(faults.found, key=lambda fault: fault.line)


def save_lesson(path: str | os.PathLike[str], text: str) -> None:
    """Put a lesson's text in its file, whole or not at all; line ends, byte order mark and mode stay.

    Raises:
        LessonError: The text is faulty.
        OSError: The file can't be written.
    """
    lesson_from_text(text, file=os.fspath(path))
    target = Path(path).resolve()  # behind a link, the file itself
    before = target.read_bytes() if target.exists() else text.encode()
    text = text.removeprefix(_BOM).replace("\r\n", "\n")
    # As most lines end, not as one does: a single line may have been pasted in.
    if before.count(b"\r\n") * 2 > before.count(b"\n"):
        text = text.replace("\n", "\r\n")
    mark = _BOM if before.startswith(_BOM.encode()) else ""
    _write(target, (mark + text).encode("utf-8"))


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
