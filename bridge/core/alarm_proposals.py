"""What would calm a chattering alarm: found by replaying the alarm over the recorded signal.

'With a deadband of 0.4 °C this alarm would have come 2 times instead of 37.'
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Literal, NamedTuple

from bridge.core.alarm_figures import CHATTERING_RISES, most_in_a_minute
from bridge.core.alarm_given import AlarmGiven
from bridge.core.readings import AlarmChange
from bridge.core.watch import ChannelWatch

Change = Literal["deadband", "on_delay_seconds", "off_delay_seconds"]

ROUND_STEPS = (1, 2, 3, 4, 5, 6, 8)  # of a power of ten: what a person would write
DELAYS_SECONDS = (1.0, 2.0, 3.0, 5.0, 10.0, 15.0, 20.0, 30.0, 60.0)
MAX_DEADBAND_STEPS = 24  # that many round steps are tried: over three powers of ten


class Proposal(NamedTuple):
    """One change that would have calmed the alarm."""

    changes: Change
    value: float  # in the unit of the deadband, or seconds
    n_before: int  # how often the alarm came
    n_after: int
    most_in_a_minute: int  # with the change
    first_later_seconds: float  # how much later its first call would have come

    def words(self, unit: str) -> str:
        """The proposal as one says it.

        Args:
            unit: Of the deadband.
        """
        what = {
            "deadband": f"a deadband of {self.value:g} {unit}".rstrip(),
            "on_delay_seconds": f"an on-delay of {self.value:g} s",
            "off_delay_seconds": f"an off-delay of {self.value:g} s",
        }[self.changes]
        times = "once" if self.n_after == 1 else f"{self.n_after} times" if self.n_after else "never"
        later = ""
        if self.n_after and self.first_later_seconds >= 0.5:
            later = f", the first time {self.first_later_seconds:.0f} s later"
        return f"with {what} this alarm would have come {times} instead of {self.n_before}{later}"

    def applied(self, given: AlarmGiven) -> AlarmGiven:
        """The alarm with the change taken over."""
        if self.changes == "deadband":
            return replace(given, deadband=self.value)
        if self.changes == "on_delay_seconds":
            return replace(given, on_delay_seconds=self.value)
        return replace(given, off_delay_seconds=self.value)


def rises_over(
    given: AlarmGiven, times_ns: Sequence[int], values: Sequence[float | None], *, end_ns: int | None = None
) -> list[int]:
    """When the alarm would have risen over a recorded signal: the same machine that ran live.

    Args:
        given: The alarm; of a deviation the values are those less the class median.
        times_ns: Rising.
        values: The channel's readings, None where one is missing or not to be trusted.
        end_ns: How far the time goes; None: to the last reading.
    """
    if given.kind == "deviation":
        given = replace(given, kind="high", name=given.key)
        values = [None if one is None else _sided(one, given.side) for one in values]
    watch = ChannelWatch(0, "", bands=None, baseline=None, limits=(given,))
    found = []
    for at_ns, value in zip(times_ns, values, strict=True):
        if value is None:
            found += watch.miss(at_ns)
        elif watch.low <= value < watch.high:
            if watch.hears_all or watch.due_ns <= at_ns:
                found += watch.hear(value, at_ns)
        else:
            found += watch.take(value, at_ns)
    if times_ns:
        found += watch.tick(end_ns if end_ns is not None else times_ns[-1])
    return [one.at_ns for one in found if isinstance(one, AlarmChange) and one.event == "rise"]


def proposals_for(
    given: AlarmGiven,
    times_ns: Sequence[int],
    values: Sequence[float | None],
    *,
    decimals: int = 1,
    at_most: int | None = None,
) -> tuple[Proposal, ...]:
    """The smallest deadband, on-delay and off-delay, each by itself, that would have calmed the alarm.

    An alarm is calm when it does not rise three times within a minute and, where that is asked for, rises no
    oftener than stated. A deadband or an off-delay never makes the first call later; an on-delay does, and it
    may drop a short one: it comes last, and not at all where it would have silenced the alarm.

    Args:
        given: The alarm as it is.
        times_ns: Rising, of the recorded readings.
        values: The readings, None where one is missing; of a deviation less the class median.
        decimals: How fine a deadband is: its smallest step is 1 of that decimal.
        at_most: How often it may rise in all; None: as often as it does without chattering.

    Returns:
        In that order; none where the alarm is calm already, or nothing calms it.
    """
    before = rises_over(given, times_ns, values)
    if _is_calm(before, at_most):
        return ()
    candidates: list[tuple[Change, Iterator[AlarmGiven]]] = [
        ("deadband", _wider(given, decimals)),
        ("off_delay_seconds", (replace(given, off_delay_seconds=s) for s in DELAYS_SECONDS
                               if s > given.off_delay_seconds)),
        ("on_delay_seconds", (replace(given, on_delay_seconds=s) for s in DELAYS_SECONDS
                              if s > given.on_delay_seconds)),
    ]  # fmt: skip
    found = []
    for changes, alarms in candidates:
        for alarm in alarms:
            after = rises_over(alarm, times_ns, values)
            if _is_calm(after, at_most):
                if after:
                    later = (after[0] - before[0]) / 1e9
                    value = float(getattr(alarm, changes))
                    most = most_in_a_minute(after)
                    found.append(Proposal(changes, value, len(before), len(after), most, later))
                break
    return tuple(found)


def round_steps(least: float, n: int) -> list[float]:
    """Numbers as a person writes them, from the least power of ten on: 0.1, 0.2 ... 0.8, 1, 2 ..."""
    power = math.floor(math.log10(least) + 1e-9)
    numbers = (float(Decimal(k).scaleb(power + p)) for p in itertools.count() for k in ROUND_STEPS)
    return list(itertools.islice((one for one in numbers if one >= least), n))


def _wider(given: AlarmGiven, decimals: int) -> Iterator[AlarmGiven]:
    if given.kind in ("stale", "bad quality", "finding"):
        return  # these have no deadband
    for width in round_steps(10.0**-decimals, MAX_DEADBAND_STEPS):
        if width > given.deadband and (given.kind not in ("deviation", "rate of change") or width < given.at):
            yield replace(given, deadband=width)


def _is_calm(rises: Sequence[int], at_most: int | None) -> bool:
    return most_in_a_minute(rises) < CHATTERING_RISES and (at_most is None or len(rises) <= at_most)


def _sided(difference: float, side: str) -> float:
    return abs(difference) if side == "either" else difference if side == "above" else -difference
