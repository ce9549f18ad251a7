"""Readings as Parquet, with the unit and the meaning of each column in its metadata."""

from __future__ import annotations

import json
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq

from dashboard.exporting.columns import COLUMNS, OF_THE_ROW, Column
from dashboard.exporting.session import Session

_TYPES = {
    "time": pa.timestamp("ns", tz="UTC"),
    "whole": pa.int64(),
    "number": pa.float64(),
    "text": pa.string(),
}


def write_parquet(session: Session, path: Path) -> None:
    """Write the readings.

    A field's metadata has `unit` and `description`; where the unit is the row's own, `units` has it by
    channel, as JSON, and `unit` only where all channels have the same. No value is null.
    """
    schema = pa.schema([_field(column, session.units()) for column in COLUMNS], metadata=_about(session))
    arrays = [
        pa.Array.from_pandas(session.readings[column.name], type=_TYPES[column.kind]) for column in COLUMNS
    ]
    # Zstandard halves the file that the default gives, and every reader has it.
    pq.write_table(pa.Table.from_arrays(arrays, schema=schema), path, compression="zstd")


def _field(column: Column, units: dict[str, str]) -> pa.Field:
    metadata = {"description": column.words}
    if column.unit == OF_THE_ROW:
        metadata["units"] = json.dumps(units, ensure_ascii=False)
        if len(set(units.values())) == 1:
            metadata["unit"] = next(iter(units.values()))
    elif column.unit:
        metadata["unit"] = column.unit
    return pa.field(column.name, _TYPES[column.kind], metadata=metadata)


def _about(session: Session) -> dict[str, str]:
    return {"title": session.title, "source": session.file, "started": session.started.isoformat()}
