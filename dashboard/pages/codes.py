"""The page with each bench's code, by which its group reaches its own page; filled by `assets/codes.mjs`."""

from __future__ import annotations

from typing import Any

from dash import html
from dash.development.base_component import Component


def layout() -> Component:
    """The empty page."""
    named: Any = {"aria-label": "Bench codes"}
    return html.Section(id="codes", className="codes", **named)
