"""`benchrow export` as a user meets it."""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path

import pandas as pd
import pytest

from dashboard.command import main
from dashboard.exporting import Wanted, gathered, hand_out
from dashboard.progress import Progress
from tests.chromium import find_chromium
from tests.dashboard.exporting.made import LESSON, recording_in
from tests.dashboard.exporting.xml import Page
from tests.dashboard.kept_class import record_class


@pytest.fixture
def recording(tmp_path: Path) -> Path:
    return recording_in(tmp_path)


def files_in(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


def remarks(capsys: pytest.CaptureFixture[str]) -> list[str]:
    """What was said on standard error, without how far it was: told on a machine that is busy."""
    return [line for line in capsys.readouterr().err.splitlines() if not re.search(r", \d+%$", line)]


def test_class_and_groups_get_a_folder_each(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert main(["export", str(recording), "--to", "csv", "--to", "parquet", "--out", str(out)]) == 0
    names = ["readings.csv", "readings.csv-metadata.json", "readings.parquet"]
    assert files_in(out) == [
        f"{folder}/{name}" for folder in ("bench-1", "bench-2", "class") for name in names
    ]
    assert capsys.readouterr().out.split() == [str(out / name) for name in files_in(out)]
    assert set(pd.read_csv(out / "bench-2" / "readings.csv")["bench"]) == {2}
    assert set(pd.read_csv(out / "class" / "readings.csv")["bench"]) == {1, 2}


def test_without_options_csv_is_written_beside_where_it_was_called(
    recording: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["export", str(recording)]) == 0
    assert (tmp_path / "cups-hand-outs" / "class" / "readings.csv").is_file()


def test_one_bench_alone(recording: Path, tmp_path: Path) -> None:
    assert main(["export", str(recording), "--bench", "2", "--out", str(tmp_path / "out")]) == 0
    assert files_in(tmp_path / "out") == ["bench-2/readings.csv", "bench-2/readings.csv-metadata.json"]


def test_one_zip_holds_all_and_is_the_same_each_time(recording: Path, tmp_path: Path) -> None:
    for name in ("a.zip", "b.zip"):
        assert main(["export", str(recording), "--zip", "--to", "xlsx", "--out", str(tmp_path / name)]) == 0
    with zipfile.ZipFile(tmp_path / "a.zip") as packed:
        assert packed.testzip() is None
        assert packed.namelist() == [f"{one}/readings.xlsx" for one in ("bench-1", "bench-2", "class")]
    assert (tmp_path / "a.zip").read_bytes() == (tmp_path / "b.zip").read_bytes()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.zip", "b.zip", "cups.benchrow"]


def test_nothing_is_overwritten_unasked(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    (out / "class").mkdir(parents=True)
    (out / "class" / "readings.csv").write_text("mine", encoding="utf-8")
    assert main(["export", str(recording), "--out", str(out)]) == 1
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert "--replace" in told
    assert files_in(out) == ["class/readings.csv"]
    assert (out / "class" / "readings.csv").read_text(encoding="utf-8") == "mine"
    assert main(["export", str(recording), "--out", str(out), "--replace"]) == 0
    assert "class/readings.csv was there and has been replaced" in capsys.readouterr().err.replace("\\", "/")
    assert main(["export", str(recording), "--out", str(out), "--to", "xlsx"]) == 0  # other files


def test_a_lesson_takes_the_place_of_the_recorded_one(recording: Path, tmp_path: Path) -> None:
    lesson = tmp_path / "lesson.toml"
    lesson.write_text(
        'title = "T"\n[[channel]]\nname = "water"\nfield = "Temp"\nunit = "°C"\n', encoding="utf-8"
    )
    out = tmp_path / "out"
    assert main(["export", str(recording), "--lesson", str(lesson), "--out", str(out)]) == 0
    assert set(pd.read_csv(out / "class" / "readings.csv")["channel"]) == {"water"}


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--bench", "7"], "holds nothing of bench 7"),
        (["--out", "FILE"], "is no folder"),
        (["--zip", "--out", "FOLDER"], "is a folder"),
        (["--lesson", "missing.toml"], "there is no lesson"),
    ],
)
def test_what_can_not_be_done_is_told_in_one_line(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], words: str
) -> None:
    places = {"FILE": str(recording), "FOLDER": str(tmp_path)}
    assert main(["export", str(recording), *[places.get(one, one) for one in arguments]]) == 1
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert words in told


def test_a_bench_that_is_no_number_is_wrong_use(recording: Path) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["export", str(recording), "--bench", "left"])
    assert ended.value.code == 2


def test_another_file_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "x.benchrow").write_text("no recording", encoding="utf-8")
    assert main(["export", str(tmp_path / "x.benchrow")]) == 1
    assert "is not a recording" in capsys.readouterr().err


