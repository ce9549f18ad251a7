"""Writing a recording. What stands in the file is described in `bridge.recording_schema`.

Bounds: what was added and is not committed yet waits in memory. Beyond `WAITING_WARNING_BYTES` the writer's
`failure` says so; it is a warning level and no bound, for a recording never loses a byte that was read.
"""

from __future__ import annotations

import json
import logging
import re
import sqlite3
import threading
import time
from datetime import datetime
from pathlib import Path
from typing import cast

import numpy as np

from bridge.core.packing import PackedRow, packed_rows
from bridge.errors import RecordingError
from bridge.merging import merge_parts
from bridge.recording_schema import (
    INSERT_NOTE,
    about_rows,
    insert_part,
    make_schema,
    next_order,
    note_checksum,
)

SUFFIX = ".benchrow"
WAITING_WARNING_BYTES = 64 << 20
"""About two minutes of 24 boards flat out at 20,000 lines/s: longer than any disk hesitates."""

_CHECKPOINT_PAGES = 256  # 1 MiB of write-ahead file; more only makes the pair of files larger
_RETRY_SECONDS = (0.25, 0.5, 1.0, 2.0, 5.0)
_START_EARLY = 0.95  # a batch is begun a little early, so that its commit ends within commit_seconds
_CHUNK_MEMORY_BYTES = 120  # what a waiting chunk takes beside its bytes

_log = logging.getLogger(__name__)


_NOTE = -(1 << 62)  # stands where a chunk has its bench, so that numpy finds the few notes among many chunks
_Values = tuple[int | str | None, ...]  # of a note, in the order of NOTE_COLUMNS
_Flat = list[int | bytes | tuple[str, _Values]]
"""What waits, three entries each: bench, bytes, arrival of a chunk; _NOTE, (table, values) and 0 of a note.

Flat and without a lock: thousands of tuples a batch would keep the garbage collector busy, and a lock takes
ten times what an append takes. `extend` with three, a slice and `del` of a slice are each one step beside
other threads.
"""


def new_recording_path(data_dir: Path, title: str, start_utc: datetime) -> Path:
    """A path for a new recording that is not taken and is a good file name on every system.

    The name has the time in the computer's own zone, as the instructor remembers the session.
    """
    words = re.sub(r"[^\w ,;()+=-]+", " ", title)  # no / \ : * ? " < > | and no dots
    words = re.sub(r"\s+", " ", words).strip()[:60].strip() or "session"
    stem = f"{start_utc.astimezone():%Y-%m-%d %H-%M-%S} {words}"
    path, n = data_dir / f"{stem}{SUFFIX}", 1
    while path.exists():
        n += 1
        path = data_dir / f"{stem} ({n}){SUFFIX}"
    return path


class _TakenError(OSError):
    """Another file has the name."""


