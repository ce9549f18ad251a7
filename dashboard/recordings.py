"""Which recordings may be compared: the one that is replayed or written now, and those in the data folder."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import urlsplit

import flask

from bridge import BenchrowError, Client

CURRENT = "current"
"""Stands for the recording of this session; others go by their file's name."""
SUFFIX = ".benchrow"
MOST_LISTED = 200  # the newest: a school year and more
_LOOPBACK = {"127.0.0.1", "::1", "::ffff:127.0.0.1"}
_PATIENCE_SECONDS = 2.0  # for the bridge, which is on this machine
_KNOWN_SECONDS = 2.0  # the bridge is not asked again before: its greeting holds the whole history


@dataclass(frozen=True, slots=True, kw_only=True)
class Recordings:
    """What the dashboard knows of recordings.

    Attributes:
        data_dir: Where they are kept; None: nowhere to look.
        replayed: The one that is replayed; None in a live session.
        lesson: Takes the place of the replayed recording's own.
        live_name: Asks for the file that a live session writes now; None: none is written.
    """

    data_dir: Path | None = None
    replayed: Path | None = None
    lesson: Path | None = None
    live_name: Callable[[], str | None] = lambda: None

    @property
    def is_live(self) -> bool:
        """Whether the session's recording still grows."""
        return self.replayed is None

    def current(self) -> Path | None:
        """This session's recording."""
        if self.replayed is not None:
            return self.replayed
        name = self.live_name()
        return None if name is None or self.data_dir is None else self.data_dir / Path(name).name

    def listed(self) -> tuple[Path, ...]:
        """Those in the data folder, the newest first."""
        if self.data_dir is None or not self.data_dir.is_dir():
            return ()
        found = [(path.stat().st_mtime, path) for path in self.data_dir.glob(f"*{SUFFIX}")]
        return tuple(path for _, path in sorted(found, reverse=True)[:MOST_LISTED])

    def found(self, name: str, *, from_here: bool) -> Path | None:
        """The file of a name; None for one that is not there, or that may not be looked at.

        Args:
            name: `CURRENT` or a file's name.
            from_here: Whether a browser on this machine asks. Others see this session alone: the folder
                holds what other classes did.
        """
        if name == CURRENT:
            return self.current()
        return next((path for path in self.listed() if path.name == name), None) if from_here else None


def is_from_here() -> bool:
    """Whether a browser on this machine asks; only it sees what other classes recorded."""
    return flask.has_request_context() and flask.request.remote_addr in _LOOPBACK


def described(path: Path) -> str:
    """A recording for a list: its name and when it was last written."""
    at = datetime.fromtimestamp(path.stat().st_mtime, UTC).astimezone()
    return f"{path.stem} ({at:%Y-%m-%d %H:%M})"


def asks_the_bridge(url: str) -> Callable[[], str | None]:
    """What a live session writes now, as the bridge says it; None also when it can't be asked."""
    lock = threading.Lock()
    said: list[tuple[float, str | None]] = []

    def ask() -> str | None:
        with lock:
            if not said or time.monotonic() > said[-1][0] + _KNOWN_SECONDS:
                said[:] = [(time.monotonic(), _asked(url))]
            return said[-1][1]

    return ask


def _asked(url: str) -> str | None:
    try:
        with Client(_reachable(url), open_seconds=_PATIENCE_SECONDS, patience_seconds=0.0) as client:
            session = client.hello.get("session") or {}
    except BenchrowError:
        return None
    name = session.get("recording")
    return name if isinstance(name, str) else None


def _reachable(url: str) -> str:
    """All of this machine's addresses are served on, but one must be named to reach it."""
    parts = urlsplit(url)
    name = {"0.0.0.0": "127.0.0.1", "::": "[::1]"}.get(parts.hostname or "")  # noqa: S104
    return url if name is None else parts._replace(netloc=f"{name}:{parts.port}").geturl()


def recordings_offered(recordings: Recordings) -> list[dict[str, str]]:
    """For a dropdown: the session of now first; others only on the machine that keeps them."""
    current = recordings.current()
    others = [path for path in recordings.listed() if path != current] if is_from_here() else []
    offered = [{"label": described(path), "value": path.name} for path in others]
    if current is not None:
        now = (
            "this session, as far as it is recorded"
            if recordings.is_live
            else "the recording that is replayed"
        )
        offered.insert(0, {"label": now, "value": CURRENT})
    return offered
