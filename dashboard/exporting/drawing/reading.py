"""From a plotly figure of `dashboard.pictures` to values; what a still can't show is refused.

A still that silently left something out would show less than the page: so each key is known, or an error.
"""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from dashboard.exporting.drawing.given import (
    Axis,
    Floats,
    Given,
    Note,
    Shape,
    Stroke,
    Trace,
    UnsupportedError,
)

Table = Mapping[str, Any]  # plotly's own form: foreign data, at whose door types begin

# For a pointer or a screen alone: nothing of it is on paper.
_OF_SCREENS = frozenset((
    "hoverinfo", "hovertext", "hovertemplate", "hoverlabel", "hovermode", "dragmode", "name", "template",
    "plot_bgcolor", "separators", "fixedrange", "automargin", "standoff", "meta", "connectgaps",
))  # fmt: skip
_TRACE = frozenset((
    "type", "mode", "x", "y", "xaxis", "yaxis", "line", "marker", "text", "textposition", "textfont", "fill",
    "fillcolor", "cliponaxis",
))  # fmt: skip
_AXIS = frozenset((
    "title", "showline", "linecolor", "ticks", "tickcolor", "gridcolor", "showgrid", "zeroline", "domain",
    "range", "anchor", "tickmode", "tickvals", "ticktext", "tickangle", "tickfont", "nticks",
    "showticklabels", "visible",
))  # fmt: skip
_SHAPE = frozenset(("type", "xref", "yref", "x0", "x1", "y0", "y1", "layer", "line", "fillcolor"))
_NOTE = frozenset((
    "text", "xref", "yref", "x", "y", "xshift", "xanchor", "yanchor", "align", "showarrow", "font", "bgcolor",
))  # fmt: skip
_LAYOUT = frozenset(
    ("title", "height", "margin", "paper_bgcolor", "font", "showlegend", "shapes", "annotations")
)
MODES, SHAPES = ("lines", "markers", "text"), ("line", "rect")


def given_of(figure: Any) -> Given:
    """A plotly figure as values.

    Raises:
        UnsupportedError: It holds what no still can show.
    """
    layout: Table = figure.layout.to_plotly_json()
    axes = {key: value for key, value in layout.items() if key[:5] in ("xaxis", "yaxis")}
    _know({key: value for key, value in layout.items() if key not in axes}, _LAYOUT, "a layout's")
    if layout.get("showlegend"):
        raise UnsupportedError("a legend")
    font = layout["font"]
    soft, size = str(font["color"]), float(font["size"])
    return Given(
        title=_plain(layout["title"]["text"]),
        words=html.unescape(str(layout["meta"]["words"])),
        height=float(layout["height"]),
        margin={key: float(value) for key, value in layout["margin"].items()},
        ground=str(layout["paper_bgcolor"]),
        ink=str(layout["title"]["font"]["color"]),
        soft=soft,
        font_px=size,
        family=str(font["family"]),
        traces=tuple(_trace(one, size, soft) for one in figure.data),
        axes={_key(name): _axis(_key(name), value, soft) for name, value in axes.items()},
        shapes=tuple(_shape(one) for one in layout.get("shapes", ())),
        notes=tuple(_note(one, size, soft) for one in layout.get("annotations", ())),
    )


def _know(table: Table, known: frozenset[str], whose: str) -> None:
    for key in table:
        if key not in known and key not in _OF_SCREENS:
            raise UnsupportedError(f"{whose} {key!r}")


def _key(name: str) -> str:
    """ "xaxis2" as "x2"; the first ones bear no number."""
    number = name[5:]
    return name[0] + ("" if number == "1" else number)


def _axis_key(name: object) -> str:
    words = str(name)
    return words[:1] if words[1:] == "1" else words


