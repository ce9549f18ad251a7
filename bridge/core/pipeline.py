"""One bench's way from bytes to readings, bands and alarms. Pure: the same bytes and times give the same."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from bridge.core.channels import ChannelInfo, Step
from bridge.core.converting import convert_rows
from bridge.core.framing import Framer, Line
from bridge.core.layouts import LayoutReader, Values
from bridge.core.lesson import Lesson
from bridge.core.printed import Printed
from bridge.core.readings import Change, Note, Reading
from bridge.core.slots import Slot, info_of, slots_of
from bridge.core.text_reader import READ as READ
from bridge.core.text_reader import SET_ASIDE as SET_ASIDE
from bridge.core.text_reader import TextReader, TextRun

BLOCK_ROWS = 256  # a band that changes costs the columns of its own block only
NO_LINE_END_BYTES = 1000  # so many bytes without a line end are told, once


class Outcome(NamedTuple):
    """What a chunk, a break or the passing of time brought."""

    readings: list[Reading]
    changes: list[Change]
    lines: list[
        tuple[Line, str]
    ]  # each line, and what became of it: "read", "set aside", "text" or "waiting"


class BenchPipeline:
    """Takes one bench's chunks in the order of their times.

    Args:
        lesson: What the instructor set.
        bench: The bench's number.
        cold: The port was opened just now: the bytes up to the first line end become no reading.
    """

    def __init__(self, lesson: Lesson, bench: int, *, cold: bool) -> None:
        self.number = bench
        self.n_lines = 0
        self.revision = 0  # rises when `channels` changes
        self._framer = Framer(cold=cold)
        self._told_no_line_end = False
        self._slots: tuple[Slot, ...] = ()
        self._newest: tuple[Printed, ...] | None = None  # made when somebody asks
        self._lesson, self._bench = lesson, lesson.bench(bench)
        self.text = TextReader(bench, lesson.layout_of(self._bench))
        self._filled_revision = 0  # of the layout for which the slots are
        if self.text.reader is not None:
            self._filled_revision = self.text.revision
            self._fill_slots(self.text.reader, 0)

    @property
    def channels(self) -> tuple[ChannelInfo, ...]:
        """The channels as they are shown: the lesson's; without one, none before the text is understood."""
        if not self._lesson.channels:
            return tuple(slot.info for slot in self._slots)
        known = {slot.info.name: slot.info for slot in self._slots}
        return tuple(known.get(one.name) or info_of(self._bench, one) for one in self._lesson.channels)

    @property
    def n_set_aside(self) -> int:
        """Lines that became no reading, though they are no plain text either."""
        return self.text.n_set_aside

    @property
    def layout_words(self) -> str:
        """How the text is read, in words."""
        return self.text.layout_words

    @property
    def doubt(self) -> str:
        """Why no line is read yet, when the text can be read in two ways."""
        return self.text.doubt

    @property
    def n_bytes_without_line_end(self) -> int:
        """Bytes since the last line end."""
        return self._framer.n_bytes_since_line_end

    @property
    def fields(self) -> list[tuple[str, str, float | None, str]]:
        """The newest record: name, text, number, unit of each field."""
        reader = self.text.reader
        if reader is None:
            return []
        rows = zip(reader.names, self._record(), reader.units, strict=False)
        return [(name, printed.text, printed.value, unit) for name, printed, unit in rows]

    def steps(self, channel: str) -> tuple[Step, ...]:
        """The conversion of that channel, step by step, with the newest number."""
        record = self._record()
        for slot in self._slots:
            if slot.info.name == channel and record:
                return slot.converter.steps(record[slot.index].value, slot.field)
        return ()

    def _record(self) -> tuple[Printed, ...]:
        """The newest record as printed; nobody asks while no page is open on the bench."""
        if self._newest is None and self.text.reader is not None:
            self._newest = self.text.reader.newest()
        return self._newest or ()

    def feed(self, data: bytes, at_ns: int) -> Outcome:
        """Take a chunk."""
        lines = self._framer.feed(data, at_ns)
        if lines:
            self._told_no_line_end = False
            self.n_lines += len(lines)
            return self._took(self.text.take(lines))
        return Outcome([], self._missing_line_end(at_ns), [])

    def feed_many(self, chunks: Sequence[tuple[bytes, int]]) -> Outcome:
        """`feed` of each (bytes, time), with the same outcome: for a whole recording, many times as fast."""
        if not self._takes_bulk(chunks):
            return _joined([self.feed(data, at_ns) for data, at_ns in chunks])
        lines = self._framer.feed_many(chunks)
        self._told_no_line_end = self._told_no_line_end and not lines
        self.n_lines += len(lines)
        return self._took(self.text.take(lines))

    def _takes_bulk(self, chunks: Sequence[tuple[bytes, int]]) -> bool:
        """No line whose end stays away so long that it must be told."""
        longest = max(map(len, b"".join([data for data, _ in chunks]).split(b"\n")), default=0)
        return longest + self.n_bytes_without_line_end < NO_LINE_END_BYTES

    def finish(self, at_ns: int) -> Outcome:
        """The source has ended: what waits for a layout is read if it can be; a half line is set aside."""
        learned = self._took(self.text.finish(at_ns))
        broken = self.break_off(at_ns)
        return Outcome(learned.readings, learned.changes + broken.changes, learned.lines + broken.lines)

    def break_off(self, at_ns: int, *, cold: bool = True) -> Outcome:
        """The connection broke or was made anew: half lines on either side are thrown away."""
        cut = self._framer.break_off(at_ns, cold=cold)
        self.n_lines += len(cut)
        lines = self.text.break_off(cut)
        changes: list[Change] = [change for slot in self._slots for change in slot.watch.lose(at_ns)]
        for slot in self._slots:
            slot.settle()
        return Outcome([], changes, lines)

    def tick(self, at_ns: int) -> Outcome:
        """Tell the time: delays that ran out take effect at the instant they did."""
        outcome = self._took(self.text.tick(at_ns))
        for slot in self._slots:
            if slot.watch.due_ns <= at_ns:
                outcome.changes.extend(slot.watch.tick(at_ns))
                slot.settle()
        return outcome

    def acknowledge(self, channel: str, limit: str, at_ns: int, who: str) -> Outcome:
        """A person has seen the alarm."""
        changes: list[Change] = []
        for slot in self._slots:
            if slot.info.name == channel:
                changes += slot.watch.acknowledge(limit, at_ns, who)
                slot.settle()
        return Outcome([], changes, [])

    def revise(self, lesson: Lesson, at_ns: int) -> Outcome:
        """The lesson changed: what is read from now on follows it; alarms that stand go on standing."""
        before = self.tick(at_ns)
        self._lesson, self._bench = lesson, lesson.bench(self.number)
        runs = self.text.set_layout(lesson.layout_of(self._bench), at_ns)
        if not runs and self.text.reader is not None:
            before.changes.extend(self._fill_slots(self.text.reader, at_ns))
        return _joined([before, self._took(runs)])

    def _fill_slots(self, reader: LayoutReader, at_ns: int) -> list[Change]:
        older = {slot.info.name: slot for slot in self._slots}
        filled = slots_of(self._lesson, self._bench, reader)
        self._slots = filled.slots
        for slot in self._slots:
            if before := older.get(slot.info.name):
                slot.watch.resume_from(before.watch)
                slot.settle()
        self.revision += 1
        return [Note(at_ns, self.number, "field", words) for words in filled.missing]

    def _took(self, runs: Sequence[TextRun]) -> Outcome:
        """Readings from what the text gave, with the channels of the layout that held."""
        readings: list[Reading] = []
        changes: list[Change] = []
        shown: list[tuple[Line, str]] = []
        for run in runs:
            changes += run.notes
            if run.revision != self._filled_revision:
                self._filled_revision, self._newest = run.revision, None
                if run.reader is not None:
                    changes += self._fill_slots(run.reader, run.at_ns)
            shown += run.shown
            if run.rows and run.reader is not None:
                readings += self._readings(run.reader, run.fitting, run.rows, changes)
        return Outcome(readings, changes, shown)

    def _readings(
        self, reader: LayoutReader, fitting: list[Line], rows: list[Values], changes: list[Change]
    ) -> list[Reading]:
        self._newest = None
        before = [slot.info for slot in self._slots]
        readings: list[Reading] = []
        for i in range(0, len(rows), BLOCK_ROWS):
            part = slice(i, i + BLOCK_ROWS)
            lines = fitting[part]
            taken_ns = [line.at_ns for line in lines]
            readings += convert_rows(self._slots, self.number, lines, rows[part], taken_ns, reader, changes)
        self.revision += [slot.info for slot in self._slots] != before
        return readings

    def _missing_line_end(self, at_ns: int) -> list[Change]:
        n_bytes = self._framer.n_bytes_since_line_end
        if n_bytes < NO_LINE_END_BYTES or self._told_no_line_end:
            return []
        self._told_no_line_end = True
        return [Note(at_ns, self.number, "no line end", f"{n_bytes} bytes came without a line end")]


def _joined(outcomes: Sequence[Outcome]) -> Outcome:
    return Outcome(
        [reading for one in outcomes for reading in one.readings],
        [change for one in outcomes for change in one.changes],
        [shown for one in outcomes for shown in one.lines],
    )
