"""Where clients' messages are answered: looking is free, controlling needs the passcode."""

from __future__ import annotations

import asyncio
import logging
import time
from collections.abc import Awaitable, Callable

from bridge.controls import Control, Follow, HistoryRequest, RequestError, Survey, Unlock, request_from_text
from bridge.errors import BenchrowError
from bridge.hub import Hub
from bridge.passcode import Passcode, wait_after
from bridge.server_client import ServedClient

MAX_REQUESTS_PER_SECOND = 50  # of one client; a faster one waits, and its socket with it

_log = logging.getLogger(__name__)


class Desk:
    """Reads what clients send, checks that they may, and answers each message."""

    def __init__(
        self,
        hub: Hub,
        passcode: Passcode,
        handle: Callable[[Control], Awaitable[str]],
        now_ns: Callable[[], int],
    ) -> None:
        self._hub = hub
        self._passcode = passcode
        self._handle = handle
        self._now_ns = now_ns

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
                case Survey(on=on):
                    self._survey(client, request.id, on=on)
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

    async def _control(self, client: ServedClient, control: Control) -> None:
        if not client.may_control:
            words = "Only the instructor may do that. Give the passcode first, then try again."
            client.reply(control.id, ok=False, words=words)
            return
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
