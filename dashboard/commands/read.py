"""`benchrow read`: takes a byte file or a recording through the pipeline, and writes the readings as text."""

from __future__ import annotations

import argparse
from pathlib import Path

NAME = "read"
SUMMARY = "write the readings of a byte file or a recording as text"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's own options."""
    parser.add_argument("file", metavar="FILE", help="raw bytes or a recording; -: standard input")
    parser.add_argument(
        "--lesson", type=Path, help="the lesson file (TOML); without it, fields become channels"
    )
    parser.add_argument("--baud", type=int, default=9600, help="the rate of a raw file (%(default)s)")
    parser.add_argument("--cold", action="store_true", help="a raw file may begin inside a line")
    parser.add_argument("--json", action="store_true", help="one JSON object for each reading instead of CSV")
    parser.add_argument("--layout", action="store_true", help="tell what was learned about the lines instead")


def run(options: argparse.Namespace) -> int:
    """Write the readings."""
    raise NotImplementedError
