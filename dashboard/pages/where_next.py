"""The page that says where to go next: all calls in their order; filled by `assets/next.mjs`."""

from __future__ import annotations

from typing import Any

from dash import html
from dash.development.base_component import Component


def layout() -> Component:
    """The empty call list."""
    named: Any = {"aria-label": "Where next?"}
    return html.Section(id="next", className="next", **named)
