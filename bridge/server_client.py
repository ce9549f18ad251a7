"""One connection of the server: what it has got so far and what still waits for it."""

from __future__ import annotations

import asyncio
import contextlib
from collections import deque
from collections.abc import Sequence

from websockets.asyncio.connection import broadcast
from websockets.asyncio.server import ServerConnection
from websockets.frames import CloseCode
from websockets.protocol import State

from bridge import messages
from bridge.hub import Hub

MAX_WAITING = 256  # alarms, markers and replies that wait for one client
MAX_WAITING_BYTES = (
    512 * 1024
)  # their size; beyond either the connection is closed: its next hello has it all
MAX_UNSENT_BYTES = 1024 * 1024  # in the write buffer: a client that never reads but floods with pings
STALLED_NS = 30_000_000_000  # a client that has taken nothing for so long is given up
HEARTBEAT_NS = 450_000_000  # with a frame's jitter still below the promised 500 ms
CLOSE_SECONDS = 1.0  # for a slow client to take the words with which it is closed
LINES_EVERY_NS = 100_000_000
DETAILS_EVERY_NS = 1_000_000_000
FOLLOWED_KINDS = frozenset(("text", "worth", "bands"))
SURVEYED_KINDS = frozenset(("text", "steady"))

CLOSED_BEHIND = "too far behind: connect again for a fresh start"


class ServedClient:
    """Knows what its client has got; writes without ever waiting."""

    def __init__(self, connection: ServerConnection) -> None:
        self.connection = connection
        self.follows: int | None = None
        self.may_control = False
        self.n_wrong_codes = self.n_wrong_keys = 0
        self._epoch = -1  # of the hub when it was greeted; another one: greet it again
        self._version = 0
        self._n_events = 0
        self._frame_ns = 0
        self._lines_ns = 0
        self._n_line_changes = 0
        self.surveys = False
        self._details_ns = 0
        self._n_detail_changes: dict[int, int] = {}  # that it has seen, per bench
        self._waiting: deque[tuple[bytes, bool]] = deque()  # with whether a fresh hello would tell it too
        self._n_waiting_bytes = 0
        self._blocked_ns: int | None = None  # since when its buffer was never found empty
        self._closing: asyncio.Task[None] | None = None

    @property
    def n_unsent_bytes(self) -> int:
        """What the operating system has not taken yet."""
        return self.connection.transport.get_write_buffer_size()

    def follow(self, bench: int | None) -> None:
        """Whose lines it gets from now on."""
        self.follows = bench
        self._n_line_changes = 0
        self._n_detail_changes.clear()
        self._details_ns = 0

    def survey(self, on: bool) -> None:
        """Whether it looks at all benches from now on."""
        self.surveys = on
        self._n_detail_changes.clear()
        self._details_ns = 0

    def queue_events(self, events: Sequence[tuple[int, bytes]]) -> None:
        """Alarms and markers; those that its hello held already are left out."""
        if self._epoch >= 0:
            for number, text in events:
                if number > self._n_events:
                    self.queue(text, is_event=True)

    def queue(self, text: bytes, *, is_event: bool = False) -> None:
        """A message that must not be lost; an event stands in any later hello."""
        if self._closing:
            return
        self._waiting.append((text, is_event))
        self._n_waiting_bytes += len(text)
        if len(self._waiting) > MAX_WAITING or self._n_waiting_bytes > MAX_WAITING_BYTES:
            self._keep_waiting([])
            self._closing = asyncio.get_running_loop().create_task(self._close())

    def bring_up_to_date(self, hub: Hub, now_ns: int, steady_ns: int) -> None:
        """Write what it lacks, as long as it takes it."""
        if self._closing or not self._takes_more(steady_ns):
            return
        if self._epoch != hub.epoch:
            self._keep_waiting([one for one in self._waiting if not one[1]])
            text, self._version, self._n_events = hub.hello(now_ns, steady_ns)
            self._epoch = hub.epoch
            self._n_detail_changes.clear()
            self._write(text)
            self._frame_ns = steady_ns
        self.send_waiting()
        if self.n_unsent_bytes:
            return
        if hub.version > self._version or steady_ns - self._frame_ns >= HEARTBEAT_NS:
            for text in hub.updates(self._version, now_ns):
                self._write(text)
            self._version = hub.version
            self._frame_ns = steady_ns
        if (
            self.follows is not None
            and steady_ns - self._lines_ns >= LINES_EVERY_NS
            and not self.n_unsent_bytes
        ):
            self._send_lines(hub, self.follows, steady_ns)
        is_close = self.surveys or self.follows is not None
        if is_close and steady_ns - self._details_ns >= DETAILS_EVERY_NS and not self.n_unsent_bytes:
            self._send_details(hub, steady_ns)

    def send_waiting(self) -> None:
        """Write what waits until the client stops taking it."""
        while self._waiting and not self.n_unsent_bytes:
            text, _ = self._waiting.popleft()
            self._n_waiting_bytes -= len(text)
            self._write(text)

    def reply(self, to: int | None, *, ok: bool, words: str) -> None:
        """Answer its message, at once when it takes it."""
        self.queue(messages.encoded(messages.reply(to, ok=ok, words=words)))
        self.send_waiting()

    async def pause(self, seconds: float) -> None:
        """Keep its messages waiting for so long, or until it is gone."""
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(seconds):
                await self.connection.wait_closed()

    def give_up_if_stalled(self) -> None:
        """Cut the connection when its client has not even taken what was written."""
        if self.n_unsent_bytes:
            self.connection.transport.abort()

    async def _close(self) -> None:
        # The library's own deadline begins only once the close frame is out, which here may be never.
        try:
            async with asyncio.timeout(CLOSE_SECONDS):
                await self.connection.close(CloseCode.TRY_AGAIN_LATER, CLOSED_BEHIND)
        except TimeoutError:
            self.connection.transport.abort()

    def _send_lines(self, hub: Hub, bench: int, steady_ns: int) -> None:
        text, self._n_line_changes = hub.lines(bench, self._n_line_changes)
        if text is not None:
            self._write(text)
            self._lines_ns = steady_ns

    def _send_details(self, hub: Hub, steady_ns: int) -> None:
        """What those who look closely are told; at most once a second, and only what changed."""
        self._details_ns = steady_ns
        for bench in hub.benches if self.surveys else (self.follows,):
            if bench is None:
                continue
            kinds = FOLLOWED_KINDS if bench == self.follows else frozenset[str]()
            kinds |= SURVEYED_KINDS if self.surveys else frozenset()
            texts, seen = hub.details(bench, self._n_detail_changes.get(bench, 0), kinds)
            self._n_detail_changes[bench] = seen
            for text in texts:
                self._write(text)

    def _takes_more(self, steady_ns: int) -> bool:
        n_unsent = self.n_unsent_bytes
        if not n_unsent:
            self._blocked_ns = None
            return self.connection.state is State.OPEN
        if self._blocked_ns is None:
            self._blocked_ns = steady_ns
        if n_unsent > MAX_UNSENT_BYTES or steady_ns - self._blocked_ns > STALLED_NS:
            self.connection.transport.abort()
        return False

    def _keep_waiting(self, kept: list[tuple[bytes, bool]]) -> None:
        self._waiting = deque(kept)
        self._n_waiting_bytes = sum(len(text) for text, _ in kept)

    def _write(self, text: bytes) -> None:
        # The library's broadcast writes at once and never awaits: the bound is ours, see above.
        broadcast([self.connection], text, text=True)
