"""Readings computed from what was kept: from a recording, a file of raw bytes or a stream."""

from __future__ import annotations

import contextlib
import os
import re
import time
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, BinaryIO

import numpy as np
from numpy.typing import NDArray

from bridge.core.acting import act
from bridge.core.classroom import Classroom, Outcomes
from bridge.core.lesson import OPEN_LESSON, Lesson
from bridge.core.pipeline import BenchPipeline, Outcome
from bridge.core.readings import Reading
from bridge.lesson_file import lesson_from_text, read_lesson
from bridge.recorded import Event, Item, LessonRevision, Recorded
from bridge.runs import Run, runs_of

if TYPE_CHECKING:
    import pandas as pd

BITS_PER_BYTE = 10  # start bit, eight data bits, stop bit: what boards use unless told otherwise
LINE_END_BYTES = 2  # CR LF, as most boards end a line
_PORTION_BYTES = 1 << 16
# A line that never ends comes in pieces, as from a port: what looks at the bytes must not wait for it.
_lines_with_their_ends = re.compile(rb"[^\r\n]{0,64}(?:\r\n|\n|\r)|[^\r\n]{1,64}").finditer

Anchors = Sequence[tuple[int, int]]
"""(at_ns, utc_ns), rising in at_ns; at least one."""
LessonOrPath = Lesson | str | os.PathLike[str]


def read_recording(
    path: str | os.PathLike[str], lesson: LessonOrPath | None = None, *, as_sent: bool = False
) -> pd.DataFrame:
    """The readings of a recording, computed from its bytes.

    Args:
        path: The recording; it may still be written.
        lesson: Takes the place of all lessons that the recording holds: an object, or a lesson file. None:
            each of the recording's own from its time on; without any, each field that a board prints is a
            channel.
        as_sent: Take off each line's transmission time at its bench's baud, so that `time` is when its first
            byte left the board and not when its last one arrived: for comparing benches at different bauds.

    Returns:
        One row per reading, in the order of arrival: time (UTC, ns, by the board's own clock where it prints
            one), bench, channel, value (NaN:
        none), unit, u (standard uncertainty in the unit, NaN: unknown), quality ("good", "uncertain", "bad")
        and line (number of the line, per bench). `attrs["damage"]` is "" or tells what could not be read.

    Raises:
        RecordingError: The recording can't be read.
        LessonError: The lesson is faulty.
    """
    with Recorded(os.fspath(path)) as recorded:
        found = list(_readings(recorded, lesson, as_sent=as_sent))
        anchors, damage = recorded.anchors, recorded.damage
    table = table_of(found, anchors)
    table.attrs["damage"] = damage
    return table


def table_of(readings: Sequence[Reading], anchors: Anchors) -> pd.DataFrame:
    """Readings as the table that `read_recording` gives, in their order."""
    import pandas as pd  # takes half a second, which commands that only print readings need not wait

    columns = list(zip(*readings, strict=True)) or [()] * len(Reading._fields)
    _, bench, channel, value, unit, u, quality, _, line, taken_ns = columns
    return pd.DataFrame(
        {
            "time": pd.to_datetime(_utc_ns(np.array(taken_ns, np.int64), anchors), unit="ns", utc=True),
            "bench": np.array(bench, np.int64),
            "channel": pd.Series(channel, dtype="str"),
            "value": np.array(value, np.float64),
            "unit": pd.Series(unit, dtype="str"),
            "u": np.array(u, np.float64),
            "quality": pd.Series(quality, dtype="str"),
            "line": np.array(line, np.int64),
        }
    )


def readings_of_recording(
    path: str | os.PathLike[str], lesson: LessonOrPath | None = None
) -> Iterator[Reading]:
    """The readings of a recording as they are computed, in order; see `read_recording`."""
    with Recorded(os.fspath(path)) as recorded:
        yield from _readings(recorded, lesson)


