"""A WebSocket server that says exactly what a test tells it to say, in the wire format `benchrow.v1`.

What the real bridge says depends on boards and clocks; the page's scripts must also be right about
what comes once a year.
"""

from __future__ import annotations

import json
import queue
import threading
import time
from collections.abc import Sequence
from typing import Any

from websockets.exceptions import ConnectionClosed
from websockets.sync.server import Server, ServerConnection, serve
from websockets.typing import Subprotocol

Message = dict[str, Any]
HEARTBEAT_SECONDS = 0.25
START_MS = 600_000
PASSCODE = "tea-4711"


def status(**changes: Any) -> Message:
    """A bench that reads well, but for the changes."""
    return {
        "link": "open", "words": "reading", "remedy": "", "port": "", "baud": 9600, "old": False,
        "old_after_ms": 3_600_000, "lines_per_second": 10.0, "n_lines": 1, "n_set_aside": 0, "layout": "",
    } | changes  # fmt: skip


def limit(kind: str, at: float, **changes: Any) -> Message:
    """One limit of a channel."""
    plain = {"limit": kind, "kind": kind, "at": at, "priority": "medium", "message": "", "advice": ""}
    return plain | changes


def channel(**changes: Any) -> Message:
    """A temperature with five bands and one limit."""
    return {
        "name": "temperature", "unit": "°C", "decimals": 1, "low": 15.0, "high": 55.0, "baseline": 20.0,
        "edges": [22.0, 25.0, 30.0, 35.0], "edge_names": ["room", "lukewarm", "warm", "warmer", "start"],
        "phase_bands": [],
        "limits": [limit("high", 48.0)],
        "gain": 1.0, "offset": 0.0,
    } | changes  # fmt: skip


