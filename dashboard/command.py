"""The command line: `benchrow`, also `python -m dashboard`. Each command is a module of its own."""

from __future__ import annotations

import argparse
import os
import sys
import traceback
from collections.abc import Sequence
from importlib.metadata import PackageNotFoundError, version

from bridge import BenchrowError
from dashboard.commands import COMMANDS

DONE, FAILED, WRONG_USE = 0, 1, 2


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Args:
        arguments: The words after the program's name; None: those of this process.

    Returns:
        The exit code: 0 done, 1 the job failed, 2 wrong use.
    """
    parser = command_parser()
    options = parser.parse_args(arguments)
    if options.run is None:
        parser.print_help(sys.stderr)
        return WRONG_USE
    try:
        code: int = options.run(options)
        sys.stdout.flush()  # here, where a reader that is gone is told quietly
    except BenchrowError as error:
        return _told(str(error), verbose=options.verbose)
    except BrokenPipeError:
        # The reader took what it wanted (`benchrow read ... | head`). Python flushes once more at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except KeyboardInterrupt:
        return _told("Stopped before the end.", verbose=False)
    except Exception as error:
        what = " ".join(f"{type(error).__name__}: {error}".split())
        words = f"Benchrow met a fault of its own ({what}). Run it again with -v to see where."
        return _told(words, verbose=options.verbose)
    return code


def command_parser() -> argparse.ArgumentParser:
    """The parser of the whole command line."""
    parser = argparse.ArgumentParser(
        prog="benchrow",
        description="Reads the boards of a whole class at once and shows the room on one screen.",
        epilog="'benchrow COMMAND --help' tells more. Exit codes: 0 done, 1 the job failed, 2 wrong use.",
    )
    parser.add_argument("--version", action="version", version=f"benchrow {program_version()}")
    parser.add_argument(
        "-v", dest="verbose", action="store_true", help="tell more; show where an error arose"
    )
    parser.set_defaults(run=None)
    kinds = parser.add_subparsers(title="commands", metavar="COMMAND")
    for command in COMMANDS:
        one = kinds.add_parser(
            command.NAME, help=command.SUMMARY, description=(command.__doc__ or "").partition(": ")[2]
        )
        # The same word after the command; without SUPPRESS it would undo a -v before it.
        one.add_argument(
            "-v", dest="verbose", action="store_true", default=argparse.SUPPRESS, help="tell more"
        )
        command.add_arguments(one)
        one.set_defaults(run=command.run)
    return parser


def program_version() -> str:
    """The installed version; in a checkout that was never installed there is none."""
    try:
        return version("benchrow")
    except PackageNotFoundError:
        return "(not installed)"


def _told(words: str, *, verbose: bool) -> int:
    if verbose:
        traceback.print_exc()
    print(f"benchrow: {words}", file=sys.stderr)
    return FAILED
