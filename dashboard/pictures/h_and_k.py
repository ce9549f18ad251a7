"""Mandel's h and k: whose mean lies apart from the others, and who scatters more than they do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from dashboard.class_known import BenchMark
from dashboard.comparing import Comparison
from dashboard.pictures.lettering import fitted
from dashboard.pictures.look import LIGHT, Figure, Look, Trace, axis, empty, figure_of, plain
from dashboard.pictures.marks import NO_MARK, mark_traces

_HEIGHT = 380
_NAME_PX = 88.0
_BESIDE = 12  # so many names stand below each of two plots; more need the width of one


def consistency(comparison: Comparison, looks: Mapping[int, BenchMark], look: Look = LIGHT) -> Figure:
    """h and k of each bench with the values that chance passes in 5 and in 1 of 100 cases."""
    title = "Consistency: Mandel's h and k"
    precision = comparison.agreement.precision
    if precision is None:
        return empty(look, title=title, words=f"Nothing to show: {comparison.agreement.words}.")
    names = comparison.marked_names
    labels = [fitted(names[bench], _NAME_PX * look.wide, look.font_px) for bench in precision.benches]
    marks = [looks.get(bench, NO_MARK) for bench in precision.benches]
    traces: list[Trace] = []
    shapes: list[Trace] = []
    notes: list[Trace] = []
    layout: dict[str, Trace] = {}
    is_beside = len(labels) <= _BESIDE
    places = _BESIDE_EACH_OTHER if is_beside else _BELOW_EACH_OTHER
    first, second = ("Left", "Right") if is_beside else ("Above", "Below")
    parts = (
        ("h: mean among the others", precision.h, precision.h_critical, True),
        ("k: spread beside the others", precision.k, precision.k_critical, False),
    )
    for number, (heading, values, critical, both) in enumerate(parts, 1):
        axes = {"xaxis": f"x{number}", "yaxis": f"y{number}"}
        traces += _stems(values, labels, marks, look, axes)
        place = places[number - 1]
        shapes += _levels(critical, both=both, look=look, number=number)
        notes.append(
            {
                "text": heading,
                "xref": "paper",
                "yref": "paper",
                "x": place.x[0],
                "y": place.y[1] + 0.02,
                "xanchor": "left",
                "yanchor": "bottom",
                "showarrow": False,
                "font": {"color": look.ink},
            }
        )
        most = 1.15 * max(critical[1], *(abs(value) for value in values))
        layout[f"xaxis{number}"] = axis(
            look,
            domain=list(place.x),
            anchor=f"y{number}",
            tickmode="array",
            ticks="",
            showgrid=False,
            tickvals=list(range(len(labels))),
            ticktext=labels,
            tickangle=-40,
            range=[-0.6, len(labels) - 0.4],
            tickfont={"color": look.ink},
        )
        layout[f"yaxis{number}"] = axis(
            look,
            "h" if both else "k",
            domain=list(place.y),
            range=[-most if both else 0, most],
            anchor=f"x{number}",
        )
    words = (
        f"{first}, h: how far each bench's mean lies from that of all, in their standard deviation. "
        f"{second}, k: its own spread over that of all. By chance one is beyond the dashed line "
        "in 5 of 100 cases, beyond the solid one in 1 of 100."
    )
    return figure_of(
        traces,
        look,
        title=title,
        words=words,
        height=round(_HEIGHT * (1 if is_beside else 2) * look.tall),
        shapes=shapes,
        annotations=notes,
        margin={"l": 60, "r": 16, "t": 72, "b": 80},
        **layout,
    )


class _Place(NamedTuple):
    """Of one plot, 0 to 1."""

    x: tuple[float, float]
    y: tuple[float, float]


_BESIDE_EACH_OTHER = (_Place((0.0, 0.46), (0.0, 1.0)), _Place((0.54, 1.0), (0.0, 1.0)))
_BELOW_EACH_OTHER = (_Place((0.0, 1.0), (0.62, 1.0)), _Place((0.0, 1.0), (0.0, 0.38)))


def _stems(
    values: Sequence[float], labels: Sequence[str], marks: Sequence[BenchMark], look: Look, axes: Trace
) -> list[Trace]:
    stems: Trace = {
        "type": "scatter",
        "mode": "lines",
        "hoverinfo": "skip",
        "line": {"color": look.soft, "width": 2},
        "x": [at for i in range(len(values)) for at in (i, i, None)],
        "y": [at for value in values for at in (0, value, None)],
        **axes,
    }
    traces = [stems]
    for i, (value, label, mark) in enumerate(zip(values, labels, marks, strict=True)):
        said = f"{label}: {value:.2f}"
        traces += mark_traces([i], [value], mark, look, size=12, hovertext=said, **axes)
    return traces


def _levels(critical: tuple[float, float], *, both: bool, look: Look, number: int) -> list[Trace]:
    signs = (1, -1) if both else (1,)
    found: list[Trace] = [_level(0.0, look.soft, "solid", 1.0, number)]
    for sign in signs:
        found.append(_level(sign * critical[0], look.ink, "dash", 1.4, number))
        found.append(_level(sign * critical[1], look.ink, "solid", 1.4, number))
    return found


def _level(at: float, colour: str, dash: str, width: float, number: int) -> Trace:
    return {
        "type": "line",
        "xref": f"{'x' if number == 1 else f'x{number}'} domain",
        "yref": f"y{number}",
        "x0": 0,
        "x1": 1,
        "y0": at,
        "y1": at,
        "layer": "below",
        "line": {"color": plain(colour), "width": width, "dash": dash},
    }
