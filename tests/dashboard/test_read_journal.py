"""`benchrow read RECORDING --journal` and `--figures`, as a user meets them."""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
from pathlib import Path

import pytest

from bridge import read_lesson
from bridge.recording import RecordingWriter
from dashboard.command import main
from dashboard.journal_as_text import COLUMNS, FIGURE_COLUMNS

SECOND = 1_000_000_000
START_UTC_NS = 1_790_000_000 * SECOND
LESSON = """\
title = "Cups"

[[channel]]
name = "temperature"
unit = "°C"

[[channel.limit]]
kind = "high"
at = 40.0
priority = "high"
message = "Too warm"

[[channel.limit]]
kind = "stale"
at = 5.0

[[layout]]
name = "one"
kind = "columns"
fields = ["temperature"]

[[bench]]
number = 1
layout = "one"

[[bench]]
number = 2
layout = "one"
"""


@pytest.fixture
def recording(tmp_path: Path) -> Path:
    """Bench 1 swings about its limit for a minute, then falls silent; a person set the alarm aside once."""
    path = tmp_path / "kept.benchrow"
    writer = RecordingWriter(path, lesson_text=LESSON, start_utc_ns=START_UTC_NS, program="test")
    for bench in (1, 2):
        writer.add_event("break", bench, 0, {"cold": False})
    for second in range(1, 61):
        value = 40.0 + (0.3 if second % 4 < 2 else -0.3)
        writer.add_chunk(1, f"{value:.1f}\n".encode(), second * SECOND)
        if second == 30:
            detail = {
                "channel": "temperature", "limit": "high", "who": "instructor", "reason": "=being stirred",
                "until_ns": 40 * SECOND,
            }  # fmt: skip
            writer.add_event("shelve", 1, 30 * SECOND, detail)
    writer.add_chunk(2, b"20.0\n", 70 * SECOND)
    writer.close()
    return path


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_the_journal_has_a_row_for_each_transition(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["read", str(recording), "--journal"]) == 0
    rows = rows_of(capsys.readouterr().out)
    assert tuple(rows[0]) == COLUMNS
    assert rows[0] == {
        "time": "2026-09-21T14:13:21.000000Z", "bench": "1", "channel": "temperature", "alarm": "high",
        "kind": "high", "event": "rise", "state": "unacknowledged", "before": "normal", "value": "40.3",
        "limit": "40.0", "unit": "°C", "priority": "high", "who": "rule", "reason": "", "until": "",
        "message": "Too warm",
    }  # fmt: skip
    (shelved,) = (one for one in rows if one["event"] == "shelve")
    assert (shelved["who"], shelved["state"]) == ("instructor", "shelved")
    assert shelved["reason"] == "'=being stirred"  # no spreadsheet runs it
    assert shelved["until"] == "2026-09-21T14:14:00.000000Z"
    (stale,) = (one for one in rows if one["alarm"] == "stale")
    assert (stale["time"], stale["value"], stale["unit"]) == ("2026-09-21T14:14:25.000000Z", "5.0", "s")
    assert [one["time"] for one in rows] == sorted(one["time"] for one in rows)


def test_the_journal_is_written_as_json_with_the_same_names(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["read", str(recording), "--journal", "--json"]) == 0
    entries = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert all(tuple(one) == COLUMNS for one in entries)
    (shelved,) = (one for one in entries if one["event"] == "shelve")
    assert shelved["reason"] == "=being stirred"


def test_a_corrected_lesson_gives_the_journal_that_would_have_been(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    calmer = tmp_path / "calmer.toml"
    calmer.write_text(LESSON.replace("at = 40.0", "at = 40.0\ndeadband = 1.0"), encoding="utf-8")
    assert read_lesson(calmer).channels[0].limits[0].deadband == 1.0
    main(["read", str(recording), "--journal", "--lesson", str(calmer)])
    rows = rows_of(capsys.readouterr().out)
    assert [one["event"] for one in rows if one["alarm"] == "high"] == ["rise", "shelve", "unshelve"]


def test_each_row_follows_the_lesson_that_held_when_it_happened(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "revised.benchrow"
    writer = RecordingWriter(path, lesson_text=LESSON, start_utc_ns=START_UTC_NS, program="test")
    writer.add_event("break", 1, 0, {"cold": False})
    for second, value in enumerate([41.0, 39.0, 41.0, 41.0], start=1):
        if second == 3:
            revised = (
                LESSON.replace("Too warm", "Hot").replace("°C", "K").replace('"high"\nmess', '"low"\nmess')
            )
            writer.add_lesson(revised, 2_500_000_000)
        writer.add_chunk(1, f"{value:.1f}\n".encode(), second * SECOND)
    writer.add_lesson(
        LESSON[: LESSON.index("[[channel.limit]]")] + LESSON[LESSON.index("[[layout]]") :], 5 * SECOND
    )
    writer.close()
    assert main(["read", str(path), "--journal"]) == 0
    rows = rows_of(capsys.readouterr().out)
    assert [(one["event"], one["unit"], one["priority"], one["message"]) for one in rows] == [
        ("rise", "°C", "high", "Too warm"),
        ("return", "°C", "high", "Too warm"),
        ("rise", "K", "low", "Hot"),
        ("return", "K", "low", "Hot"),
    ]
    assert (rows[-1]["state"], rows[-1]["who"]) == ("normal", "instructor")
    assert rows[-1]["reason"] == "no longer in the lesson"


def test_the_figures_name_an_alarm_that_chatters_and_what_would_calm_it(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["read", str(recording), "--figures"]) == 0
    rows = rows_of(capsys.readouterr().out)
    assert tuple(rows[0]) == FIGURE_COLUMNS
    by_name = {one["figure"]: one for one in rows}
    assert by_name["length"]["value"] == "70.0"
    assert by_name["alarms per 10 minutes"]["words"] == "too many for one person"
    chattering = by_name["chattering"]
    assert (chattering["bench"], chattering["channel"], chattering["alarm"]) == ("1", "temperature", "high")
    assert chattering["value"] == "16"
    assert "with a deadband of 0.4 °C this alarm would have come once instead of 16" in chattering["words"]
    standing = [(one["bench"], one["alarm"]) for one in rows if one["figure"] == "standing"]
    assert ("1", "stale") in standing


def test_raw_bytes_have_no_journal(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "board.bytes"
    path.write_bytes(b"20.0\n")
    assert main(["read", str(path), "--journal"]) == 1
    assert "no alarm journal" in capsys.readouterr().err


def test_a_session_without_alarms_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "calm.benchrow"
    RecordingWriter(path, lesson_text=LESSON, start_utc_ns=START_UTC_NS, program="test").close()
    assert main(["read", str(path), "--journal"]) == 0
    told = capsys.readouterr()
    assert rows_of(told.out) == []
    assert "no alarm came" in told.err
    assert main(["read", str(path), "--figures"]) == 0


def test_the_real_command_writes_the_journal(recording: Path) -> None:
    command = [sys.executable, "-m", "dashboard", "read", str(recording), "--journal", "--json"]
    done = subprocess.run(command, capture_output=True, check=True, timeout=120)
    events = [json.loads(line)["event"] for line in done.stdout.decode().splitlines()]
    assert events[:2] == ["rise", "return"]
