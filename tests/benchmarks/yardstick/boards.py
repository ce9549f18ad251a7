"""Simulated boards on pseudo-terminals, with a log of what was written when.

    python boards.py N LINES_PER_SECOND SECONDS LOG.json

Prints the port names as one JSON line, waits for a line on standard input, writes, saves [board, line number,
unix time] rows to LOG and prints how many lines were refused. Line k of a board reads
`Temp: <5.00 + 0.01 k> C`, so that every line has a value of its own that grows. A line that the reader was
too slow to take is left out of the log.
"""

from __future__ import annotations

import heapq
import json
import os
import pty
import random
import sys
import time
import tty
from pathlib import Path


def main(n: int, rate: float, seconds: float, log: Path) -> None:
    """Open the ports, wait for the word, write for so many seconds."""
    boards, names, keep = [], [], []
    for _ in range(n):
        board_end, port_end = pty.openpty()
        tty.setraw(port_end)
        tty.setraw(board_end)
        os.set_blocking(board_end, False)
        boards.append(board_end)
        keep.append(port_end)
        names.append(os.ttyname(port_end))
    print(json.dumps(names), flush=True)
    sys.stdin.readline()
    written, refused = _written(boards, rate, seconds)
    log.write_text(json.dumps(written))
    print(refused, flush=True)
    sys.stdin.readline()  # the ports stay until nobody reads them any more


def _written(boards: list[int], rate: float, seconds: float) -> tuple[list[tuple[int, int, float]], int]:
    spread = random.Random(9)
    start = time.time() + 0.1
    due = [(start + spread.random() / rate, board, 0) for board in range(len(boards))]
    heapq.heapify(due)
    written, refused = [], 0
    while due[0][0] < start + seconds:
        when, board, k = due[0]
        wait = when - time.time()
        if wait > 0:
            time.sleep(min(wait, 0.01))
            continue
        now = time.time()
        try:
            os.write(boards[board], b"Temp: %.2f C\r\n" % (5 + k * 0.01))
            written.append((board, k, now))
        except BlockingIOError:
            refused += 1
        heapq.heapreplace(due, (when + (1 + spread.uniform(-0.02, 0.02)) / rate, board, k + 1))
    return written, refused


if __name__ == "__main__":
    main(int(sys.argv[1]), float(sys.argv[2]), float(sys.argv[3]), Path(sys.argv[4]))
