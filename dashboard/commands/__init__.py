"""One module for each command of `benchrow`, in the order in which the help lists them.

A module has `NAME`, `SUMMARY`, `add_arguments(parser)` and `run(options)`, which returns the exit code.
What takes long to import is imported in `run`, so that help and short commands answer at once.
"""

from __future__ import annotations

import argparse
from typing import Protocol, cast

from dashboard.commands import check, compare, demo, export, live, ports, read, replay, what_if


class Command(Protocol):
    """What a module of this folder offers."""

    NAME: str
    SUMMARY: str
    __doc__: str | None

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Add the command's own options."""

    def run(self, options: argparse.Namespace) -> int:
        """Do the command's job; the exit code."""


COMMANDS = cast("tuple[Command, ...]", (demo, live, replay, read, compare, what_if, export, check, ports))
