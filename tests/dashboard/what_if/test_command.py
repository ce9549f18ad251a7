"""`benchrow what-if` as a user meets it: a recording and a change in, sentences and tables out."""

from __future__ import annotations

import contextlib
import json
import sqlite3
from pathlib import Path

import pytest

from bridge import read_lesson, read_recording
from dashboard.command import main
from dashboard.shipped import demo_folder
from tests.dashboard.what_if.recorded import LESSON, record_cups

VOLTS = "conversion/sensor/reference_volts"


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return record_cups(tmp_path_factory.mktemp("cups") / "cups.benchrow")


def test_without_a_change_all_that_may_be_changed_is_listed(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["what-if", str(recording)]) == 0
    told = capsys.readouterr().out
    assert "Conversion “sensor” – Used by channel “temperature”." in told
    assert f"  {VOLTS} = 5.0    (V)\n" in told
    assert "  channel/temperature/limit/high/at = 50.0    (°C)\n" in told
    assert "  channel/temperature/limit/low/at =    (°C)\n" in told


def test_both_results_are_told_and_the_changed_lesson_is_kept(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = recording.read_bytes()
    kept = tmp_path / "kept.toml"
    assert main(["what-if", str(recording), "--set", f"{VOLTS}=3,3", "--save", str(kept)]) == 0
    told = capsys.readouterr().out
    assert told.startswith(
        "Which cup stays warm?\n\nReference voltage of conversion “sensor”: from 5.0 V to 3.3 V."
    )
    assert "Something differs at 2 of 3 benches; nothing differs at the other 1." in told
    assert "BENCH 1, BARE\n" in told
    assert "alarm “high” came" in told
    assert read_lesson(kept).conversions[0].reference_volts == 3.3
    assert kept.read_text(encoding="utf-8") == LESSON.replace(
        "reference_volts = 5.0", "reference_volts = 3.3"
    )
    assert recording.read_bytes() == before
    assert main(["what-if", str(recording), "--set", f"{VOLTS}=3", "--save", str(kept)]) == 1
    told = capsys.readouterr().err
    assert "is there already" in told
    assert "computing" not in told


def test_as_json_figures_have_all_digits(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--set", f"{VOLTS}=3.3", "--set", "channel/temperature/limit/low/at=25", "--json"]
    assert main(["what-if", str(recording), *words]) == 0
    found = json.loads(capsys.readouterr().out)
    assert [(one["path"], one["from"], one["to"]) for one in found["changes"]] == [
        (["conversion", "sensor", "reference_volts"], 5.0, 3.3),
        (["channel", "temperature", "limit", "low", "at"], None, 25.0),
    ]
    bare = found["values"][0]
    table = read_recording(recording)
    assert bare["of"] == {"bench": 1, "channel": "temperature"}
    assert bare["before"]["greatest"] == table["value"][table["bench"] == 1].max()
    assert not found["is_same"]
    low = next(
        one for one in found["alarms"] if one["of"] == {"bench": 3, "channel": "temperature", "limit": "low"}
    )
    assert low["before"]["at"] is None
    assert low["after"]["n_rises"] == 1
    assert (found["bands"][2]["is_same"], found["findings"]) == (True, [])


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        (
            "conversion/sensor/reference_volt=3",
            'Write for example --set "conversion/sensor/reference_volts=VALUE"',
        ),
        (VOLTS, f"{VOLTS!r} gives no value"),
        ("nonsense=3", "See without --set what may be changed"),
        (f"{VOLTS}=warm", f"{VOLTS}: “warm” is no number. Write for example 5.0.\n"),
        (f"{VOLTS}=3300", "3300 mV are 3.3 V. Write for example: reference_volts = 5.0"),
        (f"{VOLTS}=5", "that is what the lesson says already"),
    ],
)
def test_what_can_not_be_changed_is_told_with_what_to_write(
    typed: str, told: str, recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["what-if", str(recording), "--set", typed]) == 1
    assert told in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--set", f"{VOLTS}=3", "--set", f"{VOLTS}=4"], f"{VOLTS} is given twice"),
        (["--save", "new.toml"], "Name a change with --set"),
        (["--set", f"{VOLTS}=3", "--save", "no such folder/new.toml"], "there is no folder no such folder"),
    ],
)
def test_options_that_do_not_go_together_are_told(
    words: list[str], told: str, recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["what-if", str(recording), *words]) == 1
    assert told in capsys.readouterr().err


def test_a_lesson_that_is_no_toml_is_told(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    faulty = tmp_path / "faulty.toml"
    faulty.write_text("title = [", encoding="utf-8")
    assert main(["what-if", str(recording), "--lesson", str(faulty)]) == 1
    assert "faulty.toml has 1 fault" in capsys.readouterr().err
    recorded = record_cups(tmp_path / "cups.benchrow", lesson="title = [")
    assert main(["what-if", str(recorded)]) == 1
    assert "the lesson in cups.benchrow is faulty" in capsys.readouterr().err


def test_a_key_that_is_taken_out_says_what_holds_then(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["what-if", str(recording), "--set", "channel/temperature/bands/deadband="]) == 0
    assert "from 1.0 °C to 0.0 °C, which holds where the lesson says nothing." in capsys.readouterr().out


def test_what_may_be_changed_is_listed_as_json_too(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["what-if", str(recording), "--json"]) == 0
    found = {one["path"]: one for one in json.loads(capsys.readouterr().out)}
    assert (found[VOLTS]["value"], found[VOLTS]["unit"]) == (5.0, "V")


def test_a_damaged_recording_is_said_to_be(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    cut = record_cups(tmp_path / "cut.benchrow", revised=(30, LESSON))
    with contextlib.closing(sqlite3.connect(cut)) as database, database:
        database.execute("DELETE FROM lessons WHERE at_ns > 0")
    assert main(["what-if", str(cut), "--set", f"{VOLTS}=3.3"]) == 0
    assert "cut.benchrow is damaged (number 365 of what happened is missing)" in " ".join(
        capsys.readouterr().out.split()
    )
    cut.write_bytes((demo_folder() / "recording.benchrow").read_bytes()[:150_000])
    assert main(["what-if", str(cut), "--set", "channel/temperature/limit/high/at=40"]) == 1
    assert "no reading with a value stands before the damage" in capsys.readouterr().err


def test_a_recording_without_a_lesson_has_nothing_to_change(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plain = record_cups(tmp_path / "plain.benchrow", lesson="")
    assert main(["what-if", str(plain)]) == 0
    assert capsys.readouterr().out == "This recording has no lesson to change.\n"
