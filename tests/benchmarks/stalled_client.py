"""Forty screens and one that never reads: what it costs the bridge in memory and the others in time.

The server runs in a process of its own, ten minutes into a session with 24 benches that print ten times a
second. Stretches without and with the client that never reads take turns in the same run. The delivery time
goes from the reading's arrival at the hub to the message in the client's hands, waiting for a frame included.
"""

from __future__ import annotations

import argparse
import asyncio
import base64
import contextlib
import json
import os
import socket
import subprocess
import sys
import time
from collections.abc import AsyncIterator, Callable
from pathlib import Path
from typing import Any

import numpy as np
import psutil
from websockets.asyncio.client import ClientConnection, connect
from websockets.exceptions import ConnectionClosed

from bridge.controls import Control
from bridge.core.channels import ChannelInfo
from bridge.core.lesson import Lesson, plain_bench
from bridge.core.readings import Reading
from bridge.hub import Hub
from bridge.messages import SessionInfo
from bridge.server import PROTOCOL, Server

N_CLIENTS = 40
N_BENCHES = 24
READINGS_PER_SECOND = 10
MARKERS_PER_SECOND = 1  # must never be dropped, so they wait for the stalled client
PAST_SECONDS = 600  # what a greeting has to tell
SETTLE_SECONDS = 1.0
GOAL_MEGABYTES = 2.0
GOAL_RATIO = 1.3
MEGABYTE = 1024 * 1024


def run(quick: bool = False) -> dict[str, Any]:
    """Both sides in turn; the ratio is that of the medians over the stretches."""
    n_turns, seconds = (2, 3.0) if quick else (5, 12.0)
    without, with_it, growth_without, growth_with = asyncio.run(_measure(n_turns, seconds))
    ratio = float(np.median(with_it) / np.median(without))
    more = float(np.median(growth_with) - np.median(growth_without))
    most = float(max(growth_with) - np.median(growth_without))
    return {
        "name": "A client that never reads",
        "figures": {
            "p99 of the others without it, ms": round(float(np.median(without)), 1),
            "p99 of the others with it, ms": round(float(np.median(with_it)), 1),
            "ratio": round(ratio, 3),
            "memory more, MB (median)": round(more / MEGABYTE, 2),
            "memory more, MB (most)": round(most / MEGABYTE, 2),
            "turns": n_turns,
            "seconds each": seconds,
        },
        "goals": {"ratio": f"<= {GOAL_RATIO}", "memory more": f"<= {GOAL_MEGABYTES} MB"},
        "met": ratio <= GOAL_RATIO and most <= GOAL_MEGABYTES * MEGABYTE,
    }


async def _measure(n_turns: int, seconds: float) -> tuple[list[float], list[float], list[int], list[int]]:
    """p99 (ms) and growth of the server's memory (bytes) of each stretch, without and with that client."""
    p99: tuple[list[float], list[float]] = ([], [])
    growth: tuple[list[int], list[int]] = ([], [])
    async with _served() as (url, server, unsent_bytes):
        delays: list[float] = []
        async with contextlib.AsyncExitStack() as stack:
            for _ in range(N_CLIENTS):
                client = await stack.enter_async_context(
                    connect(url, subprotocols=[PROTOCOL], compression=None, proxy=None)
                )
                reading = asyncio.create_task(_read(client, delays))
                stack.callback(reading.cancel)
            await asyncio.sleep(seconds)  # buffers and histories get their size
            for turn in range(2 * n_turns):
                is_stalled = turn % 2
                before = server.memory_info().rss
                with _stalled_client(url) if is_stalled else contextlib.nullcontext():
                    await asyncio.sleep(SETTLE_SECONDS)
                    delays.clear()
                    most = before
                    for _ in range(round(seconds / 0.25)):
                        await asyncio.sleep(0.25)
                        most = max(most, server.memory_info().rss)
                    if is_stalled and not await asyncio.to_thread(unsent_bytes):
                        raise RuntimeError(
                            "the client that never reads has not filled its buffer: nothing measured"
                        )
                p99[is_stalled].append(float(np.percentile(delays, 99)) * 1000)
                growth[is_stalled].append(most - before)
                await asyncio.sleep(SETTLE_SECONDS)
    return *p99, *growth


