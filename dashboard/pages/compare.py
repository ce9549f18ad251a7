"""The page that compares a recording's benches: what it consists of, and how its parts follow each other."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import dash
from dash import dcc, html
from dash.development.base_component import Component

from dashboard.pages.compare_choices import choices_form
from dashboard.pages.compare_reading import (
    FOLLOWS,
    FOLLOWS_FIRST,
    register_follow,
    register_leave_out,
    register_read,
)
from dashboard.pages.compare_showing import register_show
from dashboard.recordings import Recordings, recordings_offered

if TYPE_CHECKING:  # what computes takes a second to import: the wall need not wait for it
    from dashboard.comparer import Comparer

POLL_MS = 400


def layout(recordings: Recordings) -> Component:
    """The page before anything is compared; what may be chosen goes by who asks."""
    offered = recordings_offered(recordings)
    lanes: Any = {"data-lanes": ""}
    busy: Any = {"aria-label": "Compare", "data-busy": ""}
    return html.Section(
        id="compare",
        className="compare",
        children=[
            *_not_seen(is_live=recordings.is_live),
            _head(is_live=recordings.is_live),
            choices_form(offered)
            if offered
            else html.P(
                "Nothing is recorded, and there is no recording to compare. Begin to record on the wall.",
                className="panel",
            ),
            html.Div(
                className="compare-shown",
                children=[
                    html.Section(id="compare-lanes", className="panel lanes", hidden=True, **lanes),
                    html.Div(id="compare-result", className="compare-result", **busy),
                ],
            ),
        ],
    )


def _not_seen(*, is_live: bool) -> list[Component]:
    first = 1000 * int(FOLLOWS_FIRST)
    return [
        dcc.Store(id="compare-look", data="light"),
        dcc.Store(id="compare-read", data=None),
        dcc.Interval(id="compare-read-again", interval=POLL_MS, disabled=True),
        dcc.Interval(id="compare-show-again", interval=POLL_MS, disabled=True),
        dcc.Interval(id="compare-follow-again", interval=first, disabled=not is_live),
    ]


def _head(*, is_live: bool) -> Component:
    follow = dcc.Dropdown(
        id="compare-follow", options=FOLLOWS, value=FOLLOWS_FIRST, clearable=False, searchable=False
    )
    return html.Header(
        className="panel compare-head",
        children=[
            html.H2("Compare"),
            html.P(id="compare-reading", className="compare-status", role="status"),
            html.P(id="compare-status", className="compare-status", role="status"),
            html.Label(["Compare the class again", follow], className="compare-follow", hidden=not is_live),
            html.Button("Compare up to now", id="compare-again", type="button", hidden=not is_live),
        ],
    )


def register(app: dash.Dash, recordings: Recordings) -> None:
    """Add the page's callbacks to the app."""
    kept: list[Comparer] = []

    def comparer() -> Comparer:
        if not kept:
            from dashboard.comparer import Comparer

            kept.append(Comparer())
        return kept[0]

    register_follow(app)
    register_leave_out(app)
    register_read(app, recordings, comparer)
    register_show(app, recordings, comparer)
