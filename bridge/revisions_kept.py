"""Revisions of a lesson that were made after the session: files beside each other, never in the recording.

A recording holds what was; what it would have shown with another lesson is kept as a lesson file, which
`benchrow replay RECORDING --lesson FILE` takes.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path

from bridge.lesson_trying import LessonChange
from bridge.lesson_words import as_toml

SUFFIX = ".toml"
_MOST_LISTED = 100
_MOST_CHANGES_TOLD = 20


def keep_revision(
    data_dir: Path, recording: Path, text: str, changes: Iterable[LessonChange], *, why: str, at: datetime
) -> Path:
    """Write a lesson's text into a new file, with who, when, why and what above it.

    Args:
        data_dir: Where recordings are kept; made when it is not there.
        recording: Whose lesson it is.
        text: The changed lesson.
        changes: What was changed, for the words.
        why: In the person's words; "" for none.
        at: When.

    Raises:
        OSError: The file can't be written.
    """
    data_dir.mkdir(parents=True, exist_ok=True)
    n = 1 + max((_number_of(path) for path in kept_revisions(data_dir, recording)), default=0)
    told = [f"Revision {n} of the lesson of {recording.name}, kept on {at:%Y-%m-%d %H:%M} by the instructor."]
    told += [f"Why: {' '.join(why.split())}"] if why.strip() else []
    every = [f"    {' / '.join(map(str, path))} = {as_toml(value)}" for path, value in changes]
    told += every[:_MOST_CHANGES_TOLD]
    if len(every) > _MOST_CHANGES_TOLD:
        told.append(f"    and {len(every) - _MOST_CHANGES_TOLD} more")
    head = "".join(f"# {' '.join(line.splitlines())}\n" for line in told)
    path = data_dir / f"{recording.stem}, revision {n}{SUFFIX}"
    with path.open("x", encoding="utf-8", newline="") as file:
        file.write(head + text)
    return path


def kept_revisions(data_dir: Path, recording: Path) -> list[Path]:
    """The files that were kept for a recording, the newest first."""
    if not data_dir.is_dir():
        return []
    wanted = re.compile(re.escape(f"{recording.stem}, revision ") + r"\d{1,6}" + re.escape(SUFFIX))
    found = [path for path in data_dir.iterdir() if wanted.fullmatch(path.name)]
    return sorted(found, key=_number_of, reverse=True)[:_MOST_LISTED]


def _number_of(path: Path) -> int:
    return int(path.stem.rpartition(" ")[2])
