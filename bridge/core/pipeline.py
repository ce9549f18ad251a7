"""One bench's way from bytes to readings, bands and alarms. Pure: the same bytes and times give the same."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import NamedTuple

from bridge.core.band_times import BandTimes, Flicker
from bridge.core.baselines import Baseline
from bridge.core.board_clock import BoardClock
from bridge.core.channels import ChannelInfo, Step
from bridge.core.class_calibration import SteadyBench
from bridge.core.converting import convert_rows
from bridge.core.diagnosis import Diagnosis, Trust
from bridge.core.findings import Finding
from bridge.core.framing import Framer, Line
from bridge.core.layouts import LayoutReader, Values
from bridge.core.lesson import Bench, Layout, Lesson
from bridge.core.limits import Command
from bridge.core.printed import Printed
from bridge.core.readings import AlarmChange, Change, Note, Reading
from bridge.core.roles import RoleFound
from bridge.core.slots import Slot, info_of, slots_of
from bridge.core.steady import Steady
from bridge.core.text_reader import READ as READ
from bridge.core.text_reader import SET_ASIDE as SET_ASIDE
from bridge.core.text_reader import TextReader, TextRun
from bridge.core.worth import ChannelWorth, steadiness_of, steady_bench, worth_of

BLOCK_ROWS = 256  # a band that changes costs the columns of its own block only


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
        is_timed: False for bytes without times: then nothing is found of silence and rates.
    """

    def __init__(self, lesson: Lesson, bench: int, *, cold: bool, is_timed: bool = True) -> None:
        self.number = bench
        self.n_lines = 0
        self.revision = 0  # rises when `channels` changes
        self._framer = Framer(cold=cold)
        self._slots: tuple[Slot, ...] = ()
        self._newest: tuple[Printed, ...] | None = None  # made when somebody asks
        self._lesson, self._bench = lesson, lesson.bench(bench)
        self.text = TextReader(bench, lesson.layout_of(self._bench))
        self._diagnosis = Diagnosis(lesson, self._bench, is_timed=is_timed)
        self._roles: tuple[RoleFound, ...] = ()
        self._clock: BoardClock | None = None  # the board's own, where it prints one
        self._clock_index = 0
        self._now_ns = 0
        self._phase = ""  # of the lesson
        self._suppressed: list[AlarmChange] = []  # from before the first phase was entered
        self._filled_revision = 0  # of the layout for which the slots are
        self._reader = self.text.reader  # by which they are filled; the text may be ahead of it within a call
        if self.text.reader is not None:
            self._filled_revision = self.text.revision
            changes = self._fill_slots(self.text.reader, 0)
            self._suppressed = [one for one in changes if isinstance(one, AlarmChange)]

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
    def clock_words(self) -> str:
        """How the board's own clock stands against arrival, "" for a board that prints none."""
        return self._clock.words if self._clock is not None else ""

    @property
    def doubt(self) -> str:
        """Why no line is read yet, when the text can be read in two ways."""
        return self.text.doubt

    @property
    def alternatives(self) -> tuple[Layout, ...]:
        """The ways in which the text can be read, while there is a doubt."""
        return self.text.alternatives

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What is wrong with the board, its wiring or its program: faults first."""
        return self._diagnosis.findings

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

    def worth(self) -> list[ChannelWorth]:
        """What each channel's newest reading is worth."""
        record = self._record()
        return [
            worth_of(
                slot,
                record[slot.index].value if record else None,
                self._steadiness(slot),
                self._diagnosis.verdict_of(slot.index),
            )
            for slot in self._slots
        ]

    def band_times(self) -> list[BandTimes]:
        """How long each channel was in each band, up to the newest time that was told."""
        return [one for slot in self._slots for one in slot.watch.band_times(self._now_ns)]

    def flickers(self, channel: str) -> Sequence[Flicker]:
        """What that channel's bands would have shown over time without deadband and dwell."""
        return next((slot.watch.flickers for slot in self._slots if slot.info.name == channel), ())

    def steadiness(self) -> list[tuple[ChannelInfo, Steady]]:
        """Each channel with whether its value stays."""
        return [(slot.info, self._steadiness(slot)) for slot in self._slots]

    def steady(self, channel: str) -> SteadyBench | None:
        """The channel's steady reading, None while it has none."""
        for slot in self._slots:
            if slot.info.name == channel:
                return steady_bench(self.number, slot, self._steadiness(slot))
        return None

    def _steadiness(self, slot: Slot) -> Steady:
        return steadiness_of(slot, *self._diagnosis.newest(slot.index), self._now_ns)

    def _record(self) -> tuple[Printed, ...]:
        """The newest record as printed; nobody asks while no page is open on the bench."""
        if self._newest is None and self.text.reader is not None:
            self._newest = self.text.reader.newest()
        return self._newest or ()

    def feed(self, data: bytes, at_ns: int) -> Outcome:
        """Take a chunk."""
        self._now_ns = at_ns
        lines = self._framer.feed(data, at_ns)
        self.n_lines += len(lines)
        return self._took(self.text.take(lines), [(data, at_ns)])

    def feed_many(self, chunks: Sequence[tuple[bytes, int]]) -> Outcome:
        """`feed` of each (bytes, time), with the same outcome: for a whole recording, many times as fast."""
        outcomes: list[Outcome] = []
        rest = iter(chunks)
        while self.text.reader is None and (chunk := next(rest, None)) is not None:  # it still learns
            outcomes.append(self.feed(*chunk))
        if left := list(rest):
            self._now_ns = left[-1][1]
            lines = self._framer.feed_many(left)
            self.n_lines += len(lines)
            outcomes.append(self._took(self.text.take(lines), left))
        return _joined(outcomes)

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
        self._settle(self._slots)
        return Outcome([], changes, lines)

    def tick(self, at_ns: int) -> Outcome:
        """Tell the time: delays that ran out take effect at the instant they did."""
        self._now_ns = at_ns
        outcome = self._took(self.text.tick(at_ns))
        changes = [*self._diagnosis.tick(at_ns), *self._fired(at_ns)]
        if self._diagnosis.trust_steps:
            self._trust(self._diagnosis.trust)
        outcome.changes.extend(sorted(changes, key=_instant))
        return outcome

    def link(self, state: str, at_ns: int, *, baud: int) -> Outcome:
        """The way to the board changed: only while it is "open" can bytes be missed."""
        found = self._diagnosis.link(state, at_ns, baud=baud)
        self._trust(self._diagnosis.trust)
        return Outcome([], [*found], [])

    def relearn(self, at_ns: int) -> Outcome:
        """Learn the text again, unless the lesson says how it is read."""
        return self._took(self.text.relearn(at_ns))

    def command(
        self,
        channel: str,
        limit: str,
        command: Command,
        at_ns: int,
        who: str,
        *,
        reason: str = "",
        until_ns: int = 0,
    ) -> Outcome:
        """What a person does with an alarm; see `AlarmSet.command`."""
        changes: list[Change] = []
        for slot in self._slots:
            if slot.info.name == channel:
                changes += slot.watch.command(limit, command, at_ns, who, reason=reason, until_ns=until_ns)
        self._settle(self._slots)
        return Outcome([], changes, [])

    def acknowledge(self, channel: str, limit: str, at_ns: int, who: str) -> Outcome:
        """A person has seen the alarm."""
        return self.command(channel, limit, "acknowledge", at_ns, who)

    def compare(
        self, channel: str, value: float | None, median: float | None, n_benches: int, at_ns: int
    ) -> Outcome:
        """Take the class's median at a full second; see `ChannelWatch.compare`."""
        changes: list[Change] = []
        for slot in self._slots:
            if slot.info.name == channel:
                changes += slot.watch.compare(value, median, n_benches, at_ns)
        self._settle(self._slots)
        return Outcome([], changes, [])

    def tick_class(self, at_ns: int) -> list[Change]:
        """Every bench has come to that instant, and every median before it was told."""
        changes: list[Change] = []
        for slot in self._slots:
            if slot.watch.class_due_ns <= at_ns:
                changes += slot.watch.tick_class(at_ns)
                self._settle((slot,))
        return changes

    def enter_phase(self, phase: str, at_ns: int, who: str) -> Outcome:
        """The lesson is in that phase now ("": in none): what counts in it, and the rate that is expected."""
        before = self.tick(at_ns)
        before.changes[:0], self._suppressed = self._suppressed, []
        self._phase = phase
        changes = [change for slot in self._slots for change in slot.watch.enter_phase(phase, at_ns, who)]
        self._settle(self._slots)
        self._diagnosis.revise(self._lesson, self._bench_expected)
        before.changes.extend(changes)
        return before

    def take_baseline(self, channel: str, at_ns: int) -> tuple[Baseline | None, Outcome]:
        """The bench's bands lie above the value that stands now; None where it is not steady, or fixed."""
        for slot in self._slots:
            if slot.info.name == channel and (found := slot.watch.baseline_now(at_ns)):
                changes = slot.watch.set_baseline(found.value, at_ns)
                self._settle((slot,))
                return found, Outcome([], changes, [])
        return None, Outcome([], [], [])

    def revise(self, lesson: Lesson, at_ns: int) -> Outcome:
        """The lesson changed: what is read from now on follows it; alarms that stand go on standing."""
        before = self.tick(at_ns)
        self._lesson, self._bench = lesson, lesson.bench(self.number)
        self._diagnosis.revise(lesson, self._bench_expected)
        runs = self.text.set_layout(lesson.layout_of(self._bench), at_ns)
        if not runs and self.text.reader is not None:
            before.changes.extend(self._fill_slots(self.text.reader, at_ns))
        return _joined([before, self._took(runs)])

    @property
    def _bench_expected(self) -> Bench:
        """The bench with the rate that the phase expects of it."""
        phase = self._lesson.phase(self._phase)
        if phase is None or phase.lines_per_second is None:
            return self._bench
        return replace(self._bench, lines_per_second=phase.lines_per_second)

    def _fill_slots(self, reader: LayoutReader, at_ns: int) -> list[Change]:
        older = {slot.info.name: slot for slot in self._slots}
        filled = slots_of(self._lesson, self._bench, reader)
        self._slots = filled.slots
        changes: list[Change] = []
        for slot in self._slots:
            if before := older.get(slot.info.name):
                slot.watch.resume_from(before.watch)
                if slot.made_by != before.made_by:  # what was read before is on another scale
                    changes += slot.watch.lose(at_ns)
            changes += slot.watch.enter_phase(self._phase, at_ns)
            slot.settle()
        for slot in older.values():
            changes += slot.watch.ended_by(self._lesson, at_ns)
        self.revision += 1
        self._describe()
        return [*changes, *(Note(at_ns, self.number, "field", words) for words in filled.missing)]

    def _settle(self, slots: Iterable[Slot]) -> None:
        """Something was done with their watches; a baseline that was found is shown."""
        for slot in slots:
            before = slot.info
            slot.settle()
            self.revision += slot.info != before

    def _fired(self, at_ns: int) -> list[Change]:
        """Delays that ran out, at the instants at which they did."""
        changes: list[Change] = []
        for slot in self._slots:
            if slot.watch.due_ns <= at_ns:
                changes += slot.watch.tick(at_ns)
                self._settle((slot,))
        return changes

    def _took(self, runs: Sequence[TextRun], chunks: Sequence[tuple[bytes, int]] = ()) -> Outcome:
        """Readings from what the text gave, with the channels of the layout that held."""
        readings: list[Reading] = []
        changes: list[Change] = []
        shown: list[tuple[Line, str]] = []
        runs = runs or [self.text.nothing()]
        for i, run in enumerate(runs):
            of_run: list[Change] = [*run.notes]
            if run.revision != self._filled_revision:
                self._filled_revision, self._newest, self._reader = run.revision, None, run.reader
                if run.reader is not None:
                    of_run += self._fill_slots(run.reader, run.at_ns)
            if run.roles != self._roles:
                self._take_roles(run.roles)
            until = len(chunks)
            if i + 1 < len(runs):
                last_ns = max((line.at_ns for line, _ in run.shown), default=-1)
                until = bisect_right(chunks, last_ns, key=_chunk_ns)
            came, chunks = chunks[:until], chunks[until:]
            of_run += self._diagnosis.take(came, run)
            shown += run.shown
            readings += self._readings(run, of_run)
            if came:
                of_run += self._fired(came[-1][1])
            changes += sorted(of_run, key=_instant)
        return Outcome(readings, changes, shown)

    def _take_roles(self, roles: tuple[RoleFound, ...]) -> None:
        """What the fields are became known, or is another thing with another layout."""
        self._roles = roles
        clocks = [i for i, found in enumerate(roles) if found.role == "clock"]
        self._clock_index = clocks[0] if clocks else 0
        self._clock = BoardClock(tick_ns=roles[clocks[0]].clock_ns) if clocks else None
        self._describe()

    def _describe(self) -> None:
        if self._reader is not None:
            self._diagnosis.describe(self._lesson, self._slots, self._reader, self._roles)
        self._trust(self._diagnosis.trust)

    def _trust(self, trust: Trust) -> None:
        """How far the fields' numbers can be trusted from here on."""
        for slot in self._slots:
            slot.doubt = trust.doubts.get(slot.index, "")
            sd, n = trust.noises.get(slot.index, (None, 0))
            if (sd, n) != (slot.sd, slot.n_noise):
                slot.take_noise(sd, n)

    def _readings(self, run: TextRun, changes: list[Change]) -> list[Reading]:
        """Readings of a run's rows, each with the trust that held when it came."""
        before = [slot.info for slot in self._slots]
        readings: list[Reading] = []
        start = 0
        for at_ns, trust in self._diagnosis.trust_steps:
            end = bisect_left(run.fitting, at_ns, lo=start, key=_line_ns)
            readings += self._converted(run, slice(start, end), changes)
            self._trust(trust)
            start = end
        readings += self._converted(run, slice(start, None), changes)
        self.revision += [slot.info for slot in self._slots] != before
        return readings

    def _converted(self, run: TextRun, part: slice, changes: list[Change]) -> list[Reading]:
        lines, rows = run.fitting[part], run.rows[part]
        if not rows or run.reader is None:
            return []
        self._newest = None
        taken_ns = self._taken_ns(lines, rows)
        readings: list[Reading] = []
        for i in range(0, len(rows), BLOCK_ROWS):
            block = slice(i, i + BLOCK_ROWS)
            readings += convert_rows(
                self._slots, self.number, lines[block], rows[block], taken_ns[block], run.reader, changes
            )
        return readings

    def _taken_ns(self, lines: Sequence[Line], rows: Sequence[Values]) -> Sequence[int]:
        """When the board took the readings: by its own clock where it prints one."""
        clock, at_ns = self._clock, [line.at_ns for line in lines]
        if clock is None:
            return at_ns
        ticks = [row[self._clock_index] for row in rows]
        return clock.take_many([math.nan if one is None else one for one in ticks], at_ns)


def _instant(change: Change) -> int:
    return change.at_ns


def _line_ns(line: Line) -> int:
    return line.at_ns


def _chunk_ns(chunk: tuple[bytes, int]) -> int:
    return chunk[1]


def _joined(outcomes: Sequence[Outcome]) -> Outcome:
    return Outcome(
        [reading for one in outcomes for reading in one.readings],
        [change for one in outcomes for change in one.changes],
        [shown for one in outcomes for shown in one.lines],
    )
