"""One figure of every bench: a dot with the interval that holds it, and the class's own."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from dashboard.comparing import Figure
from dashboard.exporting.drawing.curves import WIDTH, mark, shortened
from dashboard.exporting.drawing.scales import Scale, padded, tick_texts, ticks
from dashboard.exporting.drawing.svg import GRID, INK, PALE, element, picture, text
from dashboard.exporting.session import Group

ROW = 24.0
LEFT, RIGHT, TOP, BOTTOM = 150.0, 24.0, 26.0, 44.0


class Row(NamedTuple):
    """One bench and its figure."""

    group: Group
    figure: Figure


def dots(rows: Sequence[Row], *, title: str, x_label: str, middle: float | None = None) -> str:
    """A row for each bench. One whose figure is not known says why.

    Args:
        rows: From the top.
        title: Of the picture.
        x_label: The figure with its unit.
        middle: The class's own value, an upright line.
    """
    height = TOP + BOTTOM + ROW * len(rows)
    bottom = height - BOTTOM
    ends = [end for row in rows for end in _ends(row.figure)]
    ends += [] if middle is None else [middle]
    low, high = padded(min(ends, default=0.0), max(ends, default=1.0))
    scale = Scale(low, high, LEFT, WIDTH - RIGHT)
    parts: list[str] = []
    values = ticks(low, high)
    for value, words in zip(values, tick_texts(values), strict=True):
        x = scale(value)
        parts.append(element("line", x1=x, x2=x, y1=TOP - 6, y2=bottom, stroke=GRID))
        parts.append(text(words, x, bottom + 18, text_anchor="middle"))
    if middle is not None:
        x = scale(middle)
        parts.append(element("line", x1=x, x2=x, y1=TOP - 6, y2=bottom, stroke=PALE, stroke_dasharray="6 3"))
        parts.append(text("class median", x, TOP - 6, size=10, fill="#444444", text_anchor="middle"))
    parts += [_row(row, TOP + ROW * (i + 0.5), scale) for i, row in enumerate(rows)]
    parts.append(element("line", x1=LEFT, x2=WIDTH - RIGHT, y1=bottom, y2=bottom, stroke=INK))
    parts.append(text(x_label, WIDTH - RIGHT, bottom + 34, text_anchor="end"))
    parts.append(text("Bars: 95 % interval", 8, bottom + 34, size=10, fill="#444444"))
    return picture(*parts, width=WIDTH, height=height, title=title)


def _row(row: Row, y: float, scale: Scale) -> str:
    figure = row.figure
    name = mark(row.group, 18, y, size=13) + text(shortened(row.group.name), 30, y + 4)
    if figure.value is None:
        return name + text(figure.words, LEFT + 6, y + 4, size=10, fill="#444444")
    x = scale(figure.value)
    bar = ""
    if figure.low is not None and figure.high is not None:
        a, b = scale(figure.low), scale(figure.high)
        d = f"M{a:.1f} {y:.1f}H{b:.1f}M{a:.1f} {y - 4:.1f}v8M{b:.1f} {y - 4:.1f}v8"
        bar = element("path", d=d, stroke=INK, stroke_width=1.4, fill="none")
    return name + bar + mark(row.group, x, y, size=12)


def _ends(figure: Figure) -> list[float]:
    return [one for one in (figure.low, figure.value, figure.high) if one is not None]
