"""`benchrow read --findings`, as a user meets it."""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from dashboard.command import main
from dashboard.findings_as_text import COLUMNS
from dashboard.shipped import demo_folder
from dashboard.text_cells import as_text_cell

NO_LINE_END = Path(__file__).parents[1] / "cases" / "no-line-end.bytes"
LESSON = """\
title = "Cups"
[[channel]]
name = "printed"
unit = "°C"
field = "temp"
[[channel]]
name = "temperature"
unit = "°C"
field = "raw"
conversion = "sensor"
[[conversion]]
name = "sensor"
start = "count"
volts_per_unit = 0.010
[[bench]]
number = 3
name = "Foil"
"""

Told = tuple[int, str, str]  # exit code, standard output, standard error
Read = Callable[..., Told]


@pytest.fixture
def read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Read:
    """`benchrow read FILE --findings` on the bytes of a board."""

    def of(data: bytes, *options: str) -> Told:
        path = tmp_path / "board.bytes"
        path.write_bytes(data)
        code = main(["read", str(path), "--findings", *options])
        told = capsys.readouterr()
        return code, told.out, told.err

    return of


@pytest.fixture
def lesson(tmp_path: Path) -> str:
    path = tmp_path / "lesson.toml"
    path.write_text(LESSON, encoding="utf-8")
    return str(path)


def printed(n: int, *, divides_whole: bool) -> bytes:
    """Lines of a sensor of 10 mV per °C at a 10-bit converter with a reference of 5 V."""
    lines = []
    for i in range(n):
        count = 40 + i * 37 % 300
        volts = count * 5 // 1024 if divides_whole else count * 5 / 1024
        lines.append(f"raw: {count}, volts: {volts:.3f}, temp: {volts * 100:.1f}\r\n")
    return "".join(lines).encode()


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_a_byte_file_becomes_one_row_for_each_finding(read: Read, lesson: str) -> None:
    code, out, err = read(printed(130, divides_whole=True), "--lesson", lesson)
    assert (code, err) == (0, "")
    assert out.splitlines()[0] == ",".join(COLUMNS)
    rows = [row for row in rows_of(out) if row["kind"] == "wrong formula"]
    assert len(rows) == 1
    (row,) = rows
    assert (row["bench"], row["channel"], row["weight"], row["gone"]) == ("3", "printed", "fault", "")
    assert row["words"].startswith("The program divides in whole numbers")
    assert "Expected: °C = count × 5 V / 1024 / 0.01 V per °C" in row["evidence"]
    assert "decimal point" in row["remedy"]
    assert 0 < float(row["found"]) <= 130 * 45 / 960  # where in the file, by the rate of the bytes


def test_json_lines_bear_the_same_names_and_null_while_a_finding_stands(read: Read, lesson: str) -> None:
    data = printed(130, divides_whole=True)
    _, as_csv, _ = read(data, "--lesson", lesson)
    code, out, _ = read(data, "--lesson", lesson, "--json")
    assert code == 0
    objects = [json.loads(line) for line in out.splitlines()]
    assert [tuple(one) for one in objects] == [COLUMNS] * len(objects)
    assert {one["gone"] for one in objects} == {None}
    rows = rows_of(as_csv)
    assert [one["words"] for one in objects] == [row["words"] for row in rows]
    assert [one["found"] for one in objects] == [float(row["found"]) for row in rows]


@pytest.mark.parametrize("as_json", [False, True])
def test_of_a_right_board_nothing_is_told_but_on_standard_error(
    read: Read, lesson: str, as_json: bool
) -> None:
    code, out, err = read(printed(130, divides_whole=False), "--lesson", lesson, *["--json"] * as_json)
    assert code == 0
    assert out.splitlines() == ([] if as_json else [",".join(COLUMNS)])
    assert err == "benchrow: nothing was found wrong.\n"


def told_of_standard_input(data: bytes, option: str) -> str:
    command = [sys.executable, "-m", "dashboard", "read", "-", option]
    return subprocess.run(command, input=data, capture_output=True, check=True).stdout.decode()


def test_standard_input_is_judged_at_its_end(read: Read) -> None:
    data = NO_LINE_END.read_bytes()
    told = told_of_standard_input(data, "--findings")
    assert told == read(data)[1]
    assert [row["kind"] for row in rows_of(told)] == ["no line end"]


