"""A picture of `dashboard.pictures` as SVG, without a browser: defined once, drawn on pages and on paper."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import Any

from dashboard.exporting.drawing.given import Axis, Given, Note, Shape
from dashboard.exporting.drawing.reading import given_of
from dashboard.exporting.drawing.room import GAP_PX, LINE, TICK_PX, Room, beside, room_of
from dashboard.exporting.drawing.svg import element, picture, text
from dashboard.exporting.drawing.traces import drawn, fill_keys, stroke_keys
from dashboard.pictures.lettering import lines_of

WIDTH = 720.0
"""Px; 180 mm between the margins of A4 and of Letter: a px is a quarter of a millimetre."""

_AROUND = 10.0  # px of a clipped plot that curves may reach beyond: half a line's width and a mark
_WORDS = 0.9  # of the type's size: the caption below


def still_of(figure: Any, *, with_words: bool = True) -> str:
    """The picture as it is printed.

    Args:
        figure: Of `dashboard.pictures`.
        with_words: Its caption below it; without, where a page has the caption beside it.

    Raises:
        UnsupportedError: It holds what no still can show.
    """
    given = given_of(figure)
    room = room_of(given, WIDTH)
    parts = [
        *(_shape(one, room) for one in given.shapes if one.is_below and one.kind == "rect"),
        *(_grid(axis, room) for axis in given.axes.values() if axis.is_seen),
        *(_shape(one, room) for one in given.shapes if one.is_below and one.kind == "line"),
        *_traces(given, room),
        *(_axis(axis, given, room) for axis in given.axes.values() if axis.is_seen),
        *(_shape(one, room) for one in given.shapes if not one.is_below),
        *(_note(one, room) for one in given.notes),
        text(
            given.title,
            8,
            8 + 1.1 * given.font_px,
            size=1.15 * given.font_px,
            fill=given.ink,
            font_weight="600",
        ),
    ]
    height = given.height
    if with_words:
        size = _WORDS * given.font_px
        told = lines_of(given.words, WIDTH - 16, size)
        parts += [
            text(line, 8, height + LINE * size * (i + 0.75), size=size, fill=given.soft)
            for i, line in enumerate(told)
        ]
        height += LINE * size * (len(told) + 0.5)
    return picture(
        *parts, width=WIDTH, height=height, title=given.title, described=given.words, ground=given.ground
    )


def _traces(given: Given, room: Room) -> Iterator[str]:
    """In their order; those that follow each other within one plot are cut off at its edges together."""
    for (axes, is_clipped), some in groupby(given.traces, key=lambda one: (one.axes, one.is_clipped)):
        children = [drawn(one, room) for one in some]
        if not any(children):
            continue
        yield _clipped(axes, children, room) if is_clipped else "".join(children)


def _clipped(axes: tuple[str, str], children: list[str], room: Room) -> str:
    x, y = room.scales[axes[0]], room.scales[axes[1]]
    left, top = x.start - 1, y.end - 1
    width, height = x.end - x.start + 2, y.start - y.end + 2
    return element(
        "svg",
        *children,
        x=left,
        y=top,
        width=width,
        height=height,
        viewBox=f"{left:.2f} {top:.2f} {width:.2f} {height:.2f}",
        overflow="hidden",
    )


def _grid(axis: Axis, room: Room) -> str:
    if not axis.has_grid or axis.anchor not in room.scales:
        return ""
    own, other = room.scales[axis.key], room.scales[axis.anchor]
    parts = []
    for value in room.ticks[axis.key].values:
        at = own(value)
        ends = {"x1": other.start, "x2": other.end, "y1": at, "y2": at}
        if axis.key[0] == "x":
            ends = {"x1": at, "x2": at, "y1": other.start, "y2": other.end}
        parts.append(element("line", stroke=axis.grid, **ends))
    return "".join(parts)


def _axis(axis: Axis, given: Given, room: Room) -> str:
    own = room.scales[axis.key]
    other = room.scales.get(axis.anchor)
    is_level = axis.key[0] == "x"
    base = other.start if other is not None else (room.bottom if is_level else room.left)
    parts = []
    if axis.has_line:
        d = (
            f"M{own.start:.1f} {base:.1f}H{own.end:.1f}"
            if is_level
            else f"M{base:.1f} {own.start:.1f}V{own.end:.1f}"
        )
        parts.append(element("path", d=d, stroke=axis.ink, fill="none"))
    if axis.has_ticks:
        for value in room.ticks[axis.key].values:
            at = own(value)
            d = f"M{at:.1f} {base:.1f}v{TICK_PX:g}" if is_level else f"M{base:.1f} {at:.1f}h{-TICK_PX:g}"
            parts.append(element("path", d=d, stroke=axis.ink, fill="none"))
    if axis.has_labels:
        parts += (
            _level_labels(axis, given, room, base) if is_level else _upright_labels(axis, given, room, base)
        )
    if axis.title:
        parts.append(_title(axis, given, room, base))
    return "".join(parts)


def _level_labels(axis: Axis, given: Given, room: Room, base: float) -> Iterator[str]:
    own, size = room.scales[axis.key], given.font_px
    for value, words in zip(room.ticks[axis.key].values, room.ticks[axis.key].texts, strict=True):
        x, y = own(value), base + TICK_PX + GAP_PX + 0.75 * size
        if not axis.angle:
            yield text(words, x, y, size=size, fill=axis.label_ink, text_anchor="middle")
            continue
        x, y = x + 0.3 * size, base + TICK_PX + GAP_PX + 0.3 * size
        turn = f"rotate({axis.angle:g} {x:.1f} {y:.1f})"
        yield text(words, x, y, size=size, fill=axis.label_ink, text_anchor="end", transform=turn)


def _upright_labels(axis: Axis, given: Given, room: Room, base: float) -> Iterator[str]:
    own, size = room.scales[axis.key], given.font_px
    for value, words in zip(room.ticks[axis.key].values, room.ticks[axis.key].texts, strict=True):
        x, y = base - TICK_PX - GAP_PX, own(value) + 0.35 * size
        yield text(words, x, y, size=size, fill=axis.label_ink, text_anchor="end")


def _title(axis: Axis, given: Given, room: Room, base: float) -> str:
    own, size = room.scales[axis.key], given.font_px
    middle = (own.start + own.end) / 2
    if axis.key[0] == "x":
        y = base + TICK_PX + GAP_PX + (LINE * size if axis.has_labels else 0) + GAP_PX + 0.9 * size
        return text(axis.title, middle, y, size=size, fill=given.soft, text_anchor="middle")
    x = base - beside(axis, room.ticks[axis.key], size) + 0.9 * size
    turn = f"rotate(-90 {x:.1f} {middle:.1f})"
    return text(axis.title, x, middle, size=size, fill=given.soft, text_anchor="middle", transform=turn)


def _place(room: Room, refs: tuple[str, str], x: float, y: float) -> tuple[float, float]:
    return (
        room.across(x) if refs[0] == "paper" else room.place(refs[0], x),
        room.up(y) if refs[1] == "paper" else room.place(refs[1], y),
    )


def _shape(shape: Shape, room: Room) -> str:
    x0, y0 = _place(room, shape.refs, shape.x[0], shape.y[0])
    x1, y1 = _place(room, shape.refs, shape.x[1], shape.y[1])
    if shape.kind == "line":
        return element("line", x1=x0, y1=y0, x2=x1, y2=y1, **stroke_keys(shape.stroke))
    left, top = min(x0, x1), min(y0, y1)
    keys = {**fill_keys(shape.fill), **stroke_keys(shape.stroke)}
    return element("rect", x=left, y=top, width=abs(x1 - x0), height=abs(y1 - y0), **keys)


def _note(note: Note, room: Room) -> str:
    x, y = _place(room, note.refs, note.x, note.y)
    step = LINE * note.size
    above = {"top": 0.0, "middle": len(note.lines) * step / 2, "bottom": len(note.lines) * step}[
        note.anchor[1]
    ]
    anchor = {"left": "start", "center": "middle", "right": "end"}[note.anchor[0]]
    edge: dict[str, str | float] = (
        {"stroke": note.ground, "stroke_width": 3.0, "paint_order": "stroke", "stroke_linejoin": "round"}
        if note.ground
        else {}
    )
    return "".join(
        text(
            line,
            x + note.shift,
            y - above + step * (i + 0.77),
            size=note.size,
            fill=note.colour,
            text_anchor=anchor,
            **edge,
        )
        for i, line in enumerate(note.lines)
    )
