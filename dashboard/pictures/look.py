"""How all pictures look: grounds, inks and type, for a light screen, a dark one and paper."""

from __future__ import annotations

import html
from dataclasses import dataclass
from typing import Any, TypeAlias

import plotly.graph_objects as go  # type: ignore[import-untyped]  # ships no types

Figure: TypeAlias = go.Figure
Trace: TypeAlias = dict[str, Any]  # plotly's own form, at whose door types end


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """Colours as in assets/tokens.css, which the pages use; type as large as the place asks for."""

    name: str
    card: str
    ink: str
    soft: str
    line: str
    faint: str
    shade: str  # what an interval is filled with: lets through what lies below
    attention: str
    stripe: str  # a phase of the lesson behind the curves
    font_px: int = 14
    curve_px: float = 2.6
    is_printed: bool = False  # curves thinner, and dashed instead of outlined: grey ink tells them apart
    wide: float = 1.35  # times the printed width of 720 px: room for names
    tall: float = 1.0  # heights of plots and rows: a page of paper holds more than one
    family: str = 'system-ui, "Segoe UI", Roboto, "Helvetica Neue", "Liberation Sans", Arial, sans-serif'


LIGHT = Look(
    name="light",
    card="#ffffff",
    ink="#14181b",
    soft="#4b5359",
    line="#7b838a",
    faint="#dfe3e6",
    shade="rgba(20, 24, 27, 0.16)",
    attention="#a3200f",
    stripe="#eef1f3",
)
DARK = Look(
    name="dark",
    card="#171b1e",
    ink="#f3f5f6",
    soft="#b9c1c7",
    line="#7d868d",
    faint="#31383d",
    shade="rgba(243, 245, 246, 0.2)",
    attention="#ff8f78",
    stripe="#22282c",
)
PAPER = Look(
    name="paper",
    card="#ffffff",
    ink="#000000",
    soft="#333333",
    line="#777777",
    faint="#dddddd",
    shade="rgba(0, 0, 0, 0.13)",
    attention="#a3200f",
    stripe="#eeeeee",
    font_px=12,
    curve_px=1.6,
    is_printed=True,
    wide=1.0,
    tall=0.75,
)


def plain(text: str) -> str:
    """Plotly reads marks in a text; what a lesson or a board says is no mark."""
    return html.escape(text, quote=False)


def shortened(text: str, most: int = 18) -> str:
    """A name that fits beside a picture, safe for plotly."""
    return plain(text if len(text) <= most else f"{text[: most - 1]}…")


def axis(look: Look, title: str = "", **more: Any) -> Trace:
    """An axis with a line, ticks outside and a faint grid."""
    return {
        "title": {"text": title, "standoff": 6},
        "showline": True,
        "linecolor": look.line,
        "ticks": "outside",
        "tickcolor": look.line,
        "gridcolor": look.faint,
        "zeroline": False,
        "automargin": True,
        **more,
    }


def hidden_axis(**more: Any) -> Trace:
    """An axis that only places things."""
    return {"visible": False, "fixedrange": True, "zeroline": False, **more}


def figure_of(
    traces: list[Trace], look: Look, *, title: str, words: str, height: int, **layout: Any
) -> Figure:
    """A figure in the house's look.

    Args:
        traces: In the order of drawing.
        look: See there.
        title: What the picture is, for stills; the page has it as a heading.
        words: What is to be seen, in a sentence or two: its caption, and for those who do not see it.
        height: In px, of the whole.
        layout: Axes and the rest.
    """
    return go.Figure(
        data=traces,
        layout={
            "title": {
                "text": plain(title[:1].upper() + title[1:]),
                "x": 0,
                "xref": "container",
                "pad": {"l": 8, "t": 8},
                "font": {"color": look.ink},
            },
            "meta": {"words": words},
            "height": height,
            "margin": {"l": 60, "r": 16, "t": 44, "b": 52},
            "paper_bgcolor": look.card,
            "plot_bgcolor": "rgba(0, 0, 0, 0)",  # axes lie over each other
            "font": {"family": look.family, "size": look.font_px, "color": look.soft},
            "hoverlabel": {"bgcolor": look.card, "bordercolor": look.line, "font": {"color": look.ink}},
            "showlegend": False,
            "dragmode": False,
            "hovermode": "closest",
            "separators": ". ",
            **layout,
        },
    )


def empty(look: Look, *, title: str, words: str) -> Figure:
    """A picture of which there is nothing to show, and why."""
    note = {
        "text": plain(words),
        "xref": "paper",
        "yref": "paper",
        "x": 0.5,
        "y": 0.5,
        "showarrow": False,
        "font": {"color": look.soft},
    }
    return figure_of(
        [],
        look,
        title=title,
        words=words,
        height=160,
        annotations=[note],
        xaxis=hidden_axis(),
        yaxis=hidden_axis(),
    )
