"""Courses as curves: few enough points for a screen, broken at gaps, with an outline that stands out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from dashboard.class_known import BenchMark, clock_words
from dashboard.comparing.figure import COVERAGE_FACTOR
from dashboard.comparing.moments import Floats
from dashboard.comparing.series import Series
from dashboard.marks import DASHES
from dashboard.pictures.look import Look, Trace
from dashboard.pictures.marks import colour_of, mark_traces

COLUMNS = 500  # of a curve: a column is two px or so of a page
_MARKS_ALONG = 5
_PALE = ("orange", "sky blue", "yellow")  # below 3:1 on white: outlined in print too
_STEPS = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600)  # s, between ticks
_FURTHER_STEPS = (1, 2, 4, 5, 10, 15, 20, 30, 60, 120, 180, 300, 600, 1200, 2400, 3600)  # at most doubled
_TICKS = 7
_FEW = 0.04  # of the values may lie far off
_NEAR = 0.25  # of the span
_SHOWN_WHOLE = 2.0  # times the others' span: less is no reason to hide anything
_FAR_OFF = 0.5  # of the span of the others

Drawn = NDArray[np.float32]
"""Places on a picture: seven digits are more than a screen shows, and half as much to send."""


class Course(NamedTuple):
    """Least and greatest value in each column of time; NaN in all three breaks the curve."""

    seconds: Floats
    low: Floats
    high: Floats
    u: Floats  # largest standard uncertainty in the column, NaN unknown


def course_of(series: Series, n_columns: int = COLUMNS) -> Course:
    """A bench's readings, broken at its gaps."""
    at = np.flatnonzero(series.gap_after) + 1
    seconds = np.insert(series.seconds, at, (series.seconds[at - 1] + series.seconds[at]) / 2)
    values, u = np.insert(series.values, at, np.nan), np.insert(series.u, at, np.nan)
    return course_between(seconds, values, u, n_columns)


def course_between(
    seconds: Floats, values: Floats, u: Floats | None = None, n_columns: int = COLUMNS
) -> Course:
    """By columns of time; a value that is NaN breaks the curve."""
    u = np.full(len(values), np.nan) if u is None else u
    if not len(seconds):
        return Course(seconds, values, values, u)
    is_break = ~np.isfinite(values)
    width = (seconds[-1] - seconds[0]) / n_columns or 1.0
    column = np.floor((seconds - seconds[0]) / width).astype(np.int64)
    stretch = np.cumsum(is_break)
    begins = np.flatnonzero(
        np.concatenate([[True], (np.diff(column) != 0) | (np.diff(stretch) != 0) | is_break[:-1]])
    )
    low = np.minimum.reduceat(values, begins)
    high = np.maximum.reduceat(values, begins)
    most_u = np.fmax.reduceat(u, begins)
    ends = np.append(begins[1:], len(seconds)) - 1
    middle = (seconds[begins] + seconds[ends]) / 2
    return Course(middle, low, high, most_u)


def line_points(course: Course) -> tuple[Drawn, Drawn]:
    """One line through least and greatest value of each column; NaN breaks it."""
    twice = np.repeat(course.seconds, 2), np.column_stack([course.low, course.high]).ravel()
    needed = np.ones(len(twice[0]), np.bool_)
    needed[1::2] = course.high != course.low  # where both are one, one point is enough
    needed[1::2] &= np.isfinite(course.low)
    return twice[0][needed].astype(np.float32), twice[1][needed].astype(np.float32)


def shading(course: Course, look: Look, **more: Any) -> list[Trace]:
    """Where the true value lies with 95 % confidence, as far as the uncertainty is known."""
    x: list[Floats] = []
    y: list[Floats] = []
    known = np.isfinite(course.low) & np.isfinite(course.u)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], known.astype(np.int8), [0]])))
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        part = slice(begin, end)
        half = COVERAGE_FACTOR * course.u[part]
        t, up, down = course.seconds[part], course.high[part] + half, course.low[part] - half
        x += [t, t[::-1], np.array([np.nan])]
        y += [up, down[::-1], np.array([np.nan])]
    if not x:
        return []
    return [{
        "type": "scatter", "mode": "lines", "fill": "toself",
        "x": np.concatenate(x).astype(np.float32), "y": np.concatenate(y).astype(np.float32),
        "fillcolor": look.shade,
        "line": {"width": 0}, "hoverinfo": "skip", **more,
    }]  # fmt: skip