def test_how_standard_input_is_read_is_told_at_its_end() -> None:
    told = told_of_standard_input(printed(20, divides_whole=False), "--layout").splitlines()
    assert told[0].endswith("(20 lines read, 0 set aside)")
    assert [line.split()[0] for line in told[3:]] == ["raw", "volts", "temp"]


def test_the_rate_of_the_bytes_says_when_in_them_a_finding_came(read: Read) -> None:
    data = NO_LINE_END.read_bytes()
    found = [float(rows_of(read(data, "--baud", baud)[1])[0]["found"]) for baud in ("4800", "9600")]
    assert found[0] == pytest.approx(2 * found[1], abs=1e-5)
    assert 0 < found[1] <= len(data) / 960


def test_a_recording_tells_every_bench_with_times_in_utc(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["read", str(demo_folder() / "recording.benchrow"), "--findings"]) == 0
    rows = rows_of(capsys.readouterr().out)
    assert [row["found"] for row in rows] == sorted(row["found"] for row in rows)
    assert all(row["found"].endswith("Z") and row["found"] < (row["gone"] or "Z") for row in rows)
    found = {(row["bench"], row["kind"]) for row in rows}
    assert found >= {
        ("1", "no bytes"), ("2", "too coarse"), ("3", "wrong baud"), ("4", "wrong formula"),
        ("4", "unlike the others"), ("5", "floating input"), ("8", "board resetting"), ("8", "no line end"),
    }  # fmt: skip


def test_what_a_board_calls_its_fields_never_becomes_a_formula(read: Read) -> None:
    name = '=HYPERLINK("http://x","a, b")'
    counts = [40 + i * 37 % 900 for i in range(150)]
    data = "".join(f'{{"raw": {count}, {json.dumps(name)}: {count // 205:.2f}}}\n' for count in counts)
    code, out, _ = read(data.encode())
    assert code == 0
    (row,) = [row for row in rows_of(out) if row["kind"] == "too coarse"]
    assert row["channel"] == f"'{name}"
    assert row["words"].startswith(f"'{name} comes in whole numbers only")
    _, as_json, _ = read(data.encode(), "--json")
    (one,) = [one for one in map(json.loads, as_json.splitlines()) if one["kind"] == "too coarse"]
    assert one["channel"] == name
    assert one["words"].startswith(name)


def test_what_a_board_prints_is_quoted_as_one_cell(read: Read) -> None:
    code, out, _ = read(b'=1+1,"a";@b,' * 400)
    assert code == 0
    (row,) = rows_of(out)
    assert row["kind"] == "no line end"
    assert '=1+1,"a";@b,' in row["evidence"]
    assert row["evidence"][0] not in "=+-@"
    assert None not in row


@pytest.mark.parametrize(
    "begins", ["=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20"]
)
def test_a_cell_is_text_whatever_it_begins_with(begins: str) -> None:
    assert as_text_cell(f"{begins}1+1") == f"'{begins}1+1"
    assert as_text_cell(f"a{begins}1") == f"a{begins}1"
    assert as_text_cell("") == ""


@pytest.mark.parametrize("option", ["--findings", "--layout"])
def test_a_file_that_is_not_there_is_the_end_of_the_job(
    option: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["read", str(tmp_path / "none.bytes"), option]) == 1
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.count("\n") == 1
    assert "none.bytes" in told.err


@pytest.mark.parametrize("option", ["--findings", "--layout"])
def test_a_lesson_with_a_fault_is_the_end_of_the_job(
    option: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lesson = tmp_path / "lesson.toml"
    lesson.write_text('titel = "T"\n', encoding="utf-8")
    assert main(["read", str(NO_LINE_END), option, "--lesson", str(lesson)]) == 1
    assert "benchrow check" in capsys.readouterr().err


@pytest.mark.parametrize("options", [["--findings", "--baud", "0"], ["--findings", "--nonsense"]])
def test_wrong_use_is_told_as_such(options: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["read", str(NO_LINE_END), *options])
    assert ended.value.code == 2
    assert capsys.readouterr().out == ""


@pytest.mark.parametrize("option", ["--findings", "--layout"])
def test_an_empty_file_has_nothing_wrong_and_no_layout(
    option: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    empty = tmp_path / "empty.bytes"
    empty.write_bytes(b"")
    assert main(["read", str(empty), option]) == 0
    told = capsys.readouterr().out
    assert told.splitlines()[0] == (
        ",".join(COLUMNS)
        if option == "--findings"
        else "Bench 1: no layout found (0 lines read, 0 set aside)"
    )
