"""The event that each bench is compared from: found in its readings or set by hand."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from dashboard.comparing.changepoint import (
    FALSE_ALARM,
    Break,
    Departure,
    break_between,
    calmed,
    first_departure,
)
from dashboard.comparing.level import resolution
from dashboard.comparing.moments import Floats
from dashboard.comparing.series import Series

EventKind = Literal["onset", "release", "peak"]

METHOD = (
    "A change is one that a two-sided cumulative sum of the readings finds beyond chance: a false alarm in "
    f"{1 / FALSE_ALARM:.0f} courses of plain noise (Page 1954). The onset is where a constant goes over into "
    "a curve, the release where a line goes over into a curve back, by least squares over all places "
    "(Hinkley 1969). The peak is the middle of the readings that the noise can't tell from the greatest."
)
_RETURNED = 0.3  # of the rise: so far must the course come back before it is a release
_TURNED = 0.05  # of the rise: so far back, and beyond the noise, ends the search for its greatest value
_CALM = 0.02  # of the rise: below it, or within twice the noise, nothing has begun
_CLEAR = 10  # standard deviations of the noise: a rise above that shows each reading's place on it
_FEW = 4  # readings up to the half of the rise: with fewer the break may be an interval away
_TOP = 3  # standard deviations of the noise below the greatest value: the course itself may be there
_NEARLY = 0.8  # of the rise: from there on a line may lead up to the release
_HALF = 0.5  # of the rise: up to there the onset's curve is fitted


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """When it happened at a bench."""

    bench: int
    kind: EventKind
    seconds: float | None  # in the time of the series; None: not found
    u: float | None = None  # standard uncertainty, s; None: set by hand, or not found
    by: Literal["found", "hand", "none"] = "found"
    probability: float | None = None  # that chance alone looks like it
    words: str = ""


def event_by_hand(bench: int, kind: EventKind, seconds: float) -> Event:
    """Where a person set it."""
    return Event(bench=bench, kind=kind, seconds=seconds, by="hand", words="set by hand")


def find_event(series: Series, kind: EventKind, *, step: float | None = None) -> Event:
    """The first event of that kind, within one stretch without a gap.

    Args:
        series: The readings among which to look: cut to a time window where later events must not count.
        kind: The onset is the first lasting change; peak and release are those of the course that begins
            there. step: The resolution, in the unit of the series; None: found from the readings.
    """
    if step is None:
        step = resolution(series).value or 0.0
    words = "no change beyond the noise"
    for stretch in series.stretches:
        t, y = series.seconds[stretch], series.values[stretch]
        departure = first_departure(y, step=step)
        if departure is None:
            continue
        course = _Course(t, y, departure)
        if kind == "onset":
            return _onset(series.bench, course)
        if kind == "peak":
            return _peak(series.bench, course)
        return _release(series.bench, course)
    return Event(bench=series.bench, kind=kind, seconds=None, by="none", words=words)


class _Course:
    """A course that departed: where it was, its greatest value, turned so that it rises."""

    def __init__(self, seconds: Floats, values: Floats, departure: Departure) -> None:
        self.seconds, self.values, self.departure = seconds, values, departure
        self.risen = departure.sign * (calmed(values) - departure.before)
        self.top = self._top()
        self.rise = float(self.risen[self.top])

    def _top(self) -> int:
        """The greatest value before the course turns back."""
        begin = self.departure.certain_at
        after = self.risen[begin:]
        greatest = np.maximum.accumulate(after)
        turned = greatest - after > np.maximum(_TURNED * greatest, 6 * self.departure.sd)
        end = int(np.argmax(turned)) if turned.any() else len(after)
        return begin + int(np.argmax(after[: max(1, end)]))

    def first_at_or_above(self, part: float, begin: int) -> int:
        """The first reading from there on with so large a part of the rise."""
        return begin + int(np.argmax(self.risen[begin:] >= part * self.rise))

    def first_below(self, part: float, begin: int) -> int | None:
        """The first reading from there on with less than that part of the rise."""
        below = self.risen[begin:] < part * self.rise
        return begin + int(np.argmax(below)) if below.any() else None


def _onset(bench: int, course: _Course) -> Event:
    t, y = course.seconds, course.values
    left_at = course.departure.left_at
    half = max(course.first_at_or_above(_HALF, left_at), left_at + 1)
    calm = course.risen[:half] <= max(2 * course.departure.sd, _CALM * course.rise)
    last_before = int(np.flatnonzero(calm)[-1]) if calm.any() else 0
    if last_before > left_at and course.rise < _CLEAR * course.departure.sd:
        last_before = left_at  # the noise reaches far up the slope
    n_after = half - last_before
    begin = max(0, last_before - max(10, 3 * n_after))
    found = None
    if n_after >= 2:
        found = break_between(
            t[begin : half + 1], y[begin : half + 1], left_degree=0, right_degree=2 if n_after >= _FEW else 1
        )
    return _event(bench, "onset", course, found, last_before=last_before, begin=begin, end=half)


def _release(bench: int, course: _Course) -> Event:
    t, y, top = course.seconds, course.values, course.top
    back = course.first_below(1 - _RETURNED, top)
    if back is None:
        return Event(bench=bench, kind="release", seconds=None, by="none",
                     words=f"the course never came back by {_RETURNED:.0%} of its rise")  # fmt: skip
    # The last reading near the top before the way back begins: the top itself may lie far before it.
    turn = top + int(
        np.flatnonzero(
            course.risen[top:back] >= course.rise - max(2 * course.departure.sd, 0.02 * course.rise)
        )[-1]
    )
    n_back = back - turn
    begin = max(course.first_at_or_above(_NEARLY, course.departure.left_at), turn - max(10, n_back))
    found = None
    if n_back >= 2:
        found = break_between(
            t[begin : back + 1], y[begin : back + 1], left_degree=1, right_degree=2 if n_back >= _FEW else 1
        )
    return _event(bench, "release", course, found, last_before=turn, begin=begin, end=back)


def _event(
    bench: int,
    kind: EventKind,
    course: _Course,
    found: Break | None,
    *,
    last_before: int,
    begin: int,
    end: int,
) -> Event:
    """The place of the fit where it is a break; else between the last reading before and the first after."""
    t, first_after = course.seconds, last_before + 1
    between = float(t[first_after] - t[last_before])
    words = "changes from the first reading on" if kind == "onset" and last_before == 0 else ""
    if found is not None and found.probability < FALSE_ALARM and t[begin] < found.seconds < t[end]:
        return Event(
            bench=bench,
            kind=kind,
            seconds=found.seconds,
            u=found.u if end - last_before >= _FEW else max(found.u, between / math.sqrt(3)),
            probability=found.probability,
            words=words,
        )
    return Event(
        bench=bench,
        kind=kind,
        seconds=float(t[first_after] + t[last_before]) / 2,
        u=between / math.sqrt(12),
        probability=FALSE_ALARM,
        words=words or "between two readings: too sudden for a fit",
    )


def _peak(bench: int, course: _Course) -> Event:
    t, top = course.seconds, course.top
    if top == len(t) - 1:
        return Event(
            bench=bench, kind="peak", seconds=None, by="none", words="still going on at the last reading"
        )
    near = course.risen >= course.rise - _TOP * course.departure.sd
    far_before, far_after = np.flatnonzero(~near[:top]), np.flatnonzero(~near[top:])
    first = int(far_before[-1]) + 1 if len(far_before) else 0
    last = top + int(far_after[0]) - 1 if len(far_after) else len(t) - 1
    interval = float(np.median(np.diff(t)))
    u = math.hypot(float(t[last] - t[first]), interval) / math.sqrt(12)
    return Event(
        bench=bench, kind="peak", seconds=float(t[first] + t[last]) / 2, u=u, probability=FALSE_ALARM
    )