class RecordingWriter:
    """Keeps a session in a file, in a thread of its own.

    `add_...` only put what happened into a list: they never wait for the disk and never raise. What can't be
    written waits and is tried again; `failure` then says what is wrong and what to do, and is None again once
    all is well.

    Args:
        path: The file, which must not exist yet. Its folder is made.
        lesson_text: The lesson as TOML; "" when the session has none.
        start_utc_ns: Which UTC session time 0 is, in ns since 1970.
        program: Name and version of what writes, told in the file.
        title: What the session is called.
        commit_seconds: What happened is on the disk after this time at the latest.
    """

    def __init__(
        self,
        path: Path | str,
        *,
        lesson_text: str,
        start_utc_ns: int,
        program: str,
        title: str = "",
        commit_seconds: float = 0.25,
    ) -> None:
        self.path = Path(path).absolute()
        self.failure: RecordingError | None = None
        self._about = about_rows(start_utc_ns, program, title)
        self._commit_seconds = commit_seconds
        self._added: _Flat = []
        self._add = self._added.extend
        self._changed = threading.Condition()  # guards the next four
        self._n_taken = 0
        self._n_committed = 0
        self._hurry = False
        self._give_up_at: float | None = None  # closing: how long to go on trying
        self._unwritten: _Flat = []  # from here on the thread's own
        self._n_unwritten_bytes = 0
        self._in_doubt = False  # a commit that was told as failed may have succeeded
        self._connection: sqlite3.Connection | None = None
        self._file_id: tuple[int, int] | None = None
        self._add((_NOTE, ("anchors", (0, start_utc_ns)), 0))
        if lesson_text:
            self.add_lesson(lesson_text, 0)
        self._thread = threading.Thread(target=self._run, name="recording", daemon=True)
        self._thread.start()

    @property
    def n_waiting_bytes(self) -> int:
        """How much memory was taken, when the last batch was begun, by what is not on the disk yet."""
        return self._n_unwritten_bytes

    def add_chunk(self, bench: int, data: bytes, at_ns: int) -> None:
        """Keep bytes as they arrived."""
        self._add((bench, data, at_ns))

    def add_event(self, kind: str, bench: int | None, at_ns: int, detail: dict[str, object]) -> None:
        """Keep something that changed what the pipeline does."""
        text = json.dumps(detail, default=str)  # in ASCII: a port's name may hold what UTF-8 can't
        self._add((_NOTE, ("events", (at_ns, kind, bench, text)), 0))

    def add_marker(self, at_ns: int, words: str, who: str) -> None:
        """Keep a named instant."""
        self._add((_NOTE, ("markers", (at_ns, _writable(words), who)), 0))

    def add_lesson(self, text: str, at_ns: int) -> None:
        """Keep a revision of the lesson: its whole text."""
        self._add((_NOTE, ("lessons", (at_ns, text)), 0))

    def add_anchor(self, at_ns: int, utc_ns: int) -> None:
        """Keep which UTC a session time was; when the wall clock jumped."""
        self._add((_NOTE, ("anchors", (at_ns, utc_ns)), 0))

    def flush(self, timeout_seconds: float = 5.0) -> bool:
        """Wait until everything added so far is committed; False when it took too long. Blocks."""
        with self._changed:
            goal = self._n_taken + len(self._added) // 3
            self._hurry = True
            self._changed.notify_all()
            return self._changed.wait_for(lambda: self._n_committed >= goal, timeout_seconds)

    def close(self, *, patience_seconds: float = 10.0) -> None:
        """Write what waits, merge the rows and leave one file. Blocks: call it from a worker thread.

        When the disk takes nothing for `patience_seconds` it gives up: `failure` then tells what is missing.
        """
        with self._changed:
            self._give_up_at = time.monotonic() + patience_seconds
            self._changed.notify_all()
        self._thread.join()

    # ---- the thread ----

    def _run(self) -> None:
        n_failed, last = 0, time.monotonic()
        while True:
            pause = (
                self._commit_seconds * _START_EARLY if not n_failed else _RETRY_SECONDS[min(n_failed, 5) - 1]
            )
            give_up_at = self._pause(last + pause)
            last = time.monotonic()
            n_failed = 0 if self._write() else n_failed + 1
            if give_up_at is not None and (not n_failed or last > give_up_at):
                break
            if give_up_at is not None:
                time.sleep(min(pause, 0.2))
        self._finish()

    def _pause(self, until: float) -> float | None:
        with self._changed:
            self._changed.wait_for(
                lambda: self._hurry or self._give_up_at, max(0.0, until - time.monotonic())
            )
            self._hurry = False
            return self._give_up_at

    def _write(self) -> bool:
        """Commit all that waits as one part; True when nothing waits any more."""
        self._take()
        try:
            connection = self._opened()
            if self._unwritten:
                self._commit(connection)
            else:
                self.failure = None
        except Exception as error:  # whatever it is: it is told, and what waits is tried again
            self._failed(error)
            return False
        return True

    def _take(self) -> None:
        with self._changed:
            n_entries = len(self._added)
            taken = self._added[:n_entries]
            del self._added[:n_entries]
            self._n_taken += n_entries // 3
        self._unwritten += taken
        # About what they take: the texts of notes are few and short.
        n_bytes = sum(map(len, cast("list[bytes]", taken[1::3])))
        self._n_unwritten_bytes += n_bytes + _CHUNK_MEMORY_BYTES * (n_entries // 3)

    def _commit(self, connection: sqlite3.Connection) -> None:
        first, n = self._n_committed, len(self._unwritten) // 3
        connection.execute("BEGIN IMMEDIATE")
        # A commit that was said to have failed may have been done: what is there is not written again.
        n_there = min(n, max(0, next_order(connection) - first)) if self._in_doubt else 0
        if n_there < n:
            waiting, first, n = self._unwritten[3 * n_there :], first + n_there, n - n_there
            rows, notes = _rows_of(waiting, first)
            insert_part(connection, rows, first, first + n)
            for table, values in notes:
                connection.execute(INSERT_NOTE[table], values)
        connection.execute("COMMIT")
        warning = self._told_warning()
        self._in_doubt = False
        self._unwritten, self._n_unwritten_bytes = [], 0
        with self._changed:
            self._n_committed = first + n
            self.failure = warning
            self._changed.notify_all()

    def _opened(self) -> sqlite3.Connection:
        """The connection; opened anew, or saved from a file that someone removed, when it must be."""
        if self._connection is not None and self._file_id == _file_id(self.path):
            return self._connection
        self.path.parent.mkdir(parents=True, exist_ok=True)
        if self._connection is not None:
            _log.warning(
                "The recording %s was removed while it was written; it is written anew", self.path.name
            )
            _write_anew(self._connection, self.path)
            old, self._connection = self._connection, None
            old.close()  # before the new one is in use: closing removes the write-ahead file by its name
        self._connection = _opened_for_writing(self.path, self._about, self._n_committed)
        self._file_id = _file_id(self.path)
        return self._connection

    def _failed(self, error: Exception) -> None:
        self._in_doubt = True
        self.failure = _failure(error, self.path, self._n_unwritten_bytes)
        _log.debug("Writing the recording failed", exc_info=error)
        if self._connection is None:
            return
        try:
            if self._connection.in_transaction:
                self._connection.execute("ROLLBACK")
            if (
                _file_id(self.path) == self._file_id
            ):  # a fresh start helps, for instance when a drive was away
                self._connection.close()
                self._connection = None
        except (sqlite3.Error, OSError):
            self._connection = None

    def _told_warning(self) -> RecordingError | None:
        if self._n_unwritten_bytes < WAITING_WARNING_BYTES:
            return None
        return RecordingError(
            f"the disk is too slow for the recording: {self._n_unwritten_bytes >> 20} MB wait in memory",
            remedy="Nothing is lost; close other programs, or record to a faster disk",
        )

    def _finish(self) -> None:
        if self._connection is None:
            return
        try:
            if not self._unwritten:
                merge_parts(self._connection)
        except (sqlite3.Error, OSError) as error:
            _log.warning("The recording %s is whole, but was not packed: %s", self.path.name, error)
        finally:
            self._connection.close()
            self._connection = None


def _writable(text: str) -> str:
    """The text with what UTF-8 can't hold (lone surrogates) made visible."""
    return text.encode("utf-8", "backslashreplace").decode()


def _rows_of(waiting: _Flat, first: int) -> tuple[list[PackedRow], list[tuple[str, _Values]]]:
    """A row for each bench, and for each note its table with order number, values and checksum."""
    benches = np.array(waiting[0::3], np.int64)
    orders = np.arange(first, first + len(benches))
    is_note = benches == _NOTE
    notes: list[tuple[str, _Values]] = []
    if is_note.any():
        for i in np.flatnonzero(is_note).tolist():
            table, values = cast("tuple[str, _Values]", waiting[3 * i + 1])
            numbered = (first + i, *values)
            notes.append((table, (*numbered, note_checksum(numbered))))
        orders = orders[~is_note]
        waiting = [entry for i in np.flatnonzero(~is_note).tolist() for entry in waiting[3 * i : 3 * i + 3]]
    if not waiting:
        return [], notes
    chunks = (
        cast("list[int]", waiting[0::3]),
        cast("list[bytes]", waiting[1::3]),
        cast("list[int]", waiting[2::3]),
    )
    return packed_rows(*chunks, orders, squeeze="quick"), notes


def _opened_for_writing(path: Path, about: dict[str, str], first_order: int) -> sqlite3.Connection:
    connection = sqlite3.connect(path, isolation_level=None, timeout=1.0)
    try:
        if connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0] == 0:
            make_schema(connection, {**about, "first_order": str(first_order)})
        elif _id_of(connection) != about["id"]:
            raise _TakenError
        connection.execute("PRAGMA journal_mode = WAL")
        # NORMAL: the process may die at any moment and loses nothing committed; only a power cut can take the
        # last commits, back to the last checkpoint. A sync for each commit would wear memory cards.
        connection.execute("PRAGMA synchronous = NORMAL")
        connection.execute(f"PRAGMA wal_autocheckpoint = {_CHECKPOINT_PAGES}")
    except BaseException:
        connection.close()
        raise
    return connection


