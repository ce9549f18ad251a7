"""`benchrow compare`: compares what the benches of a recording measured, as tables with their uncertainty."""

from __future__ import annotations

import argparse
import io
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from bridge import BenchrowError
from dashboard.commands.compare_choices import add_choices, asked_of
from dashboard.commands.screens import existing_file

if TYPE_CHECKING:
    from bridge import KeptSession
    from dashboard.class_known import ClassKnown
    from dashboard.comparing import Comparison

NAME = "compare"
SUMMARY = "compare what the benches of a recording measured, or two recordings"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's own options."""
    parser.add_argument(
        "recording", type=Path, metavar="RECORDING", help="a kept session, or one being written"
    )
    parser.add_argument(
        "second",
        type=Path,
        nargs="?",
        metavar="SECOND",
        help="another one: each bench is compared with itself; its events are those that are found",
    )
    parser.add_argument("--json", action="store_true", help="one JSON object with all digits instead of text")
    parser.add_argument("--lesson", type=Path, help="compute with this lesson instead of the recorded one")
    add_choices(parser)


def run(options: argparse.Namespace) -> int:
    """Write the comparison."""
    from dashboard.comparison_as_text import comparison_json, comparison_text

    if isinstance(sys.stdout, io.TextIOWrapper):  # the same bytes on every system
        sys.stdout.reconfigure(encoding="utf-8", newline="")
    path = existing_file(options.recording, what="recording")
    other = existing_file(options.second, what="recording")
    lesson = existing_file(options.lesson, what="lesson")
    assert path is not None
    session = session_of(path, lesson)
    comparison, known = _compared(session, path, options)
    if other is not None:
        return _run_two(options, (session, path, comparison, known), other, lesson)
    if options.json:
        _write_json(comparison_json(comparison, looks=known.looks, title=session.title))
    else:
        sys.stdout.write(comparison_text(comparison, title=session.title))
    return 0


def _run_two(
    options: argparse.Namespace,
    first: tuple[KeptSession, Path, Comparison, ClassKnown],
    path: Path,
    lesson: Path | None,
) -> int:
    from dashboard.two_as_text import two_json, two_text

    session, first_path, comparison, known = first
    later = session_of(path, lesson)
    options.channel, options.unit = comparison.choices.channel, comparison.unit or None
    second, beside = _compared(later, path, options, is_second=True)
    titles = (f"{first_path.name}: {session.title}", f"{path.name}: {later.title}")
    if options.json:
        _write_json(two_json(comparison, second, looks=(known.looks, beside.looks), titles=titles))
    else:
        sys.stdout.write(two_text(comparison, second, titles=titles))
    return 0


def _compared(
    session: KeptSession, path: Path, options: argparse.Namespace, *, is_second: bool = False
) -> tuple[Comparison, ClassKnown]:
    """The events set by hand are of the first recording: in the second they are as they are found."""
    from dashboard.class_known import class_known
    from dashboard.comparison_asked import choices_of, comparison_in

    channel = channel_of(session, options.channel)
    is_instant = options.align == "instant"
    window = (options.from_seconds, options.to_seconds) if is_instant else (None, None)
    known = class_known(session, channel, window)
    asked = asked_of(options, path, channel, known, is_second=is_second)
    try:
        comparison = comparison_in(session, choices_of(asked, known, channel))
    except ValueError as error:
        raise BenchrowError(
            str(error), remedy="Choose otherwise; 'benchrow compare --help' tells how"
        ) from error
    if session.damage:
        print(f"benchrow: {session.damage}.", file=sys.stderr)
    return comparison, known


def _write_json(found: dict[str, object]) -> None:
    json.dump(found, sys.stdout, ensure_ascii=False, allow_nan=False, indent=1)
    sys.stdout.write("\n")


def session_of(path: Path, lesson: Path | None = None) -> KeptSession:
    """The whole recording, computed; how far it has come is told on standard error.

    Raises:
        BenchrowError: It can't be read, or holds no reading.
    """
    from bridge import read_session
    from dashboard.progress import Progress

    progress = Progress(sys.stderr)
    progress.step(f"reading {path.name}")
    try:
        session = read_session(path, lesson, progress=progress.at)
    finally:
        progress.end()
    if session.table["value"].notna().sum() == 0:
        raise BenchrowError(
            f"{path.name} holds no reading with a value",
            remedy="See with 'benchrow read RECORDING --layout' how its lines are understood",
        )
    return session


def channel_of(session: KeptSession, wanted: str | None) -> str:
    """The channel by its name, or the first that has values.

    Raises:
        BenchrowError: Nobody has it.
    """
    from dashboard.class_known import channels_of

    found = channels_of(session)
    if wanted is None:
        return found[0]
    if wanted not in found:
        raise BenchrowError(
            f"no bench has a value of a channel {wanted!r}", remedy=f"There is: {', '.join(found)}"
        )
    return wanted
