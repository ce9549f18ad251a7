"""Where one person should go next: all that calls for her, in the order in which she should go.

The rule, for calls that nobody has attended to:

1. the higher priority first;
2. within a priority the one that has waited longest, where each further bench that shares the cause counts as
   two minutes more of waiting.

Calls that were attended to stand behind all of these, by the same rule. Since all calls grow old at the same
pace, no place changes by the passing of time alone.

An alarm has the priority that the lesson gives it. A fault is medium: that group measures nothing of worth
until it is put right. A hint is low: the readings are right. A group that asks is medium: it has stopped,
like one with a fault. So what the lesson calls high always goes before, and among groups in need the one that
has waited longest comes first, which a class finds fair.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, NamedTuple

from bridge.core.alarm_given import AlarmPriority
from bridge.core.findings import Weight

CallKind = Literal["ask", "alarm", "finding"]

FURTHER_BENCH_NS = 120 * 1_000_000_000  # of waiting, that each further bench counts for
MAX_CALLS = 50  # one person reads no more; beyond it only their number is told
ASK_PRIORITY: AlarmPriority = "medium"
FINDING_PRIORITY: dict[Weight, AlarmPriority] = {"fault": "medium", "hint": "low"}
URGENCY: dict[AlarmPriority, int] = {"high": 0, "medium": 1, "low": 2}


class BenchCall(NamedTuple):
    """One bench of a call."""

    bench: int
    since_ns: int  # session time since which it waits
    words: str = ""
    alarm: tuple[str, str] | None = None  # channel and key of the alarm that waits for acknowledgement
    first_out: bool = False  # of several alarms that rose together at this bench the first
    attended: bool = False


class Call(NamedTuple):
    """One thing that calls for a person, with all benches that share it."""

    id: str  # names the cause, the same as long as it calls
    kind: CallKind
    channel: str
    words: str
    advice: str
    priority: AlarmPriority
    benches: tuple[BenchCall, ...]  # not attended first, then the oldest

    @property
    def attended(self) -> bool:
        """Whether every bench of it was attended to."""
        return self.benches[0].attended

    @property
    def since_ns(self) -> int:
        """Since when the oldest bench waits that nobody has attended to, if there is one."""
        return self.benches[0].since_ns

    @property
    def rank(self) -> tuple[int | str, ...]:
        """Its place by the rule: the less, the sooner. No two calls share one."""
        n_further = sum(one.attended == self.attended for one in self.benches) - 1
        waits_ns = self.since_ns - n_further * FURTHER_BENCH_NS
        return self.attended, URGENCY[self.priority], waits_ns, self.benches[0].bench, self.id


class AskShown(NamedTuple):
    """A group that asked for help, or said that it is done."""

    bench: int
    since_ns: int


class CallList(NamedTuple):
    """All calls in the order in which one person should go."""

    calls: tuple[Call, ...] = ()
    asked: tuple[AskShown, ...] = ()  # all of them; oldest first
    done: tuple[AskShown, ...] = ()  # oldest first
    n_more: int = 0  # calls beyond the bound


def in_order(calls: Iterable[Call]) -> tuple[tuple[Call, ...], int]:
    """The first `MAX_CALLS` of them by the rule, and how many there are more."""
    ordered = sorted(calls, key=lambda one: one.rank)
    return tuple(ordered[:MAX_CALLS]), max(0, len(ordered) - MAX_CALLS)


def benches_in_order(benches: Iterable[BenchCall]) -> tuple[BenchCall, ...]:
    """Those that nobody has attended to first, then the oldest."""
    return tuple(sorted(benches, key=lambda one: (one.attended, one.since_ns, one.bench)))
