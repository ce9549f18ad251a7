"""All benches' courses over each other, and each one's difference to the class."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from dashboard.class_known import BenchMark
from dashboard.comparing import Comparison
from dashboard.pictures.curves import (
    Course,
    beyond_words,
    course_between,
    course_of,
    line_points,
    marked_curve,
    shading,
    time_axis,
    value_range,
)
from dashboard.pictures.key import CURVES_UP_TO, key_traces, paper_axes
from dashboard.pictures.look import LIGHT, Figure, Look, Trace, axis, empty, figure_of, plain
from dashboard.pictures.marks import NO_MARK

HEIGHT = 480
_AROUND_PX = 96  # margins above and below


def overlay(
    comparison: Comparison,
    looks: Mapping[int, BenchMark],
    look: Look = LIGHT,
    *,
    ghost: Comparison | None = None,
) -> Figure:
    """The courses over each other, shaded where the true value lies with 95 % confidence.

    Args:
        comparison: Its benches are drawn in their own time.
        looks: Their marks.
        look: Colours and type.
        ghost: Another recording, compared the same way: dotted, below the others.
    """
    title = f"{comparison.choices.channel} of all benches"
    courses = {one.bench: course_of(one.series) for one in comparison.benches}
    if not courses:
        return empty(look, title=title, words="No bench has readings to show.")
    shadows = [] if ghost is None else [course_of(one.series) for one in ghost.benches]
    traces: list[Trace] = [_ghost(course, look) for course in shadows]
    for course in courses.values():
        traces += shading(course, look)
    events = _events_words(comparison)
    words = (
        f"Each bench's {comparison.choices.channel} over time, its mark along the curve and beside its name; "
        "shaded where the true value lies with 95 % confidence. A gap breaks a curve."
        f"{' Dotted: the other recording.' if ghost is not None else ''}{events}"
    )
    return _curves(comparison, courses, looks, look, traces, shadows, title, words, zero=False)


def difference(comparison: Comparison, looks: Mapping[int, BenchMark], look: Look = LIGHT) -> Figure:
    """Each bench's value less the class median of the same time."""
    title = f"{comparison.choices.channel}: difference to the class median"
    grid = comparison.grid
    if grid is None or not np.isfinite(grid.class_median).any():
        return empty(look, title=title, words="Fewer than three benches have a value at the same time.")
    less = grid.differences
    courses = {
        bench: course_between(grid.seconds, less[:, i], grid.u[:, i]) for i, bench in enumerate(grid.benches)
    }
    traces: list[Trace] = []
    for course in courses.values():
        traces += shading(course, look)
    words = (
        "How far each bench lies above or below the median of the class at the same time; shaded by its own "
        "uncertainty with 95 % confidence."
    )
    return _curves(comparison, courses, looks, look, traces, [], title, words, zero=True)


def _curves(
    comparison: Comparison,
    courses: Mapping[int, Course],
    looks: Mapping[int, BenchMark],
    look: Look,
    below: list[Trace],
    shadows: list[Course],
    title: str,
    words: str,
    *,
    zero: bool,
) -> Figure:
    names = comparison.marked_names
    unit, kind = comparison.unit, comparison.choices.alignment.kind
    every = [*courses.values(), *shadows]
    since = min(float(one.seconds[0]) for one in every if len(one.seconds))
    until = max(float(one.seconds[-1]) for one in every if len(one.seconds))
    low, high = value_range(*(part for one in every for part in (one.low, one.high)))
    words += beyond_words({names[bench]: one for bench, one in courses.items()}, low, high)
    traces = list(below)
    ends: dict[int, float] = {}
    for place, (bench, course) in enumerate(courses.items()):
        there = np.flatnonzero(np.isfinite(course.high))
        if not len(there):
            continue
        ends[bench] = float(course.high[there[-1]])
        traces += marked_curve(
            course, looks.get(bench, NO_MARK), look, name=plain(names[bench]), unit=plain(unit), place=place
        )
    traces += key_traces(ends, names, looks, look, low=low, high=high, plot_px=HEIGHT - _AROUND_PX)
    upright = plain(
        f"Difference{f', {unit}' if unit else ''}"
        if zero
        else f"{comparison.choices.channel}{f', {unit}' if unit else ''}"
    )
    shapes = []
    if zero:
        shapes.append(_across(0.0, since, until, look))
    if kind != "instant" and since < 0 < until:
        shapes.append(
            {
                "type": "line",
                "xref": "x",
                "yref": "paper",
                "x0": 0,
                "x1": 0,
                "y0": 0,
                "y1": 1,
                "layer": "below",
                "line": {"color": look.soft, "width": 1.5, "dash": "dash"},
            }
        )
    return figure_of(
        traces,
        look,
        title=title,
        words=words,
        height=HEIGHT,
        shapes=shapes,
        xaxis=axis(look, **time_axis(since, until, kind), domain=[0, CURVES_UP_TO - 0.01], showgrid=False),
        yaxis=axis(look, upright, range=[low, high]),
        **paper_axes(),
    )


def _across(at: float, since: float, until: float, look: Look) -> Trace:
    return {
        "type": "line",
        "xref": "x",
        "yref": "y",
        "x0": since,
        "x1": until,
        "y0": at,
        "y1": at,
        "layer": "below",
        "line": {"color": look.soft, "width": 1.5},
    }


def _ghost(course: Course, look: Look) -> Trace:
    x, y = line_points(course)
    return {
        "type": "scatter",
        "mode": "lines",
        "x": x,
        "y": y,
        "hoverinfo": "skip",
        "connectgaps": False,
        "line": {"color": look.line, "width": 1.5, "dash": "dot"},
    }


def _events_words(comparison: Comparison) -> str:
    kind = comparison.choices.alignment.kind
    return "" if kind == "instant" else f" Time is counted from the {kind} at each bench: the dashed line."
