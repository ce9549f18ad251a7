"""Workbooks, read back by a library that did not write them."""

from __future__ import annotations

import zipfile
from pathlib import Path

import numpy as np
import openpyxl
import pandas as pd

from dashboard.exporting.columns import COLUMNS
from dashboard.exporting.workbook import write_workbook
from tests.dashboard.exporting.made import session_in, session_of


def read_back(path: Path, sheet: str = "Readings") -> pd.DataFrame:
    table = pd.read_excel(path, sheet_name=sheet, keep_default_na=False, na_values={"value": [""], "u": [""]})
    table = table.rename(columns={"time (UTC)": "time"})
    for column in COLUMNS:
        if column.kind == "text":
            table[column.name] = table[column.name].astype("str")
    return table


def test_what_pandas_reads_equals_what_was_measured(tmp_path: Path) -> None:
    session = session_in(tmp_path)
    write_workbook(session, tmp_path / "r.xlsx")
    table = read_back(tmp_path / "r.xlsx")
    known = session.readings.drop(columns="time")
    pd.testing.assert_frame_equal(table.drop(columns="time"), known, check_dtype=False)
    # A workbook's time is a number of days: a double holds it to a microsecond.
    apart = table["time"] - session.readings["time"].dt.tz_localize(None)
    assert apart.abs().max() <= pd.Timedelta(milliseconds=1)


def test_times_and_numbers_are_real_cells(tmp_path: Path) -> None:
    write_workbook(session_of([{"value": -2.5, "u": np.nan}]), tmp_path / "r.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "r.xlsx")["Readings"]
    cells = dict(zip([one.value for one in sheet[1]], sheet[2], strict=True))
    assert cells["time (UTC)"].is_date
    assert cells["time (UTC)"].data_type == "d"
    assert (cells["value"].data_type, cells["value"].value) == ("n", -2.5)
    assert cells["u"].value is None


def test_no_text_of_a_board_becomes_a_formula_or_a_link(tmp_path: Path) -> None:
    rows: list[dict[str, object]] = [
        {"channel": text, "reason": text, "bench_name": text}
        for text in ("=1+1", "http://x.invalid/", "+1", "12")
    ]
    write_workbook(session_of(rows), tmp_path / "r.xlsx")
    book = openpyxl.load_workbook(tmp_path / "r.xlsx")
    texts = [book["Readings"].cell(row, 5) for row in range(2, 6)]
    assert [one.value for one in texts] == ["=1+1", "http://x.invalid/", "+1", "12"]
    # openpyxl calls any text with "=" in front a formula; the file itself tells.
    with zipfile.ZipFile(tmp_path / "r.xlsx") as packed:
        sheets = [packed.read(name) for name in packed.namelist() if name.startswith("xl/worksheets/sheet")]
    assert all(b"<f>" not in sheet and b"<hyperlink" not in sheet for sheet in sheets)
    assert all(one.hyperlink is None for one in texts)


def test_there_is_a_chart_with_a_curve_for_each_bench(tmp_path: Path) -> None:
    write_workbook(session_in(tmp_path), tmp_path / "r.xlsx")
    with zipfile.ZipFile(tmp_path / "r.xlsx") as packed:
        chart = packed.read("xl/charts/chart1.xml").decode()
    assert chart.count("<c:ser>") == 2
    assert "Curves!$B$1" in chart  # its name is a cell: a bench called "=Foil" is no formula
    assert "Temp in °C" in chart
    curves = pd.read_excel(tmp_path / "r.xlsx", sheet_name="Curves")
    assert curves.iloc[:, 1].tolist()[:3] == [20.5, 21.5, 22.5]


def test_a_curve_has_few_points_and_is_broken_by_a_gap(tmp_path: Path) -> None:
    rows: list[dict[str, object]] = [
        {"seconds": float(i + 100 * (i >= 1000)), "value": float(i)} for i in range(2000)
    ]
    write_workbook(session_of(rows), tmp_path / "r.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "r.xlsx")["Curves"]
    values = [row[1] for row in sheet.iter_rows(min_row=2, max_col=2, values_only=True)]
    assert len(values) == 401
    assert values.index(None) == 200
    assert values[:3] == [0, 5, 10]


def test_more_readings_than_a_sheet_holds_go_on_on_the_next(tmp_path: Path) -> None:
    rows: list[dict[str, object]] = [{"line": i} for i in range(10)]
    write_workbook(session_of(rows), tmp_path / "r.xlsx", max_rows=5)
    lines = [
        read_back(tmp_path / "r.xlsx", name)["line"].tolist()
        for name in ("Readings", "Readings 2", "Readings 3")
    ]
    assert lines == [[0, 1, 2, 3], [4, 5, 6, 7], [8, 9]]


def test_the_same_session_gives_the_same_bytes(tmp_path: Path) -> None:
    for name in ("a.xlsx", "b.xlsx"):
        write_workbook(session_of([{}]), tmp_path / name)
    assert (tmp_path / "a.xlsx").read_bytes() == (tmp_path / "b.xlsx").read_bytes()


def test_a_session_without_a_reading_still_makes_a_workbook(tmp_path: Path) -> None:
    write_workbook(session_of([]), tmp_path / "r.xlsx")
    assert openpyxl.load_workbook(tmp_path / "r.xlsx").sheetnames == ["About", "Readings"]
