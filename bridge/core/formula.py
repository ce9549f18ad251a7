"""The conversion check at work: which fields of a bench's text belong together, and what is told of them.

Beside the count a board prints what its program made of it. Each value field is checked against the lesson's
conversion of the count (or of the volts) that it belongs to.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bridge.core.checking import ConversionCheck, Verdict
from bridge.core.checking.mistakes import Mistake, MistakeKind
from bridge.core.exact import Values
from bridge.core.findings import Finding, FindingChange, FindingKind, changes_between
from bridge.core.framing import Line
from bridge.core.layouts import LayoutReader, reader_for
from bridge.core.lesson import Conversion, Layout, Lesson
from bridge.core.printed import Printed, printed_number
from bridge.core.roles import RoleFound
from bridge.core.slots import Slot

ASSESS_EVERY_NS = 1_000_000_000
RENEW_NS = 10_000_000_000  # a standing finding gets newer words no more often
MATTERS = 1.25  # and only when it reads wrong by so much more or less
LONGEST_WAIT_NS = 30_000_000_000  # between two verdicts: a corrected program is seen by then
SAMPLE_EVERY_NS = 200_000_000  # records that are looked at: the first of each such stretch
MAX_TEXTS = 256  # that are kept with what was read in them; a board without a running number has some 100
EARLY_RECORDS = 64  # kept for a check that begins later, when it is known what the fields are
_COARSE: tuple[MistakeKind, ...] = ("whole numbers", "whole value")
SAMPLE_LINES = 20  # and of so many lines that share an instant (a file without times)


@dataclass(frozen=True, slots=True)
class Belonging:
    """Fields that one formula ties together, by their index in a row; None where there is none."""

    count: int | None
    volts: int | None
    value: int | None
    channel: str  # what the finding is about: the channel made from the value field, else that field
    unit: str  # of the channel that the conversion gives
    conversion: Conversion | None  # of the lesson


class FormulaWatch:
    """Judges the programs' formulas of one bench, at every full second that is due."""

    def __init__(self, bench: int) -> None:
        self._bench = bench
        self._layout: Layout | None = None
        self._reader: LayoutReader | None = None
        self._early: deque[tuple[Line, Values]] = deque(maxlen=EARLY_RECORDS)
        self._records: dict[str, tuple[Printed, ...]] = {}  # by text, of newest ones: many come again
        self._tied: list[tuple[Belonging, ConversionCheck]] = []
        self._found: dict[tuple[FindingKind, str], Finding] = {}
        self._verdicts: dict[str, Verdict] = {}
        # What each standing finding was told by: mistakes, how much it reads wrong, when.
        self._held: dict[str, tuple[tuple[Mistake, ...], float | None, int]] = {}
        self._sampled_ns = -SAMPLE_EVERY_NS
        self._sampled_line = 0
        self._first_ns: int | None = None
        self._due_ns = 0
        self._has_news = False

    def verdict_of(self, index: int) -> Verdict | None:
        """What the first check came to that a field takes part in, as count, volts or value."""
        for tied, _ in self._tied:
            if index in (tied.count, tied.volts, tied.value):
                return self._verdicts.get(tied.channel)
        return None

    def describe(self, tied: Sequence[Belonging], reader: LayoutReader) -> None:
        """The layout or the lesson changed: a check whose fields stay the same goes on."""
        kept = dict(self._tied)
        if self._layout != reader.layout:
            self._layout = reader.layout
            self._reader = reader_for(reader.layout) if reader.is_one_line else None
            self._early.clear()
            self._records.clear()
        self._tied = [(one, kept.get(one) or self._begun(one, reader)) for one in tied]
        channels = {one.channel for one in tied}
        self._verdicts = {name: verdict for name, verdict in self._verdicts.items() if name in channels}
        self._has_news = True

    def _begun(self, tied: Belonging, reader: LayoutReader) -> ConversionCheck:
        """A new check, which is told what came before the fields were understood."""
        check = _check_of(tied, reader)
        for line, row in self._early:
            check.take(*_of(tied, self._printed(line, row)))
        return check

    def _printed(self, line: Line, row: Values) -> tuple[Printed, ...]:
        record = self._records.get(line.text)
        if record is None and self._reader is not None:
            record = self._reader.read(line.text)
            if record is not None:
                if len(self._records) >= MAX_TEXTS:
                    self._records.clear()
                self._records[line.text] = record
        return record if record is not None else tuple(map(_as_printed, row))

    def take(self, lines: Sequence[Line], rows: Sequence[Values]) -> list[FindingChange]:
        """Take rows of numbers in the order of their times."""
        changes: list[FindingChange] = []
        next_ns, next_line = self._next_sample()
        for line, row in zip(lines, rows, strict=True):
            if (at_ns := line.at_ns) < next_ns and line.number < next_line:
                continue
            changes += self.tick(at_ns)
            self._sampled_ns = at_ns - at_ns % SAMPLE_EVERY_NS
            self._sampled_line = line.number
            next_ns, next_line = self._next_sample()
            self._look(line, row)
        return changes

    def _next_sample(self) -> tuple[int, int]:
        """The time and the line from which on a record is looked at."""
        return self._sampled_ns + SAMPLE_EVERY_NS, self._sampled_line + SAMPLE_LINES

    def tick(self, at_ns: int) -> list[FindingChange]:
        """Tell the time: what fell due is judged by the records that came before that instant."""
        if at_ns < self._due_ns or not self._has_news:
            return []
        due_ns = self._due_ns if self._first_ns is not None else at_ns // ASSESS_EVERY_NS * ASSESS_EVERY_NS
        self._has_news = False
        first_ns = due_ns if self._first_ns is None else self._first_ns
        wait_ns = min(LONGEST_WAIT_NS, max(ASSESS_EVERY_NS, (due_ns - first_ns) // 5))
        self._due_ns = (due_ns + wait_ns) // ASSESS_EVERY_NS * ASSESS_EVERY_NS
        return self._assess(due_ns)

    def _look(self, line: Line, row: Values) -> None:
        if self._first_ns is None:
            self._first_ns = line.at_ns
            self._due_ns = (line.at_ns // ASSESS_EVERY_NS + 1) * ASSESS_EVERY_NS
        self._early.append((line, row))
        if self._tied:
            printed = self._printed(line, row)
            for tied, check in self._tied:
                check.take(*_of(tied, printed))
        if not self._has_news and self._due_ns <= line.at_ns:  # nothing came for a while
            self._due_ns = (line.at_ns // ASSESS_EVERY_NS + 1) * ASSESS_EVERY_NS
        self._has_news = bool(self._tied)

    def _assess(self, due_ns: int) -> list[FindingChange]:
        found: dict[tuple[FindingKind, str], Finding] = {}
        for tied, check in self._tied:
            verdict = self._verdicts[tied.channel] = check.verdict()
            before = self._found.get(("wrong formula", tied.channel))
            if verdict.state == "wrong":
                found["wrong formula", tied.channel] = self._told(tied.channel, verdict, before, due_ns)
            elif before is not None and verdict.state == "waiting":
                found[before.key] = before  # nothing speaks against it yet
        changes = changes_between(self._found, found, at_ns=due_ns, bench=self._bench)
        self._found = found
        return changes

    def _told(self, channel: str, verdict: Verdict, before: Finding | None, due_ns: int) -> Finding:
        """The finding; one that says the same mistakes keeps its words for a while: no flicker."""
        mistakes, by = verdict.mistakes, verdict.reads_wrong_by
        if before is not None:
            held, held_by, told_ns = self._held[channel]
            if held == mistakes and (due_ns - told_ns < RENEW_NS or _is_like(by, held_by)):
                return before
        self._held[channel] = mistakes, by, due_ns
        return _finding(channel, verdict, before, due_ns)


def _is_like(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is other
    low, high = sorted((abs(one), abs(other)))
    return high <= MATTERS * low


def belongings(
    lesson: Lesson, slots: Sequence[Slot], reader: LayoutReader, roles: Sequence[RoleFound]
) -> list[Belonging]:
    """Which fields one formula ties together.

    The first count goes with the first volts and the first value, the second with the second, and so on;
    where there is one count only, every value is made from it.
    """
    by_role: dict[str, list[int]] = {"count": [], "volts": [], "value": []}
    for i, found in enumerate(roles):
        if found.role in by_role:
            by_role[found.role].append(i)
    counts, volts, values = by_role["count"], by_role["volts"], by_role["value"]
    if not values and not (counts and volts):
        return []
    tied = []
    for k in range(max(1, len(values))):
        count, volt = _nth(counts, k, len(values)), _nth(volts, k, len(values))
        value = values[k] if values else None
        if (count is None) + (volt is None) + (value is None) < 2:
            tied.append(_belonging(lesson, slots, reader, count, volt, value))
    return tied


def _nth(fields: Sequence[int], k: int, n_values: int) -> int | None:
    if len(fields) == 1:
        return fields[0]
    return fields[k] if k < len(fields) == n_values else None


def _belonging(
    lesson: Lesson,
    slots: Sequence[Slot],
    reader: LayoutReader,
    count: int | None,
    volts: int | None,
    value: int | None,
) -> Belonging:
    of_value = next((slot for slot in slots if slot.index == value), None)
    conversion, unit = _expected(lesson, slots, count, volts)
    name = reader.names[value] if value is not None else reader.names[volts if volts is not None else 0]
    channel = of_value.info.name if of_value is not None else name
    if conversion is None:
        unit = (of_value.info.unit if of_value is not None else "") or (
            reader.units[value] if value is not None else ""
        )
    return Belonging(count, volts, value, channel, unit, conversion)


def _expected(
    lesson: Lesson, slots: Sequence[Slot], count: int | None, volts: int | None
) -> tuple[Conversion | None, str]:
    """The lesson's conversion of that count or those volts, with the unit that it gives."""
    for field in (count, volts):
        for slot in slots:
            if field is not None and slot.index == field and slot.converter.conversion is not None:
                return slot.converter.conversion, slot.info.unit
    if len(lesson.conversions) == 1:
        (only,) = lesson.conversions
        units = [channel.unit for channel in lesson.channels if channel.conversion == only.name]
        if units:
            return only, units[0]
    return None, ""


def _check_of(tied: Belonging, reader: LayoutReader) -> ConversionCheck:
    return ConversionCheck(
        has_count=tied.count is not None,
        has_volts=tied.volts is not None,
        has_value=tied.value is not None,
        volts_unit="" if tied.volts is None else reader.units[tied.volts],
        value_unit="" if tied.value is None else reader.units[tied.value],
        expected=tied.conversion,
        channel=tied.channel,
        unit=tied.unit,
    )


def _finding(channel: str, verdict: Verdict, before: Finding | None, due_ns: int) -> Finding:
    return Finding(
        kind="wrong formula",
        channel=channel,
        weight=verdict.weight,
        since_ns=before.since_ns if before is not None else due_ns,
        words=f"{verdict.words}.",
        evidence=f"{verdict.evidence}. Expected: {verdict.expected}. Found: {verdict.found}.",
        remedy=f"{verdict.remedy}.",
        explains=("too coarse",) if any(one.kind in _COARSE for one in verdict.mistakes) else (),
    )


def _of(tied: Belonging, printed: Sequence[Printed]) -> Iterator[Printed | None]:
    return (None if i is None else printed[i] for i in (tied.count, tied.volts, tied.value))


def _as_printed(number: float | None) -> Printed:
    """A number of a record over several lines, whose text is gone: as short as it can be printed."""
    if number is None:
        return Printed("", None, 0)
    return printed_number(f"{number}".removesuffix(".0")) or Printed("", None, 0)
