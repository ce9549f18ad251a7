"""What a live session and a replay have in common towards the server and the process."""

from __future__ import annotations

import contextlib
import socket
import time
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from importlib.metadata import PackageNotFoundError, version
from typing import Protocol

from bridge.controls import Control
from bridge.errors import ControlError, LessonError
from bridge.hub import Hub
from bridge.own_addresses import own_addresses

OPEN_LESSON_TEXT = 'title = "Open lesson"\n'


class Session(Protocol):
    """One session, driven on the loop that runs it."""

    hub: Hub

    @property
    def recording(self) -> str | None:
        """Path of the file that is written or replayed."""

    def now_ns(self) -> int:
        """The session's time."""

    async def start(self) -> None:
        """Get ready: sources opened, the first state in the hub."""

    async def run(self) -> None:
        """Work until the source ends or the task is cancelled."""

    async def handle(self, control: Control) -> str:
        """Do what a control asks and tell it in words.

        Raises:
            ControlError: It can't be done.
        """

    async def close(self) -> None:
        """Let go of everything; what was read is kept."""


class SessionClock:
    """Session time: ns of a monotonic clock since the session's start, anchored once to UTC."""

    def __init__(self, monotonic_ns: Callable[[], int] = time.monotonic_ns) -> None:
        self._monotonic_ns = monotonic_ns
        self._start_ns = monotonic_ns()
        self.start_utc_ns = time.time_ns()

    def now_ns(self) -> int:
        """The session's time; from any thread."""
        return self._monotonic_ns() - self._start_ns

    def utc_now_ns(self) -> int:
        """The wall clock, which may jump."""
        return time.time_ns()

    def today(self) -> str:
        """The date where the class sits, in ISO 8601."""
        return datetime.fromtimestamp(self.utc_now_ns() / 1e9, UTC).astimezone().date().isoformat()

    @property
    def start_utc(self) -> datetime:
        """When the session began."""
        return datetime.fromtimestamp(self.start_utc_ns / 1e9, UTC)


def program() -> str:
    """Benchrow's version."""
    try:
        return version("benchrow")
    except PackageNotFoundError:  # run from a checkout that was never installed
        return "unknown"


def page_origins(host: str, port: int) -> Sequence[str]:
    """The addresses under which this machine's pages may be opened: only they may connect from a browser."""
    names = {"127.0.0.1", "localhost", "[::1]"}
    if host in ("0.0.0.0", "::", ""):  # noqa: S104  # compared, not served on
        name = socket.gethostname()
        names |= {name, f"{name}.local", socket.getfqdn(), *own_addresses()} | _named_addresses()
    else:
        names.add(f"[{host}]" if ":" in host else host)
    return sorted(f"http://{name.lower()}:{port}" for name in names if name)


def refused(control: str, why: str) -> ControlError:
    """A control that this kind of session can't do."""
    return ControlError(f"{control} is not possible here", remedy=why)


def lesson_refused(error: LessonError) -> ControlError:
    """A revision that would make the lesson faulty; or the file itself can't be read."""
    if not error.faults:
        return ControlError(error.happened, remedy=error.remedy)
    fault = error.faults[0]
    return ControlError(
        f"the lesson would be wrong: {fault.wrong}", remedy=f"Write for example {fault.write}"
    )


def _named_addresses() -> set[str]:
    """The addresses that this machine's own name stands for."""
    with contextlib.suppress(OSError):  # a machine without a name for itself
        infos = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
        return {str(info[4][0]) for info in infos}
    return set()
