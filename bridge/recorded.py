"""Reading a recording: also one being written, one whose writer was killed, one whose end is missing."""

from __future__ import annotations

import heapq
import json
import logging
import sqlite3
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple, Self

from bridge.core.packing import PackedRow, unpacked
from bridge.errors import RecordingError
from bridge.recording_schema import APPLICATION_ID, CHUNK_COLUMNS, NOTE_COLUMNS, SCHEMA_VERSION, note_checksum

_log = logging.getLogger(__name__)


class Chunk(NamedTuple):
    """Bytes as they arrived."""

    at_ns: int
    bench: int
    data: bytes


class Event(NamedTuple):
    """Something that changed what the pipeline does."""

    at_ns: int
    kind: str
    bench: int | None
    detail: dict[str, Any]  # JSON of the recording; its keys belong to the kind


class Marker(NamedTuple):
    """A named instant."""

    at_ns: int
    words: str
    who: str


class LessonRevision(NamedTuple):
    """The lesson from now on."""

    at_ns: int
    text: str


class Anchor(NamedTuple):
    """Which UTC a session time was."""

    at_ns: int
    utc_ns: int


Item = Chunk | Event | Marker | LessonRevision
_Ordered = tuple[int, Item | Anchor]
_DAMAGE = (
    sqlite3.DatabaseError,
    ValueError,
    TypeError,
    zlib.error,
)  # how it shows that bytes are not those written


