"""Where bytes come from: a port, standard input, a pipe inside this program."""

from __future__ import annotations

from bridge.sources.port import PortSource
from bridge.sources.source import Source, stop_all

__all__ = ["PortSource", "Source", "stop_all"]
