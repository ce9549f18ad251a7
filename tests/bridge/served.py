"""A real server over a hub, on a loop in a thread of its own, for tests that use real sockets."""

from __future__ import annotations

import asyncio
import contextlib
import re
import threading
from collections.abc import Awaitable, Callable, Coroutine, Sequence
from concurrent.futures import Future
from types import TracebackType
from typing import Any, Self, TypeVar

from bridge.bench_codes import CodeMaker
from bridge.controls import Control
from bridge.hub import Hub
from bridge.server import Server

DEADLINE_SECONDS = 20.0

_T = TypeVar("_T")


class ServedHub:
    """Starts the server when entered; the hub may only be touched through `on_hub`."""

    def __init__(
        self,
        hub: Hub,
        *,
        passcode: str,
        handle: Callable[[Control], Awaitable[str]],
        now_ns: Callable[[], int],
        port: int = 0,
        origins: Sequence[str | re.Pattern[str]] = (),
        codes: CodeMaker | None = None,
    ) -> None:
        self.hub = hub
        self.server = Server(
            hub, port=port, passcode=passcode, origins=origins, handle=handle, now_ns=now_ns, codes=codes
        )
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._loop.run_forever, daemon=True)
        self._talking: Future[None] | None = None

    @property
    def url(self) -> str:
        """Where it listens."""
        return self.server.url

    def __enter__(self) -> Self:
        self._thread.start()
        self.run(self.server.start())
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._talking:
            self._talking.cancel()
        self.run(self.server.close())
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join()
        self._loop.close()

    def on_hub(self, does: Callable[[Hub], _T]) -> _T:
        """Call it with the hub, in the hub's own thread."""

        async def call() -> _T:
            return does(self.hub)

        return self.run(call())

    def run(self, coroutine: Coroutine[Any, Any, _T]) -> _T:
        """Run it on the server's loop and wait for what comes out."""
        return asyncio.run_coroutine_threadsafe(coroutine, self._loop).result(DEADLINE_SECONDS)

    def talk(self, every_seconds: float, says: Callable[[], object]) -> None:
        """Call it again and again on the server's loop until the end."""

        async def again_and_again() -> None:
            with contextlib.suppress(asyncio.CancelledError):
                while True:
                    says()
                    await asyncio.sleep(every_seconds)

        self._talking = asyncio.run_coroutine_threadsafe(again_and_again(), self._loop)
