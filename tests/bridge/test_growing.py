"""A recording that is read while it is written gives, piece by piece, what it gives as a whole."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from bridge import GrowingSession, RecordingError, read_session
from bridge.recorded import Chunk, Event, Recorded
from bridge.recording import RecordingWriter
from dashboard.shipped import demo_folder

DEMO = demo_folder() / "recording.benchrow"
PIECE_NS = 45_000_000_000
END_NS = 4 * PIECE_NS
LESSON = """\
title = "cups"
[[channel]]
name = "t"
unit = "{}"
field = "T"
low = 0.0
high = 90.0
[[bench]]
number = 1
"""


def test_piece_by_piece_it_gives_the_same_as_in_one_go(tmp_path: Path) -> None:
    path = tmp_path / "growing.benchrow"
    with Recorded(DEMO) as demo:
        items = [one for one in demo.items() if one.at_ns < END_NS]
        lesson = demo.lessons[0][1]
    writer = RecordingWriter(path, lesson_text=lesson, start_utc_ns=5_000, program="test")
    assert writer.flush()
    growing, lengths = GrowingSession(path), [0]
    for end_ns in range(PIECE_NS, END_NS + 1, PIECE_NS):
        for item in items:
            if not end_ns - PIECE_NS <= item.at_ns < end_ns:
                continue
            if isinstance(item, Chunk):
                writer.add_chunk(item.bench, item.data, item.at_ns)
            elif isinstance(item, Event):
                writer.add_event(item.kind, item.bench, item.at_ns, item.detail)
        assert writer.flush()
        shares: list[float] = []
        found = growing.read_on(progress=shares.append)
        assert (min(shares), shares[-1]) == (0.0, 1.0)
        lengths.append(len(found.table))
    writer.close()
    whole = read_session(path)
    assert lengths == sorted(set(lengths))
    last = growing.read_on()
    pd.testing.assert_frame_equal(last.table, whole.table)
    assert last.findings == whole.findings
    assert last.findings
    assert last.lesson == whole.lesson
    assert last.reasons == whole.reasons


def test_a_lesson_that_is_revised_meanwhile_counts_from_then_on(tmp_path: Path) -> None:
    path = tmp_path / "revised.benchrow"
    writer = RecordingWriter(path, lesson_text=LESSON.format("°C"), start_utc_ns=5_000, program="test")
    writer.add_event("break", 1, 0, {"cold": False})
    growing = GrowingSession(path)
    for k, unit in enumerate(("°C", "K")):
        if k:
            writer.add_lesson(LESSON.format(unit), 10_000_000_000)
        for i in range(10):
            writer.add_chunk(1, b"T: 2%d.5\r\n" % i, (10 * k + i + 1) * 1_000_000_000)
        assert writer.flush()
        found = growing.read_on()
        assert set(found.table["unit"][10 * k :]) == {unit}
    assert len(found.table) == 20
    assert found.lesson.channels[0].unit == "K"
    writer.close()


def test_after_an_error_it_is_read_from_its_beginning(tmp_path: Path) -> None:
    path = tmp_path / "late.benchrow"
    growing = GrowingSession(path)
    with pytest.raises(RecordingError):
        growing.read_on()
    writer = RecordingWriter(path, lesson_text='title = "cups"', start_utc_ns=5_000, program="test")
    writer.add_event("break", 1, 0, {"cold": False})
    for i in range(10):
        writer.add_chunk(1, b"T: 2%d.5\r\n" % i, i * 1_000_000_000)
    assert writer.flush()

    def let_go(share: float) -> None:
        if share == 1.0:
            raise ValueError("let go")

    with pytest.raises(ValueError, match="let go"):
        growing.read_on(progress=let_go)
    assert len(growing.read_on().table) == 10
    writer.close()
