"""Where bytes come from: a port, standard input, a pipe inside this program."""

from __future__ import annotations

from bridge.sources.choice import STANDARD_INPUT, BoardChoice, parse_board, source_for
from bridge.sources.pipe import PipeSource
from bridge.sources.port import PortSource
from bridge.sources.source import Source, stop_all
from bridge.sources.stdin import StdinSource

__all__ = [
    "STANDARD_INPUT",
    "BoardChoice",
    "PipeSource",
    "PortSource",
    "Source",
    "StdinSource",
    "parse_board",
    "source_for",
    "stop_all",
]
