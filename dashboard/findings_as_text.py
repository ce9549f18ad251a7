"""Findings as lines of text: CSV, or one JSON object a line with the same names."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from typing import TextIO

from bridge import Standing
from dashboard.readings_as_text import Time
from dashboard.text_cells import as_text_cell

COLUMNS = ("found", "gone", "bench", "channel", "kind", "weight", "words", "evidence", "remedy")


def csv_writer(out: TextIO) -> Callable[[Time, Time | None, Standing], None]:
    """Write the header; the answer writes one finding as a row. One that still stands has no time of going.

    A board chooses the names of its fields, and what it prints is quoted as evidence: text that a spreadsheet
    would run as a formula gets an apostrophe before it. JSON has it as it is.
    """
    write = csv.writer(out, lineterminator="\n").writerow
    write(COLUMNS)

    def write_finding(found: Time, gone: Time | None, standing: Standing) -> None:
        cells = (_shown(found), _shown(gone), *_cells(standing))
        write([as_text_cell(cell) if isinstance(cell, str) else cell for cell in cells])

    return write_finding


def json_writer(out: TextIO) -> Callable[[Time, Time | None, Standing], None]:
    """The answer writes one finding as a JSON object on a line of its own; null: it still stands."""

    def write_finding(found: Time, gone: Time | None, standing: Standing) -> None:
        cells = (found, gone, *_cells(standing))
        json.dump(dict(zip(COLUMNS, cells, strict=True)), out, ensure_ascii=False, allow_nan=False)
        out.write("\n")

    return write_finding


def _cells(standing: Standing) -> tuple[object, ...]:
    one = standing.finding
    return (standing.bench, one.channel, one.kind, one.weight, one.words, one.evidence, one.remedy)


def _shown(time: Time | None) -> str | None:
    return f"{time:.6f}" if isinstance(time, float) else time
