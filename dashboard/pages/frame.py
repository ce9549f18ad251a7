"""What every page has around its content: header, connection banner, replay bar, announcements.

The elements are empty: `assets/parts/header.mjs` and `assets/replay-bar.mjs` fill them.
"""

from __future__ import annotations

from typing import Any

from dash import html
from dash.development.base_component import Component

# In the order in which a session needs them; short words, for a header holds the lesson's title too.
WAYS = (
    ("The wall", "/"),
    ("Where next?", "/next"),
    ("Set-up", "/set-up"),
    ("Compare", "/compare"),
    ("What if", "/what-if"),
)


def framed(content: Component | list[Component], *, here: str = "") -> Component:
    """The whole page around its main content.

    Args:
        content: What stands in <main>.
        here: The address among `WAYS` that it is, to which the header then doesn't lead; "" for any other.
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
    ways = [
        html.Span(words, className="way", **_aria(current="page"))
        if address == here
        else html.A(words, href=address, className="way")
        for words, address in WAYS
    ]
    return html.Header(
        id="header",
        className="header",
        children=[
            html.H1("Benchrow", **_role("lesson")),
            html.Nav(ways, className="header-ways", **_aria(label="Pages")),
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
