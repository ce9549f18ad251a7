"""What stands at each bench and may call for a person: alarms, findings and what the groups said.

An alarm on findings and the findings that it is for are one call: it calls while the alarm waits for
acknowledgement, with the alarm's priority. A finding that no alarm is for calls as long as it stands.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from bridge.core.alarm_given import AlarmGiven, AlarmPriority
from bridge.core.alarm_kinds import is_meant
from bridge.core.asks import Said
from bridge.core.call_list import ASK_PRIORITY, FINDING_PRIORITY, URGENCY, BenchCall, CallKind
from bridge.core.call_words import alarm_words, rose_words
from bridge.core.findings import Finding, FindingChange
from bridge.core.lesson import Lesson
from bridge.core.readings import AlarmChange, AlarmState

WAITING: frozenset[AlarmState] = frozenset(
    ("unacknowledged", "returned unacknowledged", "latched unacknowledged")
)
ATTENDED_NS = 600 * 1_000_000_000  # so long a call that was attended to stands behind; then it calls again
NEVER_NS = 1 << 62
_NEVER_ATTENDED = -NEVER_NS


class Cause(NamedTuple):
    """What several benches may share."""

    id: str
    kind: CallKind
    channel: str


class Calling(NamedTuple):
    """One bench that calls by one cause."""

    cause: Cause
    words: str
    advice: str
    priority: AlarmPriority
    bench: BenchCall


@dataclass(slots=True)
class _Stands:
    """What an alarm, a finding and an ask have in common."""

    since_ns: int
    attended_ns: int = _NEVER_ATTENDED


@dataclass(slots=True, kw_only=True)
class _Alarm(_Stands):
    state: AlarmState
    given: AlarmGiven | None
    value: float | None  # at the rise
    first_out: bool = False


@dataclass(slots=True, kw_only=True)
class _Finding(_Stands):
    finding: Finding


@dataclass(slots=True, kw_only=True)
class _Ask(_Stands):
    said: Said


class Standing:
    """Takes everything in the order of its times, and tells who calls at an instant."""

    def __init__(self, lesson: Lesson) -> None:
        self.lesson = lesson
        self._alarms: dict[int, dict[tuple[str, str], _Alarm]] = defaultdict(dict)  # bench: channel, key
        self._findings: dict[int, dict[tuple[str, str], _Finding]] = defaultdict(dict)  # bench: kind, channel
        self._asks: dict[int, _Ask] = {}

    # What happens

    def revise(self, lesson: Lesson) -> None:
        """The lesson changed: alarms that it does not have any more are over."""
        self.lesson = lesson
        for alarms in self._alarms.values():
            for (channel, key), one in tuple(alarms.items()):
                given, kind = lesson.alarm(channel, key), one.given.kind if one.given else "high"
                if given is None or given.kind != kind:
                    del alarms[channel, key]
                else:
                    one.given = given

    def remove(self, bench: int) -> None:
        """The bench begins anew, or is no part of the session any more; what its group said stands."""
        self._alarms.pop(bench, None)
        self._findings.pop(bench, None)

    def take_alarm(self, change: AlarmChange) -> None:
        """Take a transition. It waits since it came, also while it returns and rises again."""
        alarms, key = self._alarms[change.bench], (change.channel, change.limit)
        known = alarms.get(key)
        if change.state == "normal":
            alarms.pop(key, None)
        elif known is None or known.state not in WAITING or change.state not in WAITING:
            given = self.lesson.alarm(*key)
            alarms[key] = _Alarm(change.at_ns, state=change.state, given=given, value=change.value)
        else:
            known.state = change.state
            if change.event == "rise":
                known.value, known.first_out = change.value, False

    def mark_first_out(self, change: AlarmChange) -> None:
        """That rise was the first of several."""
        alarm = self._alarms[change.bench].get((change.channel, change.limit))
        if alarm is not None and alarm.state in WAITING:
            alarm.first_out = True

    def take_finding(self, change: FindingChange) -> None:
        """Take a finding that came, changed or went."""
        findings, finding = self._findings[change.bench], change.finding
        known = findings.get(finding.key)
        if change.event == "gone":
            findings.pop(finding.key, None)
        elif known is None:
            findings[finding.key] = _Finding(max(0, finding.since_ns), finding=finding)
        else:
            known.finding = finding

    def take_said(self, bench: int, said: Said | None) -> None:
        """Take what a group says; None: nothing any more."""
        self._asks.pop(bench, None)
        if said is not None:
            self._asks[bench] = _Ask(said.since_ns, said=said)

    def attend(self, bench: int, call: str, at_ns: int) -> None:
        """The instructor has been at that call of the bench."""
        for stands, calling in self._calling(bench, at_ns):
            if calling.cause.id == call:
                stands.attended_ns = at_ns

    # What stands

    def calling(self, at_ns: int) -> list[Calling]:
        """Every bench that calls, for each cause once: of a kind in several fields one is told."""
        found: dict[tuple[int, str], Calling] = {}
        for bench in sorted({*self._alarms, *self._findings, *self._asks}):
            for _, one in self._calling(bench, at_ns):
                known = found.setdefault((bench, one.cause.id), one)
                if (one.bench.attended, one.bench.since_ns) < (known.bench.attended, known.bench.since_ns):
                    found[bench, one.cause.id] = one
        return list(found.values())

    def done(self) -> list[tuple[int, int]]:
        """Since when which groups say that they are done: (since_ns, bench)."""
        return [(one.since_ns, bench) for bench, one in self._asks.items() if one.said.want == "done"]

    def asked(self) -> list[tuple[int, int]]:
        """Since when which groups ask for help: (since_ns, bench)."""
        return [(one.since_ns, bench) for bench, one in self._asks.items() if one.said.want == "help"]

    def turns_ns(self, after_ns: int) -> int:
        """The first instant after that one at which something attended calls again by itself."""
        everything: list[_Stands] = [one for found in self._alarms.values() for one in found.values()]
        everything += [one for found in self._findings.values() for one in found.values()]
        ends = (one.attended_ns + ATTENDED_NS for one in everything)
        return min((end for end in ends if end > after_ns), default=NEVER_NS)

    def _calling(self, bench: int, at_ns: int) -> Iterator[tuple[_Stands, Calling]]:
        ask = self._asks.get(bench)
        if ask is not None and ask.said.want == "help":
            cause = Cause(f"ask/{bench}", "ask", "")
            yield ask, Calling(cause, "asks for help", "", ASK_PRIORITY, BenchCall(bench, ask.since_ns))
        yield from self._alarms_calling(bench, at_ns)
        yield from self._findings_calling(bench, at_ns)

    def _alarms_calling(self, bench: int, at_ns: int) -> Iterator[tuple[_Stands, Calling]]:
        for (channel, key), one in sorted(self._alarms.get(bench, {}).items()):
            if one.state not in WAITING or (not channel and self._has_its_findings(bench, one.given)):
                continue
            shown = BenchCall(
                bench, one.since_ns, rose_words(self.lesson, channel, one.given, one.state, one.value),
                (channel, key), one.first_out, _is_attended(one, at_ns),
            )  # fmt: skip
            given = one.given
            cause = Cause(f"alarm/{channel}/{key}", "alarm", channel)
            priority, advice = (given.priority, given.advice) if given else ("medium", "")
            yield one, Calling(cause, alarm_words(channel, key, given), advice, priority, shown)

    def _findings_calling(self, bench: int, at_ns: int) -> Iterator[tuple[_Stands, Calling]]:
        for _, one in sorted(self._findings.get(bench, {}).items()):
            finding, cause = one.finding, self._cause_of(one.finding)
            priority, key, advice = FINDING_PRIORITY[finding.weight], "", finding.remedy
            first_out = False
            alarms = [given for given in self.lesson.alarms if is_meant(given, finding)]
            if alarms:
                waiting = self._waiting(bench, alarms)
                if waiting is None:
                    continue  # seen, set aside, or its delay is not over yet
                given, first_out = waiting
                priority, key = given.priority, given.key
                advice = f"{given.advice.rstrip('.')}. {advice}" if given.advice else advice
            shown = BenchCall(
                bench, one.since_ns, finding.words, ("", key) if key else None, first_out,
                _is_attended(one, at_ns),
            )  # fmt: skip
            yield one, Calling(cause, finding.words, advice, priority, shown)

    def _waiting(self, bench: int, alarms: list[AlarmGiven]) -> tuple[AlarmGiven, bool] | None:
        """The most urgent of these alarms on findings that waits, and whether it was the first out."""
        found = [(given, self._alarms.get(bench, {}).get(("", given.key))) for given in alarms]
        waiting = [(given, one.first_out) for given, one in found if one and one.state in WAITING]
        return min(waiting, key=lambda one: URGENCY[one[0].priority], default=None)

    def _has_its_findings(self, bench: int, given: AlarmGiven | None) -> bool:
        """Whether one of the findings that the alarm is for stands: then that one calls."""
        findings = self._findings.get(bench, {}).values()
        return given is not None and any(is_meant(given, one.finding) for one in findings)

    def _cause_of(self, finding: Finding) -> Cause:
        """Its kind; and its channel where there are several. A board's own fields have names of its own."""
        names = [one.name for one in self.lesson.channels]
        if len(names) > 1 and finding.channel in names:
            return Cause(f"finding/{finding.kind}/{finding.channel}", "finding", finding.channel)
        return Cause(f"finding/{finding.kind}", "finding", "")


def _is_attended(one: _Stands, at_ns: int) -> bool:
    return at_ns - one.attended_ns < ATTENDED_NS
