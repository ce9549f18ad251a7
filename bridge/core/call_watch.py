"""The list of calls as it stands at full seconds, from all that happened before.

Alarms of different benches do not come here in the order of their times, so what happened is kept until all
before a full second has come. Thus the list is the same live, in a replay and in a table.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from operator import attrgetter
from typing import NamedTuple

from bridge.core.alarm_flood import FirstOut
from bridge.core.asks import Asks, Said, Want
from bridge.core.call_list import URGENCY, AskShown, Call, CallList, benches_in_order, in_order
from bridge.core.calls_standing import Calling, Standing
from bridge.core.findings import FindingChange
from bridge.core.lesson import Lesson
from bridge.core.readings import AlarmChange

SECOND_NS = 1_000_000_000

_instant = attrgetter("at_ns")


class CallsChange(NamedTuple):
    """The list changed, at a full second."""

    at_ns: int
    calls: CallList


class _Told(NamedTuple):
    """What a group said; None: nothing any more."""

    at_ns: int
    bench: int
    said: Said | None


class _Attended(NamedTuple):
    """The instructor has been at a call of these benches."""

    at_ns: int
    call: str
    benches: tuple[int, ...]


class _Revised(NamedTuple):
    """The lesson changed."""

    at_ns: int
    lesson: Lesson


class _Removed(NamedTuple):
    """A bench begins anew, or is no part of the session any more."""

    at_ns: int
    bench: int


_Happened = AlarmChange | FindingChange | FirstOut | _Told | _Attended | _Revised | _Removed


class CallWatch:
    """Keeps the list of calls up to date."""

    def __init__(self, lesson: Lesson) -> None:
        self.calls = CallList()  # as of the last full second
        self.asks = Asks()  # as of now
        self._lesson = lesson
        self._standing = Standing(lesson)
        self._waiting: list[_Happened] = []  # what happened since the last full second
        self._assessed_ns = 0
        self._turns_ns = self._standing.turns_ns(0)

    def take(self, change: AlarmChange | FindingChange | FirstOut) -> None:
        """Take what happened, not older than the instant that `assess` was asked for last."""
        self._waiting.append(change)

    def ask(self, bench: int, want: Want, at_ns: int) -> None:
        """A group says something; nothing happens when it said so before."""
        if self.asks.take(bench, want, at_ns):
            self._waiting.append(_Told(at_ns, bench, self.asks.standing.get(bench)))

    def attend(self, call: str, benches: Sequence[int], at_ns: int) -> None:
        """The instructor has been at a call of these benches. That ends an ask."""
        for bench in benches:
            if call == f"ask/{bench}" and self.asks.of(bench) == "help":
                self.ask(bench, "nothing", at_ns)
        self._waiting.append(_Attended(at_ns, call, tuple(benches)))

    def revise(self, lesson: Lesson, at_ns: int) -> None:
        """The lesson changed: groups whose bench it has no more do not ask any more."""
        gone = {one.number for one in self._lesson.benches} - {one.number for one in lesson.benches}
        for bench in sorted(gone):
            self.ask(bench, "nothing", at_ns)
        self._lesson = lesson
        self._waiting.append(_Revised(at_ns, lesson))

    def remove(self, bench: int) -> None:
        """What a bench's pipeline told counts no more."""
        self._waiting = [
            one
            for one in self._waiting
            if not isinstance(one, AlarmChange | FindingChange) or one.bench != bench
        ]
        self._waiting.append(_Removed(self._assessed_ns, bench))

    def assess(self, until_ns: int) -> list[CallsChange]:
        """How the list changed, at the full seconds up to that instant; before it everything has come."""
        last_ns = until_ns // SECOND_NS * SECOND_NS
        if last_ns <= self._assessed_ns:
            return []
        self._waiting.sort(key=_instant)  # what came at one instant stays as it came
        changes: list[CallsChange] = []
        while (due_ns := self._due_ns()) <= last_ns:
            self._take_before(due_ns)
            self._assessed_ns = due_ns
            calls = _listed(self._standing, due_ns)
            self._turns_ns = self._standing.turns_ns(due_ns)
            if calls != self.calls:
                self.calls = calls
                changes.append(CallsChange(due_ns, calls))
        self._assessed_ns = last_ns
        return changes

    def _due_ns(self) -> int:
        """The next full second at which something may have changed."""
        next_ns = self._assessed_ns + SECOND_NS
        due_ns = -(-self._turns_ns // SECOND_NS) * SECOND_NS
        if self._waiting:
            due_ns = min(due_ns, (self._waiting[0].at_ns // SECOND_NS + 1) * SECOND_NS)
        return max(due_ns, next_ns)

    def _take_before(self, before_ns: int) -> None:
        n_taken = 0
        for one in self._waiting:
            if one.at_ns >= before_ns:
                break
            self._happen(one)
            n_taken += 1
        del self._waiting[:n_taken]

    def _happen(self, one: _Happened) -> None:
        standing = self._standing
        match one:
            case AlarmChange():
                standing.take_alarm(one)
            case FindingChange():
                standing.take_finding(one)
            case FirstOut(first=first):
                for change in first:
                    standing.mark_first_out(change)
            case _Told(bench=bench, said=said):
                standing.take_said(bench, said)
            case _Attended(at_ns=at_ns, call=call, benches=benches):
                for bench in benches:
                    standing.attend(bench, call, at_ns)
            case _Revised(lesson=lesson):
                standing.revise(lesson)
            case _Removed(bench=bench):
                standing.remove(bench)


def _listed(standing: Standing, at_ns: int) -> CallList:
    by_cause: dict[str, list[Calling]] = defaultdict(list)
    for one in standing.calling(at_ns):
        by_cause[one.cause.id].append(one)
    calls, n_more = in_order(_call(together) for together in by_cause.values())
    asked, done = (
        tuple(AskShown(bench, since_ns) for since_ns, bench in sorted(found))
        for found in (standing.asked(), standing.done())
    )
    return CallList(calls, asked, done, n_more)


def _call(together: Sequence[Calling]) -> Call:
    """One call of all that share a cause: with the words of the bench that has waited longest."""
    benches = benches_in_order(one.bench for one in together)
    of_bench = {one.bench.bench: one for one in together}
    first = of_bench[benches[0].bench]
    open_ones = [one for one in together if one.bench.attended == benches[0].attended]
    priority = min((one.priority for one in open_ones), key=URGENCY.__getitem__)
    return Call(
        first.cause.id, first.cause.kind, first.cause.channel, first.words, first.advice, priority, benches
    )
