"""A pipe inside this program: a simulated board's port where there are no pseudo-terminals."""

from __future__ import annotations

import threading
from typing import Literal

from bridge.inbox import Inbox, LinkState
from bridge.sources.source import STOP_SECONDS, no_rate


class PipeSource:
    """What is written into it arrives at the bench, in the writer's thread.

    As on a wire: what a board prints while no one has its port open is gone.
    """

    def __init__(self, bench: int, *, inbox: Inbox, name: str = "a pipe") -> None:
        """Nothing arrives before `start`."""
        self.bench = bench
        self._inbox = inbox
        self._name = name
        self._lock = threading.Lock()  # never held while putting, which may wait for the thread that releases
        self._is_open = False
        self._is_plugged_in = True
        self._wish: Literal["nothing", "open", "released"] = "nothing"
        self._was_open = False
        self._told: LinkState | None = None

    def write(self, data: bytes) -> int:
        """What the board prints; gives the number of bytes. Waits while the inbox is full."""
        if self._is_open and data:
            self._inbox.put(self.bench, data)
        return len(data)

    def start(self) -> None:
        """Let the bytes through."""
        with self._lock:
            self._wish = "open"
            self._follow()

    def stop(self, wait_seconds: float = STOP_SECONDS) -> None:  # noqa: ARG002 - as every source
        """End for good; nothing to wait for."""
        with self._lock:
            self._wish = "nothing"
            self._follow()

    def release(self) -> None:
        """Let go, as of a port for an upload."""
        with self._lock:
            self._wish = "released" if self._wish == "open" else self._wish
            self._follow()

    def take_back(self) -> None:
        """Let the bytes through again."""
        with self._lock:
            self._wish = "open" if self._wish == "released" else self._wish
            self._follow()

    def set_baud(self, baud: int) -> None:  # noqa: ARG002 - as every source
        """Refused: there is no rate."""
        raise no_rate(self._name)

    def unplug(self) -> None:
        """The simulated board loses its cable."""
        with self._lock:
            self._is_plugged_in = False
            self._follow()

    def plug_in(self) -> None:
        """The simulated board gets its cable back."""
        with self._lock:
            self._is_plugged_in = True
            self._follow()

    def _follow(self) -> None:
        """Do as is wished. A break is told before the bytes behind it, and after those before it."""
        if self._wish == "open" and self._is_plugged_in:
            self._tell("open", f"{self._name} is open")
            self._is_open = self._was_open = True
            return
        self._is_open = False
        if self._wish == "released":
            self._tell("released", f"{self._name} is let go")
        elif self._wish == "open":
            self._tell("lost", f"{self._name} was unplugged", "Plug the board in again")

    def _tell(self, state: LinkState, words: str, remedy: str = "") -> None:
        if state == self._told:
            return
        self._told = state
        self._inbox.tell(
            self.bench, state, words=words, remedy=remedy, breaks=self._was_open, port=self._name
        )
