"""The command line as a user meets it: words, exit codes, and where each goes."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from dashboard.command import main, program_version

ROOT = Path(__file__).resolve().parent.parent.parent
LESSON = """\
title = "Cups"
[[channel]]
name = "temperature"
unit = "°C"
"""


def benchrow(*words: str, given: bytes = b"") -> subprocess.CompletedProcess[bytes]:
    """The command in a process of its own, as a terminal starts it."""
    command = [sys.executable, "-m", "dashboard", *words]
    return subprocess.run(command, input=given, capture_output=True, timeout=60, check=False)


@pytest.fixture
def lesson(tmp_path: Path) -> Path:
    path = tmp_path / "lesson.toml"
    path.write_text(LESSON, encoding="utf-8")
    return path


def test_the_version_is_the_installed_one(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["--version"])
    assert (ended.value.code, capsys.readouterr().out) == (0, f"benchrow {program_version()}\n")
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert program_version() in {project["version"], "(not installed)"}


def test_without_a_command_the_help_is_shown_as_wrong_use(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 2
    assert "commands:" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (["frobnicate"], "frobnicate"),
        (["live", "--port", "0"], "1 to 65535"),
        (["live", "--port", "8e3"], "1 to 65535"),
        (["live", "--board", "three=COM4"], "three=COM4"),
        (["replay", "x.benchrow", "--speed", "100"], "0.25 to 64"),
        (["replay", "x.benchrow", "--speed", "nan"], "0.25 to 64"),
        (["replay", "x.benchrow", "--from", "-3"], "--from"),
        (["replay", "x.benchrow", "--from", "1:2:3:4"], "4:30"),
        (["replay"], "RECORDING"),
        (["read", "x", "--baud", "0"], "--baud"),
    ],
)
def test_wrong_use_ends_with_2_and_names_what_is_wrong(
    words: list[str], named: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        main(words)
    assert ended.value.code == 2
    assert named in capsys.readouterr().err


@pytest.mark.parametrize("command", ["live", "replay", "read", "check"])
def test_a_file_that_is_not_there_is_told_in_one_line(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([command, str(tmp_path / "nowhere")]) == 1
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert "nowhere" in told


def test_a_traceback_is_shown_with_v_only(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for words in (["-v", "check", str(tmp_path / "nowhere")], ["check", "-v", str(tmp_path / "nowhere")]):
        assert main(words) == 1
        assert "Traceback" in capsys.readouterr().err


def test_check_finds_nothing_wrong_in_a_right_lesson(
    lesson: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(lesson)]) == 0
    assert "no faults" in capsys.readouterr().out


def test_check_tells_every_fault_with_its_line_and_ends_with_1(
    lesson: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lesson.write_text(LESSON + 'decimal = 2\nlow = "cold"\n', encoding="utf-8")
    assert main(["check", str(lesson)]) == 1
    told = capsys.readouterr().out.splitlines()
    assert [f"{lesson}:5:" in told[0], "decimals" in told[0], f"{lesson}:6:" in told[1]] == [True, True, True]


def test_ports_answers_whatever_is_plugged_in(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["ports"]) == 0
    assert "port" in capsys.readouterr().out


def test_the_command_line_starts_without_what_takes_long_to_import() -> None:
    script = "import sys, dashboard.command as c; c.command_parser(); print(*sys.modules)"
    told = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert {"dash", "pandas", "numpy", "plotly", "serial", "websockets", "tomlkit"} & set(
        told.stdout.split()
    ) == set()


def test_the_demo_starts_where_the_table_of_faults_says() -> None:
    from dashboard.commands.demo import START_SECONDS
    from demo.faults import DEMO_START_SECONDS

    assert START_SECONDS == DEMO_START_SECONDS
