"""How each bench's text was read: the layout that was found or given, and how many lines it fits."""

from __future__ import annotations

import os
from typing import NamedTuple

from bridge.core.lesson import OPEN_LESSON, Lesson
from bridge.core.pipeline import READ, SET_ASIDE, BenchPipeline, Outcome
from bridge.core.readings import Note
from bridge.recorded import Recorded
from bridge.table import outcomes_of


class LayoutFound(NamedTuple):
    """One bench's text."""

    bench: int
    words: str  # the layout, or why there is none
    n_read: int  # lines
    n_set_aside: int


def layout_of_bytes(data: bytes, *, lesson: Lesson | None = None, cold: bool = False) -> LayoutFound:
    """How the raw bytes of one board are read.

    Args:
        data: All the bytes.
        lesson: Its first bench counts; None: the layout is found from the text.
        cold: The bytes may begin inside a line.
    """
    used = lesson or OPEN_LESSON
    bench = next((one.number for one in used.benches), 1)
    pipeline = BenchPipeline(used, bench, cold=cold)
    found = _Counted(bench)
    found.add(pipeline.feed(data, 0))
    found.add(pipeline.finish(0))
    return LayoutFound(bench, pipeline.doubt or pipeline.layout_words, found.n_read, found.n_set_aside)


def layouts_of_recording(path: str | os.PathLike[str], *, lesson: Lesson | None = None) -> list[LayoutFound]:
    """How each bench's text of a recording is read, by number.

    Raises:
        RecordingError: The recording can't be read.
    """
    benches: dict[int, _Counted] = {}
    with Recorded(os.fspath(path)) as recorded:
        for bench, outcome in outcomes_of(recorded.items(), lesson=lesson, end_ns=recorded.length_ns):
            benches.setdefault(bench, _Counted(bench)).add(outcome)
    return [benches[bench].found() for bench in sorted(benches)]


class _Counted:
    """What a bench's outcomes told so far."""

    def __init__(self, bench: int) -> None:
        self.bench, self.n_read, self.n_set_aside = bench, 0, 0
        self._words: list[str] = []

    def add(self, outcome: Outcome) -> None:
        for change in outcome.changes:
            if isinstance(change, Note) and change.kind == "layout" and change.words not in self._words:
                self._words.append(change.words)
        for _, became in outcome.lines:
            self.n_read += became == READ
            self.n_set_aside += became == SET_ASIDE

    def found(self) -> LayoutFound:
        words = "; then ".join(self._words) or ("as the lesson says" if self.n_read else "no layout found")
        return LayoutFound(self.bench, words, self.n_read, self.n_set_aside)
