"""All that is told of one bench's board: its health and its program's formula, in one list of findings."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from bridge.core.checking import Verdict
from bridge.core.conversion import Converter
from bridge.core.findings import Finding, FindingChange, FindingKind, changes_between
from bridge.core.formula import Belonging, FormulaWatch, belongings
from bridge.core.health import BenchHealth, ChannelSeen
from bridge.core.health.window import Numbers
from bridge.core.layouts import LayoutReader
from bridge.core.lesson import Bench, BenchChannel, Channel, Lesson
from bridge.core.roles import Role, RoleFound
from bridge.core.slots import Slot
from bridge.core.text_reader import TextRun
from bridge.core.units import canonical_unit

Chunks = Sequence[tuple[bytes, int]]
_STARTS: Mapping[str, Role] = {"count": "count", "volts": "volts", "ohms": "value"}
_USUAL_WIDTHS = (10, 12, 14, 16)  # bits, of converters whose width the lesson does not say


class Trust(NamedTuple):
    """How far the numbers of a bench's fields can be trusted; by the field's index."""

    doubts: Mapping[int, str]  # why its numbers should not be acted upon
    noises: Mapping[int, tuple[float, int]]  # standard deviation as printed, and from how many readings


class Diagnosis:
    """Brings the watchers of one bench together; each tells its findings at full seconds that are due.

    Attributes:
        trust_steps: What `trust` was changed to within the last call, with the instants.
    """

    def __init__(self, lesson: Lesson, bench: Bench, *, is_timed: bool = True) -> None:
        self.trust_steps: list[tuple[int, Trust]] = []
        self._health = BenchHealth(
            bench=bench.number, baud=bench.baud, lines_per_second=_rate(lesson, bench), is_timed=is_timed
        )
        self._baud = bench.baud
        self._rate = _rate(lesson, bench)
        self._formula = FormulaWatch(bench.number)
        self._bench = bench.number
        self._all: dict[tuple[FindingKind, str], Finding] = {}
        self._findings: dict[tuple[FindingKind, str], Finding] = {}  # of all, those that are told
        self._trust = self.trust

    @property
    def findings(self) -> tuple[Finding, ...]:
        """The findings that stand: faults first, then the older ones."""
        return tuple(sorted(self._findings.values(), key=lambda one: (one.weight != "fault", one.since_ns)))

    @property
    def trust(self) -> Trust:
        """How far each field's numbers can be trusted now."""
        return Trust(self._health.doubts(), self._health.noises())

    def verdict_of(self, index: int) -> Verdict | None:
        """What the check of the program's formula came to that a field takes part in."""
        return self._formula.verdict_of(index)

    def newest(self, index: int) -> tuple[Numbers, NDArray[np.int64]]:
        """A field's numbers of the newest minute as printed, and when they came; NaN for a missing one."""
        return self._health.newest(index)

    def link(self, state: str, at_ns: int, *, baud: int) -> list[FindingChange]:
        """The way to the board changed: only while it is "open" can bytes be missed."""
        if state != "open":
            changes = self._kept(self._health.closed(at_ns, state=state))
            self._trust = self.trust
            return changes
        self._baud = baud or self._baud
        self._health.set_expectation(baud=self._baud, lines_per_second=self._rate)
        changes = self._kept(self._health.opened(at_ns))
        self._trust = self.trust
        return changes

    def revise(self, lesson: Lesson, bench: Bench) -> None:
        """The lesson changed; the rate at which the port is read is told by its link."""
        self._rate = _rate(lesson, bench)
        self._health.set_expectation(baud=self._baud, lines_per_second=self._rate)

    def describe(
        self, lesson: Lesson, slots: Sequence[Slot], reader: LayoutReader, roles: Sequence[RoleFound]
    ) -> None:
        """The layout, what is known of its fields, or the lesson changed."""
        roles = _by_lesson(slots, roles)
        tied = belongings(lesson, slots, reader, roles)
        self._formula.describe(tied, reader)
        self._health.describe(channels_seen(slots, reader, roles, tied), names=reader.names)
        self._trust = self.trust

    def take(self, chunks: Chunks, run: TextRun) -> list[FindingChange]:
        """What came: bytes, and what the text made of them."""
        changes = self._health.take(chunks, run.shown, run.fitting, run.rows)
        self._settle_trust()
        return self._kept(changes + self._formula.take(run.fitting, run.rows))

    def tick(self, at_ns: int) -> list[FindingChange]:
        """Tell the time: what fell due is assessed with what came before that instant."""
        changes = self._health.tick(at_ns)
        self._settle_trust()
        return self._kept(changes + self._formula.tick(at_ns))

    def _settle_trust(self) -> None:
        """What changed within a call, in the order of the instants."""
        health = self._health
        self.trust_steps = []
        if not (health.doubt_steps or health.noise_steps):
            return
        doubts, noises = dict(health.doubt_steps), dict(health.noise_steps)
        now = self._trust
        for at_ns in sorted({*doubts, *noises}):
            now = Trust(doubts.get(at_ns, now.doubts), noises.get(at_ns, now.noises))
            self.trust_steps.append((at_ns, now))
        self._trust = now

    def _kept(self, changes: list[FindingChange]) -> list[FindingChange]:
        """What is told of changes: a finding that another one explains stays unsaid while that one stands."""
        told: list[FindingChange] = []
        for at_ns, together in groupby(sorted(changes, key=_instant), key=_instant):
            for change in together:
                if change.event == "gone":
                    self._all.pop(change.finding.key, None)
                else:
                    self._all[change.finding.key] = change.finding
            explained = {kind for one in self._all.values() for kind in one.explains}
            after = {key: one for key, one in self._all.items() if key[0] not in explained}
            told += changes_between(self._findings, after, at_ns=at_ns, bench=self._bench)
            self._findings = after
        return told


