"""A board on a port: opened, read, lost, found again, let go for an upload. One thread a board."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from typing import Literal

from bridge.errors import ControlError, PortError, PortProblem
from bridge.inbox import Inbox, LinkState
from bridge.sources.opening import (
    MOST_BAUD,
    Port,
    check_url,
    has_rate,
    lost_error,
    open_port,
    read_portion,
    set_rate,
)
from bridge.sources.source import STOP_SECONDS, no_rate

FIRST_WAIT_SECONDS = 0.25
LONGEST_WAIT_SECONDS = 5.0

_STATES: dict[PortProblem, LinkState] = {
    PortProblem.IN_USE: "in use",
    PortProblem.NO_PERMISSION: "no permission",
    PortProblem.NOT_FOUND: "searching",
    PortProblem.BAD_URL: "searching",
    PortProblem.LOST: "lost",
}


def growing_waits() -> Iterator[float]:
    """Seconds between attempts to open: doubling, so that a forgotten board costs next to nothing."""
    seconds = FIRST_WAIT_SECONDS
    while True:
        yield seconds
        seconds = min(2 * seconds, LONGEST_WAIT_SECONDS)


class PortSource:
    """Reads a board through pyserial and survives all that happens to a plug.

    Every opening after the first tells `breaks`, and so does every loss: what came before and after it are
    halves of different lines.
    """

    def __init__(
        self,
        bench: int,
        url: str,
        *,
        inbox: Inbox,
        baud: int = 9600,
        pulse_dtr: bool = True,
        find: Callable[[], str | None] | None = None,
        waits: Callable[[], Iterable[float]] = growing_waits,
    ) -> None:
        """Nothing is opened before `start`.

        Args:
            bench: Whose bytes these are.
            url: The port, as pyserial opens it. With `find`, only what the board is called.
            inbox: Takes the bytes and the link's changes.
            baud: Bits per second.
            pulse_dtr: False keeps DTR and RTS down; see `open_port`.
            find: Gives the board's port of this moment, None while it is not plugged in. Called in this
                source's thread before each opening, for it may block for seconds.
            waits: Gives the seconds to wait after each failure in a row; begun anew when bytes have come.

        Raises:
            PortError: The URL can never be opened.
        """
        if find is None:
            check_url(url)
        self.bench = bench
        self.board = url
        self.url = url if find is None else ""  # the port of this moment
        self.baud = baud
        self._inbox = inbox
        self._pulse_dtr = pulse_dtr
        self._find = find
        self._waits = waits
        self._wait = iter(waits())
        self._wish: Literal["open", "released", "stopped"] = "open"
        self._wish_changed = threading.Event()
        self._lock = threading.Lock()  # holds `_port` in place while another thread cancels its read
        self._port: Port | None = None
        self._was_open = False
        self._told: tuple[LinkState, str, str] | None = None
        self._thread = threading.Thread(target=self._run, name=f"bench {bench}: {url}", daemon=True)

    def start(self) -> None:
        """Begin to search, open and read."""
        self._thread.start()

    def stop(self, wait_seconds: float = STOP_SECONDS) -> None:
        """End for good; a port that is just being opened may take longer than `wait_seconds`."""
        self._set_wish("stopped")
        if self._thread.ident is not None:
            self._thread.join(wait_seconds)

    def release(self) -> None:
        """Let go of the port, for an upload; 'released' is told when it is closed."""
        if self._wish == "open":
            self._set_wish("released")

    def take_back(self) -> None:
        """Open the port again."""
        if self._wish == "released":
            self._set_wish("open")

    def set_baud(self, baud: int) -> None:
        """Read on at another rate; a port that is not open just now is opened at that one.

        What had arrived is still handed over as read at the old rate; then 'open' is told with a break.

        Raises:
            ControlError: The port is reached over a network and has no rate, or the rate is none.
        """
        if not has_rate(self.url or self.board):
            raise no_rate(f"port {self.url}")
        if not 0 < baud <= MOST_BAUD:
            raise ControlError(
                f"no port reads at {baud} baud", remedy="Choose a usual rate, such as 9600 or 115200"
            )
        self.baud = baud
        self._wake()

    def _set_wish(self, wish: Literal["open", "released", "stopped"]) -> None:
        self._wish = wish
        self._wake()

    def _wake(self) -> None:
        """Cut a read or a wait of the thread short."""
        self._wish_changed.set()
        with self._lock:
            cancel = getattr(self._port, "cancel_read", None)
            if cancel is not None:
                with suppress(Exception):  # what can't be cancelled comes back by itself
                    cancel()

    def _run(self) -> None:
        while True:
            self._wish_changed.clear()  # before the wish is read: a change from here on cuts a wait short
            if self._wish == "stopped":
                break
            if self._wish == "released":
                self._tell("released", f"port {self.url or self.board} is let go", breaks=self._was_open)
                self._wish_changed.wait()
                self._wait = iter(self._waits())
            elif not self._open_and_read():
                self._wish_changed.wait(next(self._wait, LONGEST_WAIT_SECONDS))

    def _open_and_read(self) -> bool:
        """False when the port could not be opened or was lost; True when the wish changed."""
        try:
            self._search()
            if self._wish != "open":  # a search may take seconds; opening now would restart the board in vain
                return True
            port_baud = self.baud
            port = self._open(port_baud)
        except PortError as error:
            self._tell_failure(error)
            return False
        try:
            while self._wish == "open":
                baud = self.baud
                if baud != port_baud:
                    self._drain(port)
                    set_rate(port, self.url, baud=baud)
                    port_baud = baud
                self._tell_open(baud)
                self._read(port, baud)
        except PortError as error:  # it does not take the rate
            self._close(port)
            self._tell_failure(error, breaks=True)
            return False
        except (OSError, TypeError, ValueError):  # the latter: pyserial, when a handle went away under it
            self._close(port)
            self._tell_failure(lost_error(self.url), breaks=True)
            return False
        self._close(port)
        return True

    def _search(self) -> None:
        if self._find is None:
            return
        try:
            found = self._find()
        except (OSError, TypeError, ValueError):  # pyserial, when a board goes while it is being listed
            found = None
        if found is None:
            raise PortError(
                f"board {self.board} is not plugged in",
                reason=PortProblem.NOT_FOUND,
                remedy="Plug it in; the bench connects by itself. 'benchrow ports' shows what is there",
            )
        self.url = found

    def _open(self, baud: int) -> Port:
        port = open_port(self.url, baud=baud, pulse_dtr=self._pulse_dtr)
        with self._lock:
            self._port = port
        return port

    def _drain(self, port: Port) -> None:
        """Hand over what was read at the rate so far."""
        if port.in_waiting and (data := read_portion(port)):
            self._inbox.put(self.bench, data)

    def _read(self, port: Port, baud: int) -> None:
        put, bench = self._inbox.put, self.bench
        while self._wish == "open" and self.baud == baud:
            data = read_portion(port)
            if data:
                put(bench, data)
                break
        self._wait = iter(self._waits())  # it opened and it spoke: the next failure is a new one
        while self._wish == "open" and self.baud == baud:
            data = read_portion(port)
            if data:
                put(bench, data)

    def _close(self, port: Port) -> None:
        with self._lock:
            self._port = None
        with suppress(OSError):  # it is gone already
            port.close()

    def _tell_open(self, baud: int) -> None:
        words = f"port {self.url} is open at {baud} baud"
        self._tell("open", words, breaks=self._was_open, baud=baud)
        self._was_open = True

    def _tell_failure(self, error: PortError, *, breaks: bool = False) -> None:
        if error.reason is PortProblem.NOT_FOUND and self._was_open:
            error = lost_error(self.url)
        self._tell(_STATES[error.reason], error.happened, error.remedy, breaks=breaks)

    def _tell(
        self, state: LinkState, words: str, remedy: str = "", *, breaks: bool = False, baud: int | None = None
    ) -> None:
        told = (state, words, remedy)
        if told == self._told and state != "open":
            return  # each failed attempt would tell the same
        self._told = told
        self._inbox.tell(
            self.bench,
            state,
            words=words,
            remedy=remedy,
            breaks=breaks,
            port=self.url,
            baud=baud or self.baud,
        )
