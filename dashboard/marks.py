"""A bench's mark: its shape, its colour, and in print its dash, so that grey paper loses nothing."""

from __future__ import annotations

from collections.abc import Mapping

COLOURS: Mapping[str, str] = {  # Okabe and Ito 2008, as in assets/tokens.css
    "orange": "#e69f00",
    "sky blue": "#56b4e9",
    "bluish green": "#009e73",
    "yellow": "#f0e442",
    "blue": "#0072b2",
    "vermillion": "#d55e00",
    "reddish purple": "#cc79a7",
    "black": "#000000",
}

OUTLINES: Mapping[str, str] = {
    "circle": "M12 3a9 9 0 1 0 0 18a9 9 0 1 0 0-18z",
    "square": "M4 4h16v16h-16z",
    "triangle": "M12 2.5L22.5 20.5h-21z",
    "diamond": "M12 1.5L22.5 12L12 22.5L1.5 12z",
    "cross": "M8.5 2.5h7v6h6v7h-6v6h-7v-6h-6v-7h6z",
    "bar": "M8 1.5h8v21h-8z",
    "ring": "M12 2.5a9.5 9.5 0 1 0 0 19a9.5 9.5 0 1 0 0-19zM12 8.5a3.5 3.5 0 1 1 0 7a3.5 3.5 0 1 1 0-7z",
    "star": "M12 1l3.2 7.4l8 .8l-6 5.4l1.7 7.9l-6.9-4.1l-6.9 4.1l1.7-7.9l-6-5.4l8-.8z",
}
"""In a box of 24 by 24; the same outlines as assets/parts/marks.mjs draws on the screens."""

_WORKBOOK_MARKERS = {"cross": "plus", "bar": "long_dash", "ring": "x"}  # a workbook has no ring and no bar
_WORKBOOK_DASHES = ("solid", "dash", "round_dot", "dash_dot", "long_dash")
DASHES = ("solid", "7px,3px", "2px,2px", "8px,3px,2px,3px", "14px,4px")
"""Of a printed line, turn by turn: with eight shapes no two of the first forty benches share both."""


def hex_of(colour: str) -> str:
    """The code of a colour's name; black for a name that is none."""
    return COLOURS.get(colour, COLOURS["black"])


def workbook_dash(bench: int) -> str:
    """How a bench's line is dashed in a workbook."""
    return _WORKBOOK_DASHES[(bench - 1) % len(_WORKBOOK_DASHES)]


def workbook_marker(shape: str) -> str:
    """The marker of a workbook's chart that comes nearest to a shape."""
    return _WORKBOOK_MARKERS.get(shape, shape)
