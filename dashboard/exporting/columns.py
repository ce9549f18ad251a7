"""The columns of every table that is handed out, whatever the kind of file."""

from __future__ import annotations

from typing import Literal, NamedTuple

ColumnKind = Literal["time", "whole", "number", "text"]


class Column(NamedTuple):
    """One column; every file has it under the same name."""

    name: str
    kind: ColumnKind
    unit: str  # "" for none, OF_THE_ROW where it stands in the row's own `unit`
    words: str  # what it holds, one sentence


OF_THE_ROW = "as in the column 'unit'"

COLUMNS = (
    Column(
        "time", "time", "", "When the board took it, in UTC; by the board's own clock where it prints one"
    ),
    Column("seconds", "number", "s", "The same instant, counted from the start of the session"),
    Column("bench", "whole", "", "Number of the bench"),
    Column("bench_name", "text", "", "Name of the bench"),
    Column("channel", "text", "", "What was measured"),
    Column("value", "number", OF_THE_ROW, "The value; empty where the line gave none"),
    Column("unit", "text", "", "Unit of the value and of its uncertainty"),
    Column(
        "u", "number", OF_THE_ROW, "Standard uncertainty of the value; empty where nothing is known of it"
    ),
    Column("quality", "text", "", "good, uncertain or bad"),
    Column("reason", "text", "", "Why the quality is not good"),
    Column("line", "whole", "", "Number of the line that it came from, counted for each bench"),
)

NAMES = tuple(column.name for column in COLUMNS)
