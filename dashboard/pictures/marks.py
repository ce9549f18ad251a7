"""A bench's mark in a picture: its shape in its colour, with an outline that stands out on any ground."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from dashboard.class_known import BenchMark
from dashboard.marks import hex_of
from dashboard.pictures.look import Look, Trace

_FILLED = {
    "circle": "circle",
    "square": "square",
    "triangle": "triangle-up",
    "diamond": "diamond",
    "cross": "cross",
    "star": "star",
}
_DRAWN = {"ring": "circle-open", "bar": "line-ns"}  # by a thick line: plotly has no such filled shape
_LARGER = {"triangle": 1.1, "diamond": 1.15, "cross": 1.1, "star": 1.35}  # alike in weight to the eye
NO_MARK = BenchMark("circle", "black")


def colour_of(mark: BenchMark) -> str:
    """Its code; black's for a name that is none."""
    return hex_of(mark.colour)


def mark_traces(
    x: Sequence[float], y: Sequence[float], mark: BenchMark, look: Look, *, size: float = 11, **more: Any
) -> list[Trace]:
    """Marks at some places: one trace, or two where the shape is drawn by a line and needs its outline.

    Args:
        x: Places.
        y: Places.
        mark: Whose.
        look: For the outline.
        size: Px across.
        more: Further keys of the trace that a pointer meets; what it says by `hovertext`.
    """
    base: Trace = {"type": "scatter", "mode": "markers", "x": list(x), "y": list(y), "cliponaxis": False}
    seen = {"hoverinfo": "text" if "hovertext" in more else "skip", **more}
    unseen = {**{key: value for key, value in more.items() if key in ("xaxis", "yaxis")}, "hoverinfo": "skip"}
    if mark.shape in _DRAWN:
        symbol = _DRAWN[mark.shape]
        across = size * (0.75 if symbol == "circle-open" else 1)
        outline, core = (0.52 * size, 0.3 * size)
        return [
            {**base, **unseen, "marker": _drawn(symbol, across, look.ink, outline)},
            {
                **base,
                **seen,
                "marker": _drawn(
                    symbol, across - (0 if symbol == "circle-open" else 2), colour_of(mark), core
                ),
            },
        ]
    marker = {
        "symbol": _FILLED.get(mark.shape, "circle"),
        "size": size * _LARGER.get(mark.shape, 1.0),
        "color": colour_of(mark),
        "opacity": 1,
        "line": {"color": look.ink, "width": 1.2},
    }
    return [{**base, **seen, "marker": marker}]


def _drawn(symbol: str, size: float, colour: str, width: float) -> Trace:
    return {
        "symbol": symbol,
        "size": size,
        "color": colour,
        "opacity": 1,
        "line": {"color": colour, "width": width},
    }
