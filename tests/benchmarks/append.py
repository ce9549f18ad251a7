"""Processor time and file size of keeping 24 boards with 20,000 lines/s: our recording beside a row per line.

Chunks come as USB converters hand them over: 62 bytes, cut anywhere. All sides take the same chunks at the
same pace, commit every 250 ms to SQLite with a write-ahead log, and are measured in turn; what feeding alone
takes is measured too and left out. The sides with a row per line cut the lines from the chunks first.
"""

from __future__ import annotations

import argparse
import json
import random
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, Protocol

from bridge.recorded import Chunk, Recorded
from bridge.recording import RecordingWriter

N_BOARDS = 24
LINES_PER_SECOND = 20_000
CHUNK_BYTES = 62
COMMIT_SECONDS = 0.25
STEP_SECONDS = 0.01  # how often the feeder wakes
TIMES_LESS = 4.0
SIZE_RATIO = 1.4

_INSERT = "INSERT INTO lines VALUES (?, ?, ?)"

_Fed = tuple[int, bytes, int]  # bench, data, at_ns


class _Side(Protocol):
    def add_chunk(self, bench: int, data: bytes, at_ns: int) -> None: ...
    def tick(self) -> None: ...
    def end(self) -> None: ...
    def close(self) -> None: ...


class _Recording:
    """Ours."""

    def __init__(self, path: Path) -> None:
        self._writer = RecordingWriter(
            path, lesson_text="", start_utc_ns=0, program="benchmark", commit_seconds=COMMIT_SECONDS
        )
        self.add_chunk = self._writer.add_chunk
        assert self._writer.flush()  # the file is open, as the other sides' is

    def tick(self) -> None:
        """Its own thread looks after that."""

    def end(self) -> None:
        assert self._writer.flush()

    def close(self) -> None:
        self._writer.close()
        assert self._writer.failure is None


class _RowPerLine:
    """What one would write in an afternoon: each line is inserted as it comes, a timer commits."""

    def __init__(self, path: Path) -> None:
        self._connection = sqlite3.connect(path)
        self._connection.execute("PRAGMA journal_mode = WAL")
        self._connection.execute("PRAGMA synchronous = NORMAL")
        self._connection.execute("CREATE TABLE lines (at_ns INTEGER, bench INTEGER, text TEXT)")
        self._rests = [b""] * (N_BOARDS + 1)
        self._last = time.monotonic()

    def add_chunk(self, bench: int, data: bytes, at_ns: int) -> None:
        *lines, self._rests[bench] = (self._rests[bench] + data).split(b"\n")
        for line in lines:
            self._keep((at_ns, bench, line.decode("utf-8", "replace").strip()))

    def _keep(self, row: tuple[int, int, str]) -> None:
        self._connection.execute(_INSERT, row)

    def tick(self) -> None:
        if time.monotonic() >= self._last + COMMIT_SECONDS:
            self._last = time.monotonic()
            self.end()

    def end(self) -> None:
        self._connection.commit()

    def close(self) -> None:
        self._connection.close()


class _RowPerLineAtOnce(_RowPerLine):
    """The same by someone who knows SQLite: the rows of 250 ms in one call."""

    def __init__(self, path: Path) -> None:
        super().__init__(path)
        self._rows: list[tuple[int, int, str]] = []

    def _keep(self, row: tuple[int, int, str]) -> None:
        self._rows.append(row)

    def end(self) -> None:
        self._connection.executemany(_INSERT, self._rows)
        self._rows.clear()
        super().end()


class _Nothing:
    """Keeps nothing: what the feeder takes, which is left out of every figure."""

    def __init__(self, path: Path) -> None:
        """Needs no file."""

    def add_chunk(self, bench: int, data: bytes, at_ns: int) -> None:
        """Forget it."""

    def tick(self) -> None:
        """Nothing to do."""

    def end(self) -> None:
        """Nothing to do."""

    def close(self) -> None:
        """Nothing to do."""


_SIDES: dict[str, Callable[[Path], _Side]] = {
    "feeding alone": _Nothing,
    "recording": _Recording,
    "row per line": _RowPerLine,
    "row per line, 250 ms at once": _RowPerLineAtOnce,
}


