"""`benchrow read RECORDING --bands`, as a user meets it."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from bridge.recording import RecordingWriter
from dashboard.band_times_as_text import COLUMNS
from dashboard.command import main

SECOND = 1_000_000_000
PLAIN = """\
title = "Cups"
[[channel]]
name = "temperature"
unit = "°C"
[[bench]]
number = 1
"""
BANDED = PLAIN.replace(
    "[[bench]]",
    '[channel.bands]\nbaseline = 20.0\nedges = [5.0]\nnames = ["=room", "warm"]\ndeadband = 1.0\n[[bench]]',
)


def recording(folder: Path, lesson: str) -> Path:
    """Ten seconds below the edge at 25 °C, then above it, with one dip by less than the deadband."""
    path = folder / "kept.benchrow"
    writer = RecordingWriter(path, lesson_text=lesson, start_utc_ns=10**18, program="test")
    writer.add_event("break", 1, 0, {"cold": False})
    for second in range(31):
        value = 22.0 if second < 10 else 24.5 if second == 20 else 26.0
        writer.add_chunk(1, f"temperature: {value:.1f}\n".encode(), second * SECOND)
    writer.close()
    return path


def test_each_band_has_its_time_and_the_deadband_its_worth(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = recording(tmp_path, BANDED)
    assert main(["read", str(path), "--bands"]) == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert tuple(rows[0]) == COLUMNS
    assert [(one["band"], one["name"], one["low"], one["high"]) for one in rows] == [
        ("0", "'=room", "", "25.0"),  # no spreadsheet runs it
        ("1", "warm", "25.0", ""),
    ]
    assert [(float(one["seconds"]), one["entries"]) for one in rows] == [(10.0, "1"), (20.0, "1")]
    assert {
        (one["changes"], one["edge_changes_without_deadband"], one["edge_changes_avoided"]) for one in rows
    } == {("1", "3", "2")}
    assert main(["read", str(path), "--bands", "--json"]) == 0
    told = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert all(tuple(one) == COLUMNS for one in told)
    assert (told[0]["name"], told[0]["low"], told[1]["seconds"]) == ("=room", None, 20.0)


def test_a_lesson_without_bands_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["read", str(recording(tmp_path, PLAIN)), "--bands"]) == 0
    told = capsys.readouterr()
    assert told.out == ",".join(COLUMNS) + "\n"
    assert "no bench had a band" in told.err


def test_raw_bytes_have_no_times_in_bands(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "board.bytes"
    path.write_bytes(b"20.0\n")
    assert main(["read", str(path), "--bands"]) == 1
    assert "no times in bands" in capsys.readouterr().err
