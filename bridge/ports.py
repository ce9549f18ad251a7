"""The ports of this computer: what is on them, how a board is known again, who has it open."""

from __future__ import annotations

import sys
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import Protocol

from serial.tools import list_ports

from bridge.core.seating import LOCATION, BoardSeen

__all__ = ["BoardSeen", "Listing", "boards_from", "list_boards", "programs_with_open"]

KEEP_SECONDS = 1.0


class PortInfo(Protocol):
    """What pyserial tells about one port."""

    device: str
    description: str
    serial_number: str | None
    location: str | None


def list_boards(*, with_programs: bool = False) -> tuple[BoardSeen, ...]:
    """All ports of this moment. May block for seconds (Bluetooth, hubs): call it in a thread of its own.

    Args:
        with_programs: Also look who has each port open, where that can be known.
    """
    try:
        boards = boards_from(list_ports.comports())
    except (OSError, TypeError, ValueError):  # a board went while it was being listed
        boards = boards_from(list_ports.comports())
    if not with_programs:
        return boards
    programs = programs_with_open([board.port for board in boards])
    return tuple(replace(board, open_in=programs.get(board.port, "")) for board in boards)


def boards_from(ports: Iterable[PortInfo]) -> tuple[BoardSeen, ...]:
    """Give each port the key by which its board is known again.

    A serial number that two ports of one listing share is nobody's own: some makers give all boards the same.
    """
    ports = list(ports)
    numbers = Counter(_number(port) for port in ports)
    return tuple(_seen(port, own=numbers[_number(port)] == 1) for port in ports)


def programs_with_open(ports: Sequence[str]) -> dict[str, str]:
    """Who has each of these ports open, as 'name (pid 12)', for those of which it is known.

    Best effort, on Linux only: another user's programs show their open files to the administrator alone.
    """
    found: dict[str, str] = {}
    if not sys.platform.startswith("linux"):
        return found
    real = {str(Path(port).resolve()): port for port in ports}
    for process in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):  # it ended, or is not ours to look at
            for handle in (process / "fd").iterdir():
                with suppress(OSError):
                    port = real.get(str(handle.readlink()))
                    if port is not None:
                        found[port] = f"{(process / 'comm').read_text().strip()} (pid {process.name})"
    return found


class Listing:
    """A listing for many threads: when a hub is pulled out, two dozen boards are searched for at once."""

    def __init__(
        self,
        look: Callable[[], Sequence[BoardSeen]] = list_boards,
        *,
        clock_seconds: Callable[[], float] = time.monotonic,
        keep_seconds: float = KEEP_SECONDS,
    ) -> None:
        """Look only when asked, and not again within `keep_seconds`."""
        self._look = look
        self._clock_seconds = clock_seconds
        self._keep_seconds = keep_seconds
        self._lock = threading.Lock()
        self._boards: tuple[BoardSeen, ...] = ()
        self._looked_at_seconds: float | None = None

    def boards(self) -> tuple[BoardSeen, ...]:
        """The boards of now or just before; may block for seconds."""
        with self._lock:
            now = self._clock_seconds()
            looked_at = self._looked_at_seconds
            if looked_at is None or now - looked_at >= self._keep_seconds:
                self._boards = tuple(self._look())
                self._looked_at_seconds = self._clock_seconds()
            return self._boards

    def port_of(self, name: str, *, location: str = "") -> str | None:
        """Where the board of that key is now; None when it is away, or can't be told from another one.

        Args:
            name: Serial number or 'location:...'.
            location: Where it was seen before; decides between boards that tell the same serial number.
        """
        called = [board for board in self.boards() if board.is_called(name)]
        if len(called) > 1:
            called = [board for board in called if location and board.location == location]
        return called[0].port if len(called) == 1 else None


def _number(port: PortInfo) -> str:
    number = (port.serial_number or "").strip()
    # Windows makes numbers with '&' from the socket; a row of one character is what an empty store gives.
    return "" if "&" in number or len(set(number)) < 2 else number


def _seen(port: PortInfo, *, own: bool) -> BoardSeen:
    number, location = _number(port), (port.location or "").strip()
    key = number if number and own else LOCATION + location if location else port.device
    words = "" if port.description in (None, "n/a") else port.description
    return BoardSeen(port=port.device, key=key, serial_number=number, location=location, words=words)
