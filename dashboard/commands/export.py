"""`benchrow export`: hands a recorded session out: tables, pictures, reports, for class and groups."""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal, get_args

from bridge import BenchrowError
from dashboard.commands.compare import channel_of
from dashboard.commands.compare_choices import add_choices, asked_of
from dashboard.commands.screens import existing_file

if TYPE_CHECKING:
    from dashboard.comparison_asked import Asked
    from dashboard.exporting import Session

NAME = "export"
SUMMARY = "hand a session out: tables, pictures and reports for the class and each group"
Kind = Literal[
    "csv", "parquet", "xlsx", "report", "pdf", "pictures"
]  # as `dashboard.exporting.Kind`, which help need not wait for
KINDS: tuple[Kind, ...] = get_args(Kind)
ALL = "all"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's own options."""
    parser.add_argument("recording", type=Path, metavar="RECORDING", help="a kept session")
    parser.add_argument(
        "--to", choices=(*KINDS, ALL), action="append", help="what to write; may be given again (csv)"
    )
    parser.add_argument(
        "--out", type=Path, help="the folder, or with --zip the file (RECORDING's name and 'hand-outs', here)"
    )
    parser.add_argument("--bench", type=_bench, metavar="N", help="only what this group is handed")
    parser.add_argument("--lesson", type=Path, help="compute with this lesson instead of the recorded one")
    parser.add_argument(
        "--decimal-comma",
        action="store_true",
        help="CSV with a comma in numbers and semicolons between cells",
    )
    parser.add_argument("--paper", choices=("a4", "letter"), default="a4", help="of the PDF (%(default)s)")
    parser.add_argument("--zip", action="store_true", help="one ZIP file instead of a folder")
    parser.add_argument("--replace", action="store_true", help="overwrite what is there already")
    parser.add_argument(
        "--figure",
        dest="figures",
        action="append",
        metavar="NAME",
        help="a figure of compare's tables that gets a picture of dots with intervals; may be given again "
        "(level in common, noise, and of the response what was found)",
    )
    add_choices(
        parser.add_argument_group(
            "how the benches are compared in reports and pictures, as by 'benchrow compare'"
        )
    )


def run(options: argparse.Namespace) -> int:
    """Write the files; print where each stands."""
    recording: Path = options.recording
    existing_file(recording, what="recording")
    existing_file(options.lesson, what="lesson")
    from bridge import read_lesson
    from dashboard.exporting import Wanted, check_free, gathered, hand_out
    from dashboard.progress import Progress

    chosen = options.to or ["csv"]
    wanted = Wanted(
        kinds=tuple(kind for kind in KINDS if kind in chosen or ALL in chosen),
        out=_out(options),
        bench=options.bench,
        decimal_comma=options.decimal_comma,
        as_zip=options.zip,
        paper=options.paper,
        needs_browser="pdf" in chosen,
        replace=options.replace,
        **_dotted(options.figures),
    )
    check_free(wanted, recording)
    progress = Progress(sys.stderr)
    try:
        lesson = read_lesson(options.lesson) if options.lesson else None
        session = gathered(recording, lesson=lesson, progress=progress)
        done = hand_out(session, wanted, progress, _asked(options, session))
    finally:
        progress.end()
    remarks = [*([session.damage] if session.damage else []), *done.remarks]
    remarks += [f"{path} was there and has been replaced" for path in done.replaced]
    for remark in remarks:
        print(f"benchrow: {remark}.", file=sys.stderr)
    print(*done.files, sep="\n")
    return 0


def _dotted(names: list[str] | None) -> dict[str, tuple[str, ...]]:
    """The figures with a picture of dots, where any were chosen."""
    if not names:
        return {}
    from dashboard.comparison_words import EXPLAINED

    unknown = next((name for name in names if name not in EXPLAINED), None)
    if unknown is not None:
        raise BenchrowError(f"there is no figure {unknown!r}", remedy=f"There is: {', '.join(EXPLAINED)}")
    return {"dotted": tuple(dict.fromkeys(names))}


def _asked(options: argparse.Namespace, session: Session) -> Asked | None:
    """How the benches are compared; None where nothing was chosen."""
    usual = argparse.ArgumentParser()
    add_choices(usual)
    chosen = {name for name, value in vars(usual.parse_args([])).items() if getattr(options, name) != value}
    if not chosen or session.kept is None or not session.channels:
        return None
    from dashboard.class_known import class_known

    channel = channel_of(session.kept, options.channel)
    is_instant = options.align == "instant"
    window = (options.from_seconds, options.to_seconds) if is_instant else (None, None)
    asked = asked_of(options, options.recording, channel, class_known(session.kept, channel, window))
    given = [one.name for one in session.lesson.channels if one.name in session.channels]
    return replace(asked, other_channel=next((one for one in given if one != channel), None))


def _out(options: argparse.Namespace) -> Path:
    if options.out is not None:
        given: Path = options.out
        return given
    name = f"{options.recording.stem}-hand-outs"
    return Path(f"{name}.zip" if options.zip else name)


def _bench(text: str) -> int:
    if text.isascii() and text.isdigit() and int(text) > 0:
        return int(text)
    raise argparse.ArgumentTypeError(f"{text!r} is no bench; write its number, for example 3")
