"""CSV as another program reads it: by RFC 4180, by its description, by pandas."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge import read_recording
from dashboard.exporting import gathered, write_csv
from dashboard.exporting.columns import NAMES
from dashboard.text_cells import GUARD, as_text_cell
from tests.dashboard.exporting.made import recording_in, session_in, session_of, silent

RISKY = "=+-@\t\r"


def described(path: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(Path(f"{path}-metadata.json").read_text(encoding="utf-8"))
    return found


def read_by_description(path: Path) -> pd.DataFrame:
    """The table as one reads it who knows nothing but the metadata beside it."""
    metadata = described(path)
    dialect, columns = metadata["dialect"], metadata["tableSchema"]["columns"]
    kinds = {one["name"]: one["datatype"] for one in columns}
    commas = [kind["format"]["decimalChar"] for kind in kinds.values() if isinstance(kind, dict)]
    table = pd.read_csv(
        path.with_name(metadata["url"]),
        sep=dialect["delimiter"],
        encoding=dialect["encoding"],
        decimal=commas[0] if commas else ".",
        dtype={name: "str" for name, kind in kinds.items() if kind == "string"},
        parse_dates=[name for name, kind in kinds.items() if kind == "dateTimeStamp"],
        keep_default_na=False,
        na_values={name: [""] for name, kind in kinds.items() if kind not in ("string", "integer")},
    )
    for name in [name for name, kind in kinds.items() if kind == "string"]:
        table[name] = table[name].str.replace(f"^{GUARD}", "", regex=True)
    return table


@pytest.mark.parametrize("decimal_comma", [False, True])
def test_what_pandas_reads_by_the_description_equals_what_was_measured(
    tmp_path: Path, decimal_comma: bool
) -> None:
    session = session_in(tmp_path)
    write_csv(session, tmp_path / "readings.csv", decimal_comma=decimal_comma)
    pd.testing.assert_frame_equal(read_by_description(tmp_path / "readings.csv"), session.readings)
    assert len(session.readings) == 24


def test_the_readings_are_those_of_read_recording_with_session_time_beside_them(tmp_path: Path) -> None:
    recording = recording_in(tmp_path)
    session = gathered(recording, lesson=None, progress=silent())
    known = read_recording(recording)
    pd.testing.assert_frame_equal(session.readings[list(known.columns)], known)
    assert session.readings["seconds"].tolist()[:2] == [0.250000007, 0.250000008]
    assert session.readings["bench_name"].tolist()[:2] == ["Wool", "=Foil"]


def test_the_file_keeps_rfc_4180(tmp_path: Path) -> None:
    reason = 'a "quoted" word,\r\nand a second line'
    write_csv(session_of([{"reason": reason, "quality": "bad", "value": np.nan}]), tmp_path / "r.csv")
    data = (tmp_path / "r.csv").read_bytes()
    assert data.startswith(b"time,seconds,bench,bench_name,channel,value,unit,u,quality,reason,line\r\n")
    assert data.endswith(b"\r\n")
    assert b'"a ""quoted"" word,\r\nand a second line"' in data
    with (tmp_path / "r.csv").open(encoding="utf-8", newline="") as opened:
        rows = list(csv.reader(opened, strict=True))
    assert [len(row) for row in rows] == [len(NAMES)] * 2
    assert rows[1][NAMES.index("reason")] == reason
    assert rows[1][NAMES.index("value")] == rows[1][NAMES.index("u")] == ""


def test_times_are_iso_8601_to_the_nanosecond(tmp_path: Path) -> None:
    write_csv(session_of([{"seconds": 1.25}]), tmp_path / "r.csv")
    cells = (tmp_path / "r.csv").read_text(encoding="utf-8").splitlines()[1].split(",")
    assert cells[0] == "2026-09-21T14:13:21.373456789Z"
    assert cells[1] == "1.25"


def test_a_decimal_comma_goes_with_semicolons_and_leaves_text_alone(tmp_path: Path) -> None:
    row: dict[str, object] = {"value": -1234.5, "u": 1e-7, "channel": "a.b;c"}
    write_csv(session_of([row]), tmp_path / "r.csv", decimal_comma=True)
    text = (tmp_path / "r.csv").read_text(encoding="utf-8").splitlines()[1]
    assert ';"a.b;c";-1234,5;°C;1e-07;good;;1' in text
    column = described(tmp_path / "r.csv")["tableSchema"]["columns"][NAMES.index("value")]
    assert column["datatype"] == {"base": "double", "format": {"decimalChar": ","}}


@pytest.mark.parametrize("begin", list(RISKY))
def test_text_that_a_spreadsheet_would_compute_is_defused_and_numbers_stay_numbers(
    tmp_path: Path, begin: str
) -> None:
    text = f'{begin}cmd|"/c calc"!A1'
    rows: list[dict[str, object]] = [{"channel": text, "bench_name": text, "unit": text, "reason": text}]
    write_csv(session_of([{**rows[0], "value": -5.5}]), tmp_path / "r.csv")
    with (tmp_path / "r.csv").open(encoding="utf-8", newline="") as opened:
        cells = dict(zip(NAMES, list(csv.reader(opened))[1], strict=True))
    assert [cells[name] for name in ("channel", "bench_name", "unit", "reason")] == ["'" + text] * 4
    assert cells["value"] == "-5.5"
    assert read_by_description(tmp_path / "r.csv")["channel"].tolist() == [text]


@given(st.text())
def test_no_guarded_text_begins_as_a_formula_and_each_comes_back(text: str) -> None:
    cell = as_text_cell(text)
    assert cell[:1] not in {*RISKY, "\n", "＝", "＋", "－", "＠"} - {""}
    assert re.sub(f"^{GUARD}", "", cell) == text


def test_the_description_names_units_and_quantities(tmp_path: Path) -> None:
    write_csv(session_in(tmp_path), tmp_path / "r.csv")
    metadata = described(tmp_path / "r.csv")
    assert metadata["@context"][0] == "http://www.w3.org/ns/csvw"
    assert metadata["url"] == "r.csv"
    assert {"channel": "Temp", "quantity": "water temperature", "unit": "°C"} in metadata["notes"]
    columns = {one["name"]: one for one in metadata["tableSchema"]["columns"]}
    assert list(columns) == list(NAMES)
    assert columns["seconds"]["schema:unitText"] == "s"
    assert columns["u"]["schema:valueReference"] == "unit"
    assert all(one["dc:description"] for one in columns.values())
