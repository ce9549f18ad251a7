"""`benchrow what-if` as a user meets it: a recording and a change in, sentences and tables out."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bridge import read_lesson, read_recording
from dashboard.command import main
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
    assert "is there already" in capsys.readouterr().err


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
        ("conversion/sensor/reference_volt=3", "Write for example conversion/sensor/reference_volts=VALUE"),
        ("nonsense", "See without --set what may be changed"),
        (f"{VOLTS}=warm", "“warm” is no number"),
        (f"{VOLTS}=3300", "3300 mV are 3.3 V. Write for example: reference_volts = 5.0"),
        (f"{VOLTS}=5", "that is what the lesson says already"),
    ],
)
def test_what_can_not_be_changed_is_told_with_what_to_write(
    typed: str, told: str, recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["what-if", str(recording), "--set", typed]) == 1
    assert told in capsys.readouterr().err


def test_a_recording_without_a_lesson_has_nothing_to_change(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plain = record_cups(tmp_path / "plain.benchrow", lesson="")
    assert main(["what-if", str(plain)]) == 0
    assert capsys.readouterr().out == "This recording has no lesson to change.\n"
