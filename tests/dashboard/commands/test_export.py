"""`benchrow export` as a user meets it."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pandas as pd
import pytest

from dashboard.command import main
from tests.chromium import find_chromium
from tests.dashboard.exporting.made import recording_in


@pytest.fixture
def recording(tmp_path: Path) -> Path:
    return recording_in(tmp_path)


def files_in(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


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
            "pictures/curves.svg",
            "readings.csv",
            "readings.csv-metadata.json",
            "readings.parquet",
            "readings.xlsx",
            "report.html",
        )
    ]
    told = capsys.readouterr().err
    assert told.count("\n") == 1
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
    assert [name for name in names if name.endswith(".png")] == ["curves.png", "each-bench.png", "levels.png"]
    assert [Path(name).stem for name in names[::2]] == [Path(name).stem for name in names[1::2]]