def outcomes_of(
    items: Iterable[Item], *, lesson: Lesson | None, end_ns: int, room: Classroom | None = None
) -> Iterator[tuple[int, Outcome]]:
    """What becomes of recorded items, as (bench, outcome): the same as when live, also what spans benches.

    A bench begins cold, unless an event "break" says otherwise before its first chunk. Each bench's outcomes
    are in order; between benches the order is that of the runs of chunks (`bridge.runs`).

    Args:
        items: From the beginning of a recording, in its order.
        lesson: Takes the place of the recording's own.
        end_ns: The end of the session: delays that run out before it take effect.
        room: That is to take them: new, with that lesson; for who wants to look into it afterwards.
    """
    room = room or Classroom(lesson or OPEN_LESSON, is_compared=True)
    for together in _outcomes_by_run(items, lesson=lesson, end_ns=end_ns, room=room, is_compared=True):
        yield from together


def readings_of_items(items: Iterable[Item], *, lesson: Lesson | None, end_ns: int) -> Iterator[Reading]:
    """The readings of recorded items in the order of time, of one instant in the order of benches."""
    for together in _outcomes_by_run(items, lesson=lesson, end_ns=end_ns):
        if len(together) == 1:
            yield from together[0][1].readings
        else:
            readings = [reading for _, outcome in together for reading in outcome.readings]
            yield from sorted(readings, key=_at_ns)


def transmission_ns(n_bytes: int, baud: int) -> int:
    """How long so many bytes take on the wire, in ns: ten bits each (start, eight data, stop)."""
    return n_bytes * BITS_PER_BYTE * 1_000_000_000 // baud


def _as_sent(items: Iterable[Item], *, lesson: Lesson | None, end_ns: int) -> Iterator[Reading]:
    """The readings of `readings_of_items`, each at the time at which its line began."""
    bauds: dict[int, int] = {}
    for together in _outcomes_by_run(items, lesson=lesson, end_ns=end_ns, bauds=bauds):
        sent: list[Reading] = []
        for bench, outcome in together:
            n_bytes = {line.number: len(line.raw) + LINE_END_BYTES for line, _ in outcome.lines}
            baud = bauds.get(bench) or (lesson or OPEN_LESSON).bench(bench).baud
            for reading in outcome.readings:
                taken_off = transmission_ns(n_bytes.get(reading.line, 0), baud)
                at_ns = max(0, reading.at_ns - taken_off)
                sent.append(reading._replace(at_ns=at_ns, taken_ns=min(at_ns, reading.taken_ns)))
        yield from sorted(sent, key=_at_ns)


def _outcomes_by_run(
    items: Iterable[Item],
    *,
    lesson: Lesson | None,
    end_ns: int,
    bauds: dict[int, int] | None = None,
    room: Classroom | None = None,
    is_compared: bool = False,
) -> Iterator[Outcomes]:
    """`bauds` is kept up to date with the links: it holds for the outcomes given last."""
    room = room or Classroom(lesson or OPEN_LESSON, is_compared=is_compared)
    for item in runs_of(items):
        if bauds is not None and isinstance(item, Event) and item.kind == "link" and item.detail.get("baud"):
            bauds[item.bench or 0] = int(item.detail["baud"])
        yield from outcomes_in(room, item, lesson=lesson, is_compared=is_compared)
    yield room.advance(end_ns).outcomes
    yield room.finish(end_ns)


def outcomes_in(
    room: Classroom, item: Run | Item, *, lesson: Lesson | None, is_compared: bool
) -> Iterator[Outcomes]:
    """What becomes of one run or item in a classroom that has taken all before it.

    Args:
        room: That takes it.
        item: The next of `runs_of`.
        lesson: As in `outcomes_of`.
        is_compared: Whether what spans benches is worked out too.
    """
    if isinstance(item, dict):
        yield [(bench, room.feed_many(bench, chunks)) for bench, chunks in sorted(item.items())]
        if is_compared:  # in time: what spans benches keeps all that it was not asked for yet
            yield room.advance(max(chunks[-1][1] for chunks in item.values())).outcomes
    elif isinstance(item, LessonRevision) and lesson is None:
        revised = lesson_from_text(item.text, file=f"the recording's lesson at {item.at_ns / 1e9:.1f} s")
        yield room.advance(item.at_ns).outcomes
        yield room.revise(revised, item.at_ns)
    elif isinstance(item, Event):
        yield room.advance(item.at_ns).outcomes
        with contextlib.suppress(ValueError):  # what no live session would have kept
            yield act(room, item.kind, item.bench, item.detail, item.at_ns)