def _id_of(connection: sqlite3.Connection) -> str | None:
    try:
        row = connection.execute("SELECT value FROM about WHERE name = 'id'").fetchone()
    except sqlite3.OperationalError:  # no such table
        return None
    return str(row[0]) if row else None


def _write_anew(connection: sqlite3.Connection, path: Path) -> None:
    """Copy all that the still open, removed file holds to a new one at its old place."""
    copy = sqlite3.connect(path)
    try:
        connection.backup(copy)
    finally:
        copy.close()


def _file_id(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def _failure(error: Exception, path: Path, n_waiting_bytes: int) -> RecordingError:
    kept = f"What was read waits in memory ({max(1, n_waiting_bytes >> 10)} kB) and is written then"
    name = getattr(error, "sqlite_errorname", "") or ""
    if isinstance(error, _TakenError):
        return RecordingError(
            f"{path} is there already and is not overwritten", remedy=f"Move that file away. {kept}"
        )
    if name.startswith("SQLITE_FULL") or getattr(error, "errno", None) == 28:  # ENOSPC
        return RecordingError(
            "the disk is full: the recording can't be written", remedy=f"Free some space. {kept}"
        )
    if name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM")) or isinstance(error, OSError):
        return RecordingError(
            f"{path} can't be written ({error})",
            remedy=f"Make the folder {path.parent} writable, or start with another --data-dir. {kept}",
        )
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return RecordingError(
            "another program holds the recording", remedy=f"Close the program that has {path} open. {kept}"
        )
    return RecordingError(
        f"the disk does not take the recording ({error})", remedy=f"Check the disk that holds {path}. {kept}"
    )
