"""The bridge's process: settings in the first line of standard input, whose end closes it in good order.

It tells what happens on standard output, one JSON object a line: {"ready": url, "recording": path} or
{"error": words}.
"""

from __future__ import annotations

import asyncio
import contextlib
import gc
import json
import logging
import os
import sys
import threading

from bridge.bench_codes import CodeMaker
from bridge.bench_keys import BenchKeys, kept_secret
from bridge.errors import BenchrowError
from bridge.live import LiveSession
from bridge.replaying import ReplaySession
from bridge.server import Server
from bridge.session import Session, page_origins
from bridge.settings import Settings, settings_from_json


def main() -> int:
    """Run one session; 0 when it was closed, 1 when it failed."""
    logging.basicConfig(level=logging.WARNING, format="%(name)s: %(message)s")
    logging.getLogger("websockets").setLevel(logging.CRITICAL)  # a browser that goes away is no event
    try:
        settings = settings_from_json(sys.stdin.readline())
        asyncio.run(_serve(settings))
    except BenchrowError as error:
        _tell(error=str(error))
        return 1
    except KeyboardInterrupt:
        return 0
    return 0


async def _serve(settings: Settings) -> None:
    session: Session = LiveSession(settings) if settings.mode == "live" else ReplaySession(settings)
    server = Server(
        session.hub,
        host=settings.host,
        port=settings.bridge_port,
        passcode=settings.passcode,
        origins=page_origins(settings.host, settings.dashboard_port),
        handle=session.handle,
        now_ns=session.now_ns,
        codes=CodeMaker(
            BenchKeys(kept_secret(settings.data_dir)), host=settings.host, page_port=settings.dashboard_port
        ),
    )
    try:
        await server.start()
        await session.start()
        gc.freeze()  # modules and tables stay: to look through them costs 30 ms at each full collection
        _tell(ready=server.url, recording=session.recording)
        await _run_until_told(session)
    finally:
        await session.close()
        await server.close()


async def _run_until_told(session: Session) -> None:
    """Until the life line ends or the session fails."""
    loop, told = asyncio.get_running_loop(), asyncio.Event()

    def wait_for_end() -> None:
        # Not through sys.stdin: a thread that holds its lock would keep the interpreter from ending.
        while os.read(sys.stdin.fileno(), 4096):
            pass
        with contextlib.suppress(RuntimeError):  # the loop has ended before
            loop.call_soon_threadsafe(told.set)

    threading.Thread(target=wait_for_end, name="life line", daemon=True).start()
    running = asyncio.create_task(session.run())
    waiting = asyncio.create_task(told.wait())
    await asyncio.wait((running, waiting), return_when=asyncio.FIRST_COMPLETED)
    waiting.cancel()
    if running.done():
        running.result()
    running.cancel()
    with contextlib.suppress(asyncio.CancelledError):
        await running


def _tell(**told: object) -> None:
    sys.stdout.write(json.dumps(told) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