class Recorded:
    """A recording, opened for reading only; the file is left as it is.

    When the end of the file is missing or damaged, what stands whole before it is given and `damage` tells
    so; nothing is guessed. Used by the thread that opened it; a context manager.

    Raises:
        RecordingError: There is no such file, it is no recording, a newer version made it, or nothing of it
            can be read.
    """

    def __init__(self, path: Path | str) -> None:
        self.path = Path(path).absolute()
        self.damage = ""  # in words; may be found only while reading
        self._connection, self._damaged_file = _opened(self.path)
        try:
            about = dict(self._connection.execute("SELECT name, value FROM about"))
            self.start_utc_ns = int(about["start_utc_ns"])
            self._first_order = int(about["first_order"])
        except (*_DAMAGE, KeyError) as error:
            self._connection.close()
            raise _nothing_readable(self.path) from error
        self.title = about.get("title", "")
        self.program = about.get("program", "")
        if self._damaged_file:
            self._found_damage("its end is missing")

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        self._connection.close()

    @property
    def lessons(self) -> list[tuple[int, str]]:
        """Every revision of the lesson as (at_ns, TOML text), in order."""
        return [(one.at_ns, one.text) for _, one in self._notes("lessons") if isinstance(one, LessonRevision)]

    @property
    def markers(self) -> list[Marker]:
        """Every named instant, in order."""
        return [one for _, one in self._notes("markers") if isinstance(one, Marker)]

    @property
    def events(self) -> list[Event]:
        """Every event, in order."""
        return [one for _, one in self._notes("events") if isinstance(one, Event)]

    @property
    def anchors(self) -> list[tuple[int, int]]:
        """(at_ns, utc_ns): for `bridge.table.utc_ns_of`; the first is the session's start."""
        found = [(one.at_ns, one.utc_ns) for _, one in self._notes("anchors") if isinstance(one, Anchor)]
        return found or [(0, self.start_utc_ns)]

    @property
    def benches(self) -> tuple[int, ...]:
        """The benches that something was read from, rising."""
        found = self._asked("SELECT DISTINCT bench FROM chunks ORDER BY bench")
        if found is None:
            return tuple(sorted({one.bench for one in self.items() if isinstance(one, Chunk)}))
        return tuple(found)

    @property
    def length_ns(self) -> int:
        """Session time of the last that is known; grows while the recording is written."""
        columns = [("last_ns", "chunks"), *(("at_ns", table) for table in NOTE_COLUMNS)]
        query = " UNION ALL ".join(f"SELECT max({column}) AS at FROM {table}" for column, table in columns)  # noqa: S608
        found = self._asked(f"SELECT ifnull(max(at), 0) FROM ({query})")  # noqa: S608
        return max((one.at_ns for one in self.items()), default=0) if found is None else found[0]

    def _asked(self, query: str) -> list[int] | None:
        """The numbers that answer a question about the whole file; None when it must be read item by item."""
        if self.damage:
            return None
        try:
            return [int(row[0]) for row in self._connection.execute(query)]
        except _DAMAGE as error:
            _log.debug("Reading %s failed", self.path, exc_info=error)
            self._found_damage("a page can't be read")
            return None

    def items(self, from_ns: int = 0) -> Iterator[Item]:
        """Everything from a session time on, in the order in which the session processed it.

        Holds one part of the recording in memory at a time, and no lock on the file between them: a writer is
        not held up, and what it adds meanwhile is still given.
        """
        for _, item in self._whole(self._begin(from_ns)):
            if item.at_ns >= from_ns and not isinstance(item, Anchor):
                yield item

    def items_after(self, order: int | None) -> Iterator[tuple[int, Item]]:
        """Everything behind an order number, each with its own: to go on where another reading ended.

        Args:
            order: Of the last that is known; None: from the beginning.
        """
        for at, item in self._whole(self._first_order if order is None else order + 1):
            if not isinstance(item, Anchor):
                yield at, item

    def _whole(self, expected: int) -> Iterator[_Ordered]:
        """Everything from that order number on, up to the first that is missing or damaged."""
        while True:
            items, why = self._part(expected)
            for order, item in items:
                if order < expected:
                    continue
                if order > expected:
                    why = why or f"number {expected} of what happened is missing"
                    break
                yield order, item
                expected += 1
            if why:
                self._found_damage(why)
                return
            if not items:
                return

    def _begin(self, from_ns: int) -> int:
        """The order number to begin at: a part's first, with nothing from `from_ns` on before it."""
        if from_ns <= 0 or self._damaged_file:
            return self._first_order
        # The least order of all that is late enough: safe even where times do not rise with the order.
        queries = ["SELECT min(part) AS o FROM chunks WHERE last_ns >= :ns"]
        queries += [f"SELECT min(ord) AS o FROM {table} WHERE at_ns >= :ns" for table in NOTE_COLUMNS]  # noqa: S608
        try:
            found = self._connection.execute(
                f"SELECT min(o) FROM ({' UNION ALL '.join(queries)})",  # noqa: S608
                {"ns": from_ns},
            ).fetchone()[0]
            return int(found) if found is not None else self._after_last()
        except _DAMAGE:
            return self._first_order

    def _after_last(self) -> int:
        row = self._connection.execute("SELECT max(part_end) FROM chunks").fetchone()
        return int(row[0] or self._first_order)

    def _part(self, expected: int) -> tuple[list[_Ordered], str]:
        """The part that holds an order number, or what is behind the last one; and what is wrong with it."""
        items: list[_Ordered] = []
        try:
            self._connection.execute("BEGIN")  # a merge must not fall between the two questions
            try:
                part, part_end = self._span(expected)
                chunks = self._connection.execute(
                    f"SELECT {CHUNK_COLUMNS} FROM chunks WHERE first_order >= ? AND first_order < ?",  # noqa: S608
                    (part, part_end),
                )
                for row in map(PackedRow._make, chunks):
                    items += _chunks_of(row)
                notes = [self._notes(table, expected, part_end) for table in NOTE_COLUMNS]
                items += heapq.merge(*notes, key=_order)
            finally:
                self._connection.execute("COMMIT")
        except _DAMAGE as error:
            _log.debug("Reading %s failed", self.path, exc_info=error)
            items.sort(key=_order)
            return items, f"not all after number {expected} of what happened can be read"
        items.sort(key=_order)
        return items, ""

    def _span(self, expected: int) -> tuple[int, int]:
        query = "SELECT part, part_end FROM chunks WHERE first_order {} ? ORDER BY first_order {} LIMIT 1"
        for compared, direction in (("<=", "DESC"), (">=", "ASC")):
            found = self._connection.execute(query.format(compared, direction), (expected,)).fetchone()
            if found and found[1] > expected:
                return int(found[0]), int(found[1])
        return expected, 2**62  # only notes follow

    def _notes(self, table: str, first: int = 0, end: int = 2**62) -> Iterator[_Ordered]:
        columns = ", ".join(NOTE_COLUMNS[table])
        try:
            for order, *values, checksum in self._connection.execute(
                f"SELECT ord, {columns}, checksum FROM {table} WHERE ord >= ? AND ord < ? ORDER BY ord",  # noqa: S608
                (first, end),
            ):
                if note_checksum((order, *values)) != checksum:
                    raise ValueError(f"row {order} of {table} is not what was written")
                yield order, _note(table, values)
        except _DAMAGE as error:
            if end != 2**62 or first:  # a part is being read: the caller tells
                raise
            self._found_damage(str(error))

    def _found_damage(self, why: str) -> None:
        if not self.damage:
            self.damage = f"{self.path.name} is damaged ({why}); what stands whole before the damage is given"
            _log.warning("%s", self.damage)


