"""`benchrow live`: reads the boards that are plugged in, shows them on the wall and records the session."""

from __future__ import annotations

import argparse
from pathlib import Path

from dashboard.commands.screens import add_screen_arguments, existing_file, show

NAME = "live"
SUMMARY = "read the boards that are plugged in, show and record them"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's own options."""
    parser.add_argument("lesson", nargs="?", type=Path, metavar="LESSON", help="the lesson file (TOML)")
    parser.add_argument(
        "--board",
        dest="boards",
        action="append",
        default=[],
        type=_board,
        metavar="BENCH=URL[@BAUD]",
        help="seat a board by hand, for example 3=/dev/ttyACM0@9600 or 3=COM4; may be given again",
    )
    add_screen_arguments(parser)


def run(options: argparse.Namespace) -> int:
    """Show the boards until the user stops."""
    lesson = existing_file(options.lesson, what="lesson")
    return show(options, mode="live", lesson=lesson, boards=tuple(options.boards))


def _board(text: str) -> str:
    from bridge import BenchrowError, parse_board

    try:
        parse_board(text)
    except BenchrowError as error:
        raise argparse.ArgumentTypeError(str(error)) from error
    return text
