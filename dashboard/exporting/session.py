"""Everything of a recording that is handed out, gathered once."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pandas as pd

from bridge import (
    JournalEntry,
    KeptSession,
    LayoutFound,
    Lesson,
    Reading,
    Recorded,
    Standing,
    readings_of_items,
    utc_ns_of,
)
from dashboard.comparing import Comparison
from dashboard.exporting.columns import NAMES
from dashboard.progress import Progress

_TOLD_EVERY = 500  # readings between two looks at the clock


class Moment(NamedTuple):
    """A named instant of the session."""

    seconds: float  # since its start
    bench: int | None  # None: the whole class
    words: str


class Group(NamedTuple):
    """A bench's name and mark."""

    bench: int
    name: str
    shape: str
    colour: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Session:
    """One recorded session as it is handed out; times are seconds since its start unless said otherwise."""

    file: str  # the recording's name, without its folder
    title: str
    program: str  # that recorded it
    started: pd.Timestamp  # UTC
    length_seconds: float
    lesson: Lesson
    readings: pd.DataFrame  # the columns of `columns.COLUMNS`, in the order of arrival
    markers: tuple[Moment, ...]
    links: tuple[Moment, ...]  # ports opened, lost, closed
    damage: str  # "" or what could not be read
    layouts: tuple[LayoutFound, ...] = ()
    findings: tuple[Standing, ...] = ()
    alarms: tuple[JournalEntry, ...] = ()  # every transition of every alarm
    kept: KeptSession | None = None  # readings with findings, for what is against a bench's figures
    comparison: Comparison | None = None  # of the whole class, in its first channel

    @property
    def benches(self) -> tuple[int, ...]:
        """Those that have a reading, rising."""
        return tuple(int(bench) for bench in sorted(self.readings["bench"].unique()))

    def of_bench(self, bench: int) -> Session:
        """The part that one group is handed."""
        mine = self.readings["bench"] == bench
        return replace(
            self,
            readings=self.readings[mine].reset_index(drop=True),
            links=_of_bench(self.links, bench),
            layouts=tuple(one for one in self.layouts if one.bench == bench),
            findings=tuple(one for one in self.findings if one.bench == bench),
            alarms=tuple(one for one in self.alarms if one.change.bench == bench),
        )

    @property
    def first_channel(self) -> str | None:
        """The lesson's first channel that has a value, else the first that was read; None without any."""
        known = set(self.readings["channel"][self.readings["value"].notna()])
        given = [one.name for one in self.lesson.channels]
        return next((name for name in [*given, *self.readings["channel"].unique()] if name in known), None)

    def group(self, bench: int) -> Group:
        """Who sits at a bench."""
        given = self.lesson.bench(bench)
        return Group(bench, given.name, given.shape, given.colour)

    def units(self) -> dict[str, str]:
        """Of each channel; several units of one channel stand beside each other."""
        pairs = self.readings[["channel", "unit"]].drop_duplicates()
        return {
            str(channel): ", ".join(sorted(set(one["unit"])))
            for channel, one in pairs.groupby("channel", sort=True)
        }


def gathered(
    path: Path, *, lesson: Lesson | None, progress: Progress, with_findings: bool = False
) -> Session:
    """Compute all that is handed out from a recording.

    Args:
        path: The recording.
        lesson: Takes the place of those in the recording.
        progress: Is told how far it is.
        with_findings: Also how each bench's text was read and what was wrong: a report tells it.

    Raises:
        RecordingError: The recording can't be read.
        LessonError: Its lesson can't be used.
    """
    progress.step("reading the recording")
    with Recorded(path) as recorded:
        used = lesson or _lesson_of(recorded)
        anchors = recorded.anchors
        table = _table(recorded, lesson, used, progress)
        session = Session(
            file=path.name,
            title=used.title or recorded.title or path.stem,
            program=recorded.program,
            started=pd.Timestamp(utc_ns_of(0, anchors), unit="ns", tz="UTC"),
            length_seconds=recorded.length_ns / 1e9,
            lesson=used,
            readings=table,
            markers=tuple(Moment(one.at_ns / 1e9, None, one.words) for one in recorded.markers),
            links=tuple(
                Moment(one.at_ns / 1e9, one.bench, str(one.detail.get("words", "")))
                for one in recorded.events
                if one.kind == "link"
            ),
            damage=recorded.damage,
        )
    return _with_findings(session, path, lesson, progress) if with_findings else session


def _with_findings(session: Session, path: Path, lesson: Lesson | None, progress: Progress) -> Session:
    from bridge import journal_of_recording, layouts_of_recording, read_session

    progress.step("looking how each board's text was read")
    layouts = layouts_of_recording(path, lesson=lesson)
    progress.step("looking for what was wrong with the boards")
    kept = read_session(path, lesson, progress=progress.at)
    progress.step("reading the journal of the alarms")
    alarms = journal_of_recording(path, lesson)
    return replace(session, layouts=tuple(layouts), findings=kept.findings, alarms=tuple(alarms), kept=kept)


def _table(recorded: Recorded, given: Lesson | None, used: Lesson, progress: Progress) -> pd.DataFrame:
    found = list(_readings(recorded, given, progress))
    anchors = recorded.anchors
    names = {number: used.bench(number).name for number in recorded.benches}
    columns: list[Sequence[object]] = [*zip(*found, strict=True)] or [()] * len(Reading._fields)
    _, bench, channel, value, unit, u, quality, reason, line, _ = columns
    taken_ns = np.array([one.taken_ns for one in found], np.int64)
    utc_ns = np.array([utc_ns_of(one.taken_ns, anchors) for one in found], np.int64)
    table = pd.DataFrame(
        {
            "time": pd.to_datetime(utc_ns, unit="ns", utc=True),
            "seconds": taken_ns / 1e9,
            "bench": np.array(bench, np.int64),
            "bench_name": _text([names[one.bench] for one in found]),
            "channel": _text(channel),
            "value": np.array(value, np.float64),
            "unit": _text(unit),
            "u": np.array(u, np.float64),
            "quality": _text(quality),
            "reason": _text(reason),
            "line": np.array(line, np.int64),
        }
    )
    return table[list(NAMES)]


def _text(cells: Iterable[object]) -> pd.Series[str]:
    return pd.Series([str(cell) for cell in cells], dtype="str")


def _readings(recorded: Recorded, lesson: Lesson | None, progress: Progress) -> Iterator[Reading]:
    length_ns = recorded.length_ns
    readings = readings_of_items(recorded.items(), lesson=lesson, end_ns=length_ns)
    for n, reading in enumerate(readings):
        if n % _TOLD_EVERY == 0:
            progress.at(min(1.0, reading.at_ns / max(1, length_ns)))
        yield reading


def _of_bench(moments: Sequence[Moment], bench: int) -> tuple[Moment, ...]:
    return tuple(one for one in moments if one.bench == bench)


def _lesson_of(recorded: Recorded) -> Lesson:
    """The recording's last lesson; its earlier revisions hold for the readings of their own time."""
    from bridge import read_lesson

    if not recorded.lessons:
        return Lesson(title=recorded.title or "Session without a lesson")
    with tempfile.TemporaryDirectory(prefix="benchrow-") as folder:
        file = Path(folder, "lesson.toml")
        file.write_bytes(recorded.lessons[-1][1].encode())
        return read_lesson(os.fspath(file))
