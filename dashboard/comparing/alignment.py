"""The benches' readings on one time grid: of the same instant, or since the same event at each bench."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from dashboard.comparing.events import Event, EventKind, event_by_hand, find_event
from dashboard.comparing.moments import Floats
from dashboard.comparing.series import Series

Interpolation = Literal["linear", "previous"]
AlignmentKind = Literal["instant", "onset", "release", "peak"]

MOST_TIMES = 20_000  # of a grid: two hours at three a second
_SLOPE_OVER = 5  # grid steps to either side, so that noise makes no slope
_LEAST_FOR_MEDIAN = 3  # benches that a class needs at a time


@dataclass(frozen=True, slots=True, kw_only=True)
class Alignment:
    """How the benches' times are laid over each other.

    Attributes:
        kind: The same instant, or the same kind of event.
        by_hand: For benches whose event a person set: its time in session seconds.
        from_seconds: Events are looked for from here on, in session seconds; None: from the first reading on.
        to_seconds: Up to here; None: up to the last.
        interpolation: Straight lines between readings, or the previous reading's value.
    """

    kind: AlignmentKind = "instant"
    by_hand: Mapping[int, float] | None = None
    from_seconds: float | None = None
    to_seconds: float | None = None
    interpolation: Interpolation = "linear"


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """Values of all benches at the same times; NaN where a bench has none: in a gap, before, after."""

    seconds: Floats  # shape (n,), in even steps
    benches: tuple[int, ...]
    values: Floats  # shape (n, benches), in `unit`
    u: Floats  # standard uncertainties, NaN unknown
    unit: str
    interpolation: Interpolation

    @property
    def class_median(self) -> Floats:
        """The median over benches at each time, shape (n,); NaN where fewer than three have a value."""
        enough = np.isfinite(self.values).sum(axis=1) >= _LEAST_FOR_MEDIAN
        median = np.full(len(self.seconds), np.nan)
        median[enough] = np.nanmedian(self.values[enough], axis=1)
        return median

    @property
    def differences(self) -> Floats:
        """Each bench's value less the class median, shape (n, benches)."""
        less: Floats = self.values - self.class_median[:, None]
        return less


def aligned(
    series: Mapping[int, Series], alignment: Alignment, *, steps: Mapping[int, float] | None = None
) -> tuple[dict[int, Series], dict[int, Event]]:
    """The readings in the time since the event, and the events; at the same instant, as they are and none.

    A bench without an event is in the second only.

    Args:
        series: By bench.
        alignment: Which event, and where it was set by hand.
        steps: The resolution of each bench, where known; else it is found from the readings.
    """
    if alignment.kind == "instant":
        return dict(series), {}
    events = {
        bench: _event(one, alignment.kind, alignment, (steps or {}).get(bench))
        for bench, one in series.items()
    }
    shifted = {
        bench: one.shifted(events[bench].seconds or 0.0)
        for bench, one in series.items()
        if events[bench].seconds is not None
    }
    return shifted, events


def found_instead(series: Mapping[int, Series], alignment: Alignment) -> dict[int, Event]:
    """What is found in the readings of those benches whose event a person set."""
    kind, by_hand = alignment.kind, alignment.by_hand or {}
    if kind == "instant":
        return {}
    return {bench: _found(one, kind, alignment, None) for bench, one in series.items() if bench in by_hand}


def _event(series: Series, kind: EventKind, alignment: Alignment, step: float | None) -> Event:
    by_hand = (alignment.by_hand or {}).get(series.bench)
    if by_hand is not None:
        return event_by_hand(series.bench, kind, by_hand)
    return _found(series, kind, alignment, step)


def _found(series: Series, kind: EventKind, alignment: Alignment, step: float | None) -> Event:
    since = -math.inf if alignment.from_seconds is None else alignment.from_seconds
    until = math.inf if alignment.to_seconds is None else alignment.to_seconds
    return find_event(series.within(since, until), kind, step=step)


