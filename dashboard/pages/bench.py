"""The page of one bench: lines, fields, conversion, history, alarms, port; filled by `assets/bench.mjs`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import dash
import plotly  # type: ignore[import-untyped]  # ships no types
from dash import fingerprint, html
from dash.development.base_component import Component

_LIBRARY = "package_data/plotly.min.js"
_untyped: Any = dash  # two of Dash's functions bear no types
_untyped_names: Any = fingerprint


def layout(number: int) -> Component:
    """The empty page of a bench.

    Args:
        number: The bench's; whether the session has it, the page learns from the bridge.
    """
    told: Any = {"aria-label": f"Bench {number}", "data-bench": str(number), "data-plotly": plotly_url()}
    return html.Section(id="bench", className="bench", **told)


def plotly_url() -> str:
    """Where Dash serves the drawing library: under a name that browsers keep for a year, it is large."""
    file = Path(plotly.__file__).parent / _LIBRARY
    name = _untyped_names.build_fingerprint(_LIBRARY, plotly.__version__, int(file.stat().st_mtime))
    return str(_untyped.get_relative_path(f"/_dash-component-suites/plotly/{name}"))
