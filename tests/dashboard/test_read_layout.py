"""`benchrow read --layout`, as a user meets it."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from dashboard.command import main
from dashboard.shipped import demo_folder

CASES = Path(__file__).parents[1] / "cases"


@pytest.fixture
def told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Any:
    def of(text: str, *options: str) -> str:
        path = tmp_path / "board.bytes"
        path.write_bytes(text.encode())
        assert main(["read", str(path), "--layout", *options]) == 0
        return capsys.readouterr().out

    return of


def test_each_field_is_told_with_what_it_is_its_unit_and_an_example(told: Any) -> None:
    counts = [512, 530, 498, 611, 377, 720]
    out = told(
        "".join(f"raw: {c}, volts: {c * 5 / 1024:.2f} V, temp: {c * 500 / 1024:.1f} C\n" for c in counts)
    )
    lines = out.splitlines()
    assert lines[0] == (
        "Bench 1: label and value, commas between: raw, volts in V, temp in °C; the same in 3 lines "
        "(6 lines read, 0 set aside)"
    )
    assert lines[1].strip() == "certain"
    assert lines[3].split() == ["raw", "a", "count", "that", "10", "bits", "hold", "720"]
    assert lines[4].split() == ["volts", "volts", "V", "3.52"]
    assert lines[5].split() == ["temp", "a", "value", "°C", "351.6"]


def test_a_doubt_is_told_with_the_same_lines_as_each_way_reads_them(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["read", str(CASES / "comma-twice.bytes"), "--layout"]) == 0
    lines = [line.strip() for line in capsys.readouterr().out.splitlines()]
    assert "two ways" in lines[0]
    assert lines[1].startswith("doubtful")
    first = lines.index("1: 2 columns, commas between, with decimal comma: column 1, column 2")
    assert lines[first + 2].split() == ["45.00", "55.1"]
    second = lines.index("2: 4 columns, commas between: column 1, column 2, column 3, column 4")
    assert lines[second + 2].split() == ["45", "00", "55", "1"]
    assert lines[-1] == "44,63,54,6"


def test_numbers_that_run_together_are_told_as_a_fault_of_the_program(told: Any) -> None:
    out = told("2.5125.1\n2.5225.2\n2.5125.0\n")
    assert "0 lines read" in out
    assert "The numbers run together: print a separator between them" in out


def test_bytes_that_are_no_text_are_told_as_such(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["read", str(CASES / "wrong-rate.bytes"), "--layout"]) == 0
    assert "What comes is no text" in capsys.readouterr().out


def test_the_same_is_told_as_json(told: Any) -> None:
    one = json.loads(told("1\t512\n2\t530\n3\t498\n4\t611\n", "--json"))
    assert [field["role"] for field in one["fields"]] == ["index", "count"]
    assert (one["bench"], one["sure"], one["doubt"], one["n_read"]) == (1, "sure", "", 4)


def test_a_recording_tells_each_bench() -> None:
    recording = demo_folder() / "recording.benchrow"
    command = [sys.executable, "-m", "dashboard", "read", str(recording), "--layout", "--json"]
    out = subprocess.run(command, capture_output=True, check=True, text=True, encoding="utf-8").stdout
    benches = [json.loads(line) for line in out.splitlines()]
    assert [one["bench"] for one in benches] == list(range(1, 9))
    assert {one["sure"] for one in benches} == {"lesson"}
    roles = {one["bench"]: [field["role"] for field in one["fields"]] for one in benches}
    assert roles[1] == ["count"]
    assert roles[5] == ["index", "count", "volts", "value"]
    assert roles[8] == ["clock", "count", "value"]


def test_a_recording_without_its_lesson_is_learned_to_the_same_fields(tmp_path: Path) -> None:
    lesson = tmp_path / "open.toml"
    lesson.write_text('title = "Open"\n', encoding="utf-8")
    recording = demo_folder() / "recording.benchrow"
    command = [sys.executable, "-m", "dashboard", "read", str(recording), "--layout", "--json"]
    out = subprocess.run(
        [*command, "--lesson", str(lesson)], capture_output=True, check=True, text=True, encoding="utf-8"
    ).stdout
    benches = {one["bench"]: one for one in map(json.loads, out.splitlines())}
    assert {one["sure"] for one in benches.values()} == {"sure"}
    roles = {bench: [field["role"] for field in one["fields"]] for bench, one in benches.items()}
    assert roles == {
        1: ["count"],
        2: ["count", "volts", "value"],
        3: ["count", "volts", "value"],
        4: ["count", "volts", "value"],
        5: ["index", "count", "volts", "value"],
        6: ["index", "value", "value"],
        7: ["count", "volts", "value"],
        8: ["clock", "count", "value"],
    }
