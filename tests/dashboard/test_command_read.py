"""`benchrow read` as a user meets it: bytes in, text out."""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
from pathlib import Path

import pytest

from bridge import read_recording
from dashboard.command import main
from dashboard.readings_as_text import COLUMNS, utc_text
from dashboard.shipped import demo_folder

LABELLED = b"Temp: 20.5 C\r\nTemp: 20.7 C\r\nTemp: nan C\r\nTemp: -21 C\r\n"
READ = [sys.executable, "-m", "dashboard", "read"]


@pytest.fixture
def labelled(tmp_path: Path) -> Path:
    path = tmp_path / "labelled.bytes"
    path.write_bytes(LABELLED)
    return path


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_a_byte_file_becomes_csv_with_one_row_for_each_reading(
    labelled: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["read", str(labelled)]) == 0
    told = capsys.readouterr().out
    assert told.splitlines()[0] == ",".join(COLUMNS)
    rows = rows_of(told)
    assert [row["value"] for row in rows] == ["20.5", "20.7", "", "-21.0"]
    assert [row["line"] for row in rows] == ["1", "2", "3", "4"]
    assert [row["quality"].partition(":")[0] for row in rows] == ["good", "good", "bad", "good"]
    assert rows[2]["quality"] != "bad"  # the reason stands beside it
    assert {(row["bench"], row["channel"], row["unit"]) for row in rows} == {("1", rows[0]["channel"], "°C")}


def test_the_time_of_raw_bytes_follows_from_their_rate(
    labelled: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["read", str(labelled), "--baud", "1200"])
    slow = rows_of(capsys.readouterr().out)
    main(["read", str(labelled), "--baud", "9600"])
    fast = rows_of(capsys.readouterr().out)
    # 14 bytes of ten bits each up to the first line end.
    assert float(slow[0]["time"]) == pytest.approx(140 / 1200, abs=1e-6)
    assert float(fast[0]["time"]) == pytest.approx(140 / 9600, abs=1e-6)


def test_json_lines_bear_the_same_names_and_null_for_no_value(
    labelled: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["read", str(labelled), "--json"]) == 0
    objects = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [tuple(one) for one in objects] == [COLUMNS] * 4
    assert [one["value"] for one in objects] == [20.5, 20.7, None, -21.0]


def test_a_file_that_begins_inside_a_line_loses_that_line_only_when_told(
    labelled: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["read", str(labelled), "--cold"])
    assert [row["value"] for row in rows_of(capsys.readouterr().out)] == ["20.7", "", "-21.0"]


def test_the_layout_that_was_learned_is_told_with_its_lines(
    labelled: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["read", str(labelled), "--layout"]) == 0
    told = capsys.readouterr().out
    assert told.startswith("Bench 1: ")
    assert "4 lines read, 0 set aside" in told
    assert "Temp" in told


def test_a_lesson_names_channel_and_unit(
    labelled: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lesson = tmp_path / "lesson.toml"
    lesson.write_text(
        'title = "T"\n[[channel]]\nname = "water"\nfield = "Temp"\nunit = "°C"\n', encoding="utf-8"
    )
    assert main(["read", str(labelled), "--lesson", str(lesson)]) == 0
    assert {row["channel"] for row in rows_of(capsys.readouterr().out)} == {"water"}


def test_a_faulty_lesson_is_told_in_one_line_that_says_how_to_see_the_faults(
    labelled: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lesson = tmp_path / "lesson.toml"
    lesson.write_text('titel = "T"\n', encoding="utf-8")
    assert main(["read", str(labelled), "--lesson", str(lesson)]) == 1
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert "benchrow check" in told


def test_standard_input_is_read_as_it_arrives() -> None:
    process = subprocess.Popen([*READ, "-"], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    assert process.stdin
    assert process.stdout
    process.stdin.write(LABELLED * 3)
    process.stdin.flush()
    # The pipe is still open on our side: these lines come before its end.
    told = [process.stdout.readline().decode() for _ in range(1 + 3)]
    process.stdin.write(LABELLED)
    process.stdin.close()
    rest = process.stdout.read().decode()
    assert [row["value"] for row in rows_of("".join(told))] == ["20.5", "20.7", ""]
    assert len(rest.splitlines()) == 4 * 4 - 3
    process.stdout.close()
    assert process.wait() == 0


def test_a_reader_that_goes_away_is_no_error(tmp_path: Path) -> None:
    many = tmp_path / "many.bytes"
    many.write_bytes(LABELLED * 20_000)
    process = subprocess.Popen([*READ, str(many)], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert process.stdout
    assert process.stderr
    assert process.stdout.readline().decode().startswith("time,")
    process.stdout.close()
    assert process.stderr.read() == b""
    assert process.wait() == 0
    process.stderr.close()


def test_a_recording_gives_the_rows_that_read_recording_gives(capsys: pytest.CaptureFixture[str]) -> None:
    recording = demo_folder() / "recording.benchrow"
    assert main(["read", str(recording)]) == 0
    rows = rows_of(capsys.readouterr().out)
    table = read_recording(recording)
    assert [float(row["value"] or "nan") for row in rows] == pytest.approx(list(table["value"]), nan_ok=True)
    assert [row["time"] for row in rows] == [utc_text(one.value) for one in table["time"]]
    assert [int(row["line"]) for row in rows] == list(table["line"])


def test_another_sqlite_file_is_refused_in_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    import sqlite3

    other = tmp_path / "other.db"
    with sqlite3.connect(other) as connection:
        connection.execute("CREATE TABLE t (x)")
    connection.close()
    assert main(["read", str(other)]) == 1
    assert "other.db" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("utc_ns", "text"),
    [
        (0, "1970-01-01T00:00:00.000000Z"),
        (1_772_442_900_250_000_999, "2026-03-02T09:15:00.250000Z"),
        (1_709_164_799_999_999_999, "2024-02-28T23:59:59.999999Z"),
    ],
)
def test_a_time_is_written_without_rounding_up(utc_ns: int, text: str) -> None:
    assert utc_text(utc_ns) == text


def test_a_file_without_a_reading_is_told_on_standard_error(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "words").write_bytes(b"hello\nwell\n")
    assert main(["read", str(tmp_path / "words")]) == 0
    told = capsys.readouterr()
    assert told.out.splitlines() == [",".join(COLUMNS)]
    assert "no line could be read" in told.err