def test_report_and_pictures_need_no_browser(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BENCHROW_CHROMIUM", "")
    out = tmp_path / "out"
    assert main(["export", str(recording), "--to", "all", "--bench", "1", "--out", str(out)]) == 0
    assert files_in(out) == [
        f"bench-1/{name}"
        for name in (
            "pictures/bands.svg",
            "pictures/curves.svg",
            "pictures/figure-level-in-common.svg",
            "readings.csv",
            "readings.csv-metadata.json",
            "readings.parquet",
            "readings.xlsx",
            "report.html",
        )
    ]
    (told,) = remarks(capsys)
    assert "no browser of the Chromium family was found: without report.pdf and pictures as PNG" in told


def test_a_pdf_that_was_asked_for_by_name_needs_one(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BENCHROW_CHROMIUM", "")
    assert main(["export", str(recording), "--to", "pdf", "--out", str(tmp_path / "out")]) == 1
    assert "print it" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


@pytest.mark.browser
def test_the_class_gets_its_report_on_paper_and_its_pictures_in_dots(
    recording: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BENCHROW_CHROMIUM", find_chromium() or "")
    out = tmp_path / "out"
    arguments = ["--to", "pdf", "--to", "pictures", "--paper", "letter", "--out", str(out)]
    assert main(["export", str(recording), *arguments]) == 0
    assert (out / "class" / "report.pdf").read_bytes().startswith(b"%PDF-")
    names = files_in(out / "class" / "pictures")
    assert [Path(name).stem for name in names if name.endswith(".png")] == [
        "bands", "curves", "each-bench", "figure-level-in-common",
    ]  # fmt: skip
    assert [Path(name).stem for name in names[::2]] == [Path(name).stem for name in names[1::2]]


@pytest.fixture(scope="module")
def steps(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Four benches with a step each, and a second channel."""
    return record_class(tmp_path_factory.mktemp("steps") / "class.benchrow")


def test_the_choices_of_compare_reach_the_report_which_says_them(
    steps: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BENCHROW_CHROMIUM", "")
    out = tmp_path / "out"
    words = [
        "--align",
        "onset",
        "--event",
        "1=0:25",
        "--unit",
        "K",
        "--leave-out",
        "2=in the sun",
        "--until",
        "30",
    ]
    assert main(["export", str(steps), "--to", "report", "--to", "pictures", "--out", str(out), *words]) == 0
    told = " ".join(Page((out / "class" / "report.html").read_text(encoding="utf-8")).words.split())
    assert "Channel temperature in K, compared since the onset at each bench." in told
    assert "Bare: onset at 25.00 s, set by hand" in told or "Bare: onset at 25 s" in told
    assert "in the sun" in told
    assert "The answer of each bench to a step was looked for and fitted." in told
    assert "temperature, K" in told
    assert "Time since the onset" in told
    group = " ".join(Page((out / "bench-3" / "report.html").read_text(encoding="utf-8")).words.split())
    assert "Bare" not in group  # nobody else is named
    assert "In wax" not in group
    assert "cannot be told apart" not in group.replace("benches that cannot be told apart", "")


def test_class_and_groups_get_every_picture_that_makes_sense(
    steps: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BENCHROW_CHROMIUM", "")
    out = tmp_path / "out.zip"
    assert (
        main(["export", str(steps), "--to", "pictures", "--zip", "--out", str(out), "--align", "onset"]) == 0
    )
    with zipfile.ZipFile(out) as packed:
        names = packed.namelist()
    mine = [Path(name).stem for name in names if name.startswith("bench-3/")]
    assert [Path(name).stem for name in names if name.startswith("class/")] == [
        "bands", "consistency", "curves-2-room", "curves", "difference", "each-bench",
        "figure-level-in-common", "figure-noise", "figure-rise-time", "figure-time-constant", "fits",
        "two-channels",
    ]  # fmt: skip
    assert mine == [
        "bands", "curves-2-room", "curves", "difference", "figure-level-in-common", "figure-noise",
        "figure-rise-time", "figure-time-constant", "fits", "two-channels",
    ]  # fmt: skip


def test_figures_that_were_chosen_get_their_dots(
    steps: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BENCHROW_CHROMIUM", "")
    out = tmp_path / "out"
    arguments = [
        "export",
        str(steps),
        "--to",
        "pictures",
        "--bench",
        "2",
        "--out",
        str(out),
        "--figure",
        "drift",
    ]
    assert main(arguments) == 0
    assert [one for one in files_in(out) if "figure-" in one] == ["bench-2/pictures/figure-drift.svg"]
    assert main([*arguments, "--replace", "--figure", "beauty"]) == 1
    assert "there is no figure 'beauty'" in capsys.readouterr().err


def test_a_choice_that_can_not_be_met_is_told_before_anything_is_written(
    steps: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert main(["export", str(steps), "--to", "report", "--out", str(out), "--channel", "pressure"]) == 1
    assert "There is: temperature, room" in capsys.readouterr().err
    assert main(["export", str(steps), "--to", "report", "--out", str(out), "--unit", "kg"]) == 1
    assert len(remarks(capsys)) == 1
    assert not out.exists()


def test_a_recording_is_computed_once_and_each_step_is_told(steps: Path, tmp_path: Path) -> None:
    told: list[str] = []

    class Telling(Progress):
        def step(self, words: str, share: float = 0.0) -> None:
            told.append(words)

    progress = Telling(io.StringIO())
    wanted = Wanted(kinds=("csv", "xlsx", "report", "pictures"), out=tmp_path / "out", needs_browser=False)
    hand_out(gathered(steps, lesson=None, progress=progress), wanted, progress)
    assert [one for one in told if one.startswith(("reading", "looking", "comparing"))] == [
        "reading the recording", "comparing the benches",
    ]  # fmt: skip
    assert "drawing curves of the class" in told
    assert "drawing difference of bench 4" in told
    assert told[-1] == "writing pictures of bench 4"


def test_tables_still_go_out_where_nothing_can_be_compared(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BENCHROW_CHROMIUM", "")
    recording = recording_in(tmp_path, later=LESSON.replace('unit = "°C"', 'unit = "K"'))
    arguments = ["export", str(recording), "--to", "csv", "--to", "report", "--out", str(tmp_path / "out")]
    assert main(arguments) == 0
    assert any("nothing was compared" in one and "several units" in one for one in remarks(capsys))
    assert "There was nothing to compare." in (tmp_path / "out" / "class" / "report.html").read_text("utf-8")
    assert main([*arguments, "--replace", "--response", "none"]) == 1