def bench(number: int, **changes: Any) -> Message:
    """A bench with one channel."""
    shapes = ("circle", "square", "triangle", "diamond", "cross", "bar", "ring", "star")
    colours = (
        "orange", "sky blue", "bluish green", "reddish purple", "blue", "vermillion", "yellow", "black",
    )  # fmt: skip
    return {
        "number": number, "name": f"Bench {number}", "shape": shapes[number % 8],
        "colour": colours[number // 8 % 8], "row": None, "place": None, "main": 0, "channels": [channel()],
        "status": status(),
    } | changes  # fmt: skip


def value(of_bench: int, number: float | None, *, at_ms: int = START_MS, **changes: Any) -> list[Any]:
    """One reading of a bench's first channel: `u`, `quality`, `reason` and `band` may be given."""
    rest = {"u": None, "quality": 0, "reason": "", "band": None} | changes
    return [of_bench, 0, at_ms, number, *rest.values(), number, number]


def alarm(of_bench: int, state: str = "unacknowledged", **changes: Any) -> Message:
    """The alarm of a bench's high limit."""
    return {
        "id": f"{of_bench}/temperature/high", "bench": of_bench, "channel": "temperature", "limit": "high",
        "kind": "high", "state": state, "before": "normal", "event": "rise", "t_ms": START_MS, "value": 49.0,
        "at": 48.0, "priority": "medium", "words": "Too warm to hold", "advice": "Add cold water",
        "who": "rule", "reason": "", "until_ms": None, "first_out": False,
    } | changes  # fmt: skip


def finding(kind: str = "wrong baud", **changes: Any) -> Message:
    """A fault of a whole board that another rate would cure."""
    return {
        "kind": kind, "channel": "", "weight": "fault", "since_ms": START_MS - 65_000,
        "words": "The board prints at another rate",
        "evidence": "the bytes look like 9600 baud read at 115200", "remedy": "Read it at 9600 baud",
        "try_baud": 9600,
    } | changes  # fmt: skip


def hint(words: str = "The readings hum with the mains", **changes: Any) -> Message:
    """Something worth a look in a channel."""
    return finding(
        **{
            "kind": "mains hum", "channel": "temperature", "weight": "hint", "words": words,
            "evidence": "a swing of 0.4 °C at 50 Hz", "remedy": "Lead the wires away from the mains",
            "try_baud": None,
        } | changes
    )  # fmt: skip


class ScriptedBridge:
    """Greets each page with `hello`, sends heartbeats until hushed, answers controls, notes what it hears."""

    def __init__(self, benches: Sequence[Message], values: Sequence[list[Any]] = ()) -> None:
        self.benches = list(benches)
        self.values = list(values)
        self.alarms: list[Message] = []
        self.findings: dict[int, list[Message]] = {}
        self.heard: queue.Queue[Message] = queue.Queue()
        self.hushed = threading.Event()
        self.session: Message = {
            "id": "s", "title": "", "source": "live", "start_utc_ms": 0, "now_ms": 0,
            "recording": "a.benchrow",
        }  # fmt: skip
        self.title = "Which cover keeps the cup warm?"
        self.replay: Message | None = None
        self.lesson_phases: list[Message] = []
        self.phases: list[Message] = []  # that were started
        self.flood: Message | None = None
        self.calls: Message = {"list": [], "asked": [], "done": [], "n_more": 0}
        self.boards: list[Message] = []
        self._began = time.monotonic()
        self._pages: set[ServerConnection] = set()
        self._lock = threading.Lock()
        self._closed = threading.Event()
        self._server: Server | None = None
        self.port = 0
        self.listen()
        threading.Thread(target=self._beat, daemon=True).start()

    @property
    def url(self) -> str:
        return f"ws://127.0.0.1:{self.port}"

    @property
    def now_ms(self) -> int:
        return START_MS + int((time.monotonic() - self._began) * 1000)

    def listen(self) -> None:
        """Take connections, at the same port as before."""
        self._server = serve(
            self._attend,
            "127.0.0.1",
            self.port,
            subprotocols=[Subprotocol("benchrow.v1")],
            compression=None,
        )
        self.port = self._server.socket.getsockname()[1]
        threading.Thread(target=self._server.serve_forever, daemon=True).start()

    def stop(self) -> None:
        """End all connections, as a bridge that ends does."""
        if self._server:
            self._server.shutdown()
        with self._lock:
            pages = list(self._pages)
        for page in pages:
            page.close()

    def close(self) -> None:
        self._closed.set()
        self.stop()

    def say(self, message: Message) -> None:
        """Send a message to every page."""
        text = json.dumps(message)
        with self._lock:
            for page in self._pages:
                try:
                    page.send(text)
                except ConnectionClosed:
                    continue

    def show(self, *values: list[Any]) -> None:
        """Send a frame with these values."""
        self.say({"kind": "frame", "now": self.now_ms, "speed": 1, "values": list(values)})

    def hello(self) -> Message:
        return {
            "kind": "hello", "program": "0.1.0", "session": self.session | {"now_ms": self.now_ms},
            "lesson": {"title": self.title, "note": "", "channels": [], "phases": self.lesson_phases},
            "benches": self.benches,
            "values": self.values, "history": [], "alarms": self.alarms, "markers": [], "replay": self.replay,
            "boards": self.boards, "findings": [[number, found] for number, found in self.findings.items()],
            "flood": self.flood, "phases": self.phases, "calls": self.calls,
        }  # fmt: skip

    def _attend(self, page: ServerConnection) -> None:
        page.send(json.dumps(self.hello()))
        with self._lock:
            self._pages.add(page)
        try:
            for text in page:
                self._answer(page, json.loads(text))
        finally:
            with self._lock:
                self._pages.discard(page)

    def _answer(self, page: ServerConnection, message: Message) -> None:
        ok = message["kind"] != "unlock" or message["passcode"] == PASSCODE
        words = "" if ok else "That passcode is not right"
        with self._lock:
            page.send(json.dumps({"kind": "reply", "to": message.get("id"), "ok": ok, "words": words}))
        self.heard.put(message)

    def _beat(self) -> None:
        while not self._closed.wait(HEARTBEAT_SECONDS):
            if not self.hushed.is_set():
                self.show()
