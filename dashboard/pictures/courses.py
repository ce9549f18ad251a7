"""All benches' courses over each other, and each one's difference to the class."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from dashboard.class_known import BenchMark
from dashboard.comparing import Comparison
from dashboard.pictures.curves import (
    Course,
    beyond_words,
    course_between,
    course_of,
    marked_curve,
    shading,
    thin_curve,
    time_axis,
    value_range,
)
from dashboard.pictures.key import CURVES_UP_TO, key_traces, paper_axes, plot_height
from dashboard.pictures.look import LIGHT, Figure, Look, Trace, axis, empty, figure_of, plain
from dashboard.pictures.marked import NOTHING_MARKED, Marked, marked_shapes
from dashboard.pictures.marks import NO_MARK

_HEIGHT = 480
_AROUND_PX = 96  # margins above and below
_PLOT_PX = 500.0  # about as wide as the curves' part is


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Plot:
    """What stands in one plot."""

    courses: Mapping[int, Course]  # by bench
    below: list[Trace]  # drawn first
    shadows: list[Course]  # of another recording: they count for the axes
    title: str
    words: str
    upright: str  # the value axis's title
    marked: Marked = NOTHING_MARKED
    has_zero: bool = False


def overlay(
    comparison: Comparison,
    looks: Mapping[int, BenchMark],
    look: Look = LIGHT,
    *,
    ghost: Comparison | None = None,
    marked: Marked = NOTHING_MARKED,
) -> Figure:
    """The courses over each other, shaded where the true value lies with 95 % confidence.

    A bench alone has the class median behind it.

    Args:
        comparison: Its benches are drawn in their own time.
        looks: Their marks.
        look: Colours and type.
        ghost: Another recording, compared the same way: dotted, below the others.
        marked: Phases, instants, limits.
    """
    channel, unit = comparison.choices.channel, comparison.unit
    courses = {one.bench: course_of(one.series) for one in comparison.benches}
    is_alone = len(courses) == 1
    title = f"{channel} of all benches" if not is_alone else f"{channel} of {comparison.benches[0].name}"
    if not courses:
        return empty(look, title=title, words="No bench has readings to show.")
    shadows = [] if ghost is None else [course_of(one.series) for one in ghost.benches]
    below: list[Trace] = [thin_curve(course, look, "dot") for course in shadows]
    median = _median(comparison) if is_alone else None
    if median is not None:
        below.append(thin_curve(median, look, "solid"))
    for course in courses.values():
        below += shading(course, look)
    whose = "The bench's" if is_alone else "Each bench's"
    words = (
        f"{whose} {channel} over time, its mark along the curve and beside its name; "
        "shaded where the true value lies with 95 % confidence. A gap breaks a curve."
        f"{' Thin line: the class median.' if median is not None else ''}"
        f"{' Dotted: the other recording.' if ghost is not None else ''}{_events_words(comparison)}"
    )
    upright = plain(f"{channel}{f', {unit}' if unit else ''}")
    plot = _Plot(
        courses=courses,
        below=below,
        shadows=shadows,
        title=title,
        words=words,
        upright=upright,
        marked=marked,
    )
    return _figure(comparison, plot, looks, look)


def difference(
    comparison: Comparison,
    looks: Mapping[int, BenchMark],
    look: Look = LIGHT,
    *,
    marked: Marked = NOTHING_MARKED,
) -> Figure:
    """Each bench's value less the class median of the same time; of the benches that the comparison shows.

    Args:
        comparison: Its grid has the values at the same times.
        looks: The benches' marks.
        look: Colours and type.
        marked: Phases and instants; limits have no place in a difference.
    """
    title = f"{comparison.choices.channel}: difference to the class median"
    grid = comparison.grid
    if grid is None or not np.isfinite(grid.class_median).any():
        return empty(look, title=title, words="Fewer than three benches have a value at the same time.")
    less, shown = grid.differences, {one.bench for one in comparison.benches}
    courses = {
        bench: course_between(grid.seconds, less[:, i], grid.u[:, i])
        for i, bench in enumerate(grid.benches)
        if bench in shown
    }
    below: list[Trace] = []
    for course in courses.values():
        below += shading(course, look)
    words = (
        "How far each bench lies above or below the median of the class at the same time; shaded by its own "
        "uncertainty with 95 % confidence."
    )
    upright = plain(f"Difference{f', {comparison.unit}' if comparison.unit else ''}")
    plot = _Plot(
        courses=courses,
        below=below,
        shadows=[],
        title=title,
        words=words,
        upright=upright,
        marked=replace(marked, levels=()),
        has_zero=True,
    )
    return _figure(comparison, plot, looks, look)


def _figure(comparison: Comparison, plot: _Plot, looks: Mapping[int, BenchMark], look: Look) -> Figure:
    names = comparison.marked_names
    kind = comparison.choices.alignment.kind
    every = [*plot.courses.values(), *plot.shadows]
    since = min((float(one.seconds[0]) for one in every if len(one.seconds)), default=0.0)
    until = max((float(one.seconds[-1]) for one in every if len(one.seconds)), default=1.0)
    low, high = value_range(
        *(part for one in every for part in (one.low, one.high)), levels=plot.marked.values
    )
    ends = {bench: end for bench, one in plot.courses.items() if (end := _end(one)) is not None}
    height = plot_height(look, len(ends), least=_HEIGHT, around=_AROUND_PX)
    traces = list(plot.below)
    for place, bench in enumerate(ends):
        traces += marked_curve(
            plot.courses[bench],
            looks.get(bench, NO_MARK),
            look,
            name=plain(names[bench]),
            unit=plain(comparison.unit),
            place=place if len(ends) > 1 else 0,
        )
    traces += key_traces(ends, names, looks, look, low=low, high=high, plot_px=height - _AROUND_PX)
    shapes, notes = marked_shapes(
        plot.marked, look, time=(since, until), values=(low, high), width_px=_PLOT_PX
    )
    if plot.has_zero:
        shapes.append(_line(look, xref="x domain", yref="y", x=(0, 1), y=(0.0, 0.0)))
    if kind != "instant" and since < 0 < until:
        shapes.append(_line(look, xref="x", yref="y domain", x=(0.0, 0.0), y=(0, 1), dash="dash"))
    words = plot.words + beyond_words({names[bench]: one for bench, one in plot.courses.items()}, low, high)
    return figure_of(
        traces,
        look,
        title=plot.title,
        words=words + plot.marked.words(since, until),
        height=height,
        shapes=shapes,
        annotations=notes,
        xaxis=axis(look, **time_axis(since, until, kind), domain=[0, CURVES_UP_TO - 0.01], showgrid=False),
        yaxis=axis(look, plot.upright, range=[low, high]),
        **paper_axes(),
    )


def _end(course: Course) -> float | None:
    there = np.flatnonzero(np.isfinite(course.high))
    return float(course.high[there[-1]]) if len(there) else None


def _median(comparison: Comparison) -> Course | None:
    grid = comparison.grid
    if grid is None or len(grid.benches) < 3 or not np.isfinite(grid.class_median).any():
        return None
    return course_between(grid.seconds, grid.class_median)


def _line(
    look: Look,
    *,
    xref: str,
    yref: str,
    x: tuple[float, float],
    y: tuple[float, float],
    dash: str = "solid",
) -> Trace:
    return {
        "type": "line", "xref": xref, "yref": yref, "x0": x[0], "x1": x[1], "y0": y[0], "y1": y[1],
        "layer": "below", "line": {"color": look.soft, "width": 1.5, "dash": dash},
    }  # fmt: skip


def _events_words(comparison: Comparison) -> str:
    kind = comparison.choices.alignment.kind
    return "" if kind == "instant" else f" Time is counted from the {kind} at each bench: the dashed line."
