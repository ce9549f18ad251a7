"""The frame of a plot over time: axes, grid, ticks, lines across it and named instants."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from dashboard.exporting.drawing.scales import Scale, tick_texts, ticks
from dashboard.exporting.drawing.svg import GRID, INK, PALE, element, text

MINUTES_FROM = 180.0  # s; a shorter time is shown in seconds


class Level(NamedTuple):
    """A line across the plot."""

    value: float
    words: str
    is_limit: bool  # else a band edge: fainter


class Instant(NamedTuple):
    """A named instant."""

    seconds: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Where a plot lies, and its two scales; time in seconds."""

    x: Scale
    y: Scale

    def place(self, seconds: float, value: float) -> tuple[float, float]:
        """In px."""
        return self.x(seconds), self.y(value)


def axes(frame: Frame, *, x_label: str, y_label: str, most_x: int = 7, most_y: int = 7) -> str:
    """Grid, ticks, their numbers and the names of both axes."""
    per_tick, unit = (60.0, "min") if frame.x.high - frame.x.low > MINUTES_FROM else (1.0, "s")
    times = ticks(frame.x.low / per_tick, frame.x.high / per_tick, most=most_x)
    values = ticks(frame.y.low, frame.y.high, most=most_y)
    left, right, bottom, top = frame.x.start, frame.x.end, frame.y.start, frame.y.end
    parts: list[str] = []
    for value, words in zip(values, tick_texts(values), strict=True):
        y = frame.y(value)
        parts.append(element("line", x1=left, x2=right, y1=y, y2=y, stroke=GRID))
        parts.append(text(words, left - 6, y + 4, text_anchor="end"))
    for time, words in zip(times, tick_texts(times), strict=True):
        x = frame.x(time * per_tick)
        parts.append(element("line", x1=x, x2=x, y1=bottom, y2=bottom + 5, stroke=INK))
        parts.append(text(words, x, bottom + 18, text_anchor="middle"))
    parts.append(element("path", d=f"M{left:g} {top:g}V{bottom:g}H{right:g}", fill="none", stroke=INK))
    if x_label:
        parts.append(text(f"{x_label} in {unit}", right, bottom + 34, text_anchor="end"))
    if y_label:
        parts.append(text(y_label, left, top - 24))
    return "".join(parts)


def levels(frame: Frame, lines: Sequence[Level]) -> str:
    """Limits and band edges that lie within the plot."""
    parts: list[str] = []
    for line in lines:
        if frame.y.low <= line.value <= frame.y.high:
            y = frame.y(line.value)
            stroke, dash = (INK, "10 3") if line.is_limit else (PALE, "1 3")
            parts.append(
                element(
                    "line", x1=frame.x.start, x2=frame.x.end, y1=y, y2=y, stroke=stroke, stroke_dasharray=dash
                )
            )
            parts.append(_on_curves(line.words, frame.x.end - 4, y - 3))
    return "".join(parts)


def instants(frame: Frame, found: Sequence[Instant]) -> str:
    """Upright lines, those within the plot; with their words on top where there is room for them."""
    parts: list[str] = []
    free_from = 0.0  # px: words do not run into each other
    for one in sorted(found):
        if frame.x.low <= one.seconds <= frame.x.high:
            x = frame.x(one.seconds)
            parts.append(
                element(
                    "line", x1=x, x2=x, y1=frame.y.start, y2=frame.y.end, stroke=PALE, stroke_dasharray="4 4"
                )
            )
            if x >= free_from:
                parts.append(text(one.words, x, frame.y.end - 8, size=10, fill="#444444"))
                free_from = x + 6.0 * len(one.words)
    return "".join(parts)


def inside(frame: Frame, *children: str) -> str:
    """What is drawn within the plot and cut off at its edges."""
    left, top = frame.x.start, frame.y.end
    width, height = frame.x.end - left, frame.y.start - top
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


def _on_curves(words: str, x: float, y: float) -> str:
    """Words that end at a place, with a white edge, readable on any curve."""
    if not words:
        return ""
    return text(
        words,
        x,
        y,
        size=10,
        fill="#333333",
        text_anchor="end",
        stroke="#ffffff",
        stroke_width=3.0,
        paint_order="stroke",
    )
