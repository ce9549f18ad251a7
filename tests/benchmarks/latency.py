"""From the write on the pty to the number in the page, ours and the naive program in turn in one session."""

from __future__ import annotations

import statistics
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from bridge import read_recording
from tests.benchmarks.yardstick import rig
from tests.benchmarks.yardstick.rig import Load, Measured, Program

PAGE_PORT, SOCKET_PORT = 8961, 8962  # beside the usual ones, which a person may be using
NAIVE = Path(rig.__file__).with_name("naive.py")
LESSON = """\
title = "Latency"
[[channel]]
name = "temperature"
unit = "°C"
field = "Temp"
low = 0.0
high = 50.0
decimals = 2
[channel.bands]
baseline = 5.0
edges = [2.0, 5.0, 10.0, 20.0]
deadband = 0.1
[[channel.limit]]
kind = "high"
at = 48.0
deadband = 0.5
[[layout]]
name = "labelled"
kind = "pairs"
fields = ["Temp"]
"""


def run(quick: bool) -> dict[str, Any]:
    """Both loads; about six minutes, half a minute a run."""
    n_rounds, seconds = (1, 6.0) if quick else (2, 20.0)
    class_size = Load(n_boards=12, lines_per_second=10, seconds=seconds)
    flat_out = Load(n_boards=32, lines_per_second=100, seconds=seconds)
    few = _in_turn(class_size, n_rounds, {"naive 200 ms": _naive(200), "naive 1000 ms": _naive(1000)})
    many = _in_turn(flat_out, n_rounds, {"naive 1000 ms": _naive(1000)})
    ratios = {
        "p50, naive 200 ms": few["naive 200 ms"]["p50_ms"] / few["ours"]["p50_ms"],
        "p95, naive 200 ms": few["naive 200 ms"]["p95_ms"] / few["ours"]["p95_ms"],
        "p95, naive 1000 ms": few["naive 1000 ms"]["p95_ms"] / few["ours"]["p95_ms"],
        "32 boards: p99, naive 1000 ms": many["naive 1000 ms"]["p99_ms"] / many["ours"]["p99_ms"],
        "32 boards: load, naive 1000 ms": many["naive 1000 ms"]["load_percent"]
        / many["ours"]["load_percent"],
    }
    least = dict(zip(ratios, (3.5, 3.5, 12.0, 12.0, 1.8), strict=True))
    n_lost = many["ours"]["n_lost"] + few["ours"]["n_lost"]
    return {
        "name": "latency",
        "figures": {
            "12 boards x 10 lines/s": few,
            "32 boards x 100 lines/s": many,
            "times lower than": ratios,
        },
        "goals": [
            *(f"{name}: at least {goal:g} times lower" for name, goal in least.items()),
            "no line lost",
        ],
        "met": n_lost == 0 and all(ratios[name] >= goal for name, goal in least.items()),
    }


def _in_turn(load: Load, n_rounds: int, others: dict[str, Program]) -> dict[str, dict[str, float]]:
    """The median of each figure over the rounds, for each program."""
    runs: dict[str, list[dict[str, float]]] = {name: [] for name in (*others, "ours")}
    for _ in range(n_rounds):
        for name, program in others.items():
            runs[name].append(_figures(rig.measure(program, load)))
        with tempfile.TemporaryDirectory() as folder:
            measured = rig.measure(_ours(Path(folder)), load)
            lost = _n_lost(measured, Path(folder))
            runs["ours"].append(_figures(measured) | {"n_lost": lost})
    return {
        name: {figure: statistics.median(one[figure] for one in ones) for figure in ones[0]}
        for name, ones in runs.items()
    }


def _figures(measured: Measured) -> dict[str, float]:
    return {
        "p50_ms": measured.percentile_ms(0.50),
        "p95_ms": measured.percentile_ms(0.95),
        "p99_ms": measured.percentile_ms(0.99),
        "n_never_shown": measured.n_never_shown,
        "load_percent": measured.program_percent,
        "browser_percent": measured.browser_percent,
    }


def _naive(interval_ms: int) -> Program:
    words = ["--interval", str(interval_ms), "--page-port", str(PAGE_PORT), "--socket-port", str(SOCKET_PORT)]

    def command(ports: Sequence[str]) -> list[str]:
        return [sys.executable, str(NAIVE), *words, *ports]

    return Program(command=command, page=f"http://127.0.0.1:{PAGE_PORT}/", values=".number")


def _ours(folder: Path) -> Program:
    lesson = folder / "lesson.toml"
    lesson.write_text(LESSON, encoding="utf-8")

    def command(ports: Sequence[str]) -> list[str]:
        ours = [
            sys.executable,
            "-m",
            "dashboard",
            "live",
            str(lesson),
            "--no-browser",
            "--data-dir",
            str(folder),
        ]
        ours += ["--port", str(PAGE_PORT), "--bridge-port", str(SOCKET_PORT)]
        for bench, port in enumerate(ports, 1):
            ours += ["--board", f"{bench}={port}@115200"]
        return ours

    return Program(
        command=command, page=f"http://127.0.0.1:{PAGE_PORT}/", values='[data-bench] [data-role="value"]'
    )


def _n_lost(measured: Measured, folder: Path) -> int:
    """Lines that boards wrote and that are no reading in the recording, and lines that were refused.

    The first line of each board is none: the port opened cold, so it is not proven whole.
    """
    (recording,) = folder.glob("**/*.benchrow")
    readings = read_recording(recording)
    kept = {
        (int(bench), round((float(value) - 5) / 0.01))
        for bench, value in zip(readings["bench"], readings["value"], strict=True)
    }
    return measured.n_refused + sum((board + 1, k) not in kept for board, k, _ in measured.written if k > 0)
