"""`benchrow ports`: lists the serial ports, what is plugged in there, and which program has them open."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

NAME = "ports"
SUMMARY = "list the ports and what is plugged in"
NO_PORT = "No serial port found. Plug a board in and try again; a cable made for charging carries no data."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command has no options of its own."""


def run(_: argparse.Namespace) -> int:
    """Print one row for each port."""
    from bridge import list_boards

    boards = list_boards(with_programs=True)
    if not boards:
        print(NO_PORT)
        return 0
    rows = [("port", "board", "known by", "open in")]
    rows += [(board.port, board.words or "–", board.key, board.open_in or "–") for board in boards]
    print(table_of(rows))
    return 0


def table_of(rows: Sequence[Sequence[str]]) -> str:
    """Rows of texts as lines with aligned columns."""
    widths = [max(len(text) for text in column) for column in zip(*rows, strict=True)]
    return "\n".join(
        "  ".join(text.ljust(width) for text, width in zip(row, widths, strict=True)).rstrip() for row in rows
    )
