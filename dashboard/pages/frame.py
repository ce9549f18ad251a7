"""What every page has around its content: header, connection banner, replay bar, announcements.

The elements are empty: `assets/parts/header.mjs` and `assets/replay-bar.mjs` fill them.
"""

from __future__ import annotations

from typing import Any, Literal

from dash import html
from dash.development.base_component import Component


def framed(
    content: Component | list[Component], *, here: Literal["wall", "set-up", "compare", ""] = ""
) -> Component:
    """The whole page around its main content.

    Args:
        content: What stands in <main>.
        here: The page that it is, to which the header then doesn't lead; "" for any other.
    """
    return html.Div(
        className="page",
        children=[
            html.A("To the benches", href="#main", className="skip"),
            _header(here),
            html.Main(content, id="main", tabIndex=-1),
            html.Section(id="replay-bar", hidden=True, **_aria(label="Replay")),
            html.Div(id="announcements", className="out-of-sight", role="log", **_aria(live="polite")),
        ],
    )


def _header(here: str) -> Component:
    way_back = [] if here == "wall" else [html.A("The wall", href="/", className="way")]
    way_to_set_up = [] if here == "set-up" else [html.A("Set-up", href="/set-up", className="way")]
    way_to_compare = [] if here == "compare" else [html.A("Compare", href="/compare", className="way")]
    return html.Header(
        id="header",
        className="header",
        children=[
            *way_back,
            html.H1("Benchrow", **_role("lesson")),
            *way_to_set_up,
            *way_to_compare,
            html.Span(className="header-words", **_role("recording")),
            html.Span("Connecting to the bridge", className="header-words", **_role("connection")),
            html.Span(className="clock", title="Session time", **_role("clock")),
            html.P(hidden=True, className="banner", **_role("banner")),
        ],
    )


def _role(role: str) -> dict[str, Any]:  # Any: Dash types each argument of an element, not the data-* ones
    return {"data-role": role}


def _aria(**attributes: str) -> dict[str, Any]:
    return {f"aria-{name}": words for name, words in attributes.items()}


def not_found(path: str) -> Component:
    """The page for an address that leads nowhere."""
    return html.Div(
        className="nowhere",
        children=[
            html.H2("There is no page at this address"),
            html.P(f"Nothing stands at {path}."),
            html.A("Go to the wall", href="/"),
        ],
    )
