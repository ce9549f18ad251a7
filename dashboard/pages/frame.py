"""What every page has around its content: header, connection banner, replay bar, announcements.

The elements are empty: `assets/parts/header.mjs` and `assets/replay-bar.mjs` fill them.
"""

from __future__ import annotations

from typing import Any

from dash import html
from dash.development.base_component import Component


def framed(content: Component | list[Component], *, wall_link: bool) -> Component:
    """The whole page around its main content.

    Args:
        content: What stands in <main>.
        wall_link: Whether the header leads back to the wall (not on the wall itself).
    """
    return html.Div(
        className="page",
        children=[
            html.A("To the benches", href="#main", className="skip"),
            _header(wall_link=wall_link),
            html.Main(content, id="main", tabIndex=-1),
            html.Section(id="replay-bar", hidden=True, **_aria(label="Replay")),
            html.Div(id="announcements", className="out-of-sight", role="log", **_aria(live="polite")),
        ],
    )


def _header(*, wall_link: bool) -> Component:
    way_back = [html.A("The wall", href="/", className="way-back")] if wall_link else []
    return html.Header(
        id="header",
        className="header",
        children=[
            *way_back,
            html.H1("Benchrow", **_role("lesson")),
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
