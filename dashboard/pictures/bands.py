"""The bands of all benches over time, one ribbon above the other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from dashboard.class_known import BenchMark
from dashboard.comparing import Comparison
from dashboard.comparing.moments import Floats
from dashboard.pictures.curves import course_of, time_axis
from dashboard.pictures.key import ON_PAPER, paper_axes
from dashboard.pictures.lettering import fitted
from dashboard.pictures.look import LIGHT, Figure, Look, Trace, axis, empty, figure_of
from dashboard.pictures.marked import NOTHING_MARKED, Marked, marked_shapes
from dashboard.pictures.marks import NO_MARK, mark_traces

_ROW_PX = 54
_MOST_PX = 1032  # of all rows, so that a page of paper holds them
_FILLED = 0.8  # of a row's height: the highest band
_NAMES_UP_TO = 0.2  # of the width
_NAME_PX = 98.0  # of a picture that is 720 px wide
_COLUMNS = 250


def band_ribbons(
    comparison: Comparison,
    looks: Mapping[int, BenchMark],
    look: Look = LIGHT,
    *,
    band_names: Sequence[str] = (),
    marked: Marked = NOTHING_MARKED,
) -> Figure:
    """A ribbon for each bench, filled as high as the band that its value lies in; empty in gaps.

    Args:
        comparison: Its choices hold each bench's band edges.
        looks: The benches' marks.
        look: Colours and type.
        band_names: From the lowest.
        marked: Phases and instants; limits have no place among ribbons.
    """
    title = f"Bands of {comparison.choices.channel}"
    edges = comparison.choices.band_edges
    benches = [one for one in comparison.benches if one.bench in edges]
    if not benches:
        return empty(look, title=title, words="Nothing to show: the lesson has no bands for this channel.")
    n_bands = 1 + max(len(edges[one.bench]) for one in benches)
    since = min(float(one.series.seconds[0]) for one in benches)
    until = max(float(one.series.seconds[-1]) for one in benches)
    traces: list[Trace] = []
    notes: list[Trace] = []
    n = len(benches)
    for row, one in enumerate(benches):
        course = course_of(one.series, _COLUMNS)
        band = np.searchsorted(np.array(edges[one.bench]), (course.low + course.high) / 2, side="right")
        filled = np.where(np.isfinite(course.low), _FILLED * (band + 1) / n_bands, np.nan)
        floor = n - 1 - row
        traces += _ribbon(course.seconds, filled, floor, look)
        middle = (floor + _FILLED / 2) / n
        traces += mark_traces([0.012], [middle], looks.get(one.bench, NO_MARK), look, **ON_PAPER)
        notes.append(
            {
                "text": fitted(comparison.marked_names[one.bench], _NAME_PX * look.wide, look.font_px),
                "xref": "paper",
                "yref": "paper",
                "x": 0,
                "xshift": 26,
                "y": middle,
                "xanchor": "left",
                "yanchor": "middle",
                "showarrow": False,
                "font": {"color": look.ink},
            }
        )
    named = [name for name in band_names if name]
    words = (
        "A ribbon for each bench: the higher it is filled, the higher the band that its value lies in, "
        "without a deadband. Nothing is filled in a gap."
    )
    if named:
        words += f" From the lowest: {', '.join(named)}."
    kind = comparison.choices.alignment.kind
    in_time = replace(marked, levels=())
    shapes, named_there = marked_shapes(in_time, look, time=(since, until), values=(0, n), width_px=500)
    return figure_of(
        traces,
        look,
        title=title,
        words=words + in_time.words(since, until),
        height=96 + round(min(_ROW_PX, _MOST_PX / n) * look.tall) * n,
        annotations=notes + named_there,
        margin={"l": 8, "r": 16, "t": 44, "b": 52},
        shapes=shapes,
        xaxis=axis(look, **time_axis(since, until, kind), domain=[_NAMES_UP_TO, 1], showgrid=False),
        yaxis=axis(look, range=[0, n], showticklabels=False, ticks="", showgrid=False, showline=False),
        **paper_axes(),
    )


def _ribbon(seconds: Floats, filled: Floats, floor: float, look: Look) -> list[Trace]:
    """Steps up to the band; the outline closes where a gap begins."""
    x: list[float | None] = []
    y: list[float | None] = []
    known = np.isfinite(filled)
    ends = np.flatnonzero(np.diff(np.concatenate([[0], known.astype(np.int8), [0]])))
    for begin, end in zip(ends[::2], ends[1::2], strict=True):
        changes = np.flatnonzero(np.diff(filled[begin:end])) + begin + 1
        steps = [begin, *changes.tolist()]
        last = float(seconds[end - 1])
        until = [*(float(seconds[i]) for i in steps[1:]), last]
        x.append(float(seconds[begin]))
        y.append(floor)
        for i, to in zip(steps, until, strict=True):
            x += [float(seconds[i]), to]
            y += [floor + float(filled[i])] * 2
        x += [last, None]
        y += [floor, None]
    base: Trace = {
        "type": "scatter",
        "mode": "lines",
        "x": [float(seconds[0]), float(seconds[-1])],
        "y": [floor, floor],
        "line": {"color": look.line, "width": 1},
        "hoverinfo": "skip",
    }
    area: Trace = {
        "type": "scatter",
        "mode": "lines",
        "x": x,
        "y": y,
        "fill": "toself",
        "fillcolor": look.shade,
        "line": {"color": look.soft, "width": 1.2},
        "hoverinfo": "skip",
    }
    return [base, area]
