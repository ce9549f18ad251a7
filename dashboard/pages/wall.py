"""The page for the big screen: where to go next and a card per bench, filled by `assets/wall.mjs`."""

from __future__ import annotations

from typing import Any

from dash import html
from dash.development.base_component import Component


def layout() -> list[Component]:
    """The empty wall."""
    calls: Any = {"aria-label": "Where next?"}
    named: Any = {"aria-label": "Benches"}
    return [
        html.Section(id="calls", className="calls", **calls),
        html.Section(id="wall", className="wall", **named),
    ]
