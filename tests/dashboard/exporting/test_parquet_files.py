from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pyarrow.parquet as pq

from dashboard.exporting.parquet_files import write_parquet
from tests.dashboard.exporting.made import session_in, session_of


def test_what_pandas_reads_equals_what_was_measured(tmp_path: Path) -> None:
    session = session_in(tmp_path)
    write_parquet(session, tmp_path / "r.parquet")
    pd.testing.assert_frame_equal(pd.read_parquet(tmp_path / "r.parquet"), session.readings)


def test_no_value_is_null_and_no_text_is_empty(tmp_path: Path) -> None:
    write_parquet(session_of([{"value": np.nan}, {"value": 2.0}]), tmp_path / "r.parquet")
    table = pq.read_table(tmp_path / "r.parquet")
    assert table["value"].to_pylist() == [None, 2.0]
    assert table["u"].null_count == 2
    assert table["reason"].to_pylist() == ["", ""]


def test_each_column_bears_its_unit(tmp_path: Path) -> None:
    rows: list[dict[str, object]] = [{"channel": "t", "unit": "°C"}, {"channel": "v", "unit": "V"}]
    write_parquet(session_of(rows), tmp_path / "r.parquet")
    schema = pq.read_schema(tmp_path / "r.parquet")
    assert schema.field("seconds").metadata[b"unit"] == b"s"
    assert json.loads(schema.field("value").metadata[b"units"]) == {"t": "°C", "v": "V"}
    assert b"unit" not in schema.field("value").metadata
    write_parquet(session_of(rows[:1]), tmp_path / "one.parquet")
    assert pq.read_schema(tmp_path / "one.parquet").field("u").metadata[b"unit"] == "°C".encode()
    assert schema.metadata[b"title"] == b"Made up"
