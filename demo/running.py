"""Runs the simulated boards: each prints on a port of its own, in session time.

Where the system has pseudo-terminals, a board's port is one, opened through pyserial like any port; elsewhere
(Windows) it is a pipe inside the program. A board whose cable is pulled loses its port, and gets a new one,
perhaps under another name, when it is put back.
"""

from __future__ import annotations

import heapq
import os
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import suppress
from typing import Protocol

from bridge.inbox import Inbox
from bridge.sources import PipeSource, PortSource, Source
from bridge.sources.port import growing_waits

from .boards import BOARDS, Board, Step, steps_of


class Plug(Protocol):
    """A board's end of a port."""

    source: Source  # the computer's end

    def plug_in(self) -> None:
        """Put the cable in."""

    def unplug(self) -> None:
        """Pull it."""

    def write(self, data: bytes) -> int:
        """What the board prints; gives how many bytes the port took."""


class TerminalPlug:
    """A pseudo-terminal. Both ends are held open here, so that the port is there before it is read."""

    def __init__(self, board: Board, inbox: Inbox, *, speed: float) -> None:
        self._ends: tuple[int, int] | None = None
        self._name: str | None = None
        self.plug_in()
        self.source: Source = PortSource(
            board.bench,
            self._name or "",
            inbox=inbox,
            baud=board.baud,
            pulse_dtr=board.starts_on_opening,
            find=lambda: self._name,
            # Scaled: in session time a board is found again as soon as it would be in class.
            waits=lambda: (seconds / speed for seconds in growing_waits()),
        )

    def plug_in(self) -> None:
        """A new pseudo-terminal."""
        if sys.platform == "win32":  # pragma: no cover
            raise NotImplementedError("Windows has no pseudo-terminals")
        import tty

        board_end, port_end = os.openpty()
        tty.setraw(port_end)
        os.set_blocking(board_end, False)
        self._ends = board_end, port_end
        self._name = os.ttyname(port_end)

    def unplug(self) -> None:
        """Close it: whoever reads it finds it gone."""
        self._name = None
        for end in self._ends or ():
            os.close(end)
        self._ends = None

    def write(self, data: bytes) -> int:
        """As on a wire: a board waits for nobody, and what finds no room is lost."""
        with suppress(BlockingIOError):
            return os.write(self._ends[0], data) if self._ends else 0
        return 0


class PipePlug:
    """A pipe inside this program."""

    def __init__(self, board: Board, inbox: Inbox) -> None:
        self._pipe = PipeSource(board.bench, inbox=inbox, name=f"the board of bench {board.bench}")
        self.source: Source = self._pipe
        self.plug_in, self.unplug, self.write = self._pipe.plug_in, self._pipe.unplug, self._pipe.write


def plug_for(board: Board, inbox: Inbox, *, speed: float) -> Plug:
    """A pseudo-terminal where there are any, else a pipe."""
    if hasattr(os, "openpty"):
        return TerminalPlug(board, inbox, speed=speed)
    return PipePlug(board, inbox)


class RunningBoards:
    """All boards, printing in a thread of their own.

    Args:
        inbox: Where the boards' sources hand over what they read.
        clock_ns: The session's time; a step is done when it is due on this clock.
        speed: How much faster than a steady clock `clock_ns` runs.
        boards: Which boards.
        steps: What each of them does.
        plug: How each of them is connected.
    """

    def __init__(
        self,
        inbox: Inbox,
        clock_ns: Callable[[], int],
        *,
        speed: float = 1.0,
        boards: tuple[Board, ...] = BOARDS,
        steps: Callable[[Board], Iterator[Step]] = steps_of,
        plug: Callable[[Board, Inbox], Plug] | None = None,
    ) -> None:
        self._clock_ns, self._speed = clock_ns, speed
        self._boards, self._steps = boards, steps
        make = plug or (lambda board, box: plug_for(board, box, speed=speed))
        self._plugs = {board.bench: make(board, inbox) for board in boards}
        self._stop_asked = threading.Event()
        self._thread = threading.Thread(target=self._run, name="simulated boards", daemon=True)
        self.n_lost_bytes = 0  # printed while no one had the port open, or faster than it was read
        self.latest_seconds = 0.0  # the most that a step came after its time, in session time

    @property
    def sources(self) -> tuple[Source, ...]:
        """The computer's ends; not started."""
        return tuple(plug.source for plug in self._plugs.values())

    @property
    def is_running(self) -> bool:
        """Whether any board has something left to print."""
        return self._thread.is_alive()

    def start(self) -> None:
        """Let them print."""
        self._thread.start()

    def stop(self) -> None:
        """End them and close their ports."""
        self._stop_asked.set()
        if self._thread.ident is not None:
            self._thread.join()
        for plug in self._plugs.values():
            plug.unplug()

    def _run(self) -> None:
        for due_seconds, bench, step in self._all_steps():
            if not self._is_due(due_seconds):
                return
            plug = self._plugs[bench]
            if step.link == "unplug":
                plug.unplug()
            elif step.link == "plug":
                plug.plug_in()
            else:
                self.n_lost_bytes += len(step.data) - plug.write(step.data)

    def _all_steps(self) -> Iterator[tuple[float, int, Step]]:
        def of(board: Board) -> Iterator[tuple[float, int, Step]]:
            for step in self._steps(board):
                yield step.due_seconds, board.bench, step

        return heapq.merge(*(of(board) for board in self._boards))

    def _is_due(self, due_seconds: float) -> bool:
        """Wait for that session time; False when it is to end before."""
        while (ahead := due_seconds - self._clock_ns() / 1e9) > 0:
            if self._stop_asked.wait(ahead / self._speed):
                return False
        self.latest_seconds = max(self.latest_seconds, -ahead)
        return not self._stop_asked.is_set()
