"""What stands in a recording: one session kept in one SQLite file, readable with any SQLite client.

`PRAGMA application_id` is 0x42526F77, `PRAGMA user_version` the schema's version, 1.

Everything that happened (chunks, events, markers, revisions of the lesson, anchors) has an **order
number**: whole numbers without a gap, in the order in which the session processed them. Times (`..._ns`)
are ns of session time, from a steady clock; an anchor tells which UTC a session time was.

| table | a row is | columns (the first is the key) |
|---|---|---|
| about | a fact about the file | name, value |
| chunks | the chunks of one bench from one part | first_order, part, part_end, bench, n_chunks, ... |
| lessons | a revision of the lesson | ord, at_ns, text (TOML), checksum |
| events | what else the pipeline must know | ord, at_ns, kind, bench or null, detail (JSON), checksum |
| markers | a named instant | ord, at_ns, words, who, checksum |
| anchors | a session time and the UTC it was | ord, at_ns, utc_ns (since 1970-01-01T00:00Z), checksum |

The kinds of events, with what their detail holds: `bridge.core.acting.act`.

The rest of chunks: first_ns, last_ns, packing, checksum, stamps, data.

A *part* holds all orders from `part` up to but not including `part_end`; all its rows were committed
together. While the session runs a part is one batch; when it ends the parts are merged into larger ones.

`data` are the bytes of all chunks of the row, one after the other (with packing 'plain' `CAST(data AS
TEXT)` shows the text). `stamps` are three columns of `n_chunks` numbers each: the step from the order
before (0 for the first), the step from the arrival time before in ns (0 for the first), the length in
bytes. A column is one byte w (1, 2, 4 or 8) and n_chunks little-endian signed numbers of w bytes. With
packing 'zlib' stamps and data are one zlib stream each, with 'data zlib' the data alone. `checksum` of
chunks: see `bridge.core.packing.row_checksum`; of the others: CRC-32 of the row's other values as a JSON
array in UTF-8.
"""

from __future__ import annotations

import json
import sqlite3
import uuid
import zlib
from datetime import UTC, datetime, timedelta

from bridge.core.packing import PackedRow

APPLICATION_ID = 0x42526F77
SCHEMA_VERSION = 1
# chunks last: SQLite packs the tables in this order, so that a missing end takes the newest chunks only.
_SCHEMA = """
CREATE TABLE about (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE lessons (ord INTEGER PRIMARY KEY, at_ns INTEGER NOT NULL, text TEXT NOT NULL,
  checksum INTEGER NOT NULL);
CREATE TABLE events (ord INTEGER PRIMARY KEY, at_ns INTEGER NOT NULL, kind TEXT NOT NULL, bench INTEGER,
  detail TEXT NOT NULL, checksum INTEGER NOT NULL);
CREATE TABLE markers (ord INTEGER PRIMARY KEY, at_ns INTEGER NOT NULL, words TEXT NOT NULL, who TEXT NOT NULL,
  checksum INTEGER NOT NULL);
CREATE TABLE anchors (ord INTEGER PRIMARY KEY, at_ns INTEGER NOT NULL, utc_ns INTEGER NOT NULL,
  checksum INTEGER NOT NULL);
CREATE TABLE chunks (first_order INTEGER PRIMARY KEY, part INTEGER NOT NULL, part_end INTEGER NOT NULL,
  bench INTEGER NOT NULL, n_chunks INTEGER NOT NULL, first_ns INTEGER NOT NULL, last_ns INTEGER NOT NULL,
  packing TEXT NOT NULL, checksum INTEGER NOT NULL, stamps BLOB NOT NULL, data BLOB NOT NULL);
"""
NOTE_COLUMNS = {
    "lessons": ("at_ns", "text"),
    "events": ("at_ns", "kind", "bench", "detail"),
    "markers": ("at_ns", "words", "who"),
    "anchors": ("at_ns", "utc_ns"),
}
CHUNK_COLUMNS = "first_order, bench, n_chunks, first_ns, last_ns, packing, checksum, stamps, data"
"""In the order of `PackedRow`."""
_INSERT_CHUNKS = "INSERT INTO chunks VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
INSERT_NOTE = {
    table: f"INSERT INTO {table} VALUES ({', '.join('?' * (len(columns) + 2))})"  # noqa: S608
    for table, columns in NOTE_COLUMNS.items()
}


_ABOUT = {
    "what": "One session of a class: the bytes that every board printed, with their times of arrival, "
    "the lesson, events and markers. Readings are computed from these.",
    "order": "Everything that happened has an order number, without gaps, in the order of processing: "
    "ord, and for chunks in stamps.",
    "times": "..._ns: ns of session time, from a steady clock. UTC: utc_ns of the latest row of anchors at "
    "or before it, plus the difference of the session times.",
    "chunks": "One row per bench and part; a part covers the order numbers from part up to part_end (not "
    "included). data: the bytes of n_chunks chunks, one after the other. stamps: three columns (step of "
    "the order number, step of the time in ns, length in bytes; the steps of the first chunk are 0), each "
    "one byte w = 1, 2, 4 or 8 and n_chunks little-endian signed numbers of w bytes. packing zlib: stamps "
    "and data are one zlib stream each; data zlib: data alone.",
    "checksum": "CRC-32. chunks: of 'first_order bench n_chunks first_ns last_ns packing ' in ASCII, then "
    "stamps and data as stored; others: of the row's other values as a JSON array in UTF-8.",
}


def about_rows(start_utc_ns: int, program: str, title: str) -> dict[str, str]:
    """What the table about tells a person, and what a reader needs."""
    start = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(microseconds=start_utc_ns // 1000)
    own = {"title": title, "program": program, "id": str(uuid.uuid4())}
    return {**_ABOUT, **own, "start_utc": start.isoformat(), "start_utc_ns": str(start_utc_ns)}


def make_schema(connection: sqlite3.Connection, about: dict[str, str]) -> None:
    """All tables in one transaction, before the file is turned to WAL: it is a recording from then on."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        for statement in _SCHEMA.split(";"):
            connection.execute(statement)
        connection.executemany("INSERT INTO about VALUES (?, ?)", about.items())
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {SCHEMA_VERSION}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def insert_part(connection: sqlite3.Connection, rows: list[PackedRow], part: int, part_end: int) -> None:
    """Add the rows of one part, within the caller's transaction."""
    connection.executemany(
        _INSERT_CHUNKS,
        [
            (r.first_order, part, part_end, r.bench, r.n_chunks, r.first_ns, r.last_ns, r.packing, r.checksum,
             r.stamps, r.data)
            for r in rows
        ],
    )  # fmt: skip


def note_checksum(values: tuple[int | str | None, ...]) -> int:
    """CRC-32 of a note's values (order number first, without the checksum) as a JSON array in UTF-8."""
    return zlib.crc32(json.dumps(values, ensure_ascii=False).encode("utf-8", "surrogatepass"))


def next_order(connection: sqlite3.Connection) -> int:
    """The order number behind the last one that is committed."""
    ends = [connection.execute("SELECT part_end FROM chunks ORDER BY first_order DESC LIMIT 1").fetchone()]
    ends += [connection.execute(f"SELECT max(ord) + 1 FROM {table}").fetchone() for table in NOTE_COLUMNS]  # noqa: S608
    return max((row[0] for row in ends if row and row[0] is not None), default=0)
