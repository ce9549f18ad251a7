"""The page of the alarm journal: every transition, and its figures; filled by `assets/journal.mjs`."""

from __future__ import annotations

from typing import Any

from dash import html
from dash.development.base_component import Component


def layout() -> Component:
    """The empty journal."""
    named: Any = {"aria-label": "Journal"}
    return html.Section(id="journal", className="journal", **named)
