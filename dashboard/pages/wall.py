"""The page for the big screen: a card per bench, filled by `assets/wall.mjs`."""

from __future__ import annotations

from typing import Any

from dash import html
from dash.development.base_component import Component


def layout() -> Component:
    """The empty wall."""
    named: Any = {"aria-label": "Benches"}
    return html.Section(id="wall", className="wall", **named)
