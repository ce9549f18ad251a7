"""Merging a finished recording: the rows of many small batches become fewer, larger, compressed ones."""

from __future__ import annotations

import contextlib
import sqlite3

import numpy as np

from bridge.core.packing import PackedRow, Unpacked, packed_rows, unpacked
from bridge.recording_schema import CHUNK_COLUMNS, insert_part

# A reader takes one part at a time, in about 10 ms, and holds it in memory.
_PART_BYTES = 2 << 20
_PART_CHUNKS = 20_000


def merge_parts(connection: sqlite3.Connection) -> None:
    """Merge a recording's parts and leave one file without a write-ahead log.

    Each merged part is a transaction of its own: a crash leaves some parts merged, some not, the file whole.
    """
    for part, part_end in _groups(connection):
        connection.execute("BEGIN IMMEDIATE")
        try:
            _merge(connection, part, part_end)
            connection.execute("COMMIT")
        except BaseException:
            connection.execute("ROLLBACK")
            raise
    connection.execute("VACUUM")
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    # Without WAL a reader needs no second file and no writable folder. Refused while a reader has the file
    # open: then the log, empty by now, stays beside it.
    with contextlib.suppress(sqlite3.OperationalError):
        connection.execute("PRAGMA journal_mode = DELETE")


def _groups(connection: sqlite3.Connection) -> list[tuple[int, int]]:
    """Runs of neighbouring parts to be merged, each as its first order and the order behind its last."""
    rows = connection.execute(
        "SELECT part, part_end, sum(length(data)), sum(n_chunks) FROM chunks GROUP BY part ORDER BY part"
    )
    groups: list[tuple[int, int]] = []
    n_bytes = n_chunks = 0
    for part, part_end, part_bytes, part_chunks in rows:
        n_bytes, n_chunks = n_bytes + part_bytes, n_chunks + part_chunks
        if groups and n_bytes <= _PART_BYTES and n_chunks <= _PART_CHUNKS:
            groups[-1] = (groups[-1][0], part_end)
        else:
            groups.append((part, part_end))
            n_bytes, n_chunks = part_bytes, part_chunks
    return groups


def _merge(connection: sqlite3.Connection, part: int, part_end: int) -> None:
    span = (part, part_end)
    found = connection.execute(
        f"SELECT {CHUNK_COLUMNS} FROM chunks WHERE first_order >= ? AND first_order < ? ORDER BY first_order",  # noqa: S608
        span,
    )
    benches: list[int] = []
    merged = Unpacked([], [], [])
    for row in map(PackedRow._make, found):
        more = unpacked(row)
        merged.orders.extend(more.orders)
        merged.times_ns.extend(more.times_ns)
        merged.pieces.extend(more.pieces)
        benches += [row.bench] * row.n_chunks
    orders, times_ns, pieces = merged
    rows = packed_rows(benches, pieces, times_ns, np.array(orders, np.int64), squeeze="best")
    connection.execute("DELETE FROM chunks WHERE first_order >= ? AND first_order < ?", span)
    insert_part(connection, rows, part, part_end)
