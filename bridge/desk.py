"""Where clients' messages are answered: looking is free, controlling needs the passcode.

A group may ask with the key of its own bench, and do nothing else with it.
"""

from __future__ import annotations

import asyncio
import logging
import time
from collections import deque
from collections.abc import Awaitable, Callable
from dataclasses import replace

from bridge import messages
from bridge.alarm_answers import prepared
from bridge.bench_codes import CodeMaker
from bridge.controls import (
    Ask,
    CodesRequest,
    Control,
    Follow,
    HistoryRequest,
    JournalRequest,
    ProposalsRequest,
    RequestError,
    Survey,
    Unlock,
    request_from_text,
)
from bridge.errors import BenchrowError
from bridge.hub import Hub
from bridge.passcode import Passcode, wait_after
from bridge.server_client import ServedClient

MAX_REQUESTS_PER_SECOND = 50  # of one client; a faster one waits, and its socket with it
MAX_ASKS = 6  # of one bench within
ASKS_WINDOW_SECONDS = 60.0  # this stretch; beyond it a phone is told to wait: it can't fill the recording

_NOT_ALLOWED = "Only the instructor may do that. Give the passcode first, then try again."

_log = logging.getLogger(__name__)


class Desk:
    """Reads what clients send, checks that they may, and answers each message."""

    def __init__(
        self,
        hub: Hub,
        passcode: Passcode,
        handle: Callable[[Control], Awaitable[str]],
        now_ns: Callable[[], int],
        codes: CodeMaker,
    ) -> None:
        self._hub = hub
        self._passcode = passcode
        self._handle = handle
        self._now_ns = now_ns
        self._computing = asyncio.Lock()  # one answer that takes its time after the other
        self._codes = codes
        self._asks: dict[int, deque[float]] = {}  # by bench of the session: when a group asked

    async def answer(self, client: ServedClient, text: str) -> None:
        """Answer one message; whatever it holds, the connection and the session live on."""
        begun = time.monotonic()
        try:
            request = request_from_text(text)
        except RequestError as error:
            client.reply(error.to, ok=False, words=str(error))
        else:
            match request:
                case Unlock():
                    await self._unlock(client, request)
                case Follow():
                    self._follow(client, request)
                case HistoryRequest():
                    self._history(client, request)
                case JournalRequest() | ProposalsRequest():
                    await self._alarms_past(client, request)
                case Survey(on=on):
                    self._survey(client, request.id, on=on)
                case Ask():
                    await self._ask(client, request)
                case CodesRequest():
                    await self._show_codes(client, request)
                case _:
                    await self._control(client, request)
        # One message after the other: who sends too fast fills only its own socket.
        await asyncio.sleep(max(0.0, 1.0 / MAX_REQUESTS_PER_SECOND - (time.monotonic() - begun)))

    async def _unlock(self, client: ServedClient, request: Unlock) -> None:
        if self._passcode.is_worn_out(time.monotonic()):
            words = "Too many wrong passcodes were tried. Wait a minute, then try again."
            client.reply(request.id, ok=False, words=words)
        elif self._passcode.is_right(request.passcode, time.monotonic()):
            client.may_control, client.n_wrong_codes = True, 0
            client.reply(request.id, ok=True, words="This page may control the session now.")
        else:
            client.n_wrong_codes += 1
            await client.pause(wait_after(client.n_wrong_codes))
            words = "That is not the passcode. It stands in the window where the bridge was started."
            client.reply(request.id, ok=False, words=words)

    def _follow(self, client: ServedClient, request: Follow) -> None:
        if request.bench is not None and request.bench not in self._hub.benches:
            client.reply(request.id, ok=False, words=f"There is no bench {request.bench} in this session.")
            return
        self._hub.follow(client.follows, request.bench)
        client.follow(request.bench)
        words = "No bench is followed." if request.bench is None else f"Bench {request.bench} is followed."
        client.reply(request.id, ok=True, words=words)

    def _survey(self, client: ServedClient, to: int | None, *, on: bool) -> None:
        self._hub.survey(before=client.surveys, after=on)
        client.survey(on)
        client.reply(to, ok=True, words="All benches are surveyed." if on else "No bench is surveyed.")

    async def _alarms_past(self, client: ServedClient, request: JournalRequest | ProposalsRequest) -> None:
        async with self._computing:
            records = self._hub.alarm_records
            if records is None:
                client.reply(request.id, ok=False, words="This session keeps no journal of its alarms.")
                return
            make = prepared(request, records, self._now_ns())
            client.queue(await asyncio.to_thread(make))
        client.send_waiting()

    def _history(self, client: ServedClient, request: HistoryRequest) -> None:
        text = self._hub.history(
            request.bench,
            request.channel,
            request.from_ms * 1_000_000,
            request.to_ms * 1_000_000,
            request.rows,
            to=request.id,
            plain=request.plain,
        )
        if text is None:
            words = f"Bench {request.bench} has no channel {request.channel}."
            client.reply(request.id, ok=False, words=words)
            return
        client.queue(text)
        client.send_waiting()

    async def _ask(self, client: ServedClient, ask: Ask) -> None:
        """With the bench's key, or without one where the passcode was given."""
        if not ask.key:
            await self._control(client, replace(ask, who="instructor"))
        elif ask.bench not in self._hub.benches:
            client.reply(ask.id, ok=False, words=f"There is no bench {ask.bench} in this session.")
        elif not self._codes.keys.is_right(ask.bench, ask.key):
            client.n_wrong_keys += 1
            # Only this connection waits, and no passcode is worn out: the instructor is never locked out so.
            await client.pause(wait_after(client.n_wrong_keys))
            words = "That key is not of this bench. Read the bench code again, with the phone's camera."
            client.reply(ask.id, ok=False, words=words)
        elif self._asks_too_often(ask.bench, time.monotonic()):
            words = "That was changed several times within a minute. Wait a moment, then try again."
            client.reply(ask.id, ok=False, words=words)
        else:
            client.n_wrong_keys = 0
            await self._do(client, replace(ask, key="", who="group"))

    def _asks_too_often(self, bench: int, steady_seconds: float) -> bool:
        asked = self._asks.setdefault(bench, deque(maxlen=MAX_ASKS))
        if len(asked) == MAX_ASKS and steady_seconds - asked[0] < ASKS_WINDOW_SECONDS:
            return True
        asked.append(steady_seconds)
        return False

    async def _show_codes(self, client: ServedClient, request: CodesRequest) -> None:
        if not client.may_control:
            client.reply(request.id, ok=False, words=_NOT_ALLOWED)
            return
        try:
            found = await asyncio.to_thread(self._codes.codes, self._hub.benches, request.base)
        except BenchrowError as error:
            client.reply(request.id, ok=False, words=str(error))
        else:
            client.queue(messages.encoded(messages.codes(request.id, found)))
            client.send_waiting()

    async def _control(self, client: ServedClient, control: Control) -> None:
        if client.may_control:
            await self._do(client, control)
        else:
            client.reply(control.id, ok=False, words=_NOT_ALLOWED)

    async def _do(self, client: ServedClient, control: Control) -> None:
        try:
            words = await self._handle(control)
        except BenchrowError as error:
            client.reply(control.id, ok=False, words=str(error))
        except Exception:
            _log.exception("%s failed", type(control).__name__)
            words = "The bridge failed at that. Its window says why; the session goes on."
            client.reply(control.id, ok=False, words=words)
        else:
            client.reply(control.id, ok=True, words=words)
