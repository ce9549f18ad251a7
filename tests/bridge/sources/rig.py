"""Real pseudo-terminals to read from, and an inbox that can be waited for."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable, Iterator
from itertools import repeat

from bridge.inbox import Arrived, Inbox, LinkChanged, LinkState

DEADLINE_SECONDS = 20.0


class Terminal:
    """A board on a pseudo-terminal: what it prints comes out at `port`."""

    def __init__(self) -> None:
        import tty  # not on Windows

        self.board_end, port_end = os.openpty()
        tty.setraw(port_end)
        self.port = os.ttyname(port_end)
        os.close(port_end)

    def prints(self, data: bytes) -> None:
        """Wait until all of it is on the wire."""
        while data:
            data = data[os.write(self.board_end, data) :]

    def unplug(self) -> None:
        """Pull the plug."""
        if self.board_end >= 0:
            os.close(self.board_end)
            self.board_end = -1


class Takings:
    """An inbox, and all that was ever taken from it."""

    def __init__(self, *, max_bytes_waiting: int = 1 << 26) -> None:
        self._something = threading.Event()
        self.inbox = Inbox(time.monotonic_ns, self._something.set, max_bytes_waiting=max_bytes_waiting)
        self.items: list[Arrived | LinkChanged] = []

    def take(self) -> None:
        self.items += self.inbox.take()[1]

    def until(self, is_so: Callable[[], bool]) -> None:
        """Take until it is so; fails after the deadline."""
        deadline = time.monotonic() + DEADLINE_SECONDS
        self.take()
        while not is_so():
            left = deadline - time.monotonic()
            assert left > 0, f"it did not happen; taken so far: {self.items[-20:]}"
            self._something.wait(left)
            self._something.clear()
            self.take()

    def data(self, bench: int = 1) -> bytes:
        return b"".join(one.data for one in self.items if isinstance(one, Arrived) and one.bench == bench)

    def links(self, bench: int = 1) -> list[LinkChanged]:
        return [one for one in self.items if isinstance(one, LinkChanged) and one.bench == bench]

    def states(self, bench: int = 1) -> list[LinkState]:
        return [one.state for one in self.links(bench)]

    def until_states(self, *states: LinkState, bench: int = 1) -> LinkChanged:
        """Wait for exactly these states, in this order; gives the last one."""
        self.until(lambda: len(self.states(bench)) >= len(states))
        assert self.states(bench) == list(states)
        return self.links(bench)[-1]

    def until_data(self, data: bytes, bench: int = 1) -> None:
        """Wait for exactly these bytes, counted from the start."""
        self.until(lambda: len(self.data(bench)) >= len(data))
        assert self.data(bench) == data


def short_waits() -> Iterator[float]:
    """For tests that wait for an attempt which succeeds."""
    return repeat(0.01)
