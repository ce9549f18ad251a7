"""Lines, areas, marks and names of a picture, as SVG."""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np

from dashboard.exporting.drawing.given import Floats, Stroke, Trace, UnsupportedError
from dashboard.exporting.drawing.room import Room
from dashboard.exporting.drawing.scales import Scale
from dashboard.exporting.drawing.svg import element, text
from dashboard.marks import OUTLINES

_DASHES = {"solid": None, "dot": "2 3", "dash": "7 4", "longdash": "12 4", "dashdot": "7 3 2 3"}
_SYMBOLS = {  # whose outline, and how much of its box of 24 a mark of the size fills
    "circle": ("circle", 19.0),
    "square": ("square", 19.0),
    "triangle-up": ("triangle", 21.0),
    "diamond": ("diamond", 22.0),
    "cross": ("cross", 21.0),
    "star": ("star", 24.0),
}
_BOX = 24.0
_rgba = re.compile(r"rgba\((\d+), (\d+), (\d+), ([\d.]+)\)").fullmatch


def drawn(trace: Trace, room: Room) -> str:
    """One trace, in px."""
    x, y = room.scales[trace.axes[0]], room.scales[trace.axes[1]]
    if trace.mode == "lines":
        return _line(trace, x, y)
    return "".join(_marks(trace, x, y) if trace.mode == "markers" else _names(trace, x, y))


def stroke_keys(stroke: Stroke) -> dict[str, str | float | None]:
    """A line's attributes; none of no width."""
    if stroke.width <= 0:
        return {"stroke": "none"}
    return {"stroke": stroke.colour, "stroke_width": stroke.width, "stroke_dasharray": dash_of(stroke.dash)}


def fill_keys(colour: str) -> dict[str, str | float | None]:
    """A fill's attributes: what lets through is said in a way that every program reads."""
    found = _rgba(colour)
    if found is None:
        return {"fill": colour or "none"}
    red, green, blue = (int(one) for one in found.groups()[:3])
    return {"fill": f"#{red:02x}{green:02x}{blue:02x}", "fill_opacity": float(found[4])}


def dash_of(dash: str) -> str | None:
    """Of a line, by its name or in px.

    Raises:
        UnsupportedError: It is neither.
    """
    if dash in _DASHES:
        return _DASHES[dash]
    if re.fullmatch(r"\d+px(,\d+px)*", dash):
        return dash.replace("px,", " ").removesuffix("px")
    raise UnsupportedError(f"a line's dash {dash!r}")


def _line(trace: Trace, x: Scale, y: Scale) -> str:
    pieces = list(_pieces(trace.x, trace.y))
    end = "Z" if trace.fill else ""
    d = "".join(f"M{'L'.join(_points(px, py, x, y))}{end}" for px, py in pieces)
    if not d or (trace.stroke.width <= 0 and not trace.fill):
        return ""
    return element(
        "path",
        d=d,
        **fill_keys(trace.fill),
        **stroke_keys(trace.stroke),
        stroke_linejoin="round",
        stroke_linecap="round" if dash_of(trace.stroke.dash) is None and not trace.fill else None,
    )


def _pieces(x: Floats, y: Floats) -> Iterator[tuple[Floats, Floats]]:
    """Between gaps. A point alone is drawn as a line of no length, which has a round end."""
    known = np.isfinite(x) & np.isfinite(y)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], known.astype(np.int8), [0]])))
    for begin, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        part = slice(begin, end)
        once = end - begin > 1
        yield (x[part], y[part]) if once else (np.repeat(x[part], 2), np.repeat(y[part], 2))


def _points(px: Floats, py: Floats, x: Scale, y: Scale) -> Iterator[str]:
    return (f"{x(a):.1f} {y(b):.1f}" for a, b in zip(px.tolist(), py.tolist(), strict=True))


def _marks(trace: Trace, x: Scale, y: Scale) -> Iterator[str]:
    """Those within the plot, also at its very edge: one beyond it would seem to tell a value."""
    for a, b in zip(trace.x.tolist(), trace.y.tolist(), strict=True):
        if x.low <= a <= x.high and y.low <= b <= y.high:
            yield _mark(trace, x(a), y(b))


def _mark(trace: Trace, x: float, y: float) -> str:
    size, edge = trace.size, trace.edge
    if trace.symbol == "circle-open":
        return element("circle", cx=x, cy=y, r=size / 2, fill="none", **stroke_keys(edge))
    if trace.symbol == "line-ns":
        return element("line", x1=x, x2=x, y1=y - size / 2, y2=y + size / 2, **stroke_keys(edge))
    if trace.symbol not in _SYMBOLS:
        raise UnsupportedError(f"a marker's symbol {trace.symbol!r}")
    outline, across = _SYMBOLS[trace.symbol]
    scale = size / across
    return element(
        "path",
        d=OUTLINES[outline],
        fill=trace.colour,
        stroke=edge.colour,
        stroke_width=edge.width / scale,
        transform=f"translate({x - scale * _BOX / 2:.2f} {y - scale * _BOX / 2:.2f}) scale({scale:.4f})",
    )


def _names(trace: Trace, x: Scale, y: Scale) -> Iterator[str]:
    for a, b, words in zip(trace.x.tolist(), trace.y.tolist(), trace.texts, strict=True):
        size = trace.text_size
        yield text(words, x(a) + 3, y(b) + 0.35 * size, size=size, fill=trace.colour)
