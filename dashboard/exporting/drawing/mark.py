"""A bench's mark by itself, as SVG."""

from __future__ import annotations

from dashboard.exporting.drawing.svg import element
from dashboard.marks import OUTLINES, hex_of

_INK = "#000000"
_BOX = 24.0


def mark(shape: str, colour: str, *, size: float = 14) -> str:
    """The mark as a small picture of its own, for a line of text."""
    outline = element(
        "path",
        d=OUTLINES.get(shape, OUTLINES["circle"]),
        fill=hex_of(colour),
        fill_rule="evenodd",
        stroke=_INK,
        stroke_width=1.6,
    )
    return element(
        "svg",
        outline,
        viewBox=f"-1 -1 {_BOX + 2:g} {_BOX + 2:g}",
        width=size,
        height=size,
        aria_hidden="true",
        class_="mark",
    )
