"""What the live pipeline costs beside a bare split-and-float loop over the same numbers."""

from __future__ import annotations

import gc
import statistics
import time
from collections.abc import Callable
from functools import partial
from typing import Any

from bridge.core.lesson import BandsGiven, Bench, Channel, FieldSpec, Layout, Lesson, plain_bench
from bridge.core.pipeline import BenchPipeline

PORTION_BYTES = 4096  # what a busy port hands over at once
THREE_FIELDS_AT_MOST, ONE_FIELD_AT_MOST = 14.0, 8.0  # times the bare loop

BANDS = BandsGiven(baseline=20.0, edges=(2.0, 5.0, 10.0), names=("", "", "", ""), deadband=0.3)


def run(quick: bool) -> dict[str, Any]:
    """Lines of three labelled fields and of one, each against the bare loop, in turn."""
    n_lines, n_rounds = (5_000, 3) if quick else (50_000, 9)
    values = [20.0 + (k * 37 % 1500) / 100 for k in range(n_lines)]
    pairs = [(round(value / 500 * 1024), value) for value in values]
    three = _ratio(
        _lesson("raw", "volts", "temp"),
        labelled=[f"raw: {c}, volts: {v / 100:.3f}, temp: {v:.2f}" for c, v in pairs],
        bare=[f"{c},{v / 100:.3f},{v:.2f}" for c, v in pairs],
        n_rounds=n_rounds,
    )
    one = _ratio(
        _lesson("temp"),
        labelled=[f"temp: {v:.2f}" for v in values],
        bare=[f"{v:.2f}" for v in values],
        n_rounds=n_rounds,
    )
    return {
        "name": "pipeline",
        "figures": {"three labelled fields": three, "one labelled field": one},
        "goals": [
            f"three fields, readings and bands: at most {THREE_FIELDS_AT_MOST:g} times the bare loop",
            f"one labelled field: at most {ONE_FIELD_AT_MOST:g} times",
        ],
        "met": three["times"] <= THREE_FIELDS_AT_MOST and one["times"] <= ONE_FIELD_AT_MOST,
    }


def _lesson(*fields: str) -> Lesson:
    layout = Layout(name="labelled", kind="pairs", fields=tuple(FieldSpec(name=field) for field in fields))
    channels = tuple(
        Channel(
            name=field, field=field, unit="", low=0.0, high=1024.0, bands=BANDS if field == "temp" else None
        )
        for field in fields
    )
    mark = plain_bench(1)
    bench = Bench(number=1, name=mark.name, shape=mark.shape, colour=mark.colour, layout=layout.name)
    return Lesson(title="Pipeline", channels=channels, layouts=(layout,), benches=(bench,))


def _ratio(lesson: Lesson, *, labelled: list[str], bare: list[str], n_rounds: int) -> dict[str, float]:
    labelled_bytes, bare_bytes = ("\r\n".join([*texts, ""]).encode() for texts in (labelled, bare))
    n_values = len(labelled) * len(lesson.channels)
    timed = []
    for _ in range(n_rounds):
        pipeline = BenchPipeline(lesson, 1, cold=False)
        ours = _seconds(partial(_fed, pipeline, labelled_bytes), n_values)
        timed.append((ours, _seconds(partial(_split_and_float, bare_bytes), n_values)))
    return {
        "pipeline_us_per_line": 1e6 * statistics.median(ours for ours, _ in timed) / len(labelled),
        "bare_us_per_line": 1e6 * statistics.median(plain for _, plain in timed) / len(labelled),
        "times": statistics.median(ours / plain for ours, plain in timed),
    }


def _seconds(job: Callable[[], int], n_values: int) -> float:
    gc.collect()
    began = time.perf_counter()
    n_made = job()
    spent = time.perf_counter() - began
    assert n_made == n_values, f"{n_made} values instead of {n_values}"
    return spent


def _fed(pipeline: BenchPipeline, data: bytes) -> int:
    n_readings = 0
    for i, start in enumerate(range(0, len(data), PORTION_BYTES)):
        n_readings += len(pipeline.feed(data[start : start + PORTION_BYTES], i * 10_000_000).readings)
    return n_readings


def _split_and_float(data: bytes) -> int:
    """The least that any reader of text must do: decode, split, make floats."""
    n_values, rest = 0, b""
    for start in range(0, len(data), PORTION_BYTES):
        *lines, rest = (rest + data[start : start + PORTION_BYTES]).split(b"\n")
        for line in lines:
            values = [float(text) for text in line.decode().split(",")]
            n_values += len(values)
    return n_values
