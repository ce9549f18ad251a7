"""Curves over time: all benches in one plot, or each in a small one of its own."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from dashboard.comparing.series import Series
from dashboard.exporting.drawing.frame import Frame, Instant, Level, axes, inside, instants, levels
from dashboard.exporting.drawing.scales import Scale, spread
from dashboard.exporting.drawing.svg import INK, PALE, element, picture, text
from dashboard.exporting.drawing.thinning import Thinned, thinned
from dashboard.exporting.drawing.window import Span, beyond_words, time_span, value_span
from dashboard.exporting.session import Group
from dashboard.marks import OUTLINES, dash_of, hex_of

WIDTH, HEIGHT = 720.0, 310.0
LEFT, RIGHT, TOP, BOTTOM = 56.0, 132.0, 44.0, 44.0
N_COLUMNS = 266  # two px each: a printer shows no more
N_MARKS = 5  # along a curve, so that it is known without colour
_PALE_COLOURS = ("orange", "sky blue", "yellow")  # below 3:1 on white: these get a dark casing
_LONGEST_NAME = 17
_NOTE_LETTERS = 120  # of a line under a plot


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """One bench's course and whose it is."""

    group: Group
    series: Series


def overlay(
    curves: Sequence[Curve],
    *,
    title: str,
    y_label: str,
    lines: Sequence[Level] = (),
    moments: Sequence[Instant] = (),
    usual: Span | None = None,
    height: float = HEIGHT,
) -> str:
    """All curves in one plot: line, dash and marks of each bench, value ± 2 u shaded, its name at the end.

    Args:
        curves: The first lies lowest.
        title: Of the picture.
        y_label: Quantity and unit.
        lines: Limits and band edges across it.
        moments: Named instants.
        usual: The scale that the lesson gives; see `window.value_span`.
        height: In px.
    """
    series = [curve.series for curve in curves]
    times, values = time_span(series), value_span(series, [line.value for line in lines], usual)
    frame = Frame(x=Scale(*times, LEFT, WIDTH - RIGHT), y=Scale(*values, height - BOTTOM, TOP))
    parts = [axes(frame, x_label="time since the start", y_label=y_label)]
    parts.append(instants(frame, moments))
    cut = [_thin(curve, frame, N_COLUMNS) for curve in curves]
    drawn = [_shade(curve, stretches, frame) for curve, stretches in zip(curves, cut, strict=True)]
    is_dashed = len(curves) > 1
    drawn += [
        _line(curve, stretches, frame, is_dashed=is_dashed)
        for curve, stretches in zip(curves, cut, strict=True)
    ]
    known = [curve for curve in curves if len(curve.series)]
    drawn += [_marks(curve, frame, turn / max(1, len(known))) for turn, curve in enumerate(known)]
    parts.append(inside(frame, *drawn))
    parts.append(levels(frame, lines))  # above the curves: its words have a white edge
    parts.append(_names(known, frame))
    notes = ["Shaded: value ± 2 standard uncertainties."] if _any_u(known) else []
    notes += beyond_words([(curve.group.name, curve.series) for curve in known], values)
    told = textwrap.wrap(" ".join(notes), _NOTE_LETTERS)
    parts += [text(line, 8, height + 8 + 13 * i, size=10, fill="#444444") for i, line in enumerate(told)]
    height += 13 * len(told)
    return picture(*parts, width=WIDTH, height=height, title=title, described=_described(curves))


