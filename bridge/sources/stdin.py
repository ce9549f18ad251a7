"""Standard input, or any other stream of bytes, as one bench's board."""

from __future__ import annotations

import threading
from typing import Protocol

from bridge.errors import ControlError
from bridge.inbox import Inbox
from bridge.sources.source import STOP_SECONDS, no_rate

MAX_READ_BYTES = 65536


class ByteStream(Protocol):
    """A stream whose read gives what is there, and b"" at its end."""

    def read(self, size: int = -1, /) -> bytes | None:
        """At most `size` bytes; waits for the first."""


class StdinSource:
    """Reads a stream until its end, then tells 'ended'."""

    def __init__(self, bench: int, stream: ByteStream, *, inbox: Inbox, name: str = "standard input") -> None:
        """Nothing is read before `start`.

        Args:
            bench: Whose bytes these are.
            stream: Unbuffered for standard input (`sys.stdin.buffer.raw`): a thread that waits inside the
                buffered one holds its lock, and the interpreter can't end.
            inbox: Takes the bytes and the link's changes.
            name: What the stream is called when something is told of it.
        """
        self.bench = bench
        self._stream = stream
        self._inbox = inbox
        self._name = name
        self._stopped = False
        self._thread = threading.Thread(target=self._run, name=f"bench {bench}: {name}", daemon=True)

    def start(self) -> None:
        """Begin to read."""
        self._thread.start()

    def stop(self, wait_seconds: float = STOP_SECONDS) -> None:  # noqa: ARG002 - as every source
        """End for good; a read that waits for bytes can't be cut short, so nobody waits for it."""
        self._stopped = True

    def release(self) -> None:
        """Refused: there is no port to let go."""
        raise _no_port(self._name)

    def take_back(self) -> None:
        """Refused: there is no port to take back."""
        raise _no_port(self._name)

    def set_baud(self, baud: int) -> None:  # noqa: ARG002 - as every source
        """Refused: there is no rate."""
        raise no_rate(self._name)

    def _run(self) -> None:
        self._inbox.tell(self.bench, "open", words=f"reading {self._name}", port=self._name)
        why = "is at its end"
        try:
            while not self._stopped and (data := self._stream.read(MAX_READ_BYTES)):
                self._inbox.put(self.bench, data)
        except (OSError, ValueError) as error:  # ValueError: it was closed
            why = f"can't be read any more ({error})"
        self._inbox.tell(self.bench, "ended", words=f"{self._name} {why}", breaks=True, port=self._name)


def _no_port(name: str) -> ControlError:
    return ControlError(f"{name} can't be let go", remedy="Only a bench on a port can let go of its board")
