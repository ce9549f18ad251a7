"""`benchrow compare` as a user meets it: a recording in, tables and sentences out."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from dashboard.command import main
from dashboard.comparing import Figure
from dashboard.figures_as_text import figure_text, plain_number
from tests.dashboard.kept_class import ONSETS, TIME_CONSTANTS, record_class


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return record_class(tmp_path_factory.mktemp("kept") / "class.benchrow")


def told(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(["compare", *words]) == 0
    return capsys.readouterr().out


def as_json(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(told(capsys, *words, "--json"))
    return found


def figures(found: dict[str, Any], name: str) -> dict[int, dict[str, Any]]:
    return {
        one["bench"]: next(figure for figure in one["figures"] if figure["name"] == name)
        for one in found["benches"]
    }


def test_the_answers_of_the_class_come_out_with_intervals_that_hold_the_truth(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found = as_json(capsys, str(recording), "--align", "onset")
    assert (found["title"], found["channel"], found["unit"]) == (
        "Which sensor answers first?", "temperature", "°C",
    )  # fmt: skip
    for bench, one in figures(found, "time constant").items():
        assert one["low"] < TIME_CONSTANTS[bench] < one["high"], bench
        assert one["high"] - one["low"] < 0.1 * TIME_CONSTANTS[bench]
    events = {one["bench"]: one["seconds"] for one in found["events"]}
    assert events == pytest.approx(ONSETS, abs=0.3)
    (ranking,) = (one for one in found["rankings"] if one["figure"] == "time constant")
    assert [(one["bench"], one["from"], one["to"]) for one in ranking["ranks"]][2:] == [(4, 3, 3), (3, 4, 4)]
    assert "Bare again and Bare cannot be told apart" in " ".join(ranking["sentences"]) or (
        "Bare and Bare again cannot be told apart" in " ".join(ranking["sentences"])
    )
    assert found["benches"][0]["mark"] == {"shape": "circle", "colour": "orange"}
    assert [band["band"] for band in found["benches"][0]["bands"]] == [0, 1, 2]


def test_the_text_has_a_row_for_each_bench_in_each_table_and_sentences_below(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = told(capsys, str(recording), "--align", "onset")
    assert len(re.findall(r"^  3 In glass +", text, re.MULTILINE)) == 5
    assert re.search(r"cold, min:s +warm, min:s +hot, min:s\n +1 Bare ", text)
    assert re.search(r"^  3 In glass .* (5\.9|6\.0)\d* ± 0\.\d+", text, re.MULTILINE)
    assert "95 % confidence" in text
    assert "cannot be told apart." in text
    assert "Silent for 10 s in 1 gap" in text.replace("silent", "Silent")
    assert "LEFT OUT" not in text
    rows = [line for line in text.splitlines() if re.match(r"  [1-4] ", line)]
    assert rows
    assert max(map(len, text.splitlines())) < 130


def test_what_is_left_out_is_told_and_a_reference_gives_bias_and_en_number(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = [
        "--leave-out",
        "2,3=loose wires",
        "--reference",
        "40",
        "--reference-u",
        "0.1",
        "--from",
        "1:05",
        "--response",
        "none",
    ]
    text = told(capsys, str(recording), *words)
    assert "Bare again is left out: loose wires." in text
    assert "AGAINST THE REFERENCE" in text
    assert "Only the time from 1:05 to the end counts." in text
    found = as_json(capsys, str(recording), *words)
    assert [one["bench"] for one in found["benches"]] == [1, 4]
    assert abs(figures(found, "bias to reference")[1]["value"]) < 0.01
    assert abs(figures(found, "En number")[1]["value"]) < 1


def test_all_that_something_is_against_are_left_out_by_one_word_with_what_that_is(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found = as_json(capsys, str(recording), "--leave-out", "marked", "--response", "none")
    assert [one["bench"] for one in found["left_out"]] == [4]
    assert "gone silent" in found["left_out"][0]["words"]


def test_the_ambient_is_given_for_all_and_for_one_bench_with_what_it_is_worth(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["--response", "ambient", "--from", "0:30", "--until", "1:05"]
    words += ["--ambient", "40", "--ambient-u", "0.05", "--ambient", "3=40.2", "--ambient-u", "3=0.2"]
    assert "Ambient given: 40.20 ± 0.39 °C at In glass; 40.000 ± 0.098 °C at the others." in told(
        capsys, str(recording), *words
    ).replace("\n", " ")
    found = as_json(capsys, str(recording), *words)
    assert found["ambients"]["3"] == {"value": 40.2, "u": 0.2}
    assert found["ambients"]["1"] == {"value": 40.0, "u": 0.05}


def test_bands_follow_the_unit_and_what_holds_between_readings_is_told(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plain = as_json(capsys, str(recording))
    found = as_json(capsys, str(recording), "--unit", "°F", "--between", "hold", "--robust")
    for bench, one in figures(found, "level").items():
        celsius = figures(plain, "level")[bench]["value"]
        assert one["value"] == pytest.approx(1.8 * celsius + 32)
        shares = [
            [band["share"] for band in next(b for b in each["benches"] if b["bench"] == bench)["bands"]]
            for each in (plain, found)
        ]
        assert shares[1] == pytest.approx(shares[0], abs=1e-6)
    assert found["between"] == "previous"
    assert figures(found, "robust z-score")
    text = told(capsys, str(recording), "--between", "hold")
    assert "each reading holding until the next, never across a gap" in text.replace("\n", " ")


def test_two_recordings_are_set_beside_each_other_bench_by_bench(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    warmer = record_class(recording.with_name("warmer.benchrow"), later=3.0)
    words = [str(recording), str(warmer), "--from", "1:00", "--response", "none"]
    text = told(capsys, *words)
    assert re.search(r"^LEVEL\n  bench +first, °C +second, °C +second less first, °C$", text, re.MULTILINE)
    assert "Level differs between the two: Bare, Bare again, In glass" in text
    assert re.search(r"Noise cannot be told apart: .*Bare", text)
    found = as_json(capsys, *words)
    for one in found["differences"]:
        if one["figure"] == "level":
            assert one["is_apart"] is True
            assert one["second_less_first"]["low"] < 3.0 < one["second_less_first"]["high"]
            assert one["second"] - one["first"] == pytest.approx(3.0, abs=0.02)
        if one["figure"] == "noise":
            assert one["is_apart"] is False
    assert (found["only_in_first"], found["only_in_second"]) == ([], [])
    assert "to compare the same time" not in text
    same = as_json(capsys, str(recording), str(recording), "--leave-out", "2=asleep", "--response", "none")
    assert {one["is_apart"] for one in same["differences"]} <= {False, None}
    assert {one["bench"] for one in same["differences"]} == {1, 3, 4}


def test_an_event_that_was_set_by_hand_counts_and_is_told(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found = as_json(
        capsys, str(recording), "--align", "onset", "--event", "1=0:25", "--from=-5", "--until", "20"
    )
    (event,) = (one for one in found["events"] if one["bench"] == 1)
    assert (event["seconds"], event["by"]) == (25.0, "hand")
    assert event["found_seconds"] == pytest.approx(ONSETS[1], abs=0.3)
    assert any("set by hand" in mark for mark in found["benches"][0]["marks"])


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--channel", "pressure"], "There is: temperature, room"),
        (["--leave-out", "9"], "There is: 1, 2, 3, 4"),
        (["--event", "1=3"], "--align onset"),
        (["--from", "50", "--until", "10"], "--until"),
        (["--response", "ambient", "--ambient", "9=20"], "There is: 1, 2, 3, 4"),
        (["--response", "ambient", "--ambient-u", "2=0.1"], "--ambient 2=VALUE"),
        (["--response", "ambient", "--ambient-u", "0.1"], "--ambient VALUE"),
        (["--ambient", "20"], "--response ambient"),
        (["--reference-u", "0.1"], "--reference VALUE"),
    ],
)
def test_a_choice_that_cannot_be_met_is_told_in_one_line_with_what_there_is(
    recording: Path, capsys: pytest.CaptureFixture[str], words: list[str], says: str
) -> None:
    assert main(["compare", str(recording), *words]) == 1
    error = capsys.readouterr().err
    assert error.startswith("benchrow: ")
    assert error.count("\n") == 1
    assert says in error


@pytest.mark.parametrize(
    "words",
    [
        ["--align", "never"],
        ["--leave-out", "two"],
        ["--event", "3"],
        ["--from", "soon"],
        ["--ambient", "x=20"],
        ["--ambient", "warm"],
        ["--between", "never"],
        ["--reference", "20", "--reference-u=-1"],
        ["--response", "ambient", "--ambient", "20", "--ambient-u=-1"],
    ],
)
def test_words_that_mean_nothing_are_wrong_use(recording: Path, words: list[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["compare", str(recording), *words])
    assert ended.value.code == 2


def test_a_missing_recording_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", str(tmp_path / "none.benchrow")]) == 1
    assert "none.benchrow" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("figure", "text"),
    [
        (Figure(name="x", unit="°C", value=32.9421, u=0.15, low=32.6481, high=33.2361), "32.94 ± 0.29"),
        (Figure(name="resolution", unit="V", value=0.0009999999999), "0.001"),
        (Figure(name="resolution", unit="V", value=0.00488281), "0.004883"),
        (Figure(name="x", unit="s", value=20.669, u=6.2, low=11.07, high=38.52), "21 (11 to 39)"),
        (Figure(name="x", unit="°C", value=1234.0, u=80.0, low=1074.0, high=1394.0), "1230 ± 160"),
        (Figure(name="x", unit="°C", value=-0.0004, u=0.05, low=-0.099, high=0.091), "0.000 ± 0.095"),
        (Figure(name="x", unit="°C", value=0.5, u=0.05, low=0.4004, high=0.5996), "0.50 ± 0.10"),
        (Figure(name="x", unit="°C", value=0.48828125), "0.4883"),
        (Figure(name="x", unit="°C", value=0.0805664, u=1e-17, low=0.0805664, high=0.0805664), "0.08057"),
        (Figure(name="z-score", unit="1", value=-1.5444), "−1.54"),
        (Figure(name="x", unit="s", words="not settled"), "–"),
    ],
)  # fmt: skip
def test_a_figure_has_no_more_digits_than_its_uncertainty_allows(figure: Figure, text: str) -> None:
    assert figure_text(figure) == text


def test_a_number_without_uncertainty_has_four_digits() -> None:
    assert [plain_number(one) for one in (0.0, 7.0, 0.123456, 1234.5678)] == ["0", "7", "0.1235", "1235"]
