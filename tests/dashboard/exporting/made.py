"""Small made-up sessions for the tests of hand-outs."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pandas as pd

from bridge import Lesson, Recorded
from bridge.core.lesson import Channel, plain_bench
from bridge.recording import RecordingWriter
from dashboard.exporting import gathered
from dashboard.exporting.columns import NAMES
from dashboard.exporting.session import Session
from dashboard.progress import Progress

SECOND_NS = 1_000_000_000
START_UTC_NS = 1_790_000_000_123_456_789
LESSON = """title = "Cups & <covers>"
[[channel]]
name = "Temp"
quantity = "water temperature"
unit = "°C"
low = 0.0
high = 60.0
[channel.bands]
baseline = 20.0
edges = [2.0, 5.0]
names = ["room", "lukewarm", "warm"]
[[channel.limit]]
kind = "high"
at = 30.0
message = "Too warm"
[[bench]]
number = 1
name = "Wool"
[[bench]]
number = 2
name = "=Foil"
"""


def silent() -> Progress:
    """Tells nobody."""
    return Progress(io.StringIO())


def recording_in(folder: Path, *, n: int = 12, lesson: str = LESSON, later: str = "") -> Path:
    """Two benches of one printed temperature a second, closed; `later`: the lesson from its middle on."""
    path = folder / "cups.benchrow"
    writer = RecordingWriter(
        path, lesson_text=lesson, start_utc_ns=START_UTC_NS, program="benchrow test", commit_seconds=0.02
    )
    for bench in (1, 2):
        writer.add_chunk(bench, b"\n", 0)
    for i in range(n):
        at_ns = i * SECOND_NS + 250_000_007
        writer.add_chunk(1, b"Temp: %d.5 C\r\n" % (20 + i), at_ns)
        writer.add_chunk(2, b"Temp: %d.25 C\r\n" % (21 + i), at_ns + 1)
        if later and i == n // 2:
            writer.add_lesson(later, at_ns + 2)
    writer.add_marker(5 * SECOND_NS, "<poured>", "instructor")
    assert writer.flush()
    writer.close()
    with Recorded(path) as recorded:
        assert recorded.benches == (1, 2)
    return path


def session_in(folder: Path) -> Session:
    """That recording, gathered."""
    return gathered(recording_in(folder), lesson=None, progress=silent())


def session_of(rows: list[dict[str, object]]) -> Session:
    """A session of readings as given; what a row leaves out is plain."""
    plain: dict[str, object] = {
        "seconds": 0.0, "bench": 1, "bench_name": "One", "channel": "t", "value": 1.0, "unit": "°C",
        "u": np.nan, "quality": "good", "reason": "", "line": 1,
    }  # fmt: skip
    filled = [{**plain, **row} for row in rows]
    table = pd.DataFrame(filled, columns=[name for name in NAMES if name != "time"])
    for name in ("bench_name", "channel", "unit", "quality", "reason"):
        table[name] = table[name].astype("str")
    ns = (table["seconds"].to_numpy(np.float64) * 1e9).round().astype(np.int64)
    table.insert(0, "time", pd.to_datetime(START_UTC_NS + ns, unit="ns", utc=True))
    benches = tuple(plain_bench(number) for number in sorted(set(table["bench"])))
    return Session(
        file="made.benchrow",
        title="Made up",
        program="test",
        started=pd.Timestamp(START_UTC_NS, unit="ns", tz="UTC"),
        length_seconds=float(table["seconds"].max()) if len(table) else 0.0,
        lesson=Lesson(title="Made up", channels=(Channel(name="t", unit="°C"),), benches=benches),
        readings=table,
        markers=(),
        links=(),
        damage="",
    )