def marked_curve(
    course: Course,
    mark: BenchMark,
    look: Look,
    *,
    name: str,
    unit: str,
    place: int = 0,
    **more: Any,
) -> list[Trace]:
    """A curve in a bench's colour within an outline, with its mark along it; in print dashed by its place.

    Args:
        course: What to draw.
        mark: The bench's.
        look: For the outline.
        name: Told where a pointer meets it.
        unit: Told too.
        place: Which of the curves: marks of different ones stand at different times.
        more: Further keys of all traces, such as axes.
    """
    x, y = line_points(course)
    line: Trace = {"type": "scatter", "mode": "lines", "x": x, "y": y, "connectgaps": False, **more}
    said = f"{name}<br>%{{x:.1f}} s<br>%{{y:.4~g}} {unit}<extra></extra>"
    width, dash = look.curve_px, DASHES[place % len(DASHES)] if look.is_printed else "solid"
    outline = {"color": look.soft if look.is_printed else look.ink, "width": width + 1.0, "dash": dash}
    if look.is_printed and mark.colour not in _PALE:
        outline["width"] = 0
    traces: list[Trace] = [
        {**line, "line": outline, "hoverinfo": "skip"},
        {**line, "line": {"color": colour_of(mark), "width": width, "dash": dash}, "hovertemplate": said},
    ]
    at = _places(course, place)
    middles = (course.low[at] + course.high[at]) / 2
    return [*traces, *mark_traces(course.seconds[at].tolist(), middles.tolist(), mark, look, size=9, **more)]


def thin_curve(course: Course, look: Look, dash: str, **more: Any) -> Trace:
    """A curve that is no bench's of this class: the median, or another recording's."""
    x, y = line_points(course)
    return {
        "type": "scatter", "mode": "lines", "x": x, "y": y, "hoverinfo": "skip", "connectgaps": False,
        "line": {"color": look.line, "width": 1.4, "dash": dash}, **more,
    }  # fmt: skip


def _places(course: Course, place: int) -> list[int]:
    """Indices of columns at which a mark stands: evenly over time, each curve's a little later."""
    there = np.flatnonzero(np.isfinite(course.low))
    if not len(there):
        return []
    since, until = course.seconds[there[0]], course.seconds[there[-1]]
    step = (until - since) / _MARKS_ALONG
    wanted = since + (np.arange(_MARKS_ALONG) + (0.15 + 0.37 * place) % 1) * step
    nearest = there[np.minimum(np.searchsorted(course.seconds[there], wanted), len(there) - 1)]
    return sorted({int(one) for one in nearest})


def time_axis(since: float, until: float, kind: str, *, ticks: int = _TICKS, title: bool = True) -> Trace:
    """Keys of an axis over time: min:s from two minutes on."""
    span = max(until - since, 1e-9)
    step: float = next((one for one in _STEPS if span / one <= ticks), _STEPS[-1])
    if span < 2 * step:  # too few ticks
        step = next((one for one in _FURTHER_STEPS if span / one <= ticks), step)
    if span < 2 * step:  # within seconds
        step = span / 4
        values = [since + k * step for k in range(5)]
        texts = [f"{one:.3g}" for one in values]
    else:
        first = int(np.ceil(since / step))
        values = [float(k * step) for k in range(first, int(np.floor(until / step)) + 1)]
        texts = [clock_words(one) if span > 120 else f"{one:g}" for one in values]
    unit = "min:s" if span > 120 and span >= 2 * step else "s"
    what = "Session time" if kind == "instant" else f"Time since the {kind}"
    found: Trace = {"range": [since, until], "tickmode": "array", "tickvals": values, "ticktext": texts}
    return {**found, "title": f"{what}, {unit}"} if title else found


def value_range(*parts: Floats, levels: Sequence[float] = ()) -> tuple[float, float]:
    """The range of an axis: all values with some room, without few that lie far off.

    Values of `levels` are within it where they lie near: a limit far from all readings is not worth the room.

    Far off is beyond half of what 96 in 100 values span: a pin that swings for a minute must not press all
    courses into one line. `beyond` tells who is cut.
    """
    every = np.concatenate([part[np.isfinite(part)] for part in parts]) if parts else np.empty(0)
    if not len(every):
        return 0.0, 1.0
    bottom, top = np.quantile(every, [_FEW / 2, 1 - _FEW / 2])
    fence = _FAR_OFF * (top - bottom)
    near = every[(every >= bottom - fence) & (every <= top + fence)] if fence > 0 else every
    low, high = float(near.min()), float(near.max())
    if every.max() - every.min() <= _SHOWN_WHOLE * (high - low):
        low, high = float(every.min()), float(every.max())
    close = _NEAR * (high - low)
    shown = [one for one in levels if low - close <= one <= high + close]
    low, high = min([low, *shown]), max([high, *shown])
    room = 0.05 * (high - low) or 0.5
    return low - room, high + room


def beyond_words(courses: Mapping[str, Course], low: float, high: float) -> str:
    """Whose course leaves the axis, as a sentence; "" for none."""
    who = [
        name
        for name, one in courses.items()
        if np.nanmax(one.high, initial=low) > high or np.nanmin(one.low, initial=high) < low
    ]
    return f" Goes beyond the axis: {', '.join(who)}." if who else ""
