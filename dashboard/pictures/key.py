"""Names beside the curves' ends, each with its mark, moved apart where they would cover each other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from dashboard.class_known import BenchMark
from dashboard.pictures.lettering import fitted
from dashboard.pictures.look import Look, Trace, hidden_axis
from dashboard.pictures.marks import NO_MARK, mark_traces

CURVES_UP_TO = 0.8
"""Of the width: beyond it stand the names."""
ON_PAPER: Trace = {"xaxis": "x99", "yaxis": "y99"}
"""Keys of a trace on these axes."""
_LINE = 1.45  # of the type's size, from one name to the next
_ROOM_PX = 112.0  # for a name, of a picture that is 720 px wide


def spread(wanted: Sequence[float], least: float) -> list[float]:
    """Places from 0 to 1, as near as may be to those wanted, in their order, at least so far apart."""
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    least = min(least, 1 / max(1, len(wanted) - 1))
    placed: list[float] = []
    for i in order:
        placed.append(max(min(1.0, max(0.0, wanted[i])), placed[-1] + least if placed else 0.0))
    top = 1.0
    for k in range(len(placed) - 1, -1, -1):
        placed[k] = min(placed[k], top)
        top = placed[k] - least
    found = [0.0] * len(wanted)
    for k, i in enumerate(order):
        found[i] = placed[k]
    return found


def plot_height(look: Look, n_names: int, *, least: float, around: float) -> int:
    """How high a picture is, so that so many names stand below each other; px."""
    return round(max(least * look.tall, _LINE * look.font_px * n_names + around))


def key_traces(
    ends: Mapping[int, float],
    names: Mapping[int, str],
    looks: Mapping[int, BenchMark],
    look: Look,
    *,
    low: float,
    high: float,
    plot_px: float,
) -> list[Trace]:
    """Traces on the axes over the whole picture (see `paper_axes`).

    Args:
        ends: By bench: the curve's last value.
        names: Of benches.
        looks: Their marks.
        look: For type and lines.
        low: The value axis's begin.
        high: Its end.
        plot_px: The height between them.
    """
    benches = list(ends)
    wanted = [(ends[bench] - low) / (high - low) for bench in benches]
    at = spread(wanted, _LINE * look.font_px / plot_px)
    axes = ON_PAPER
    begin = CURVES_UP_TO
    traces: list[Trace] = [
        {
            "type": "scatter",
            "mode": "lines",
            "x": [begin, begin + 0.016],
            "y": [want, place],
            "hoverinfo": "skip",
            "line": {"color": look.line, "width": 0.7},
            **axes,
        }
        for want, place in zip(wanted, at, strict=True)
        if abs(want - place) > 1e-6
    ]
    for bench, place in zip(benches, at, strict=True):
        traces += mark_traces([begin + 0.03], [place], looks.get(bench, NO_MARK), look, **axes)
    traces.append(
        {
            "type": "scatter",
            "mode": "text",
            "x": [begin + 0.042] * len(at),
            "y": at,
            "text": [
                fitted(names.get(bench, f"Bench {bench}"), _ROOM_PX * look.wide, look.font_px)
                for bench in benches
            ],
            "textposition": "middle right",
            "textfont": {"color": look.ink},
            "hoverinfo": "skip",
            "cliponaxis": False,
            **axes,
        }
    )
    return traces


def paper_axes() -> dict[str, Trace]:
    """The layout's axes from 0 to 1 over the whole picture; the curves' own axis ends at `CURVES_UP_TO`."""
    return {
        "xaxis99": hidden_axis(domain=[0, 1], range=[0, 1], anchor="y99"),
        "yaxis99": hidden_axis(domain=[0, 1], range=[0, 1], anchor="x99"),
    }
