"""What every source of bytes offers to the session."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol

from bridge.errors import ControlError

STOP_SECONDS = 2.0


class Source(Protocol):
    """Reads one bench's bytes and hands them, and every change of the link, to the inbox."""

    @property
    def bench(self) -> int:
        """The bench whose bytes these are."""

    def start(self) -> None:
        """Begin to read; returns at once."""

    def stop(self, wait_seconds: float = STOP_SECONDS) -> None:
        """End for good. Waits at most that long for the reading to end; 0 only asks for it."""

    def release(self) -> None:
        """Let go of the port, for an upload; returns at once, 'released' is told when the port is closed.

        Raises:
            ControlError: This source has no port to let go.
        """

    def take_back(self) -> None:
        """Open the port again; returns at once, 'open' is told when it is open.

        Raises:
            ControlError: This source has no port to let go.
        """

    def set_baud(self, baud: int) -> None:
        """Read on at another rate; returns at once, 'open' with a break is told when it is so.

        Args:
            baud: Bits per second.

        Raises:
            ControlError: This source has no rate, or no port can have that one.
        """


def no_rate(name: str) -> ControlError:
    """What to say where a rate means nothing."""
    return ControlError(
        f"{name} has no baud rate", remedy="Only a bench on a serial port can be read at another rate"
    )


def stop_all(sources: Iterable[Source], wait_seconds: float = STOP_SECONDS) -> None:
    """Stop many sources in the time of the slowest."""
    sources = list(sources)
    for source in sources:
        source.stop(0)
    for source in sources:
        source.stop(wait_seconds)
