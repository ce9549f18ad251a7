"""One bench's way from bytes to readings, bands and alarms. Pure: the same bytes and times give the same."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import repeat
from typing import NamedTuple

from bridge.core.channels import ChannelInfo, Step
from bridge.core.converting import convert_rows
from bridge.core.framing import Framer, Line
from bridge.core.layouts import LayoutReader, Values, reader_for
from bridge.core.learning import Learner
from bridge.core.lesson import Layout, Lesson
from bridge.core.printed import Printed
from bridge.core.readings import Change, Note, Reading
from bridge.core.slots import Slot, info_of, slots_of

READ, SET_ASIDE, TEXT, WAITING = "read", "set aside", "text", "waiting"
BLOCK_ROWS = 256  # a band that changes costs the columns of its own block only
MAX_WAITING_LINES = 64  # lines that wait for a layout; of more, the oldest are set aside
NO_LINE_END_BYTES = 1000  # so many bytes without a line end are told, once

_has_digit = re.compile(r"[0-9]").search


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
        self.n_lines = self.n_set_aside = 0
        self.revision = 0  # rises when `channels` changes
        self._framer = Framer(cold=cold)
        self._told_no_line_end = False
        self._slots: tuple[Slot, ...] = ()
        self._waiting: list[Line] = []
        self._newest: tuple[Printed, ...] | None = None  # made when somebody asks
        self._lesson, self._bench = lesson, lesson.bench(bench)
        self._layout = lesson.layout_of(self._bench)
        self._reader: LayoutReader | None = None
        self._learner: Learner | None = None
        self._set_layout(self._layout)

    @property
    def channels(self) -> tuple[ChannelInfo, ...]:
        """The channels as they are shown: the lesson's; without one, none before the text is understood."""
        if not self._lesson.channels:
            return tuple(slot.info for slot in self._slots)
        known = {slot.info.name: slot.info for slot in self._slots}
        return tuple(known.get(one.name) or info_of(self._bench, one) for one in self._lesson.channels)

    @property
    def layout_words(self) -> str:
        """How the text is read, in words."""
        if self._layout is not None:
            return f"as the lesson says: {self._layout.name}"
        assert self._learner is not None
        return self._learner.words

    @property
    def doubt(self) -> str:
        """Why no line is read yet, when the text can be read in two ways."""
        return self._learner.doubt if self._learner is not None and self._reader is None else ""

    @property
    def n_bytes_without_line_end(self) -> int:
        """Bytes since the last line end."""
        return self._framer.n_bytes_since_line_end

    @property
    def fields(self) -> list[tuple[str, str, float | None, str]]:
        """The newest record: name, text, number, unit of each field."""
        if self._reader is None:
            return []
        rows = zip(self._reader.names, self._record(), self._reader.units, strict=False)
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
        if self._newest is None and self._reader is not None:
            self._newest = self._reader.newest()
        return self._newest or ()

    def feed(self, data: bytes, at_ns: int) -> Outcome:
        """Take a chunk."""
        lines = self._framer.feed(data, at_ns)
        if lines:
            self._told_no_line_end = False
            return self._take(lines)
        return Outcome([], self._missing_line_end(at_ns), [])

    def feed_many(self, chunks: Sequence[tuple[bytes, int]]) -> Outcome:
        """`feed` of each (bytes, time), with the same outcome: for a whole recording, many times as fast."""
        outcomes: list[Outcome] = []
        rest = iter(chunks)
        while self._reader is None and (chunk := next(rest, None)) is not None:  # it still learns
            outcomes.append(self.feed(*chunk))
        left = list(rest)
        if self._takes_bulk(left):
            lines = self._framer.feed_many(left)
            self._told_no_line_end = self._told_no_line_end and not lines
            outcomes.append(self._take(lines))
        else:
            outcomes += [self.feed(data, at_ns) for data, at_ns in left]
        return _joined(outcomes)

    def _takes_bulk(self, chunks: Sequence[tuple[bytes, int]]) -> bool:
        """No line whose end stays away so long that it must be told."""
        longest = max(map(len, b"".join([data for data, _ in chunks]).split(b"\n")), default=0)
        return longest + self.n_bytes_without_line_end < NO_LINE_END_BYTES

    def finish(self, at_ns: int) -> Outcome:
        """The source has ended: what waits for a layout is read if it can be; a half line is set aside."""
        if self._learner is not None and self._reader is None:
            self._learner.finish()
        learned = self._take([])
        broken = self.break_off(at_ns)
        return Outcome(learned.readings, learned.changes + broken.changes, learned.lines + broken.lines)

    def break_off(self, at_ns: int, *, cold: bool = True) -> Outcome:
        """The connection broke or was made anew: half lines on either side are thrown away."""
        lines = [(line, self._set_aside()) for line in self._framer.break_off(at_ns, cold=cold)]
        self.n_lines += len(lines)
        if self._reader is not None:
            self._reader.break_off()
        changes: list[Change] = [change for slot in self._slots for change in slot.watch.lose(at_ns)]
        for slot in self._slots:
            slot.settle()
        return Outcome([], changes, lines)

    def tick(self, at_ns: int) -> Outcome:
        """Tell the time: delays that ran out take effect at the instant they did."""
        changes: list[Change] = []
        for slot in self._slots:
            if slot.watch.due_ns <= at_ns:
                changes += slot.watch.tick(at_ns)
                slot.settle()
        return Outcome([], changes, [])

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
        changes = self.tick(at_ns).changes
        self._lesson, self._bench = lesson, lesson.bench(self.number)
        layout = lesson.layout_of(self._bench)
        if layout != self._layout:
            self._layout = layout
            self._set_layout(layout)
        elif self._reader is not None:
            changes += self._fill_slots(at_ns)
        return Outcome([], changes, [])

    def _set_layout(self, layout: Layout | None) -> None:
        self._reader, self._learner, self._newest = None, None, None
        if layout is None:
            self._learner = Learner()
        else:
            self._reader = reader_for(layout)
            self._fill_slots(0)

    def _fill_slots(self, at_ns: int) -> list[Change]:
        assert self._reader is not None
        older = {slot.info.name: slot for slot in self._slots}
        filled = slots_of(self._lesson, self._bench, self._reader)
        self._slots = filled.slots
        for slot in self._slots:
            if before := older.get(slot.info.name):
                slot.watch.resume_from(before.watch)
                slot.settle()
        self.revision += 1
        return [Note(at_ns, self.number, "field", words) for words in filled.missing]

    def _take(self, lines: list[Line]) -> Outcome:
        self.n_lines += len(lines)
        if self._reader is None:
            return self._learn(lines)
        return self._read(self._reader, lines)

    def _learn(self, lines: list[Line]) -> Outcome:
        """Show the lines to the learner; once it knows how to read, read all that waited, in order."""
        assert self._learner is not None
        shown: list[tuple[Line, str]] = []
        for i, line in enumerate(lines):
            if line.flaws:
                shown.append((line, self._set_aside()))
                continue
            self._learner.take(line.text)
            self._waiting.append(line)
            shown.append((line, WAITING))
            if self._learner.reader is not None:
                return self._begin(shown, lines[i + 1 :])
            if len(self._waiting) > MAX_WAITING_LINES:
                self._waiting.pop(0)
                self._set_aside()
        if not lines and self._learner.reader is not None:
            return self._begin(shown, [])
        return Outcome([], [], shown)

    def _begin(self, shown: list[tuple[Line, str]], rest: list[Line]) -> Outcome:
        assert self._learner is not None
        waited, self._waiting = self._waiting, []
        self._reader = self._learner.reader
        assert self._reader is not None
        at_ns = waited[-1].at_ns if waited else 0
        changes: list[Change] = [Note(at_ns, self.number, "layout", self._learner.words)]
        changes += self._fill_slots(at_ns)
        outcome = self._read(self._reader, waited + rest)
        flawed = [one for one in shown if one[1] != WAITING]
        return Outcome(outcome.readings, changes + outcome.changes, flawed + outcome.lines)

    def _read(self, reader: LayoutReader, lines: list[Line]) -> Outcome:
        fitting, rows, shown = self._rows(reader, lines)
        changes: list[Change] = []
        if not rows:
            return Outcome([], changes, shown)
        self._newest = None
        before = [slot.info for slot in self._slots]
        readings: list[Reading] = []
        for i in range(0, len(rows), BLOCK_ROWS):
            part = slice(i, i + BLOCK_ROWS)
            lines = fitting[part]
            taken_ns = [line.at_ns for line in lines]
            readings += convert_rows(self._slots, self.number, lines, rows[part], taken_ns, reader, changes)
        self.revision += [slot.info for slot in self._slots] != before
        return Outcome(readings, changes, shown)

    def _rows(
        self, reader: LayoutReader, lines: list[Line]
    ) -> tuple[list[Line], list[Values], list[tuple[Line, str]]]:
        """The lines that gave a row of numbers, the rows, and all lines with what became of them."""
        if reader.is_one_line and not any(line.flaws for line in lines):
            found = reader.values_of([line.text for line in lines])
            rows = [row for row in found if row is not None]
            if len(rows) == len(lines):
                return lines, rows, list(zip(lines, repeat(READ), strict=False))
        fitting: list[Line] = []
        rows = []
        shown: list[tuple[Line, str]] = []
        for line in lines:
            row, fate = self._row(reader, line)
            if row is not None:
                fitting.append(line)
                rows.append(row)
            shown.append((line, fate))
        return fitting, rows, shown

    def _row(self, reader: LayoutReader, line: Line) -> tuple[Values | None, str]:
        if line.flaws:
            reader.break_off()
            return None, self._set_aside()
        row = reader.values(line.text)
        if row is not None or reader.partial:
            return row, READ
        return None, self._set_aside() if _has_digit(line.text) else TEXT

    def _set_aside(self) -> str:
        self.n_set_aside += 1
        return SET_ASIDE

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
