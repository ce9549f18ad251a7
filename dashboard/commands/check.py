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
    from bridge import faults_of

    existing_file(options.lesson, what="lesson")
    faults = faults_of(options.lesson)
    for fault in faults:
        print(fault)
    if not faults:
        print(f"{options.lesson}: no faults found.")
    return 1 if faults else 0
