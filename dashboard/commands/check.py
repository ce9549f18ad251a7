"""`benchrow check`: reads a lesson file and tells every fault with its line and what to write instead."""

from __future__ import annotations

import argparse
from pathlib import Path

from dashboard.commands.screens import existing_file

NAME = "check"
SUMMARY = "check a lesson file"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's own options."""
    parser.add_argument("lesson", type=Path, metavar="LESSON", help="the lesson file (TOML)")


def run(options: argparse.Namespace) -> int:
    """Print each fault; 1 when there are some."""
    from bridge import LessonError, read_lesson

    existing_file(options.lesson, what="lesson")
    try:
        read_lesson(options.lesson)
    except LessonError as error:
        print(*error.faults, sep="\n")
        return 1
    print(f"{options.lesson}: no faults found.")
    return 0