async def _read(client: ClientConnection, delays: list[float]) -> None:
    with contextlib.suppress(ConnectionClosed):
        async for text in client:
            now = time.monotonic()
            message = json.loads(text)
            if message["kind"] == "frame":
                delays.extend(now - part[3] for part in message["values"])


@contextlib.contextmanager
def _stalled_client(url: str) -> Any:
    """Opens a connection as a browser does, then never reads; its own buffer is small."""
    host, port = url.removeprefix("ws://").split(":")
    raw = socket.socket()
    raw.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
    with raw:
        raw.connect((host, int(port)))
        key = base64.b64encode(os.urandom(16)).decode()
        raw.sendall(
            f"GET / HTTP/1.1\r\nHost: {host}\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
            f"Sec-WebSocket-Key: {key}\r\nSec-WebSocket-Version: 13\r\n"
            f"Sec-WebSocket-Protocol: {PROTOCOL}\r\n\r\n".encode()
        )
        yield


@contextlib.asynccontextmanager
async def _served() -> AsyncIterator[tuple[str, psutil.Process, Callable[[], int]]]:
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.benchmarks.stalled_client", "--serve"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    asking, answers = process.stdin, process.stdout
    assert asking
    assert answers

    def unsent_bytes() -> int:
        asking.write("unsent?\n")
        asking.flush()
        return int(answers.readline())

    try:
        url = await asyncio.to_thread(answers.readline)
        yield url.strip(), psutil.Process(process.pid), unsent_bytes
    finally:
        asking.close()  # it ends with its input
        process.wait(10)
        answers.close()


def _reading(at_ns: int, bench: int, value: float) -> Reading:
    return Reading(at_ns, bench, "temperature", value, "°C", 0.1, "good", "", 1, at_ns)


async def _serve() -> None:
    """The server's process: benches in turn, each ten times a second, until its input ends."""
    session = SessionInfo(id="b", title="b", source="live", start_utc_ns=0, recording=None, program="0")
    hub = Hub(session, Lesson(title="Benchmark"))
    for number in range(1, N_BENCHES + 1):
        hub.set_bench(plain_bench(number), (ChannelInfo(name="temperature", unit="°C"),))
    begun_ns = time.monotonic_ns() - PAST_SECONDS * 10**9
    for i in range(PAST_SECONDS * READINGS_PER_SECOND):
        at_ns = i * 10**9 // READINGS_PER_SECOND
        hub.take_readings(_reading(at_ns, bench, 20.0 + i % 97 / 7) for bench in range(1, N_BENCHES + 1))

    def now_ns() -> int:
        return time.monotonic_ns() - begun_ns

    async def handle(_: Control) -> str:
        return ""

    async with Server(hub, port=0, passcode="benchmark", origins=(), handle=handle, now_ns=now_ns) as server:
        print(server.url, flush=True)
        asked = asyncio.create_task(asyncio.to_thread(sys.stdin.readline))
        due, n_readings = time.monotonic(), 0
        while True:
            if asked.done():
                if not asked.result():
                    return
                print(max(client.n_unsent_bytes for client in server._clients), flush=True)
                asked = asyncio.create_task(asyncio.to_thread(sys.stdin.readline))
            due += 1.0 / (N_BENCHES * READINGS_PER_SECOND)
            await asyncio.sleep(max(0.0, due - time.monotonic()))
            bench = n_readings % N_BENCHES + 1
            n_readings += 1
            value = time.monotonic()  # one clock for all processes of the machine
            hub.take_readings([_reading(now_ns(), bench, value)])
            if n_readings % (N_BENCHES * READINGS_PER_SECOND // MARKERS_PER_SECOND) == 0:
                hub.add_marker(now_ns(), "another second", "rule")


def main() -> None:
    """Run it alone and print its table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--json", type=Path, metavar="FILE")
    parser.add_argument("--serve", action="store_true", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.serve:
        asyncio.run(_serve())
        return
    result = run(options.quick)
    print(result["name"])
    for name, figure in result["figures"].items():
        print(f"  {name:<36}{figure:>10}")
    print("  goals reached" if result["met"] else f"  MISSED: {result['goals']}")
    if options.json:
        options.json.write_text(json.dumps(result, indent=2) + "\n")


if __name__ == "__main__":
    main()
