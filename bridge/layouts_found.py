"""How each bench's text is read: by which layout, how sure that is, and what each field is."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from bridge.core.framing import Framer
from bridge.core.layout_words import LayoutShown
from bridge.core.lesson import OPEN_LESSON, Lesson
from bridge.core.roles import RoleFound
from bridge.core.text_findings import TextFinding
from bridge.core.text_reader import Sure, TextReader
from bridge.core.text_runs import READ, TextRun
from bridge.lesson_file import lesson_from_text
from bridge.recorded import Event, LessonRevision, Recorded
from bridge.runs import runs_of


class FieldFound(NamedTuple):
    """One field of a bench's text."""

    name: str
    role: RoleFound  # what it is, by how its numbers behave
    unit: str  # as printed, "" for none
    text: str  # as it was printed last, "" before the first record


class LayoutFound(NamedTuple):
    """One bench's text."""

    bench: int
    words: str  # the layouts in their order, or why there is none
    sure: Sure
    fields: tuple[FieldFound, ...]
    doubt: str  # why nothing is read, "" without a doubt
    alternatives: tuple[LayoutShown, ...]  # with a doubt: how each reads the newest lines
    samples: tuple[str, ...]  # the newest lines
    findings: tuple[TextFinding, ...]
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
    text = _Text(used, bench, cold=cold)
    text.feed([(data, 0)])
    return text.finish(0)


def layouts_of_recording(path: str | os.PathLike[str], *, lesson: Lesson | None = None) -> list[LayoutFound]:
    """How each bench's text of a recording is read, by number.

    Raises:
        RecordingError: The recording can't be read.
    """
    texts: dict[int, _Text] = {}
    current = lesson or OPEN_LESSON
    with Recorded(os.fspath(path)) as recorded:
        for item in runs_of(recorded.items()):
            if isinstance(item, dict):
                for bench, chunks in item.items():
                    texts.setdefault(bench, _Text(current, bench, cold=True)).feed(chunks)
            elif isinstance(item, LessonRevision) and lesson is None:
                where = f"the recording's lesson at {item.at_ns / 1e9:.1f} s"
                current = lesson_from_text(item.text, file=where)
                for text in texts.values():
                    text.revise(current, item.at_ns)
            elif isinstance(item, Event) and item.kind == "break" and item.bench is not None:
                text = texts.setdefault(item.bench, _Text(current, item.bench, cold=True))
                text.break_off(item.at_ns, cold=bool(item.detail.get("cold", True)))
        return [texts[bench].finish(recorded.length_ns) for bench in sorted(texts)]


class _Text:
    """One bench's bytes as far as its text: no channel is made from it."""

    def __init__(self, lesson: Lesson, bench: int, *, cold: bool) -> None:
        self._bench = bench
        self._framer = Framer(cold=cold)
        self._text = TextReader(bench, lesson.layout_of(lesson.bench(bench)))
        self._words: list[str] = []
        self._n_read = 0

    def feed(self, chunks: Sequence[tuple[bytes, int]]) -> None:
        self._count(self._text.take(self._framer.feed_many(chunks)))

    def break_off(self, at_ns: int, *, cold: bool) -> None:
        self._text.break_off(self._framer.break_off(at_ns, cold=cold))

    def revise(self, lesson: Lesson, at_ns: int) -> None:
        self._count(self._text.tick(at_ns))
        self._count(self._text.set_layout(lesson.layout_of(lesson.bench(self._bench)), at_ns))

    def finish(self, at_ns: int) -> LayoutFound:
        """What there is at the end."""
        self._count(self._text.finish(at_ns))
        self.break_off(at_ns, cold=True)
        return layout_found(self._bench, self._text, self._words, self._n_read)

    def _count(self, runs: Sequence[TextRun]) -> None:
        for run in runs:
            self._n_read += sum(fate == READ for _, fate in run.shown)
            for note in run.notes:
                if note.kind == "layout" and note.words not in self._words:
                    self._words.append(note.words)


def layout_found(bench: int, text: TextReader, layouts: Sequence[str], n_read: int) -> LayoutFound:
    """What a reader that has come to its end knows.

    Args:
        bench: Whose text it read.
        text: The reader, finished.
        layouts: The words of the layouts that it found, in their order.
        n_read: Lines that became records.
    """
    words = "; then ".join(layouts) or text.layout_words
    if words == "not known yet":
        noise = next((one.words for one in text.findings_of_text if one.kind == "no text"), "")
        words = f"no layout found. {noise}" if noise else "no layout found"
    return LayoutFound(
        bench=bench,
        words=text.doubt or words,
        sure=text.sure,
        fields=tuple(_fields(text)),
        doubt=text.doubt,
        alternatives=text.side_by_side(),
        samples=text.samples,
        findings=text.findings_of_text,
        n_read=n_read,
        n_set_aside=text.n_set_aside,
    )


def _fields(text: TextReader) -> Iterator[FieldFound]:
    reader = text.reader
    if reader is None:
        return
    newest = reader.newest()
    for i, (name, unit) in enumerate(zip(reader.names, reader.units, strict=True)):
        role = text.roles[i] if i < len(text.roles) else RoleFound()
        yield FieldFound(name, role, unit, newest[i].text if newest is not None else "")
