"""All benches of a session: each by its own pipeline, and what concerns several of them.

What spans benches is worked out once everything before an instant has come: comparisons with the class,
alarms on findings, which alarm was first, floods. So it does not depend on the portions in which bytes came.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from operator import attrgetter
from typing import NamedTuple

from bridge.core.alarm_flood import AlarmGroup, FirstOut, FirstOutFinder, FloodChange, FloodWatch
from bridge.core.alarm_set import BenchAlarms
from bridge.core.asks import Asks, Want
from bridge.core.baselines import Baseline
from bridge.core.call_list import CallList
from bridge.core.call_watch import CallsChange, CallWatch
from bridge.core.class_medians import ClassMedians
from bridge.core.class_watch import ClassWatch
from bridge.core.findings import Finding, FindingChange
from bridge.core.lesson import Lesson
from bridge.core.limits import Command
from bridge.core.pipeline import BenchPipeline, Outcome
from bridge.core.readings import AlarmChange, Change

Outcomes = list[tuple[int, Outcome]]
"""(bench, what came of it), each bench's in order."""

_instant = attrgetter("at_ns")


class PhaseStart(NamedTuple):
    """A phase of the lesson began."""

    at_ns: int
    phase: str  # "": none
    who: str


class Advance(NamedTuple):
    """What is known once every bench has come to an instant."""

    outcomes: Outcomes
    first_out: list[FirstOut]
    floods: list[FloodChange]
    calls: list[CallsChange]  # how the list of calls changed, at full seconds


