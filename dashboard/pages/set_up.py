"""The page for the beginning of a session: all benches, how each is read; filled by `assets/set-up.mjs`."""

from __future__ import annotations

from typing import Any

from dash import html
from dash.development.base_component import Component


def layout() -> Component:
    """The empty set-up page."""
    named: Any = {"aria-label": "Set-up"}
    return html.Section(id="set-up", className="set-up", **named)
