"""A small recorded class with known answers: four benches, a first-order step at each, one goes silent."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from bridge.recording import RecordingWriter

TIME_CONSTANTS = {1: 2.0, 2: 2.0, 3: 6.0, 4: 4.0}
ONSETS = {1: 20.0, 2: 23.0, 3: 18.0, 4: 21.0}
BEFORE, AFTER = 20.0, 40.0
SILENT = {4: (70.0, 80.0)}
LENGTH_SECONDS, LINES_PER_SECOND = 90.0, 5
START_UTC_NS = 1_772_442_900_000_000_000  # 2026-03-02T09:15:00Z
LESSON = """\
title = "Which sensor answers first?"

[[channel]]
name = "temperature"
unit = "°C"
field = "T"
low = 15.0
high = 45.0
[channel.bands]
baseline = 20.0
edges = [5.0, 15.0]
names = ["cold", "warm", "hot"]

[[channel]]
name = "room"
unit = "°C"
field = "R"
low = 15.0
high = 45.0

[[bench]]
number = 1
name = "Bare"
shape = "circle"
colour = "orange"

[[bench]]
number = 2
name = "Bare again"
shape = "bar"
colour = "yellow"

[[bench]]
number = 3
name = "In glass"
shape = "ring"
colour = "blue"

[[bench]]
number = 4
name = "<b>In wax</b>"
shape = "star"
colour = "black"
"""


def value_at(bench: int, seconds: float) -> float:
    """Without noise."""
    since = max(0.0, seconds - ONSETS[bench])
    return AFTER + (BEFORE - AFTER) * float(np.exp(-since / TIME_CONSTANTS[bench]))


def record_class(path: Path, *, later: float = 0.0, lesson: str = LESSON) -> Path:
    """Write the recording; `later` is added to all values after the step: another day's water."""
    writer = RecordingWriter(
        path, lesson_text=lesson, start_utc_ns=START_UTC_NS, program="test", title="Class"
    )
    noise = np.random.default_rng(5)
    for bench in TIME_CONSTANTS:
        writer.add_event("break", bench, 0, {"cold": False})
    for step in range(int(LENGTH_SECONDS * LINES_PER_SECOND)):
        at = (step + 1) / LINES_PER_SECOND
        for bench in TIME_CONSTANTS:
            since, until = SILENT.get(bench, (np.inf, np.inf))
            if since < at < until:
                continue
            warmer = later if at > ONSETS[bench] else 0.0
            value = value_at(bench, at) + warmer + 0.02 * noise.standard_normal()
            text = f"T: {value:.3f} C, R: {20 + 0.01 * noise.standard_normal():.3f} C\r\n"
            writer.add_chunk(bench, text.encode(), round((at + 0.001 * bench) * 1e9))
    writer.close()
    assert writer.failure is None
    return path