def _by_lesson(slots: Sequence[Slot], roles: Sequence[RoleFound]) -> list[RoleFound]:
    """The roles as found, but the lesson knows better what the numbers are that it converts.

    A sensor that warms evenly counts up like a running number.
    """
    known = list(roles)
    for slot in slots:
        conversion = slot.converter.conversion
        if conversion is not None and slot.index < len(known):
            role = _STARTS[conversion.start]
            if known[slot.index].role != role:
                known[slot.index] = RoleFound(role)
    return known


def _rate(lesson: Lesson, bench: Bench) -> float | None:
    return lesson.lines_per_second if bench.lines_per_second is None else bench.lines_per_second


def channels_seen(
    slots: Sequence[Slot], reader: LayoutReader, roles: Sequence[RoleFound], tied: Sequence[Belonging]
) -> list[ChannelSeen]:
    """Every field of the text as health judges it, under the name of the channel that is made from it."""
    seen = []
    for index, name in enumerate(reader.names):
        slot = next((one for one in slots if one.index == index), None)
        role = roles[index] if index < len(roles) else RoleFound()
        low, high, width = _rails(index, slot, reader, role, tied)
        seen.append(
            ChannelSeen(
                name=slot.info.name if slot is not None else name, index=index, unit=reader.units[index],
                role=role.role, width_bits=width, low_rail=low, high_rail=high,
                is_width_guessed=slot is None or slot.converter.conversion is None,
            )
        )  # fmt: skip
    return seen


def _rails(
    index: int, slot: Slot | None, reader: LayoutReader, role: RoleFound, tied: Sequence[Belonging]
) -> tuple[float | None, float | None, int]:
    """The printed numbers at the converter's ends (None: not known) and its width (0: not known)."""
    conversion = slot.converter.conversion if slot is not None else None
    if role.role == "count" or (conversion is not None and conversion.start == "count"):
        width = conversion.width_bits if conversion is not None and conversion.start == "count" else 0
        width = width or next((one for one in _USUAL_WIDTHS if one >= role.width_bits > 0), 0)
        return (0.0, float((1 << width) - 1), width) if width else (0.0, None, 0)
    one = next((one for one in tied if index in (one.volts, one.value) and one.conversion is not None), None)
    if one is None or one.conversion is None or one.conversion.start != "count":
        return None, None, 0
    if index == one.volts:
        scale = {"V": 1.0, "": 1.0, "mV": 1e3}.get(canonical_unit(reader.units[index]))
        return (0.0, one.conversion.reference_volts * scale, 0) if scale else (None, None, 0)
    if canonical_unit(reader.units[index] or one.unit) != canonical_unit(one.unit):
        return None, None, 0
    right = Converter(
        Channel(name=one.channel, unit=one.unit), BenchChannel(channel=one.channel), one.conversion
    )
    top = float((1 << one.conversion.width_bits) - 1)
    return _end(right, 0.0), _end(right, top), 0


def _end(right: Converter, x: float) -> float | None:
    value = right.value(x) if right.least <= x <= right.most else math.nan
    return value if math.isfinite(value) else None


def _instant(change: FindingChange) -> int:
    return change.at_ns