def small_multiples(
    curves: Sequence[Curve],
    *,
    title: str,
    y_label: str,
    lines: Sequence[Level] = (),
    usual: Span | None = None,
    n_columns: int = 4,
) -> str:
    """A small plot for each bench, all with the same scales, the others' curves pale behind it."""
    n_columns = max(1, min(n_columns, len(curves)))
    n_rows = math.ceil(len(curves) / n_columns) or 1
    width, height, left, top = (WIDTH - 20) / n_columns, 150.0, 34.0, 34.0
    total = n_rows * height + 44
    series = [curve.series for curve in curves]
    times, values = time_span(series), value_span(series, [line.value for line in lines], usual)
    parts: list[str] = [text(y_label, 8, 14)]
    for i, curve in enumerate(curves):
        x0, y0 = 8 + (i % n_columns) * width, 16 + (i // n_columns) * height
        frame = Frame(
            x=Scale(*times, x0 + left, x0 + width - 10), y=Scale(*values, y0 + height - 28, y0 + top - 8)
        )
        label = "time" if i + n_columns >= len(curves) else ""
        parts.append(axes(frame, x_label=label, y_label="", most_x=4, most_y=4))
        parts.append(levels(frame, [Level(one.value, "", one.is_limit) for one in lines]))
        drawn = [
            _path(_thin(other, frame, 60), frame, stroke="#c4c4c4", stroke_width=0.8)
            for other in curves
            if other is not curve
        ]
        stretches = _thin(curve, frame, 60)
        drawn += [_shade(curve, stretches, frame), _line(curve, stretches, frame, is_dashed=False)]
        parts.append(inside(frame, *drawn))
        parts.append(mark(curve.group, x0 + left + 6, y0 + top - 20, size=12))
        parts.append(text(shortened(curve.group.name), x0 + left + 16, y0 + top - 16, size=12))
    return picture(*parts, width=WIDTH, height=total, title=title, described=_described(curves))


def mark(group: Group, x: float, y: float, *, size: float = 9) -> str:
    """The bench's mark, its middle at a place."""
    outline = OUTLINES.get(group.shape, OUTLINES["circle"])
    return element(
        "path",
        d=outline,
        fill=hex_of(group.colour),
        fill_rule="evenodd",
        stroke=INK,
        stroke_width=1.6,
        transform=f"translate({x - size / 2:.2f} {y - size / 2:.2f}) scale({size / 24:.4f})",
    )


def shortened(name: str) -> str:
    """A name that fits beside a curve."""
    return name if len(name) <= _LONGEST_NAME else name[: _LONGEST_NAME - 1] + "…"


def _thin(curve: Curve, frame: Frame, n_columns: int) -> list[Thinned]:
    return thinned(curve.series, width_seconds=frame.x.high - frame.x.low, n_columns=n_columns)


def _line(curve: Curve, stretches: list[Thinned], frame: Frame, *, is_dashed: bool = True) -> str:
    dash = dash_of(curve.group.bench) if is_dashed else ""
    colour = hex_of(curve.group.colour)
    drawn = _path(stretches, frame, stroke=colour, stroke_width=1.6, dash=dash)
    if curve.group.colour not in _PALE_COLOURS:
        return drawn
    return _path(stretches, frame, stroke="#4a4a4a", stroke_width=2.8, dash=dash) + drawn


def _path(stretches: list[Thinned], frame: Frame, *, stroke: str, stroke_width: float, dash: str = "") -> str:
    d = "".join(_steps(one.seconds.tolist(), one.values.tolist(), frame) for one in stretches)
    if not d:
        return ""
    return element(
        "path",
        d=d,
        fill="none",
        stroke=stroke,
        stroke_width=stroke_width,
        stroke_dasharray=dash or None,
        stroke_linejoin="round",
        stroke_linecap="round" if not dash else None,
    )


def _steps(seconds: Sequence[float], values: Sequence[float], frame: Frame) -> str:
    """M and L of a path. A point alone becomes a dot: a line of no length with a round end."""
    places = [frame.place(*one) for one in zip(seconds, values, strict=True)]
    if len(places) == 1:
        places *= 2
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in places)


def _shade(curve: Curve, stretches: list[Thinned], frame: Frame) -> str:
    d = ""
    for one in stretches:
        known = np.isfinite(one.low) & np.isfinite(one.high)
        if known.sum() > 1:
            columns, low, high = one.columns[known], one.low[known], one.high[known]
            there = _steps(columns.tolist(), high.tolist(), frame)
            back = _steps(columns[::-1].tolist(), low[::-1].tolist(), frame)
            d += f"{there}L{back[1:]}Z"
    return element("path", d=d, fill=hex_of(curve.group.colour), fill_opacity=0.16) if d else ""


def _marks(curve: Curve, frame: Frame, turn: float) -> str:
    """A few marks along the curve, at other times than its neighbours' marks."""
    series = curve.series
    span = frame.x.high - frame.x.low
    times = [frame.x.low + span * (i + turn) / N_MARKS for i in range(N_MARKS)]
    found = {int(np.abs(series.seconds - time).argmin()) for time in times}
    return "".join(
        mark(curve.group, *frame.place(float(series.seconds[i]), float(series.values[i])))
        for i in sorted(found)
    )


def _names(curves: Sequence[Curve], frame: Frame) -> str:
    ends = [frame.y(float(curve.series.values[-1])) for curve in curves]
    ends = [min(max(end, frame.y.end), frame.y.start) for end in ends]
    moved = spread(ends, apart=15.0, low=frame.y.end + 4, high=frame.y.start)
    parts: list[str] = []
    for curve, end, y in zip(curves, ends, moved, strict=True):
        x = frame.x(float(curve.series.seconds[-1]))
        parts.append(
            element(
                "path", d=f"M{x + 2:.1f} {end:.1f}L{frame.x.end + 10:.1f} {y:.1f}", stroke=PALE, fill="none"
            )
        )
        parts.append(mark(curve.group, frame.x.end + 17, y, size=11))
        parts.append(text(shortened(curve.group.name), frame.x.end + 26, y + 4))
    return "".join(parts)


def _any_u(curves: Sequence[Curve]) -> bool:
    return any(bool(np.isfinite(curve.series.u).any()) for curve in curves)


def _described(curves: Sequence[Curve]) -> str:
    told = []
    for curve in curves:
        values = curve.series.values
        if len(values):
            unit = curve.series.unit
            told.append(
                f"{curve.group.name}: from {values[0]:.4g} to {values[-1]:.4g} {unit}, "
                f"between {values.min():.4g} and {values.max():.4g} {unit}"
            )
    return "; ".join(told)