def readings_of_bytes(
    data_or_stream: bytes | BinaryIO,
    *,
    lesson: Lesson | None = None,
    bench: int | None = None,
    baud: int | None = None,
    cold: bool = False,
) -> Iterator[Reading]:
    """The readings of one board's raw bytes.

    Args:
        data_or_stream: All the bytes; or a stream, which is read in portions as they arrive.
        lesson: What the instructor set; None: each field that is printed is a channel.
        bench: Whose settings count; None: the lesson's first bench, else 1.
        baud: With it, `at_ns` is when the last byte of the line would have arrived after the first began.
            Without it bytes have no time, and `at_ns` is 0. A stream has its times of arrival instead, since
            its first.
        cold: The bytes may begin inside a line: up to the first line end they become no reading.
    """
    used = lesson or OPEN_LESSON
    number = bench if bench is not None else next((one.number for one in used.benches), 1)
    pipeline, at_ns = BenchPipeline(used, number, cold=cold), 0
    if not isinstance(data_or_stream, bytes):
        portions = _arriving(data_or_stream)
    else:
        portions = _untimed(data_or_stream) if baud is None else timed_portions(data_or_stream, baud)
    for data, at_ns in portions:
        yield from pipeline.feed(data, at_ns).readings
    yield from pipeline.finish(at_ns).readings


def utc_ns_of(at_ns: int, anchors: Anchors) -> int:
    """Which UTC a session time was, in ns since 1970, by the latest anchor at or before it."""
    i = max(0, bisect_right(anchors, at_ns, key=lambda anchor: anchor[0]) - 1)
    return anchors[i][1] + at_ns - anchors[i][0]


def _readings(recorded: Recorded, lesson: LessonOrPath | None, *, as_sent: bool = False) -> Iterator[Reading]:
    given = lesson if lesson is None or isinstance(lesson, Lesson) else read_lesson(lesson)
    readings = _as_sent if as_sent else readings_of_items
    return readings(recorded.items(), lesson=given, end_ns=recorded.length_ns)


def _at_ns(reading: Reading) -> int:
    return reading.at_ns


def _utc_ns(at_ns: NDArray[np.int64], anchors: Anchors) -> NDArray[np.int64]:
    known = np.array(anchors, np.int64)
    i = np.maximum(np.searchsorted(known[:, 0], at_ns, side="right") - 1, 0)
    utc_ns: NDArray[np.int64] = at_ns - known[i, 0] + known[i, 1]
    return utc_ns


def _untimed(data: bytes) -> Iterator[tuple[bytes, int]]:
    for begin in range(0, len(data), _PORTION_BYTES):
        yield data[begin : begin + _PORTION_BYTES], 0


def timed_portions(data: bytes, baud: int) -> Iterator[tuple[bytes, int]]:
    """The lines of one board's bytes, or pieces of them; each with the time of its end if sent at once."""
    for match in _lines_with_their_ends(data):
        yield match[0], transmission_ns(match.end(), baud)


def _arriving(stream: BinaryIO) -> Iterator[tuple[bytes, int]]:
    """Portions as they arrive: `read1` where the stream has a buffer, which `read` would wait to fill."""
    read = getattr(stream, "read1", stream.read)
    first_ns: int | None = None
    while data := read(_PORTION_BYTES):
        now_ns = time.monotonic_ns()
        first_ns = now_ns if first_ns is None else first_ns
        yield data, now_ns - first_ns