def _order(ordered: _Ordered) -> int:
    return ordered[0]


def _chunks_of(row: PackedRow) -> list[_Ordered]:
    bench = row.bench
    return [(order, Chunk(at_ns, bench, data)) for order, at_ns, data in zip(*unpacked(row), strict=True)]


def _note(table: str, values: list[Any]) -> Item | Anchor:
    if table == "events":
        at_ns, kind, bench, detail = values
        return Event(at_ns, kind, bench, json.loads(detail))
    if table == "markers":
        return Marker(*values)
    return LessonRevision(*values) if table == "lessons" else Anchor(*values)


def _opened(path: Path) -> tuple[sqlite3.Connection, bool]:
    """The file opened for reading only, and whether it is damaged."""
    try:
        with path.open("rb") as file:
            head = file.read(16)
    except FileNotFoundError as error:
        raise RecordingError(
            f"there is no recording {path}", remedy="Check the name; recordings are kept in the data folder"
        ) from error
    except OSError as error:
        raise RecordingError(
            f"{path} can't be opened ({error.strerror})", remedy="Choose a recording's file that you may read"
        ) from error
    if head != b"SQLite format 3\0":
        raise RecordingError(
            f"{path.name} is not a recording", remedy="Choose a file that this program recorded"
        )
    connection, damaged = _connected(path)
    try:
        _checked(connection, path)
    except BaseException:
        connection.close()
        raise
    return connection, damaged


def _connected(path: Path) -> tuple[sqlite3.Connection, bool]:
    uri = path.as_uri()
    # immutable: a folder in which not even the shared-memory file of a write-ahead log can be made
    for options, damaged in (("mode=ro", False), ("mode=ro&immutable=1", False), ("mode=ro", True)):
        if "immutable" in options and _has_log(path):
            continue
        connection = sqlite3.connect(f"{uri}?{options}", uri=True, isolation_level=None, timeout=5.0)
        try:
            if damaged:
                connection.execute(
                    "PRAGMA writable_schema = ON"
                )  # the documented way to read on with pages missing
            connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
        except sqlite3.DatabaseError:
            connection.close()
        else:
            return connection, damaged
    raise _nothing_readable(path)


def _has_log(path: Path) -> bool:
    log = path.with_name(f"{path.name}-wal")
    return log.exists() and log.stat().st_size > 0


def _checked(connection: sqlite3.Connection, path: Path) -> None:
    try:
        application_id = connection.execute("PRAGMA application_id").fetchone()[0]
        version = connection.execute("PRAGMA user_version").fetchone()[0]
    except sqlite3.DatabaseError as error:
        raise _nothing_readable(path) from error
    if application_id != APPLICATION_ID:
        raise RecordingError(
            f"{path.name} is not a recording", remedy="Choose a file that this program recorded"
        )
    if version > SCHEMA_VERSION:
        raise RecordingError(
            f"{path.name} was recorded by a newer version of this program "
            f"(its form is {version}, this one reads up to {SCHEMA_VERSION})",
            remedy="Update this program",
        )


def _no_recording(path: Path) -> RecordingError:
    return RecordingError(
        f"{path.name} is not a recording", remedy="Choose a file that this program recorded"
    )


def _nothing_readable(path: Path) -> RecordingError:
    return RecordingError(
        f"{path.name} is damaged so that nothing of it can be read",
        remedy="Use a copy of the recording if there is one",
    )
