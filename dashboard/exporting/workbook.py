"""Readings as a workbook (XLSX, ISO/IEC 29500): numbers and times are real ones, and there is a chart."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from dashboard.exporting.cautions import CAUTIONS
from dashboard.exporting.columns import COLUMNS, NAMES, OF_THE_ROW
from dashboard.exporting.session import Session
from dashboard.marks import hex_of, workbook_dash, workbook_marker

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

MAX_ROWS = 1_048_576  # of a sheet, its heading counted
MAX_CURVE_POINTS = 400  # of one bench in the chart: more can't be told apart at its size
TIME_FORMAT = "yyyy-mm-dd hh:mm:ss.000"
_WIDTHS = {"time": 23, "number": 13, "whole": 8, "text": 16}
# Text stays text: a board's "=1+1" is no formula, its "http://..." no link.
_AS_TEXT = {
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
    "constant_memory": True,
    "nan_inf_to_errors": False,
}


def write_workbook(session: Session, path: Path, *, max_rows: int = MAX_ROWS) -> None:
    """Write the readings, what they are, and the course of the first channel as a chart.

    Args:
        session: What to write.
        path: The file.
        max_rows: Of a sheet; what goes beyond stands on a further one ("Readings 2").
    """
    from xlsxwriter.workbook import Workbook  # takes a quarter of a second, which CSV need not wait

    with Workbook(path.as_posix(), {**_AS_TEXT, "tmpdir": path.parent.as_posix()}) as book:
        # One time for all copies of a session: the same session gives the same bytes.
        started = session.started.to_pydatetime(warn=False).replace(tzinfo=None)
        book.set_properties({"title": session.title, "created": started})
        bold = book.add_format({"bold": True, "bottom": 1})
        _about(book, session, bold)
        _curves(book, session, bold)
        frames = [
            session.readings.iloc[begin : begin + max_rows - 1]
            for begin in range(0, max(1, len(session.readings)), max_rows - 1)
        ]
        for number, frame in enumerate(frames, start=1):
            sheet = book.add_worksheet("Readings" if number == 1 else f"Readings {number}")
            _readings(sheet, frame, bold, book.add_format({"num_format": TIME_FORMAT}))


def _about(book: Workbook, session: Session, bold: Format) -> None:
    sheet = book.add_worksheet("About")
    sheet.set_column(0, 0, 16)
    sheet.set_column(1, 1, 100)
    time = book.add_format({"num_format": TIME_FORMAT, "align": "left"})
    sheet.write_string(0, 0, "Session", bold)
    sheet.write_string(0, 1, session.title, bold)
    sheet.write_string(1, 0, "Started (UTC)")
    sheet.write_datetime(1, 1, _naive(session.started), time)
    rows = [("Recording", session.file)]
    rows += [(column.name, _column_words(column.words, column.unit)) for column in COLUMNS]
    rows += [("Caution", words) for words in CAUTIONS]
    for row, (name, words) in enumerate(rows, start=2):
        sheet.write_string(row, 0, name)
        sheet.write_string(row, 1, words)


def _column_words(words: str, unit: str) -> str:
    if not unit:
        return words
    return f"{words} ({unit})" if unit == OF_THE_ROW else f"{words}, in {unit}"


def _readings(sheet: Worksheet, readings: pd.DataFrame, bold: Format, time: Format) -> None:
    for i, column in enumerate(COLUMNS):
        sheet.set_column(i, i, _WIDTHS[column.kind])
    sheet.freeze_panes(1, 0)
    sheet.autofilter(0, 0, len(readings), len(COLUMNS) - 1)
    for i, name in enumerate(NAMES):
        sheet.write_string(0, i, "time (UTC)" if name == "time" else name, bold)
    columns = [
        readings[column.name].dt.tz_localize(None).dt.to_pydatetime()
        if column.kind == "time"
        else readings[column.name].tolist()
        for column in COLUMNS
    ]
    kinds = [column.kind for column in COLUMNS]
    for row, cells in enumerate(zip(*columns, strict=True), start=1):
        for i, (kind, cell) in enumerate(zip(kinds, cells, strict=True)):
            if kind == "time":
                sheet.write_datetime(row, i, cell, time)
            elif kind == "text":
                if cell:
                    sheet.write_string(row, i, cell)
            elif cell == cell:  # NaN is no value: the cell stays empty
                sheet.write_number(row, i, cell)


def _curves(book: Workbook, session: Session, bold: Format) -> None:
    """Two columns for each bench, thinned, and the chart over them. A gap is an empty row."""
    readings = session.readings
    channel = session.first_channel
    if channel is None:
        return
    rows = readings[readings["channel"] == channel]
    benches = sorted(set(rows["bench"][rows["value"].notna()].tolist()))
    curves = {bench: list(_thinned(rows[rows["bench"] == bench])) for bench in benches}
    sheet = book.add_worksheet("Curves")
    unit = session.units()[channel]
    for i, bench in enumerate(curves):
        sheet.write_string(0, 2 * i, "seconds", bold)
        sheet.write_string(0, 2 * i + 1, session.group(bench).name, bold)
    points = itertools.zip_longest(*curves.values(), fillvalue=None)
    for row, together in enumerate(points, start=1):
        for i, point in enumerate(together):
            if point is not None:
                sheet.write_number(row, 2 * i, point[0])
                sheet.write_number(row, 2 * i + 1, point[1])
    chart = book.add_chart({"type": "scatter", "subtype": "straight_with_markers"})
    for i, (bench, curve) in enumerate(curves.items()):
        given = session.group(bench)
        colour = hex_of(given.colour)
        marker = {"type": workbook_marker(given.shape), "size": 5, "fill": {"color": colour}}
        chart.add_series(
            {
                "name": ["Curves", 0, 2 * i + 1],
                "categories": ["Curves", 1, 2 * i, len(curve), 2 * i],
                "values": ["Curves", 1, 2 * i + 1, len(curve), 2 * i + 1],
                "line": {"color": colour, "width": 1.25, "dash_type": workbook_dash(bench)},
                "marker": {**marker, "border": {"color": "#222222"}},
            }
        )
    chart.set_x_axis({"name": "seconds since the start", "min": 0})
    chart.set_y_axis({"name": f"{channel} in {unit}" if unit else channel, "num_format": "General"})
    chart.show_blanks_as("gap")
    chart.set_size({"width": 960, "height": 540})
    sheet.insert_chart(1, 2 * len(curves) + 1, chart)


def _thinned(rows: pd.DataFrame) -> Iterator[tuple[float, float] | None]:
    """At most `MAX_CURVE_POINTS` of the readings, each as it was; None: nothing is to be drawn across."""
    from dashboard.comparing.series import Series

    found = rows[rows["value"].notna()]
    every = max(1, -(-len(found) // MAX_CURVE_POINTS))
    seconds, values = found["seconds"].to_numpy(np.float64), found["value"].to_numpy(np.float64)
    nothing = np.zeros(len(found))
    series = Series(0, "", "", seconds, values, nothing, nothing > 0)
    for i, stretch in enumerate(series.stretches):
        if i:
            yield None
        yield from zip(seconds[stretch][::every].tolist(), values[stretch][::every].tolist(), strict=True)


def _naive(time: pd.Timestamp) -> datetime:
    return time.tz_localize(None).floor("us").to_pydatetime()
