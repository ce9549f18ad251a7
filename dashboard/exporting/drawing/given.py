"""What a picture asks to be drawn, as values."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from dashboard.exporting.drawing.scales import padded

Floats = NDArray[np.float64]
Table = Mapping[str, Any]  # plotly's own form: foreign data, at whose door types begin


class UnsupportedError(ValueError):
    """A picture holds what no still can show yet; the words say what, and where it would be added."""

    def __init__(self, what: str) -> None:
        super().__init__(
            f"a still can't show {what} yet: draw it in dashboard/exporting/drawing/, "
            "or leave it out of the picture"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """A line; no width: none is drawn."""

    colour: str = "#000000"
    width: float = 0.0
    dash: str = "solid"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trace:
    """Points of one pair of axes: joined, filled, marked or named."""

    mode: str
    x: Floats  # NaN breaks a line
    y: Floats
    axes: tuple[str, str]
    stroke: Stroke
    fill: str  # "" for none
    symbol: str
    size: float
    colour: str  # of a mark's inside, or of text
    edge: Stroke  # of a mark
    texts: tuple[str, ...]
    text_size: float
    is_clipped: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """One axis; `is_seen` is False for one that only places things."""

    key: str  # "x", "y2"
    is_seen: bool
    domain: tuple[float, float]
    range: tuple[float, float] | None  # None: as far as its points go
    anchor: str
    title: str
    values: tuple[float, ...] | None  # of its ticks; None: as the range asks for
    texts: tuple[str, ...]
    most_ticks: int
    angle: float
    has_grid: bool
    has_line: bool
    has_ticks: bool
    has_labels: bool
    ink: str  # of its line and ticks
    grid: str
    label_ink: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """A line or a rectangle; places refer to axes, or to the whole."""

    kind: str
    refs: tuple[str, str]
    x: tuple[float, float]
    y: tuple[float, float]
    is_below: bool
    stroke: Stroke
    fill: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """Words at a place."""

    lines: tuple[str, ...]
    refs: tuple[str, str]
    x: float
    y: float
    shift: float
    anchor: tuple[str, str]
    size: float
    colour: str
    ground: str  # "" for none


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Given:
    """A whole picture."""

    title: str
    words: str
    height: float
    margin: Mapping[str, float]
    ground: str
    ink: str  # of the title
    soft: str  # of all other words
    font_px: float
    family: str
    traces: tuple[Trace, ...]
    axes: Mapping[str, Axis]
    shapes: tuple[Shape, ...]
    notes: tuple[Note, ...] = field(default=())


def ranges_of(given: Given) -> Iterator[tuple[str, tuple[float, float]]]:
    """Of each axis: its own, else as far as the points on it go, with some air."""
    for key, axis in given.axes.items():
        if axis.range is not None:
            yield key, axis.range
            continue
        side = 0 if key[0] == "x" else 1
        on_it = [(one.x, one.y)[side] for one in given.traces if one.axes[side] == key]
        every = np.concatenate(on_it) if on_it else np.empty(0)
        every = every[np.isfinite(every)]
        yield key, padded(float(every.min()), float(every.max())) if len(every) else (0.0, 1.0)
