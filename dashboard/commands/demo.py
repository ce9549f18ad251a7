"""`benchrow demo`: shows the whole tool on a kept session of eight benches; no board is needed."""

from __future__ import annotations

import argparse

from dashboard.commands.screens import add_screen_arguments, show

NAME = "demo"
SUMMARY = "show the whole tool on a kept session, no boards needed"
START_SECONDS = 472.0  # an alarm stands, one bench is away; demo/faults.py says more


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's own options."""
    add_screen_arguments(parser)


def run(options: argparse.Namespace) -> int:
    """Show the demo, over and over, until the user stops."""
    from dashboard.shipped import demo_folder

    recording = demo_folder() / "recording.benchrow"
    return show(options, mode="replay", recording=recording, from_seconds=START_SECONDS, loop=True)
