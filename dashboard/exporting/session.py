"""Everything of a recording that is handed out, gathered once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

import pandas as pd

from bridge import (
    JournalEntry,
    KeptSession,
    LayoutFound,
    Lesson,
    Recorded,
    Standing,
    read_session,
    utc_ns_of,
)
from dashboard.exporting.columns import NAMES
from dashboard.progress import Progress


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
    bench: int | None = None  # the group whose part it is; None: of the class

    @property
    def benches(self) -> tuple[int, ...]:
        """Those that have a reading, rising."""
        return tuple(int(bench) for bench in sorted(self.readings["bench"].unique()))

    def of_bench(self, bench: int) -> Session:
        """The part that one group is handed."""
        mine = self.readings["bench"] == bench
        return replace(
            self,
            bench=bench,
            readings=self.readings[mine].reset_index(drop=True),
            links=_of_bench(self.links, bench),
            layouts=tuple(one for one in self.layouts if one.bench == bench),
            findings=tuple(one for one in self.findings if one.bench == bench),
            alarms=tuple(one for one in self.alarms if one.change.bench == bench),
        )

    @property
    def channels(self) -> tuple[str, ...]:
        """Those with a value: in the lesson's order, then what only boards print."""
        known = set(self.readings["channel"][self.readings["value"].notna()])
        given = [one.name for one in self.lesson.channels if one.name in known]
        return (*given, *sorted(known - set(given)))

    @property
    def first_channel(self) -> str | None:
        """The lesson's first channel that has a value, else the first of all; None without any."""
        return next(iter(self.channels), None)

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


def gathered(path: Path, *, lesson: Lesson | None, progress: Progress) -> Session:
    """Compute all that is handed out from a recording, in one go.

    Args:
        path: The recording.
        lesson: Takes the place of those in the recording.
        progress: Is told how far it is.

    Raises:
        RecordingError: The recording can't be read.
        LessonError: Its lesson can't be used.
    """
    progress.step("reading the recording")
    kept = read_session(path, lesson, progress=progress.at)
    with Recorded(path) as recorded:  # what was written down beside the bytes: nothing is computed
        return Session(
            file=path.name,
            title=kept.title or path.stem,
            program=recorded.program,
            started=pd.Timestamp(utc_ns_of(0, kept.anchors), unit="ns", tz="UTC"),
            length_seconds=kept.length_ns / 1e9,
            lesson=kept.lesson,
            readings=_table(kept),
            markers=tuple(Moment(one.at_ns / 1e9, None, one.words) for one in recorded.markers),
            links=tuple(
                Moment(one.at_ns / 1e9, one.bench, str(one.detail.get("words", "")))
                for one in recorded.events
                if one.kind == "link"
            ),
            damage=kept.damage,
            layouts=kept.layouts,
            findings=kept.findings,
            alarms=kept.alarms,
            kept=kept,
        )


def _table(kept: KeptSession) -> pd.DataFrame:
    names = {bench: kept.lesson.bench(bench).name for bench in kept.table["bench"].unique().tolist()}
    table = kept.table.assign(
        seconds=kept.seconds,
        bench_name=pd.Series([names[bench] for bench in kept.table["bench"].tolist()], dtype="str"),
        reason=pd.Series(kept.reasons, dtype="str"),
    )
    return table[list(NAMES)]


def _of_bench(moments: Sequence[Moment], bench: int) -> tuple[Moment, ...]:
    return tuple(one for one in moments if one.bench == bench)
