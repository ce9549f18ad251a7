"""Lines per second from one port that prints flat out: our reading thread and inbox beside `readline()`.

Both sides give every line as bytes of its own, on a pseudo-terminal that a process of its own fills.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import threading
import time
import tty
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import serial

from bridge.inbox import Arrived, Inbox
from bridge.sources import PortSource

AT_LEAST_TIMES = 40.0
OPENING_SECONDS = 10.0

_WRITER = """
import os, sys
block = b"".join(b"Temp: %.2f C\\r\\n" % (5 + k * 0.01) for k in range(2000))
sys.stdin.read(1)
while True:
    data = block
    while data:
        data = data[os.write(1, data):]
"""


def run(quick: bool = False) -> dict[str, Any]:
    """Both sides in turn, each round on a terminal of its own."""
    n_rounds, seconds = (2, 0.3) if quick else (7, 1.0)
    rounds = [(_measured(_ingested, seconds), _measured(_read_by_line, seconds)) for _ in range(n_rounds)]
    ours, plain = zip(*rounds, strict=True)
    times = statistics.median(one["lines_per_second"] / other["lines_per_second"] for one, other in rounds)
    figures = {
        "port source and inbox": _medians(ours),
        "readline": _medians(plain),
        "times_lines_per_second": times,
    }
    return {
        "name": "ingest",
        "figures": figures,
        "goals": [f"at least {AT_LEAST_TIMES:g} times as many lines per second as readline"],
        "met": times >= AT_LEAST_TIMES,
    }


def main() -> int:
    """Print the figures; 1 when the goal was missed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--json", type=Path, metavar="PATH")
    options = parser.parse_args()
    result = run(options.quick)
    for name, figures in result["figures"].items():
        shown = figures if isinstance(figures, dict) else {"": figures}
        for figure, value in shown.items():
            print(f"{name:<24} {figure:<28} {value:>14,.2f}")
    print(f"goal: {result['goals'][0]}: {'reached' if result['met'] else 'MISSED'}")
    if options.json:
        options.json.write_text(json.dumps(result, indent=2) + "\n")
    return 0 if result["met"] else 1


def _medians(rounds: tuple[dict[str, float], ...]) -> dict[str, float]:
    return {name: statistics.median(one[name] for one in rounds) for name in rounds[0]}


Begin = Callable[[], None]
Side = Callable[[str, Begin, float], int]  # port, lets the writer begin, seconds; gives the number of lines


def _measured(side: Side, seconds: float) -> dict[str, float]:
    with _terminal() as (port, begin):
        busy, began = time.process_time(), 0.0

        def started() -> None:
            nonlocal busy, began
            begin()
            busy, began = time.process_time(), time.perf_counter()

        n_lines = side(port, started, seconds)
        spent, busy = time.perf_counter() - began, time.process_time() - busy
    return {"lines_per_second": n_lines / spent, "processor_us_per_line": 1e6 * busy / n_lines}


@contextmanager
def _terminal() -> Iterator[tuple[str, Begin]]:
    board_end, port_end = os.openpty()
    tty.setraw(port_end)
    writer = subprocess.Popen([sys.executable, "-c", _WRITER], stdin=subprocess.PIPE, stdout=board_end)
    os.close(board_end)  # the writer has its own

    def begin() -> None:
        assert writer.stdin is not None
        writer.stdin.close()

    try:
        yield os.ttyname(port_end), begin
    finally:
        writer.kill()
        writer.wait()
        os.close(port_end)


def _ingested(port: str, begin: Begin, seconds: float) -> int:
    something = threading.Event()
    inbox = Inbox(time.monotonic_ns, something.set)
    source = PortSource(1, port, inbox=inbox)
    source.start()
    assert something.wait(OPENING_SECONDS), "the port did not open"
    begin()
    n_lines, rest, end = 0, b"", time.perf_counter() + seconds
    while time.perf_counter() < end and something.wait(OPENING_SECONDS):
        something.clear()
        for item in inbox.take()[1]:
            if isinstance(item, Arrived):
                *lines, rest = (rest + item.data).split(b"\n")
                n_lines += len(lines)
    inbox.close()
    source.stop()
    return n_lines


def _read_by_line(port: str, begin: Begin, seconds: float) -> int:
    with serial.Serial(port, exclusive=True) as board:
        begin()
        n_lines, end = 0, time.perf_counter() + seconds
        while time.perf_counter() < end and board.readline():
            n_lines += 1
    return n_lines


if __name__ == "__main__":
    sys.exit(main())
