"""Readings as CSV (RFC 4180, UTF-8) with its description beside it (W3C: CSV on the Web)."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pandas as pd

from dashboard.exporting.columns import COLUMNS, NAMES, OF_THE_ROW, Column
from dashboard.exporting.session import Session
from dashboard.text_cells import GUARDED, as_text_cell

CONTEXT = "http://www.w3.org/ns/csvw"
METADATA_SUFFIX = "-metadata.json"  # where the recommendation looks for it, section 5.3
_DATATYPES = {"time": "dateTimeStamp", "whole": "integer", "number": "double", "text": "string"}


def write_csv(session: Session, path: Path, *, decimal_comma: bool = False) -> list[Path]:
    """Write the readings, and what each column means beside them.

    Times are ISO 8601 in UTC to the nanosecond; numbers are written so that the same double is read back.

    Args:
        session: What to write.
        path: The CSV file.
        decimal_comma: A comma in numbers, and semicolons between the cells.

    Returns:
        The two files.
    """
    cells = [_texts(session.readings, column, decimal_comma=decimal_comma) for column in COLUMNS]
    with path.open("w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out, delimiter=_delimiter(decimal_comma), lineterminator="\r\n")
        writer.writerow(NAMES)
        writer.writerows(zip(*cells, strict=True))
    beside = path.with_name(path.name + METADATA_SUFFIX)
    described = metadata_of(session, path.name, decimal_comma=decimal_comma)
    beside.write_text(json.dumps(described, ensure_ascii=False, indent=2) + "\n", encoding="utf-8")
    return [path, beside]


def metadata_of(session: Session, file: str, *, decimal_comma: bool = False) -> dict[str, object]:
    """The description of the CSV file of that name."""
    return {
        "@context": [CONTEXT, {"@language": "en"}],
        "url": file,
        "dc:title": session.title,
        "dc:source": session.file,
        "dc:date": f"{session.started:%Y-%m-%dT%H:%M:%SZ}",
        "dialect": {
            "encoding": "utf-8",
            "delimiter": _delimiter(decimal_comma),
            "lineTerminators": ["\r\n"],
            "quoteChar": '"',
            "doubleQuote": True,
            "header": True,
        },
        "notes": [GUARDED, *_channel_notes(session)],
        "tableSchema": {"columns": [_described(one, decimal_comma=decimal_comma) for one in COLUMNS]},
    }


def _channel_notes(session: Session) -> list[dict[str, str]]:
    quantities = {one.name: one.quantity for one in session.lesson.channels}
    return [
        {"channel": channel, "quantity": quantities.get(channel, ""), "unit": unit}
        for channel, unit in session.units().items()
    ]


def _described(column: Column, *, decimal_comma: bool) -> dict[str, object]:
    datatype: object = _DATATYPES[column.kind]
    if column.kind == "number" and decimal_comma:
        datatype = {"base": datatype, "format": {"decimalChar": ","}}
    found: dict[str, object] = {"name": column.name, "titles": column.name, "datatype": datatype}
    if column.unit:
        found["schema:unitText"] = column.unit
        if column.unit == OF_THE_ROW:
            found["schema:valueReference"] = "unit"
    found["dc:description"] = column.words
    return found


def _delimiter(decimal_comma: bool) -> str:
    return ";" if decimal_comma else ","


def _texts(readings: pd.DataFrame, column: Column, *, decimal_comma: bool) -> Sequence[str]:
    cells = readings[column.name]
    if column.kind == "time":
        return _times(cells)
    if column.kind == "whole":
        return [str(cell) for cell in cells.tolist()]
    if column.kind == "number":
        write = _number_with_comma if decimal_comma else _number
        return _of_each(cells.to_numpy(np.float64), write)
    known = {text: as_text_cell(text) for text in cells.unique()}  # few different ones
    return [known[text] for text in cells]


def _of_each(
    numbers: np.ndarray[tuple[int], np.dtype[np.float64]], write: Callable[[float], str]
) -> list[str]:
    return ["" if number != number else write(number) for number in numbers.tolist()]  # NaN


def _number(number: float) -> str:
    return repr(number)


def _number_with_comma(number: float) -> str:
    return repr(number).replace(".", ",")


def _times(cells: pd.Series[pd.Timestamp]) -> list[str]:
    utc_ns = cells.to_numpy("datetime64[ns]")
    return [f"{text}Z" for text in np.datetime_as_string(utc_ns, unit="ns").tolist()]