def run(quick: bool = False) -> dict[str, Any]:
    """All sides in turn, each round into a new file."""
    n_rounds, seconds = (1, 1.5) if quick else (5, 4.0)
    steps = _steps(seconds)
    n_raw = sum(len(data) for step in steps for _, data, _ in step)
    rounds = [{name: _measured(side, steps) for name, side in _SIDES.items()} for _ in range(n_rounds)]
    medians = {
        name: {key: statistics.median(one[name][key] for one in rounds) for key in rounds[0][name]}
        for name in _SIDES
    }
    figures: dict[str, Any] = {name: _figures(one, n_raw, seconds) for name, one in medians.items()}
    times = statistics.median(_net(one, "row per line") / _net(one, "recording") for one in rounds)
    figures["times less processor"] = times
    sizes = [medians["recording"][key] / n_raw for key in ("bytes_before_close", "bytes_after_close")]
    return {
        "name": "append",
        "figures": figures,
        "goals": [
            f"at least {TIMES_LESS:g} times less processor than a row per line",
            f"file at most {SIZE_RATIO:g} times the raw bytes, before and after the close",
        ],
        "met": times >= TIMES_LESS and max(sizes) <= SIZE_RATIO,
    }


def main() -> int:
    """Print the figures; 1 when a goal was missed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--json", type=Path, metavar="PATH")
    options = parser.parse_args()
    result = run(options.quick)
    for name, figures in result["figures"].items():
        shown = figures if isinstance(figures, dict) else {"": figures}
        for figure, value in shown.items():
            print(f"{name:<36} {figure:<28} {value:>10.3f}")
    print(*(f"goal: {goal}" for goal in result["goals"]), "reached" if result["met"] else "MISSED", sep="\n")
    if options.json:
        options.json.write_text(json.dumps(result, indent=2) + "\n")
    return 0 if result["met"] else 1


def _figures(side: dict[str, float], n_raw: int, seconds: float) -> dict[str, float]:
    return {
        "processor percent of a core": 100 * side["processor_seconds"] / seconds,
        "close seconds of processor": side["close_processor_seconds"],
        "file / raw bytes before close": side["bytes_before_close"] / n_raw,
        "file / raw bytes after close": side["bytes_after_close"] / n_raw,
    }


def _net(sides: dict[str, dict[str, float]], name: str) -> float:
    return sides[name]["processor_seconds"] - sides["feeding alone"]["processor_seconds"]


def _measured(side_of: Callable[[Path], _Side], steps: list[list[_Fed]]) -> dict[str, float]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "kept.db"
        side = side_of(path)
        busy, began = time.process_time(), time.perf_counter()
        for i, step in enumerate(steps, 1):
            for bench, data, at_ns in step:
                side.add_chunk(bench, data, at_ns)
            side.tick()
            if (wait := began + i * STEP_SECONDS - time.perf_counter()) > 0:
                time.sleep(wait)
        side.end()
        spent = time.process_time() - busy
        before_close = _size(Path(folder))
        busy = time.process_time()
        side.close()
        close_spent = time.process_time() - busy
        _check(side, path, steps)
        return {
            "processor_seconds": spent,
            "close_processor_seconds": close_spent,
            "bytes_before_close": before_close,
            "bytes_after_close": _size(Path(folder)),
        }


def _check(side: _Side, path: Path, steps: list[list[_Fed]]) -> None:
    """A fast side that lost something has won nothing."""
    if isinstance(side, _Recording):
        with Recorded(path) as recorded:
            kept = [(one.bench, one.data, one.at_ns) for one in recorded.items() if isinstance(one, Chunk)]
        assert kept == [one for step in steps for one in step]


def _size(folder: Path) -> int:
    return sum(one.stat().st_size for one in folder.iterdir())


def _steps(seconds: float) -> list[list[_Fed]]:
    """What all boards hand over in each step of the feeder."""
    chance = random.Random(3)  # the same session every time
    texts = [_text(chance, int(LINES_PER_SECOND / N_BOARDS * seconds)) for _ in range(N_BOARDS)]
    n_steps = round(seconds / STEP_SECONDS)
    fed: list[_Fed] = []
    for bench, text in enumerate(texts, 1):
        n_chunks = -(-len(text) // CHUNK_BYTES)
        for i in range(n_chunks):
            at_ns = int((i + chance.random()) / n_chunks * seconds * 1e9)
            fed.append((bench, text[i * CHUNK_BYTES : (i + 1) * CHUNK_BYTES], at_ns))
    fed.sort(key=lambda one: one[2])
    steps: list[list[_Fed]] = [[] for _ in range(n_steps)]
    for one in fed:
        steps[min(n_steps - 1, int(one[2] / 1e9 / STEP_SECONDS))].append(one)
    return steps


def _text(chance: random.Random, n_lines: int) -> bytes:
    counts = [chance.randrange(90, 110) for _ in range(n_lines)]
    return b"".join(
        b"raw: %d, volts: %.3f, temp: %.2f C\r\n" % (count, count * 5 / 1024, count * 500 / 1024)
        for count in counts
    )


if __name__ == "__main__":
    sys.exit(main())
