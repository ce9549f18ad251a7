from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest

from bridge.sources import PortSource, stop_all
from tests.bridge.sources.rig import DEADLINE_SECONDS, Takings, Terminal, short_waits


@pytest.fixture
def takings() -> Takings:
    return Takings()


@pytest.fixture
def plug() -> Iterator[Callable[[], Terminal]]:
    """Plugs one more board in."""
    terminals: list[Terminal] = []

    def plug() -> Terminal:
        terminals.append(Terminal())
        return terminals[-1]

    yield plug
    for terminal in terminals:
        terminal.unplug()


@pytest.fixture
def reads(takings: Takings) -> Iterator[Callable[..., PortSource]]:
    """Starts to read a port into `takings`, as bench 1 if not told otherwise."""
    sources: list[PortSource] = []

    def reads(url: str, **options: object) -> PortSource:
        options = {"bench": 1, "waits": short_waits, "inbox": takings.inbox} | options
        sources.append(PortSource(url=url, **options))  # type: ignore[arg-type]
        sources[-1].start()
        return sources[-1]

    yield reads
    takings.inbox.close()
    stop_all(sources, DEADLINE_SECONDS)
