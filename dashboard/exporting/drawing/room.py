"""Where the plots of a picture lie: margins wide enough for their axes' words, and a scale for each axis."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from dashboard.exporting.drawing.given import Axis, Given, ranges_of
from dashboard.exporting.drawing.scales import Scale, tick_texts, ticks
from dashboard.pictures.lettering import width_of

TICK_PX, GAP_PX = 5.0, 4.0  # of a tick, and between it and its number
LINE = 1.3  # of the type's size, from one line to the next
_EDGE_PX = 6.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ticks:
    """An axis's ticks with their words."""

    values: tuple[float, ...]
    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """A picture's size, the part of it that plots share, and each axis's scale; px."""

    width: float
    height: float
    left: float
    right: float
    top: float
    bottom: float
    scales: Mapping[str, Scale]
    ticks: Mapping[str, Ticks]

    def across(self, share: float) -> float:
        """Of the plots' part, from its left."""
        return self.left + share * (self.right - self.left)

    def up(self, share: float) -> float:
        """Of the plots' part, from its bottom."""
        return self.bottom - share * (self.bottom - self.top)

    def place(self, ref: str, value: float) -> float:
        """Where a value stands that refers to an axis ("x2"), to its part ("x2 domain") or to all plots."""
        key, _, domain = ref.partition(" ")
        if key == "paper":
            raise ValueError("say of which direction")
        scale = self.scales[key]
        return scale.start + value * (scale.end - scale.start) if domain else scale(value)


def room_of(given: Given, width: float) -> Room:
    """The room of a picture of that width."""
    ranges = dict(ranges_of(given))
    found = {key: _ticks(axis, ranges[key]) for key, axis in given.axes.items()}
    left, bottom = given.margin["l"], given.margin["b"]
    for key, axis in given.axes.items():
        if axis.is_seen and key[0] == "y" and _begins(given, axis.anchor) == 0:
            left = max(left, beside(axis, found[key], given.font_px) + _EDGE_PX)
        if axis.is_seen and key[0] == "x" and _begins(given, axis.anchor) == 0:
            bottom = max(bottom, below(axis, found[key], given.font_px) + _EDGE_PX)
    right, top, floor = width - given.margin["r"], given.margin["t"], given.height - bottom
    room = Room(
        width=width,
        height=given.height,
        left=left,
        right=right,
        top=top,
        bottom=floor,
        scales={},
        ticks=found,
    )
    scales = {}
    for key, axis in given.axes.items():
        a, b = axis.domain
        ends = (room.across(a), room.across(b)) if key[0] == "x" else (room.up(a), room.up(b))
        scales[key] = Scale(*ranges[key], *ends)
    return Room(
        width=width,
        height=given.height,
        left=left,
        right=right,
        top=top,
        bottom=floor,
        scales=scales,
        ticks=found,
    )


def beside(axis: Axis, found: Ticks, font_px: float) -> float:
    """What an upright axis needs at its left: ticks, numbers, title."""
    numbers = max((width_of(one, font_px) for one in found.texts), default=0.0) if axis.has_labels else 0.0
    return TICK_PX + GAP_PX + numbers + (LINE * font_px + GAP_PX if axis.title else 0.0)


def below(axis: Axis, found: Ticks, font_px: float) -> float:
    """What a level axis needs below it."""
    deep = 0.0
    if axis.has_labels:
        turn = math.radians(abs(axis.angle))
        longest = max((width_of(one, font_px) for one in found.texts), default=0.0)
        deep = longest * math.sin(turn) + LINE * font_px * math.cos(turn)
    return TICK_PX + GAP_PX + deep + (LINE * font_px + GAP_PX if axis.title else 0.0)


def _begins(given: Given, key: str) -> float:
    return given.axes[key].domain[0] if key in given.axes else 0.0


def _ticks(axis: Axis, limits: tuple[float, float]) -> Ticks:
    if axis.values is None:
        values = ticks(*limits, most=axis.most_ticks)
        return Ticks(values=tuple(values), texts=tuple(tick_texts(values)))
    texts = axis.texts or tuple(tick_texts(list(axis.values)))
    low, high = limits
    there = [(v, t) for v, t in zip(axis.values, texts, strict=True) if low <= v <= high]
    return Ticks(values=tuple(v for v, _ in there), texts=tuple(t for _, t in there))
