"""A pipe inside this program: a simulated board's port where there are no pseudo-terminals."""

from __future__ import annotations

import threading

from bridge.inbox import Inbox, LinkState
from bridge.sources.source import STOP_SECONDS


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
        self._is_wanted = False
        self._was_open = False

    def write(self, data: bytes) -> int:
        """What the board prints; gives the number of bytes. Waits while the inbox is full."""
        if self._is_open and data:
            self._inbox.put(self.bench, data)
        return len(data)

    def start(self) -> None:
        """Let the bytes through."""
        self._set(wanted=True)

    def stop(self, wait_seconds: float = STOP_SECONDS) -> None:  # noqa: ARG002 - as every source
        """End for good; nothing to wait for."""
        with self._lock:
            self._is_open = self._is_wanted = False

    def release(self) -> None:
        """Let go, as of a port for an upload."""
        self._set(wanted=False)

    def take_back(self) -> None:
        """Let the bytes through again."""
        self._set(wanted=True)

    def unplug(self) -> None:
        """The simulated board loses its cable."""
        self._set(plugged_in=False)

    def plug_in(self) -> None:
        """The simulated board gets its cable back."""
        self._set(plugged_in=True)

    def _set(self, *, wanted: bool | None = None, plugged_in: bool | None = None) -> None:
        with self._lock:
            before = (self._is_wanted, self._is_plugged_in)
            self._is_wanted = self._is_wanted if wanted is None else wanted
            self._is_plugged_in = self._is_plugged_in if plugged_in is None else plugged_in
            if (self._is_wanted, self._is_plugged_in) == before:
                return
            self._is_open = self._is_wanted and self._is_plugged_in
            if self._is_open:
                self._tell("open", f"{self._name} is open")
                self._was_open = True
            elif not self._is_wanted:
                self._tell("released", f"{self._name} is let go")
            else:
                self._tell("lost", f"{self._name} was unplugged", "Plug the board in again")

    def _tell(self, state: LinkState, words: str, remedy: str = "") -> None:
        self._inbox.tell(
            self.bench, state, words=words, remedy=remedy, breaks=self._was_open, port=self._name
        )
