"""`benchrow what-if`: tells what a recording would have shown with another conversion, band or limit."""

from __future__ import annotations

import argparse
import difflib
import io
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from bridge import BenchrowError, LessonError
from dashboard.commands.screens import existing_file

if TYPE_CHECKING:
    from dashboard.what_if import Both, Change, Group, Setting, Source

NAME = "what-if"
SUMMARY = "tell what a recording would have shown with another setting"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's own options."""
    parser.add_argument(
        "recording", type=Path, metavar="RECORDING", help="a kept session, or one being written"
    )
    parser.add_argument(
        "--set",
        dest="typed",
        action="append",
        default=[],
        metavar="PATH=VALUE",
        help="change a setting, for example 'conversion/sensor/reference_volts=3.3'; may be given again. "
        "Without it, all that may be changed is listed",
    )
    parser.add_argument("--lesson", type=Path, help="change this lesson instead of the recorded one")
    parser.add_argument("--save", type=Path, metavar="FILE", help="keep the changed lesson in a new file")
    parser.add_argument("--json", action="store_true", help="one JSON object with all digits instead of text")


def run(options: argparse.Namespace) -> int:
    """Write how the two results differ, or what may be changed."""
    from dashboard.what_if import Source, difference_of, settings_of, told_of
    from dashboard.what_if.as_text import told_json, told_text

    if isinstance(sys.stdout, io.TextIOWrapper):  # the same bytes on every system
        sys.stdout.reconfigure(encoding="utf-8", newline="")
    path = existing_file(options.recording, what="recording")
    assert path is not None
    source = Source.of(path, existing_file(options.lesson, what="lesson"))
    groups = settings_of(source.text)
    if not options.typed:
        _list(groups, options)
        return 0
    changes = _changes([one for group in groups for one in group.settings], options.typed)
    if options.save is not None:
        _check_new(options.save)
    both = _both(source, changes)
    if options.save is not None:
        _save(options.save, both.text)
    difference = difference_of(both.before, both.after)
    told = told_of(both, difference)
    if options.json:
        _dump(told_json(both, difference, told))
    else:
        sys.stdout.write(told_text(told, title=both.after.title))
    return 0


def _list(groups: Sequence[Group], options: argparse.Namespace) -> None:
    """What may be changed, for who has not said what to change."""
    from dashboard.what_if.as_text import settings_json, settings_text

    if options.save is not None:
        raise BenchrowError(
            "nothing is changed, so there is nothing to save", remedy="Name a change with --set"
        )
    if options.json:
        _dump(settings_json(groups))
    else:
        sys.stdout.write(settings_text(groups) if groups else "This recording has no lesson to change.\n")


def _dump(found: object) -> None:
    json.dump(found, sys.stdout, ensure_ascii=False, allow_nan=False, indent=1)
    sys.stdout.write("\n")


def _changes(settings: Sequence[Setting], typed: Sequence[str]) -> list[Change]:
    from dashboard.what_if import NoValueError, change_of
    from dashboard.what_if.as_text import path_text

    by_path = {path_text(one): one for one in settings}
    changes: dict[str, Change | None] = {}
    for words in typed:
        # Names may hold a slash or an equals sign: the longest setting that it begins with is meant.
        path = max((one for one in by_path if words.startswith(f"{one}=")), key=len, default=None)
        if path is None:
            named = words.partition("=")[0][:200]
            near = difflib.get_close_matches(named, by_path, n=1, cutoff=0.5)
            raise BenchrowError(
                f"the lesson has no setting {named!r}" if "=" in words else f"{named!r} gives no value",
                remedy=f'Write for example --set "{near[0]}=VALUE"'
                if near
                else "See without --set what may be changed",
            )
        if path in changes:
            raise BenchrowError(f"{path} is given twice", remedy="Give each setting one value")
        try:
            changes[path] = change_of(by_path[path], words[len(path) + 1 :])
        except NoValueError as error:
            wrong, found, example = str(error).rstrip(".").rpartition(". Write for example ")
            remedy = f"Write for example {example}" if found else "Correct the value"
            raise BenchrowError(f"{path}: {wrong if found else example}", remedy=remedy) from error
    wanted = [one for one in changes.values() if one is not None]
    if not wanted:
        raise BenchrowError("that is what the lesson says already", remedy="Give another value with --set")
    return wanted


def _both(source: Source, changes: Sequence[Change]) -> Both:
    from dashboard.progress import Progress
    from dashboard.what_if import both_of

    progress = Progress(sys.stderr)
    progress.step(f"computing {source.path.name} as it is and with the change")

    def told(share: float) -> bool:
        progress.at(share)
        return True

    try:
        return both_of(source, changes, told=told)
    except LessonError as error:
        first, *_ = error.faults
        raise BenchrowError(first.wrong, remedy=f"Write for example: {first.write}") from error
    finally:
        progress.end()


def _check_new(path: Path) -> None:
    """Before anything is computed, which may take its time."""
    if path.exists():
        raise BenchrowError(f"{path} is there already and is not overwritten", remedy="Name a new file")
    if not path.parent.is_dir():
        raise BenchrowError(f"there is no folder {path.parent}", remedy="Name a file in a folder that exists")


def _save(path: Path, text: str) -> None:
    try:
        with path.open("x", encoding="utf-8", newline="") as file:
            file.write(text)
    except FileExistsError as error:  # made since then
        raise BenchrowError(
            f"{path} is there already and is not overwritten", remedy="Name a new file"
        ) from error
    except OSError as error:
        raise BenchrowError(
            f"{path} can't be written ({error.strerror})", remedy="Name a file in a folder that you may write"
        ) from error
