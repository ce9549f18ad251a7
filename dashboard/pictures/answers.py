"""Each bench's answer with the fitted course, and what the fit leaves below it."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from dashboard.class_known import BenchMark
from dashboard.comparing import BenchFigures, Comparison
from dashboard.comparing.first_order import FirstOrder
from dashboard.figures_as_text import figure_text
from dashboard.pictures.curves import time_axis, value_range
from dashboard.pictures.key import ON_PAPER, paper_axes
from dashboard.pictures.lettering import fitted
from dashboard.pictures.look import LIGHT, Figure, Look, Trace, axis, empty, figure_of, plain
from dashboard.pictures.marks import NO_MARK, colour_of, mark_traces
from dashboard.pictures.multiples import MARK_IN, Panel, panels

_MOST_ACROSS = 3
_NAME_PX = 176.0  # for a panel's words, three beside each other in a picture that is 720 px wide
_ROW_PX = 300
_MOST_POINTS = 150
_RESIDUALS = 0.28  # of a panel's height
_BETWEEN = 0.05


def responses(comparison: Comparison, looks: Mapping[int, BenchMark], look: Look = LIGHT) -> Figure:
    """A panel for each bench that was fitted: readings, fitted course, residuals; the others in words."""
    kind = comparison.choices.response
    title = {"step": "Answer to the step, fitted", "towards ambient": "Towards ambient, fitted"}.get(
        kind, "Response"
    )
    fitted = [(one, one.course) for one in comparison.benches if one.course is not None]
    without = [
        f"{one.name} ({_why(one)})" for one in comparison.benches if one.course is None and kind != "none"
    ]
    if not fitted:
        words = (
            "No response was asked for."
            if kind == "none"
            else f"No response could be fitted: {'; '.join(without)}."
        )
        return empty(look, title=title, words=words)
    across = min(_MOST_ACROSS, len(fitted))
    rows = math.ceil(len(fitted) / across)
    largest = max(float(np.abs(course.residuals).max()) for _, course in fitted) or 1.0
    low, high = value_range(
        *(course.fitted for _, course in fitted), *(one.residuals + one.fitted for _, one in fitted)
    )
    traces: list[Trace] = []
    layout: dict[str, Trace] = {}
    notes: list[Trace] = []
    for panel, (one, course) in zip(panels(len(fitted), across=across, above=0.28), fitted, strict=True):
        mark = looks.get(one.bench, NO_MARK)
        traces += _answer(course, mark, look, panel)
        named, note = _title(panel, comparison.marked_names[one.bench], course, mark, look)
        traces += named
        notes.append(note)
        layout |= _axes(panel, course, look, comparison, (low, high), 1.1 * largest)
    words = (
        "Below each name its time constant. Above: readings as points, the fitted first-order course as a "
        "line. Below: what the fit leaves. Where these wander instead of scattering, the course is of "
        "another shape."
    )
    if without:
        words += f" Not fitted: {'; '.join(without)}."
    return figure_of(
        traces,
        look,
        title=title,
        words=words,
        height=90 + round(_ROW_PX * look.tall) * rows,
        annotations=notes,
        **paper_axes(),
        **layout,
    )


def _why(one: BenchFigures) -> str:
    return next((figure.words for figure in one.figures if figure.name == "time constant"), "not fitted")


def _answer(course: FirstOrder, mark: BenchMark, look: Look, panel: Panel) -> list[Trace]:
    thin = np.unique(
        np.linspace(0, len(course.seconds) - 1, min(_MOST_POINTS, len(course.seconds))).astype(int)
    )
    seconds = np.round(course.seconds[thin], 4).tolist()
    upper, lower = panel.axes, _lower(panel)
    point = {"color": colour_of(mark), "size": 5, "line": {"color": look.ink, "width": 0.8}}
    base: Trace = {"type": "scatter", "x": seconds, "hoverinfo": "skip"}
    values = course.fitted + course.residuals
    return [
        {**base, **upper, "mode": "markers", "y": values[thin].tolist(), "marker": point},
        {
            **base,
            **upper,
            "mode": "lines",
            "y": course.fitted[thin].tolist(),
            "line": {"color": look.ink, "width": 1.8},
        },
        {**base, **lower, "mode": "lines", "y": [0] * len(thin), "line": {"color": look.soft, "width": 1}},
        {**base, **lower, "mode": "markers", "y": course.residuals[thin].tolist(), "marker": point},
    ]


def _lower(panel: Panel) -> Trace:
    return {"xaxis": f"x{panel.number}", "yaxis": f"y{panel.number + 200}"}


def _axes(
    panel: Panel,
    course: FirstOrder,
    look: Look,
    comparison: Comparison,
    values: tuple[float, float],
    most: float,
) -> dict[str, Trace]:
    bottom, top = panel.y
    cut = bottom + (top - bottom) * _RESIDUALS
    kind = comparison.choices.alignment.kind
    since, until = float(course.seconds[0]), float(course.seconds[-1])
    n, unit = panel.number, plain(comparison.unit)
    return {
        f"xaxis{n}": axis(
            look,
            **time_axis(since, until, kind, ticks=4, title=panel.is_lowest),
            domain=panel.x,
            anchor=f"y{n + 200}",
            showgrid=False,
        ),
        f"yaxis{n}": axis(
            look,
            unit if panel.is_left else "",
            domain=[cut + _BETWEEN * (top - bottom), top],
            range=list(values),
            anchor=f"x{n}",
            showticklabels=panel.is_left,
            nticks=5,
        ),
        f"yaxis{n + 200}": axis(
            look,
            domain=[bottom, cut],
            range=[-most, most],
            anchor=f"x{n}",
            showticklabels=panel.is_left,
            nticks=3,
        ),
    }


def _title(
    panel: Panel, name: str, course: FirstOrder, mark: BenchMark, look: Look
) -> tuple[list[Trace], Trace]:
    at = panel.y[1] + panel.room * 0.36
    tau = figure_text(course.time_constant, with_unit=True)
    size = 0.92 * look.font_px
    told = "" if course.is_first_order else ", not first order"
    room_px = _NAME_PX * look.wide
    note = {
        "text": f"{fitted(name, room_px, size)}<br>{fitted(tau + told, room_px, size)}",
        "xref": "paper",
        "yref": "paper",
        "x": panel.x[0],
        "xshift": 22,
        "y": at,
        "xanchor": "left",
        "yanchor": "middle",
        "align": "left",
        "showarrow": False,
        "font": {"color": look.ink, "size": size},
    }
    return mark_traces([panel.x[0] + MARK_IN], [at], mark, look, **ON_PAPER), note
