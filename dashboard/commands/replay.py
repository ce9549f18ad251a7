"""`benchrow replay`: shows a recording as if its boards were there, at any speed, from any moment."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

from dashboard.commands.screens import add_screen_arguments, existing_file, number_between, show

NAME = "replay"
SUMMARY = "show a recording again, without a single board"
SLOWEST, FASTEST = 0.25, 64.0


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's own options."""
    parser.add_argument("recording", type=Path, metavar="RECORDING", help="a kept session")
    parser.add_argument(
        "--speed",
        type=number_between(SLOWEST, FASTEST, example="4"),
        default=1.0,
        help="0.25 to 64 (%(default)g)",
    )
    parser.add_argument(
        "--from",
        dest="from_seconds",
        type=seconds,
        default=0.0,
        metavar="TIME",
        help="seconds, or minutes:seconds",
    )
    parser.add_argument("--lesson", type=Path, help="compute with this lesson instead of the recorded one")
    add_screen_arguments(parser)


def run(options: argparse.Namespace) -> int:
    """Show the recording until the user stops."""
    return show(
        options,
        mode="replay",
        recording=existing_file(options.recording, what="recording"),
        lesson=existing_file(options.lesson, what="lesson"),
        speed=options.speed,
        from_seconds=options.from_seconds,
    )


def seconds(text: str) -> float:
    """Seconds from '90', '1:30' or '0:01:30'."""
    if not re.fullmatch(r"(\d+:){0,2}\d+(\.\d+)?", text, re.ASCII):
        raise argparse.ArgumentTypeError(
            f"{text!r} is no time; write seconds or minutes:seconds, for example 4:30"
        )
    total = 0.0
    for part in text.split(":"):
        total = 60 * total + float(part)
    return total
