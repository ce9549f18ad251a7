"""A small picture for each bench, all with the same axes, the class median behind each."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import NamedTuple

from dashboard.class_known import BenchMark
from dashboard.comparing import Comparison
from dashboard.pictures.curves import (
    beyond_words,
    course_between,
    course_of,
    marked_curve,
    shading,
    thin_curve,
    time_axis,
    value_range,
)
from dashboard.pictures.key import ON_PAPER, paper_axes
from dashboard.pictures.lettering import fitted
from dashboard.pictures.look import LIGHT, Figure, Look, Trace, axis, empty, figure_of, plain
from dashboard.pictures.marked import NOTHING_MARKED, Marked, marked_shapes
from dashboard.pictures.marks import NO_MARK, mark_traces

_MOST_ACROSS = 4
_ROW_PX = 190
_MOST_PX = 1000  # of all rows, so that a page of paper holds them
_COLUMNS = 200
PANEL_PX = 122.0  # for a panel's name, four beside each other in a picture that is 720 px wide
MARK_IN = 0.012  # of the width, from a panel's left edge to the middle of its mark


class Panel(NamedTuple):
    """Where a small picture stands: its axes and its part of the whole, 0 to 1."""

    number: int  # from 1: its axes are x1 and y1
    x: tuple[float, float]
    y: tuple[float, float]
    room: float  # above it, for its title
    is_left: bool
    is_lowest: bool

    @property
    def names(self) -> tuple[str, str]:
        """Of its axes, as plotly has them: the first ones bear no number."""
        number = "" if self.number == 1 else f"{self.number}"
        return f"x{number}", f"y{number}"

    @property
    def axes(self) -> Trace:
        """Which axes a trace stands on."""
        x, y = self.names
        return {"xaxis": x, "yaxis": y}


def panels(n: int, *, across: int, between: float = 0.03, above: float = 0.3) -> list[Panel]:
    """So many panels in rows, from the upper left on; `above` is each row's part for its titles."""
    rows = math.ceil(n / across)
    width, height = (1 - between * (across - 1)) / across, 1 / rows
    found = []
    for i in range(n):
        row, column = divmod(i, across)
        left, top = column * (width + between), 1 - row * height
        y = (top - height, top - above * height)
        found.append(Panel(i + 1, (left, left + width), y, above * height, column == 0, i + across >= n))
    return found


def small_multiples(
    comparison: Comparison,
    looks: Mapping[int, BenchMark],
    look: Look = LIGHT,
    *,
    ghost: Comparison | None = None,
    marked: Marked = NOTHING_MARKED,
) -> Figure:
    """Each bench by itself, in front of the class median; the same bench of another recording dotted."""
    title = f"{comparison.choices.channel}, bench by bench"
    if not comparison.benches:
        return empty(look, title=title, words="No bench has readings to show.")
    courses = {one.bench: course_of(one.series, _COLUMNS) for one in comparison.benches}
    shadows = {} if ghost is None else {one.bench: course_of(one.series, _COLUMNS) for one in ghost.benches}
    grid = comparison.grid
    median = None if grid is None else course_between(grid.seconds, grid.class_median, None, _COLUMNS)
    parts = [part for one in courses.values() for part in (one.low, one.high)]
    low, high = value_range(*parts, levels=marked.values)
    since = min(float(one.seconds[0]) for one in courses.values())
    until = max(float(one.seconds[-1]) for one in courses.values())
    across = min(_MOST_ACROSS, len(courses))
    rows = math.ceil(len(courses) / across)
    traces: list[Trace] = []
    layout: dict[str, Trace] = {}
    notes: list[Trace] = []
    shapes: list[Trace] = []
    for panel, one in zip(panels(len(courses), across=across), comparison.benches, strict=True):
        course, mark = courses[one.bench], looks.get(one.bench, NO_MARK)
        if median is not None:
            traces.append(thin_curve(median, look, "solid", **panel.axes))
        if one.bench in shadows:
            traces.append(thin_curve(shadows[one.bench], look, "dot", **panel.axes))
        traces += shading(course, look, **panel.axes)
        traces += marked_curve(
            course, mark, look, name=plain(one.name), unit=plain(comparison.unit), place=0, **panel.axes
        )[:2]
        named, note = panel_title(panel, comparison.marked_names[one.bench], mark, look)
        traces += named
        notes.append(note)
        shapes += marked_shapes(
            marked, look, time=(since, until), values=(low, high), width_px=140, axes=panel.names,
            with_words=False,
        )[0]  # fmt: skip
        kind = comparison.choices.alignment.kind
        layout[f"xaxis{panel.number}"] = axis(
            look, **time_axis(since, until, kind, ticks=4, title=panel.is_lowest), domain=panel.x,
            anchor=f"y{panel.number}", showgrid=False, showticklabels=panel.is_lowest,
        )  # fmt: skip
        layout[f"yaxis{panel.number}"] = axis(
            look, plain(comparison.unit) if panel.is_left else "", domain=panel.y, range=[low, high],
            anchor=f"x{panel.number}", showticklabels=panel.is_left, nticks=5,
        )  # fmt: skip
    words = "One picture for each bench, all with the same axes. Thin line: the class median."
    words += beyond_words({one.name: courses[one.bench] for one in comparison.benches}, low, high)
    if shadows:
        words += " Dotted: the same bench in the other recording."
    words += marked.words(since, until)
    return figure_of(
        traces,
        look,
        title=title,
        words=words,
        height=90 + round(min(_ROW_PX, _MOST_PX / rows) * look.tall) * rows,
        shapes=shapes,
        annotations=notes,
        **paper_axes(),
        **layout,
    )


def panel_title(panel: Panel, name: str, mark: BenchMark, look: Look) -> tuple[list[Trace], Trace]:
    """A panel's name above it with its mark: the mark's traces and the name's annotation."""
    left, top = panel.x[0], panel.y[1] + panel.room / 3
    note = {
        "text": fitted(name, PANEL_PX * look.wide, look.font_px), "xref": "paper",
        "yref": "paper", "showarrow": False,
        "x": left, "xshift": 22, "y": top, "xanchor": "left", "yanchor": "middle",
        "font": {"color": look.ink},
    }  # fmt: skip
    return mark_traces([left + MARK_IN], [top], mark, look, **ON_PAPER), note
