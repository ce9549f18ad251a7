"""A small recorded class whose boards print counts: what a right and a wrong lesson give of it is known."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from bridge.recording import RecordingWriter

LENGTH_SECONDS, LINES_PER_SECOND = 60, 4
START_UTC_NS = 1_772_442_900_000_000_000  # 2026-03-02T09:15:00Z
RIGHT_VOLTS, WRONG_VOLTS = 3.3, 5.0
LESSON = """\
title = "Which cup stays warm?" # as on the board

[[channel]]
name = "temperature"
unit = "°C"
field = "raw"
conversion = "sensor"
low = 0.0
high = 80.0

[channel.bands]
baseline = 20.0
edges = [5.0, 15.0, 25.0]
names = ["room", "lukewarm", "warm", "hot"]
deadband = 1.0

[[channel.limit]]
kind = "high"
at = 50.0
deadband = 1.0
message = "Too warm"

[[conversion]]
name = "sensor"
start = "count"
width_bits = 10
reference_volts = 5.0 # not measured
volts_per_unit = 0.010

[[bench]]
number = 1
name = "Bare"
shape = "circle"
colour = "orange"
layout = "count"

[[bench]]
number = 2
name = "<b>Foil</b>"
shape = "bar"
colour = "yellow"
layout = "count"

[[bench]]
number = 3
name = "Prints degrees"
layout = "degrees"
[bench.channel.temperature]
field = "degrees"
conversion = "none"

[[layout]]
name = "count"
kind = "columns"
fields = ["raw"]

[[layout]]
name = "degrees"
kind = "pairs"
fields = [{ name = "degrees", label = "T", unit = "°C" }]

[[conversion]]
name = "none"
start = "volts"
volts_per_unit = 1.0
"""


def count_at(bench: int, second: float) -> int:
    """Warms up within the first third, stays, and cools: up to 40 °C with the right reference."""
    course = np.interp(second, [0, 15, 30, 60], [22.0, 36.0 + 4 * (bench == 1), 36.0, 24.0])
    return round(float(course) * 0.010 * 1024 / RIGHT_VOLTS)


def record_cups(path: Path, *, lesson: str = LESSON, revised: tuple[int, str] | None = None) -> Path:
    """Write the recording.

    Args:
        path: The file.
        lesson: From the start.
        revised: Another lesson and the second from which it holds.
    """
    writer = RecordingWriter(path, lesson_text=lesson, start_utc_ns=START_UTC_NS, program="test")
    noise = np.random.default_rng(5)
    for bench in (1, 2, 3):
        writer.add_event("break", bench, 0, {"cold": False})
    for step in range(LENGTH_SECONDS * LINES_PER_SECOND):
        at = step / LINES_PER_SECOND
        if revised is not None and at == revised[0]:
            writer.add_lesson(revised[1], round(at * 1e9))
        for bench in (1, 2):
            text = f"{count_at(bench, at) + noise.integers(-1, 2)}\r\n"
            writer.add_chunk(bench, text.encode(), round((at + 0.001 * bench) * 1e9))
        writer.add_chunk(3, f"T: {20 + at / 10:.2f} C\r\n".encode(), round((at + 0.003) * 1e9))
    writer.close()
    assert writer.failure is None
    return path
