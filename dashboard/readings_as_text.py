"""Readings as lines of text: CSV, or one JSON object a line with the same names."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from datetime import UTC, datetime
from typing import TextIO

from bridge import Reading
from dashboard.text_cells import as_text_cell

COLUMNS = ("time", "bench", "channel", "value", "unit", "u", "quality", "line")

Time = str | float
"""UTC in ISO 8601 for what has a date; seconds since the first byte for raw bytes, which have none."""


def utc_text(utc_ns: int) -> str:
    """ISO 8601 with microseconds, for example "2026-03-02T09:15:00.250000Z"."""
    seconds, ns = divmod(utc_ns, 1_000_000_000)
    return f"{datetime.fromtimestamp(seconds, UTC):%Y-%m-%dT%H:%M:%S}.{ns // 1000:06d}Z"


def seconds_of(at_ns: int) -> float:
    """Seconds, to the microsecond."""
    return round(at_ns / 1e9, 6)


def quality_text(reading: Reading) -> str:
    """The quality with its reason: "good", "bad: the count is 1023, the converter's end"."""
    return f"{reading.quality}: {reading.reason}" if reading.reason else reading.quality


def csv_writer(out: TextIO) -> Callable[[Time, Reading], None]:
    """Write the header; the answer writes one reading as a row. No value is an empty cell.

    A board chooses the names of its fields: one that a spreadsheet would run gets an apostrophe before it.
    """
    write = csv.writer(out, lineterminator="\n").writerow
    write(COLUMNS)

    def write_reading(time: Time, reading: Reading) -> None:
        shown = f"{time:.6f}" if isinstance(time, float) else time
        one = reading
        channel, unit = as_text_cell(one.channel), as_text_cell(one.unit)
        write((shown, one.bench, channel, one.value, unit, one.u, quality_text(one), one.line))

    return write_reading


def json_writer(out: TextIO) -> Callable[[Time, Reading], None]:
    """The answer writes one reading as a JSON object on a line of its own. No value is null."""

    def write_reading(time: Time, reading: Reading) -> None:
        one = reading
        cells = (time, one.bench, one.channel, one.value, one.unit, one.u, quality_text(one), one.line)
        json.dump(dict(zip(COLUMNS, cells, strict=True)), out, ensure_ascii=False, allow_nan=False)
        out.write("\n")

    return write_reading
