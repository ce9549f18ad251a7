"""The figures that alarm practice asks of a session's journal.

Source of the figures and targets: ANSI/ISA-18.2-2009, clause 16, and IEC 62682, for one operator of a plant;
for a class they are a guide.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Literal, NamedTuple

from bridge.core.alarm_flood import FLOOD_STARTS_ABOVE, FloodWatch, is_call
from bridge.core.readings import AlarmChange, AlarmState

PERIOD_SECONDS = 600.0
ACCEPTABLE_PER_PERIOD = 1.0  # on average; "likely to be acceptable"
MANAGEABLE_PER_PERIOD = 2.0  # "maximum manageable"
MAX_SHARE_OF_BUSY_PERIODS = 0.01  # with more than ten alarms
MAX_SHARE_IN_FLOOD = 0.01
MAX_SHARE_OF_TEN_MOST_FREQUENT = 0.05
N_MOST_FREQUENT = 10
CHATTERING_RISES = 3  # or more of one alarm ...
CHATTERING_SECONDS = 60.0  # ... within one minute

Load = Literal["acceptable", "manageable", "too many"]


class AlarmName(NamedTuple):
    """Names one alarm of the class."""

    bench: int
    channel: str
    limit: str


class Frequent(NamedTuple):
    """How often one alarm called."""

    alarm: AlarmName
    n_calls: int
    share: float  # of all calls


class Chattering(NamedTuple):
    """An alarm that came and went too often to tell anything."""

    alarm: AlarmName
    n_rises: int  # in the session
    most_in_a_minute: int


class Standing(NamedTuple):
    """An alarm whose condition is present at the end."""

    alarm: AlarmName
    state: AlarmState
    since_ns: int  # of its rise
    seconds: float


class AlarmFigures(NamedTuple):
    """Figures of a stretch of a session."""

    seconds: float
    n_calls: int  # how often an alarm called for a person
    calls_per_period: float  # per 10 minutes, on average
    load: Load
    periods: tuple[int, ...]  # calls in each 10 minutes from the start; the last one may be shorter
    share_of_busy_periods: float  # with more than ten
    share_in_flood: float  # of the time
    standing: tuple[Standing, ...]  # the oldest first
    n_unacknowledged: int  # at the end, nobody has seen them yet
    most_frequent: tuple[Frequent, ...]  # the ten
    share_of_most_frequent: float
    chattering: tuple[Chattering, ...]  # the worst first
    priorities: Mapping[str, float]  # share of the calls, where priorities were given


def name_of(change: AlarmChange) -> AlarmName:
    """Which alarm the change is of."""
    return AlarmName(change.bench, change.channel, change.limit)


def figures_of(
    journal: Iterable[AlarmChange],
    *,
    start_ns: int,
    end_ns: int,
    priority_of: Mapping[AlarmName, str] | None = None,
) -> AlarmFigures:
    """The figures of what was written between two instants.

    Args:
        journal: Every transition, in any order; those before the start tell what stood at the start.
        start_ns: Session time.
        end_ns: After the start; what was written at it or later does not count.
        priority_of: The alarms' priorities, where they are known.

    Raises:
        ValueError: The end is not after the start.
    """
    if end_ns <= start_ns:
        raise ValueError(f"the end must be after the start, found {start_ns} to {end_ns}")
    written = sorted((one for one in journal if one.at_ns < end_ns), key=lambda one: one.at_ns)
    recent = [one for one in written if one.at_ns >= start_ns]
    calls = [one for one in recent if is_call(one)]
    seconds = (end_ns - start_ns) / 1e9
    per_period = len(calls) * PERIOD_SECONDS / seconds
    periods = _periods(calls, start_ns, end_ns)
    frequent = _most_frequent(calls)
    standing, n_unacknowledged = _at_the_end(written, end_ns)
    return AlarmFigures(
        seconds=seconds,
        n_calls=len(calls),
        calls_per_period=per_period,
        load=load_of(per_period),
        periods=periods,
        share_of_busy_periods=sum(n > FLOOD_STARTS_ABOVE for n in periods) / len(periods),
        share_in_flood=_seconds_in_flood(written, start_ns, end_ns) / seconds,
        standing=standing,
        n_unacknowledged=n_unacknowledged,
        most_frequent=frequent,
        share_of_most_frequent=sum(one.n_calls for one in frequent) / len(calls) if calls else 0.0,
        chattering=chattering_of(recent),
        priorities=_priorities(calls, priority_of or {}),
    )


def load_of(calls_per_period: float) -> Load:
    """What so many alarms per 10 minutes mean for one person."""
    if calls_per_period <= ACCEPTABLE_PER_PERIOD:
        return "acceptable"
    return "manageable" if calls_per_period <= MANAGEABLE_PER_PERIOD else "too many"


def chattering_of(changes: Iterable[AlarmChange]) -> tuple[Chattering, ...]:
    """The alarms that rose three times or more within a minute, the worst first."""
    rises: dict[AlarmName, list[int]] = defaultdict(list)
    for change in changes:
        if change.event == "rise":
            rises[name_of(change)].append(change.at_ns)
    found = [Chattering(alarm, len(times), most_in_a_minute(times)) for alarm, times in rises.items()]
    chattering = [one for one in found if one.most_in_a_minute >= CHATTERING_RISES]
    return tuple(sorted(chattering, key=lambda one: (-one.n_rises, one.alarm)))


def most_in_a_minute(times_ns: Sequence[int]) -> int:
    """How many of the rises lie within one minute, where most do; times in any order."""
    times, start, most = sorted(times_ns), 0, 0
    for i, at_ns in enumerate(times):
        while at_ns - times[start] > CHATTERING_SECONDS * 1e9:
            start += 1
        most = max(most, i + 1 - start)
    return most


def _periods(calls: Sequence[AlarmChange], start_ns: int, end_ns: int) -> tuple[int, ...]:
    period_ns = round(PERIOD_SECONDS * 1e9)
    counts = Counter((one.at_ns - start_ns) // period_ns for one in calls)
    return tuple(counts[k] for k in range(-(-(end_ns - start_ns) // period_ns)))


def _most_frequent(calls: Sequence[AlarmChange]) -> tuple[Frequent, ...]:
    counts = Counter(name_of(one) for one in calls)
    most = sorted(counts.items(), key=lambda one: (-one[1], one[0]))[:N_MOST_FREQUENT]
    return tuple(Frequent(alarm, n, n / len(calls)) for alarm, n in most)


def _at_the_end(written: Sequence[AlarmChange], end_ns: int) -> tuple[tuple[Standing, ...], int]:
    """The alarms that are active and not set aside, and how many nobody has seen."""
    states: dict[AlarmName, AlarmState] = {}
    risen: dict[AlarmName, int] = {}
    for change in written:
        name = name_of(change)
        states[name] = change.state
        if change.event == "rise":
            risen[name] = change.at_ns
    standing = [
        Standing(name, state, risen.get(name, 0), (end_ns - risen.get(name, 0)) / 1e9)
        for name, state in states.items()
        if state in ("unacknowledged", "acknowledged")
    ]
    n_unseen = sum(state.endswith("unacknowledged") for state in states.values())
    return tuple(sorted(standing, key=lambda one: (one.since_ns, one.alarm))), n_unseen


def _seconds_in_flood(written: Sequence[AlarmChange], start_ns: int, end_ns: int) -> float:
    flood = FloodWatch()
    for change in written:
        flood.take(change)
    changes = flood.advance(end_ns)
    ends = [one.at_ns for one in changes if one.event == "ends"]
    begins = [one.at_ns for one in changes if one.event == "begins"]
    if flood.is_on:
        ends.append(end_ns)
    spans = zip(begins, ends, strict=True)
    return sum(max(0, min(end, end_ns) - max(begin, start_ns)) for begin, end in spans) / 1e9


def _priorities(calls: Sequence[AlarmChange], priority_of: Mapping[AlarmName, str]) -> dict[str, float]:
    known = Counter(priority_of[name] for one in calls if (name := name_of(one)) in priority_of)
    return {priority: n / known.total() for priority, n in known.items()}
