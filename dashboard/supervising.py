"""Runs the bridge and the dashboard's page server as two child processes, and ends both in good order.

The bridge is the one that matters: when it ends, all ends. A page server that crashed is started again and
delays nothing. Each child's standard input is its life line: a child ends when this process does, for
whatever reason.
"""

from __future__ import annotations

import json
import os
import queue
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any, Literal, NamedTuple

from bridge import BenchrowError
from dashboard.ports_in_use import must_be_free

CLOSING_SECONDS = 15.0  # the bridge merges its recording while it closes
FIRST_WAIT_SECONDS, LONGEST_WAIT_SECONDS = 0.5, 10.0  # before the page server is started again
SOUND_AFTER_SECONDS = 30.0  # a page server that ran for so long starts with the first wait again
TICK_SECONDS = 0.5  # Windows tells of a signal only between two waits


@dataclass(frozen=True, slots=True, kw_only=True)
class BridgeSettings:
    """What the bridge is told in its first line of standard input, as one JSON object of these names."""

    mode: Literal["live", "replay"]
    lesson: Path | None = None
    boards: tuple[str, ...] = ()  # as on the command line: "3=/dev/ttyACM0@9600"
    recording: Path | None = None  # replay: the source
    speed: float = 1.0
    from_seconds: float = 0.0
    loop: bool = False
    playing: bool = True
    record: bool = True
    data_dir: Path
    host: str = "127.0.0.1"
    bridge_port: int = 8765
    dashboard_port: int = 8050
    passcode: str

    def as_json(self) -> str:
        """One line of JSON."""
        return json.dumps(asdict(self), default=str)


class Happened(NamedTuple):
    """Something that the supervising loop acts upon."""

    kind: Literal["ready", "error", "bridge ended", "page server ended", "stop"]
    told: dict[str, Any] = {}  # noqa: RUF012  # never changed
    code: int = 0


Happenings = queue.SimpleQueue[Happened]


@dataclass(slots=True)
class Child:
    """One child process; its standard error is passed on when verbose, else its last line is kept."""

    process: subprocess.Popen[str]
    verbose: bool
    last_words: str = ""
    threads: list[threading.Thread] = field(default_factory=list)

    def follow(self, job: Callable[[], None]) -> None:
        """Run a job beside, until the child's end."""
        thread = threading.Thread(target=job, daemon=True)
        self.threads.append(thread)
        thread.start()

    def keep_words(self) -> None:
        """Read standard error to its end."""
        for line in self.process.stderr or ():
            self.last_words = line.strip() or self.last_words
            if self.verbose:
                sys.stderr.write(line)

    def let_go(self) -> None:
        """Close the life line: the child closes in good order."""
        try:
            if self.process.stdin:
                self.process.stdin.close()
        except OSError:
            pass  # it ended already

    def end(self, *, patience_seconds: float) -> None:
        """Wait for its end; a child that does not come to it is ended."""
        try:
            self.process.wait(patience_seconds)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        for thread in self.threads:
            thread.join(1.0)


def supervise(
    settings: BridgeSettings,
    *,
    verbose: bool,
    on_ready: Callable[[dict[str, Any]], None],
) -> int:
    """Run both until the bridge ends or the user stops.

    Args:
        settings: For the bridge; host and ports also for the page server.
        verbose: Pass on what the children write to standard error.
        on_ready: Called once with what the bridge told when it was ready.

    Returns:
        The exit code 0: stopped by the user, or the source came to its end.

    Raises:
        BenchrowError: A port is taken, or the bridge failed; in its own words.
    """
    must_be_free(settings.host, settings.dashboard_port, option="--port")
    must_be_free(settings.host, settings.bridge_port, option="--bridge-port")
    happenings: Happenings = queue.SimpleQueue()
    with _stopping_put_into(happenings), ExitStack() as closing:
        # Both at once: each needs about a second to import what it needs.
        bridge = _started_bridge(settings, happenings, verbose=verbose)
        closing.callback(bridge.end, patience_seconds=CLOSING_SECONDS)
        pages = PageServer(settings, happenings, verbose=verbose)
        closing.callback(pages.close)
        closing.callback(bridge.let_go)  # callbacks run backwards: the bridge closes while the pages end
        pages.start()
        return _watch(bridge, pages, happenings, on_ready)


def _watch(
    bridge: Child, pages: PageServer, happenings: Happenings, on_ready: Callable[[dict[str, Any]], None]
) -> int:
    for happened in _taken(happenings):
        match happened.kind:
            case "ready":
                on_ready(happened.told)
            case "error":
                raise ToldByBridgeError(str(happened.told.get("error")))
            case "bridge ended":
                if happened.code == 0:
                    return 0
                last = f": {bridge.last_words}" if bridge.last_words else ""
                raise BenchrowError(
                    f"the bridge ended by itself (exit code {happened.code}{last})",
                    remedy="What it recorded is kept. Start it again, with -v to see more",
                )
            case "page server ended":
                pages.start_later(happened.code)
            case "stop":
                return 0
    raise AssertionError("happenings never end")


