"""`benchrow compare`: compares what the benches of a recording measured, as tables with their uncertainty."""

from __future__ import annotations

import argparse
import io
import json
import math
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bridge import BenchrowError
from dashboard.commands.screens import existing_file

if TYPE_CHECKING:
    from bridge import KeptSession
    from dashboard.comparing import Choices

NAME = "compare"
SUMMARY = "compare what the benches of a recording measured"
ALIGNMENTS = ("instant", "onset", "release", "peak")
RESPONSES = {"step": "step", "ambient": "towards ambient", "none": "none"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's own options."""
    parser.add_argument(
        "recording", type=Path, metavar="RECORDING", help="a kept session, or one being written"
    )
    parser.add_argument("--json", action="store_true", help="one JSON object with all digits instead of text")
    parser.add_argument("--lesson", type=Path, help="compute with this lesson instead of the recorded one")
    add_choices(parser)


def add_choices(parser: argparse.ArgumentParser) -> None:
    """What to compare, and how: the same for whoever compares, on the terminal or in a report."""
    parser.add_argument("--channel", metavar="NAME", help="the channel (the lesson's first)")
    parser.add_argument("--unit", help="the unit to which all are brought (the one that most benches have)")
    parser.add_argument(
        "--align",
        choices=ALIGNMENTS,
        default="instant",
        help="compare at the same instant, or since the same event at each bench (%(default)s)",
    )
    parser.add_argument(
        "--event",
        dest="events",
        action="append",
        default=[],
        type=_event,
        metavar="BENCH=TIME",
        help="a bench's event set by hand, in session time; may be given again",
    )
    parser.add_argument(
        "--from",
        dest="from_seconds",
        type=_time,
        metavar="TIME",
        help="the comparison's begin, in aligned time",
    )
    parser.add_argument("--until", dest="to_seconds", type=_time, metavar="TIME", help="its end")
    parser.add_argument(
        "--leave-out",
        dest="left_out",
        action="append",
        default=[],
        type=_benches,
        metavar="BENCH",
        help="leave benches out, for example 2 or 2,5; told in the answer; may be given again",
    )
    parser.add_argument("--reference", type=_number, metavar="VALUE", help="what the level should be")
    parser.add_argument(
        "--reference-u", type=_number, default=0.0, metavar="U", help="its standard uncertainty"
    )
    parser.add_argument(
        "--response",
        choices=tuple(RESPONSES),
        default="step",
        help="fit the answer to a step, or cooling and warming towards ambient (%(default)s)",
    )
    parser.add_argument("--ambient", type=_number, metavar="VALUE", help="the ambient, where it is known")
    parser.add_argument(
        "--ambient-u", type=_number, default=0.0, metavar="U", help="its standard uncertainty"
    )


def run(options: argparse.Namespace) -> int:
    """Write the comparison."""
    from dashboard.class_known import class_known
    from dashboard.comparing import comparison_of
    from dashboard.comparison_as_text import comparison_json, comparison_text

    if isinstance(sys.stdout, io.TextIOWrapper):  # the same bytes on every system
        sys.stdout.reconfigure(encoding="utf-8", newline="")
    path = existing_file(options.recording, what="recording")
    assert path is not None
    session = session_of(path, existing_file(options.lesson, what="lesson"))
    channel = channel_of(session, options.channel)
    known = class_known(session, channel)
    choices = choices_of(options, session, channel)
    try:
        comparison = comparison_of(session.table, choices)
    except ValueError as error:
        raise BenchrowError(
            str(error), remedy="Choose otherwise; 'benchrow compare --help' tells how"
        ) from error
    if session.damage:
        print(f"benchrow: {session.damage}.", file=sys.stderr)
    if options.json:
        found: dict[str, Any] = comparison_json(comparison, looks=known.looks, title=session.title)
        json.dump(found, sys.stdout, ensure_ascii=False, allow_nan=False, indent=1)
        sys.stdout.write("\n")
    else:
        sys.stdout.write(comparison_text(comparison, title=session.title))
    return 0


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


def choices_of(options: argparse.Namespace, session: KeptSession, channel: str) -> Choices:
    """What was asked for on the command line, with what the session knows.

    Raises:
        BenchrowError: The choices contradict each other.
    """
    from dashboard.class_known import class_known
    from dashboard.comparing import Alignment, Choices, Figure

    is_instant = options.align == "instant"
    window = (options.from_seconds, options.to_seconds) if is_instant else (None, None)
    known = class_known(session, channel, window)
    unknown = sorted({bench for bench, _ in options.events} - known.names.keys()) + sorted(
        {bench for some in options.left_out for bench in some} - known.names.keys()
    )
    if unknown:
        there = ", ".join(map(str, known.names))
        raise BenchrowError(f"no bench {unknown[0]} has the channel {channel!r}", remedy=f"There is: {there}")
    by_hand = dict(options.events)
    if by_hand and is_instant:
        raise BenchrowError(
            "an event was set by hand, but benches are compared at the same instant",
            remedy="Say which event with --align onset, release or peak",
        )
    reference = None
    if options.reference is not None:
        reference = Figure(name="reference", unit="", value=options.reference, u=options.reference_u)
    try:
        return Choices(
            channel=channel,
            unit=options.unit,
            alignment=Alignment(kind=options.align, by_hand=by_hand),
            from_seconds=options.from_seconds,
            to_seconds=options.to_seconds,
            left_out={bench: "" for some in options.left_out for bench in some},
            names=known.names,
            marks=known.marks,
            reference=reference,
            band_edges=known.band_edges,
            response=RESPONSES[options.response],  # type: ignore[arg-type]  # one of the three
            ambient=options.ambient,
            u_ambient=options.ambient_u,
        )
    except ValueError as error:
        raise BenchrowError(str(error), remedy="Give --until a later time than --from") from error


def _number(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if math.isfinite(value):
        return value
    raise argparse.ArgumentTypeError(f"{text!r} is no number; write for example 20.5")


def _time(text: str) -> float:
    """Seconds from '90', '1:30' or '-0:05': since an event there are times before it."""
    if not re.fullmatch(r"-?(\d+:){0,2}\d+(\.\d+)?", text, re.ASCII):
        raise argparse.ArgumentTypeError(
            f"{text!r} is no time; write seconds or minutes:seconds: 4:30, before an event --from=-5"
        )
    total = 0.0
    for part in text.lstrip("-").split(":"):
        total = 60 * total + float(part)
    return -total if text.startswith("-") else total


def _event(text: str) -> tuple[int, float]:
    bench, sign, time = text.partition("=")
    if not sign or not re.fullmatch(r"\d{1,5}", bench, re.ASCII):
        raise argparse.ArgumentTypeError(f"{text!r} sets no event; write BENCH=TIME, for example 3=1:05")
    return int(bench), _time(time)


def _benches(text: str) -> tuple[int, ...]:
    parts = text.split(",")
    if not all(re.fullmatch(r"\d{1,5}", part, re.ASCII) for part in parts):
        raise argparse.ArgumentTypeError(f"{text!r} names no benches; write their numbers, for example 2,5")
    return tuple(map(int, parts))