def _trace(trace: Any, font_px: float, soft: str) -> Trace:
    table: Table = trace.to_plotly_json()
    _know(table, _TRACE, "a trace's")
    if table.get("type", "scatter") != "scatter":
        raise UnsupportedError(f"a trace of the type {table['type']!r}")
    mode = str(table["mode"])
    if mode not in MODES:
        raise UnsupportedError(f"a trace's mode {mode!r}")
    if table.get("fill") not in (None, "toself"):
        raise UnsupportedError(f"a trace's fill {table['fill']!r}")
    if mode == "text" and table.get("textposition") != "middle right":
        raise UnsupportedError(f"text at {table.get('textposition')!r}")
    marker: Table = table.get("marker", {})
    _know(marker, frozenset(("symbol", "size", "color", "opacity", "line")), "a marker's")
    text_font: Table = table.get("textfont", {})
    return Trace(
        mode=mode,
        x=_floats(trace.x),
        y=_floats(trace.y),
        axes=(_axis_key(table.get("xaxis", "x")), _axis_key(table.get("yaxis", "y"))),
        stroke=_stroke(table.get("line", {})),
        fill=str(table.get("fillcolor", "")) if table.get("fill") else "",
        symbol=str(marker.get("symbol", "circle")),
        size=float(marker.get("size", 6)),
        colour=str(text_font.get("color", soft) if mode == "text" else marker.get("color", soft)),
        edge=_stroke(marker.get("line", {})),
        texts=tuple(_plain(one) for one in (trace.text if mode == "text" else ())),
        text_size=float(text_font.get("size", font_px)),
        is_clipped=table.get("cliponaxis", True) is not False,
    )


def _floats(numbers: Any) -> Floats:
    """None among them is no number, as NaN is none."""
    return np.array(
        [] if numbers is None else [np.nan if one is None else one for one in numbers], np.float64
    )


def _stroke(table: Table) -> Stroke:
    _know(table, frozenset(("color", "width", "dash")), "a line's")
    return Stroke(
        colour=str(table.get("color", "#000000")),
        width=float(table.get("width", 0 if "color" not in table else 2)),
        dash=str(table.get("dash", "solid")),
    )


def _axis(key: str, table: Table, soft: str) -> Axis:
    _know(table, _AXIS, "an axis's")
    if table.get("zeroline"):
        raise UnsupportedError("an axis's zero line")
    if table.get("ticks", "") not in ("", "outside"):
        raise UnsupportedError(f"an axis's ticks {table['ticks']!r}")
    limits = table.get("range")
    values = table.get("tickvals")
    return Axis(
        key=key,
        is_seen=table.get("visible", True) is not False,
        domain=_pair(table.get("domain", (0, 1))),
        range=None if limits is None else _pair(limits),
        anchor=_axis_key(table.get("anchor", "y" if key[0] == "x" else "x")),
        title=_plain((table.get("title") or {}).get("text", "")),
        values=None if values is None else tuple(float(one) for one in values),
        texts=tuple(_plain(one) for one in table.get("ticktext", ())),
        most_ticks=int(table.get("nticks", 7)),
        angle=float(table.get("tickangle", 0)),
        has_grid=table.get("showgrid", True) is not False,
        has_line=bool(table.get("showline")),
        has_ticks=bool(table.get("ticks")),
        has_labels=table.get("showticklabels", True) is not False,
        ink=str(table.get("linecolor", soft)),
        grid=str(table.get("gridcolor", soft)),
        label_ink=str(table.get("tickfont", {}).get("color", soft)),
    )


def _shape(table: Table) -> Shape:
    _know(table, _SHAPE, "a shape's")
    if table["type"] not in SHAPES:
        raise UnsupportedError(f"a shape of the type {table['type']!r}")
    return Shape(
        kind=str(table["type"]),
        refs=_refs(table),
        x=(float(table["x0"]), float(table["x1"])),
        y=(float(table["y0"]), float(table["y1"])),
        is_below=table.get("layer") == "below",
        stroke=_stroke(table.get("line", {})),
        fill=str(table.get("fillcolor", "")),
    )


def _note(table: Table, font_px: float, soft: str) -> Note:
    _know(table, _NOTE, "an annotation's")
    if table.get("showarrow") is not False:
        raise UnsupportedError("an annotation's arrow")
    font: Table = table.get("font", {})
    return Note(
        lines=tuple(_plain(one) for one in str(table["text"]).split("<br>")),
        refs=_refs(table),
        x=float(table["x"]),
        y=float(table["y"]),
        shift=float(table.get("xshift", 0)),
        anchor=(str(table.get("xanchor", "center")), str(table.get("yanchor", "middle"))),
        size=float(font.get("size", font_px)),
        colour=str(font.get("color", soft)),
        ground=str(table.get("bgcolor", "")),
    )


def _refs(table: Table) -> tuple[str, str]:
    def ref(name: object) -> str:
        axis, _, domain = str(name).partition(" ")
        return f"{_axis_key(axis)} {domain}".strip()

    return ref(table.get("xref", "x")), ref(table.get("yref", "y"))


def _pair(values: Sequence[float]) -> tuple[float, float]:
    low, high = values
    return float(low), float(high)


def _plain(text: object) -> str:
    """What plotly would show of a text that `pictures.look.plain` made safe."""
    return html.unescape(str(text))