class Classroom:
    """Drives the pipelines of all benches.

    Args:
        lesson: What the instructor set.
        is_compared: False where only readings are wanted: then nothing that spans benches is worked out.
        failed: Is told of a bench whose pipeline met an error of ours, while the error is handled, and has it
            begin anew (`renew`). None: the error goes on.
    """

    def __init__(
        self, lesson: Lesson, *, is_compared: bool = True, failed: Callable[[int], None] | None = None
    ) -> None:
        self.lesson = lesson
        self.pipelines: dict[int, BenchPipeline] = {}
        self.phases = [PhaseStart(0, "", "rule")]  # so far
        self._is_compared, self._failed = is_compared, failed
        self._alarms: dict[int, BenchAlarms] = {}
        self._findings: dict[int, list[FindingChange]] = defaultdict(list)  # since the last advance
        self._standing: dict[int, dict[object, Finding]] = defaultdict(dict)  # findings, by their keys
        self._new: Outcomes = []  # what a bench that is new brought, for the next advance
        self._class, self._medians = ClassWatch(lesson), ClassMedians(lesson)
        self._first_out, self._flood = FirstOutFinder(), FloodWatch()
        self._calls = CallWatch(lesson)

    @property
    def phase(self) -> str:
        """The phase of the lesson, "" for none."""
        return self.phases[-1].phase

    @property
    def is_flooded(self) -> bool:
        """Whether alarms come faster than a person can act on."""
        return self._flood.is_on

    @property
    def n_flood_calls(self) -> int:
        """How often alarms called in the flood that is on, or in the last one."""
        return self._flood.n_calls

    @property
    def calls(self) -> CallList:
        """What calls for a person, as of the last full second."""
        return self._calls.calls

    @property
    def asks(self) -> Asks:
        """What the groups said last, as of now."""
        return self._calls.asks

    def flood_groups(self) -> tuple[AlarmGroup, ...]:
        """The alarms of the flood that is on, or of the last one."""
        return self._flood.groups()

    def pipeline(self, bench: int) -> BenchPipeline:
        """The bench's pipeline, made when it is new; it goes through the phases that were."""
        found = self.pipelines.get(bench)
        if found is None:
            found = self.pipelines[bench] = BenchPipeline(self.lesson, bench, cold=True)
            self._alarms[bench] = BenchAlarms(bench, self.lesson.alarms)
            for start in self.phases:
                self._new.append((bench, found.enter_phase(start.phase, start.at_ns, start.who)))
                self._new.append((bench, _changed(self._alarms[bench].enter_phase(start.phase, start.at_ns))))
        return found

    def renew(self, bench: int) -> BenchPipeline:
        """Begin that bench anew."""
        self.remove(bench)
        return self.pipeline(bench)

    def remove(self, bench: int) -> None:
        """The bench is no part of the session any more."""
        self.pipelines.pop(bench, None)
        self._alarms.pop(bench, None)
        self._findings.pop(bench, None)
        self._standing.pop(bench, None)
        self._medians.lose(bench)
        self._calls.remove(bench)

    # What comes from one bench

    def feed(self, bench: int, data: bytes, at_ns: int) -> Outcome:
        """Take a chunk of a bench."""
        return self._kept(bench, self.pipeline(bench).feed(data, at_ns))

    def feed_many(self, bench: int, chunks: Sequence[tuple[bytes, int]]) -> Outcome:
        """Take many chunks of a bench, in their order."""
        return self._kept(bench, self.pipeline(bench).feed_many(chunks))

    def link(self, bench: int, state: str, at_ns: int, *, baud: int) -> Outcome:
        """The way to a bench's board changed."""
        return self._kept(bench, self.pipeline(bench).link(state, at_ns, baud=baud))

    def finish(self, at_ns: int) -> Outcomes:
        """The source has ended; the last thing that is told."""
        return [(bench, self._kept(bench, one.finish(at_ns))) for bench, one in self.pipelines.items()]

    # The passing of time

    def advance(self, until_ns: int) -> Advance:
        """Everything before that instant has come: tell the time to all, and what spans benches."""
        outcomes, self._new = self._new, []
        for bench, outcome in outcomes:
            self._kept(bench, outcome)
        outcomes += [(bench, self._ticked(bench, until_ns)) for bench in tuple(self.pipelines)]
        if not self._is_compared:
            return Advance(outcomes, [], [], [])
        outcomes += self._compared(until_ns)
        outcomes += self._on_findings(until_ns)
        first_out = self._first_out.advance(until_ns)
        for together in first_out:
            self._calls.take(together)
        return Advance(outcomes, first_out, self._flood.advance(until_ns), self._calls.assess(until_ns))

    def _ticked(self, bench: int, at_ns: int) -> Outcome:
        try:
            return self._kept(bench, self.pipelines[bench].tick(at_ns))
        except Exception:
            if self._failed is None:
                raise
            self._failed(bench)
            return Outcome([], [], [])

    def _compared(self, until_ns: int) -> Outcomes:
        outcomes: Outcomes = []
        for at_ns, channel, values, median, n_benches in self._medians.assess(until_ns):
            for bench, value in values.items():
                pipeline = self.pipelines.get(bench)
                if pipeline is not None:
                    outcome = pipeline.compare(channel, value, median, n_benches, at_ns)
                    outcomes.append((bench, self._kept(bench, outcome)))
        for bench, pipeline in self.pipelines.items():
            if changes := pipeline.tick_class(until_ns):
                outcomes.append((bench, self._kept(bench, _changed(changes))))
        return [(bench, outcome) for bench, outcome in outcomes if outcome.changes]

    def _on_findings(self, until_ns: int) -> Outcomes:
        """Findings of the benches and of the class, in the order of their times, and the alarms on them."""
        outcomes: Outcomes = []
        for change in self._class.assess(until_ns):
            outcomes.append((change.bench, _changed([change])))
            self._findings[change.bench].append(change)
        for bench, alarms in self._alarms.items():
            found = sorted(self._findings.pop(bench, ()), key=_instant)
            for change in found:
                self._calls.take(change)
                self._standing[bench].pop(change.finding.key, None)
                if change.event != "gone":
                    self._standing[bench][change.finding.key] = change.finding
            changes = alarms.take_findings(found) + alarms.tick(until_ns)
            if changes:
                outcomes.append((bench, self._kept(bench, _changed(changes))))
        return outcomes

    # What a person does; everything before that instant must have come: `advance` first

    def break_off(self, bench: int, at_ns: int, *, cold: bool) -> Outcome:
        """Bytes of a bench may be missing here."""
        outcome = self._kept(bench, self.pipeline(bench).break_off(at_ns, cold=cold))
        self._medians.lose(bench)
        return outcome

    def relearn(self, bench: int, at_ns: int) -> Outcome:
        """Learn a bench's text again."""
        return self._kept(bench, self.pipeline(bench).relearn(at_ns))

    def command(
        self,
        bench: int,
        channel: str,
        limit: str,
        command: Command,
        at_ns: int,
        who: str,
        *,
        reason: str = "",
        until_ns: int = 0,
    ) -> Outcome:
        """What a person does with an alarm; with channel "" it is one of the whole bench.

        Raises:
            ValueError: A shelf without an end within four hours, or without a reason.
        """
        pipeline = self.pipeline(bench)
        if channel:
            outcome = pipeline.command(channel, limit, command, at_ns, who, reason=reason, until_ns=until_ns)
        else:
            alarms = self._alarms[bench]
            outcome = _changed(alarms.command(limit, command, at_ns, who, reason=reason, until_ns=until_ns))
        return self._kept(bench, outcome)

    def take_baseline(self, bench: int, channel: str, at_ns: int) -> tuple[Baseline | None, Outcome]:
        """A bench's bands lie above the value that stands now; None where it is not steady, or fixed."""
        baseline, outcome = self.pipeline(bench).take_baseline(channel, at_ns)
        return baseline, self._kept(bench, outcome)

    def ask(self, bench: int, want: Want, at_ns: int) -> None:
        """A group asks for help, says that it is done, or takes that back."""
        self._calls.ask(bench, want, at_ns)

    def attend(self, call: str, benches: Sequence[int], at_ns: int) -> None:
        """The instructor has been at a call of these benches."""
        self._calls.attend(call, benches, at_ns)

    def enter_phase(self, phase: str, at_ns: int, who: str) -> Outcomes:
        """A phase of the lesson begins; one that the lesson does not have is none."""
        entered = PhaseStart(at_ns, phase if self.lesson.phase(phase) else "", who)
        self.phases.append(entered)
        return self._entered(entered)

    def revise(self, lesson: Lesson, at_ns: int) -> Outcomes:
        """The lesson changed; alarms that stand go on standing, and so does a phase that is still there."""
        self.lesson = lesson
        self._class.revise(lesson)
        self._medians.revise(lesson)
        self._calls.revise(lesson, at_ns)
        outcomes = [
            (bench, self._kept(bench, pipeline.revise(lesson, at_ns)))
            for bench, pipeline in self.pipelines.items()
        ]
        for bench, older in tuple(self._alarms.items()):
            alarms = self._alarms[bench] = BenchAlarms(bench, lesson.alarms)
            alarms.resume_from(older)
            changes = older.ended_by(lesson, at_ns)
            changes += alarms.restate(self._standing[bench].values(), at_ns)
            changes += alarms.enter_phase(self.phase, at_ns)
            outcomes.append((bench, self._kept(bench, _changed(changes))))
        if self.phase and lesson.phase(self.phase) is None:
            outcomes += self.enter_phase("", at_ns, "rule")
        return outcomes

    def _entered(self, start: PhaseStart) -> Outcomes:
        outcomes: Outcomes = []
        for bench, pipeline in self.pipelines.items():
            outcome = pipeline.enter_phase(start.phase, start.at_ns, start.who)
            outcomes.append((bench, self._kept(bench, outcome)))
            changes = self._alarms[bench].enter_phase(start.phase, start.at_ns, start.who)
            outcomes.append((bench, self._kept(bench, _changed(changes))))
        return outcomes

    def _kept(self, bench: int, outcome: Outcome) -> Outcome:
        """What spans benches is told of it."""
        if not self._is_compared:
            return outcome
        if outcome.readings:
            self._class.take(outcome.readings)
            self._medians.take(outcome.readings)
        self._note(bench, outcome.changes)
        return outcome

    def _note(self, bench: int, changes: Iterable[Change]) -> None:
        for change in changes:
            if isinstance(change, AlarmChange):
                self._first_out.take(change)
                self._flood.take(change)
                self._calls.take(change)
            elif isinstance(change, FindingChange):
                self._findings[bench].append(change)


def _changed(changes: Iterable[Change]) -> Outcome:
    return Outcome([], list(changes), [])