def values_at(
    series: Series, seconds: Floats, interpolation: Interpolation = "linear"
) -> tuple[Floats, Floats]:
    """A bench's values and standard uncertainties at given times.

    NaN in a gap, before the first reading and after the last.

    Straight lines mix the two readings' uncertainties in the same parts as their values, as if their errors
    were common: an error of calibration is, and noise is then overstated, never understated.

    Args:
        series: One bench's readings, at least one.
        seconds: Any times.
        interpolation: "linear", or "previous": the newest reading at or before the time.
    """
    n = len(series)
    before = np.searchsorted(series.seconds, seconds, side="right") - 1
    inside = (before >= 0) & (seconds <= series.seconds[-1])
    i = np.clip(before, 0, n - 1)
    j = np.minimum(i + 1, n - 1)
    span = series.seconds[j] - series.seconds[i]
    part = np.divide(seconds - series.seconds[i], span, out=np.zeros(len(seconds)), where=span > 0)
    if n > 1:
        in_gap = series.gap_after[np.minimum(i, n - 2)] & (part > 0) & (i < n - 1)
        inside &= ~in_gap
    part = np.where(inside, part, 0.0)
    if interpolation == "previous":
        part = np.zeros_like(part)
    values = series.values[i] * (1 - part) + series.values[j] * part
    u = series.u[i] * (1 - part) + np.where(part > 0, series.u[j], 0.0) * part
    return np.where(inside, values, np.nan), np.where(inside, u, np.nan)


def grid_of(
    series: Mapping[int, Series],
    *,
    step: float | None = None,
    interpolation: Interpolation = "linear",
    from_seconds: float | None = None,
    to_seconds: float | None = None,
    u_zero: Mapping[int, float] | None = None,
) -> Grid:
    """Every bench at the same times, in even steps that fall on whole multiples of the step.

    Args:
        series: In one unit; benches without a reading are left out.
        step: In s. None: the longest usual interval among the benches, so that the grid invents nothing.
        interpolation: See `values_at`.
        from_seconds: Begin. None: the earliest reading of any bench.
        to_seconds: End. None: the latest.
        u_zero: The standard uncertainty of each bench's time zero, in s: with the course's slope it makes an
            uncertainty of the value.

    Raises:
        ValueError: No bench has two readings, or the units differ.
    """
    kept = {bench: one for bench, one in series.items() if len(one) > 1}
    if not kept:
        raise ValueError("no bench has two readings")
    units = {one.unit for one in kept.values()}
    if len(units) > 1:
        raise ValueError(f"several units: {', '.join(sorted(units))}")
    begin = min(float(one.seconds[0]) for one in kept.values()) if from_seconds is None else from_seconds
    end = max(float(one.seconds[-1]) for one in kept.values()) if to_seconds is None else to_seconds
    usual = max(one.usual_interval for one in kept.values() if one.usual_interval > 0)
    every = max(usual if step is None else step, (end - begin) / MOST_TIMES)
    times: Floats = np.arange(math.ceil(begin / every), math.floor(end / every) + 1, dtype=np.float64) * every
    columns = [values_at(one, times, interpolation) for one in kept.values()]
    values = np.column_stack([value for value, _ in columns])
    u = np.column_stack([one for _, one in columns])
    zero = np.array([(u_zero or {}).get(bench, 0.0) for bench in kept])
    if zero.any() and len(times) > 1:
        u = np.hypot(u, zero * np.abs(_slopes(values, every)))
    return Grid(times, tuple(kept), values, u, units.pop(), interpolation)


def _slopes(values: Floats, every: float) -> Floats:
    """Per second, over a few steps to either side; 0 where these are not known."""
    n = len(values)
    i = np.arange(n)
    after, before = np.minimum(i + _SLOPE_OVER, n - 1), np.maximum(i - _SLOPE_OVER, 0)
    slopes = (values[after] - values[before]) / ((after - before) * every)[:, None]
    return np.nan_to_num(slopes)


def cut_to(
    series: Mapping[int, Series], from_seconds: float | None, to_seconds: float | None
) -> dict[int, Series]:
    """The readings within a time window, in the series' own time."""
    since = -math.inf if from_seconds is None else from_seconds
    until = math.inf if to_seconds is None else to_seconds
    return {bench: one.within(since, until) for bench, one in series.items()}