class ToldByBridgeError(BenchrowError):
    """What the bridge said for a person, passed on word for word."""

    def __init__(self, words: str) -> None:
        super().__init__(words, remedy="")
        self._words = words

    def __str__(self) -> str:
        return self._words


class PageServer:
    """The dashboard's process, started again with growing waits when it crashes."""

    def __init__(self, settings: BridgeSettings, happenings: Happenings, *, verbose: bool) -> None:
        self._settings, self._happenings, self._verbose = settings, happenings, verbose
        self._child: Child | None = None
        self._timer: threading.Timer | None = None
        self._closed = False
        self._wait_seconds = FIRST_WAIT_SECONDS
        self._began_seconds = 0.0

    def start(self) -> None:
        """Start the process."""
        if self._closed:
            return
        self._began_seconds = time.monotonic()
        s = self._settings
        host = f"[{s.host}]" if ":" in s.host else s.host
        words = [
            "--host",
            s.host,
            "--port",
            str(s.dashboard_port),
            "--bridge-url",
            f"ws://{host}:{s.bridge_port}",
            "--data-dir",
            str(s.data_dir),
        ]
        if s.recording is not None:  # a live session's goes by the bridge's word
            words += ["--recording", str(s.recording)]
            words += ["--lesson", str(s.lesson)] if s.lesson is not None else []
        child = _started("dashboard.page_server", words, verbose=self._verbose)
        self._child = child
        child.follow(child.keep_words)
        child.follow(lambda: self._happenings.put(Happened("page server ended", code=child.process.wait())))

    def start_later(self, code: int) -> None:
        """It ended although nobody asked for it: start it again, after a wait that grows."""
        if time.monotonic() - self._began_seconds > SOUND_AFTER_SECONDS:
            self._wait_seconds = FIRST_WAIT_SECONDS
        last = f": {self._child.last_words}" if self._child and self._child.last_words else ""
        print(
            f"The page server ended (exit code {code}{last}). It starts again in {self._wait_seconds:g} s; "
            "the bridge goes on reading and recording.",
            file=sys.stderr,
        )
        self._timer = threading.Timer(self._wait_seconds, self.start)
        self._timer.daemon = True
        self._timer.start()
        self._wait_seconds = min(LONGEST_WAIT_SECONDS, 2 * self._wait_seconds)

    def close(self) -> None:
        """End it; it keeps nothing that could be lost."""
        self._closed = True
        if self._timer:
            self._timer.cancel()
        if self._child:
            self._child.let_go()
            self._child.process.terminate()
            self._child.end(patience_seconds=3.0)


def _started_bridge(settings: BridgeSettings, happenings: Happenings, *, verbose: bool) -> Child:
    child = _started("bridge", [], verbose=verbose)
    child.follow(child.keep_words)
    child.follow(lambda: _pass_on(child, happenings))
    assert child.process.stdin
    child.process.stdin.write(settings.as_json() + "\n")
    child.process.stdin.flush()
    return child


def _pass_on(child: Child, happenings: Happenings) -> None:
    """Each line of the bridge's standard output is a JSON object: {"ready": ...} or {"error": ...}."""
    for line in child.process.stdout or ():
        told = json.loads(line)
        happenings.put(Happened("error" if "error" in told else "ready", told))
    happenings.put(Happened("bridge ended", code=child.process.wait()))


def _started(module: str, words: list[str], *, verbose: bool) -> Child:
    # A group of its own: Ctrl-C reaches this process alone, which then closes both in order.
    apart: dict[str, Any] = {"start_new_session": True}
    if sys.platform == "win32":
        apart = {"creationflags": subprocess.CREATE_NEW_PROCESS_GROUP}
    process = subprocess.Popen(  # noqa: S603  # our own module, no shell
        [sys.executable, "-m", module, *words],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE if module == "bridge" else subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        encoding="utf-8",
        errors="replace",
        env={**os.environ, "PYTHONIOENCODING": "utf-8"},
        **apart,
    )
    return Child(process, verbose)


def _taken(happenings: Happenings) -> Iterator[Happened]:
    while True:
        try:
            yield happenings.get(timeout=TICK_SECONDS)
        except queue.Empty:
            continue


@contextmanager
def _stopping_put_into(happenings: Happenings) -> Iterator[None]:
    """Ctrl-C, SIGTERM and Windows' break become a happening; what was set before is set again at the end."""
    names = [name for name in ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK") if hasattr(signal, name)]
    before = {
        name: signal.signal(getattr(signal, name), lambda *_: happenings.put(Happened("stop")))
        for name in names
    }
    try:
        yield
    finally:
        for name, handler in before.items():
            signal.signal(getattr(signal, name), handler)
