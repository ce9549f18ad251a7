"""What the what-if page consists of, before anything is changed."""

from __future__ import annotations

from typing import Any

from dash import dcc, html
from dash.development.base_component import Component

from dashboard.recordings import Recordings, recordings_offered

POLL_MS = 300
OWN = "own"
"""Stands for the recording's own lesson; kept revisions go by their file's name."""
VIEWS = {"side": "side by side", "over": "over each other"}
_KEPT = (
    "The wall then shows the session with these changes, and the changed lesson is kept as a file beside the "
    "recordings."
)
_SAVED = "With all remarks. “benchrow replay RECORDING --lesson FILE” shows the session with it."


def layout(recordings: Recordings) -> Component:
    """The page before anything is changed; what may be chosen goes by who asks."""
    offered = recordings_offered(recordings)
    if not offered:
        nothing = "Nothing is recorded, and there is no recording to look at. Begin to record on the wall."
        return html.Section(html.P(nothing, className="panel"), id="what-if", className="what-if")
    busy: Any = {"aria-label": "What would have been", "data-busy": ""}
    return html.Section(
        id="what-if",
        className="what-if",
        children=[
            dcc.Store(id="what-if-look", data="light"),
            dcc.Store(id="what-if-job", data=None),
            dcc.Store(id="what-if-done", data=None),
            dcc.Store(id="what-if-kept", data=0),
            dcc.Interval(id="what-if-again", interval=POLL_MS, disabled=True),
            dcc.Download(id="what-if-file"),
            _head(),
            html.Div([_chosen(offered), _changed()], className="what-if-choices"),
            html.Div(
                [
                    html.Div(id="what-if-answer", className="what-if-parts"),
                    _view(),
                    html.Div(id="what-if-pictures", className="what-if-parts"),
                    html.Div(id="what-if-table", className="what-if-parts"),
                ],
                id="what-if-result",
                className="what-if-result",
                **busy,
            ),
        ],
    )


def _head() -> Component:
    return html.Header(
        [
            html.H2("What if"),
            html.P(
                "Change a conversion, a band or a limit, and see what the whole session would have shown. "
                "The recording stays as it is.",
                className="soft",
            ),
        ],
        className="panel what-if-head",
    )


def _chosen(offered: list[dict[str, str]]) -> Component:
    return html.Form(
        [
            _labelled("Recording", "what-if-recording", offered, offered[0]["value"]),
            _labelled("Starts from", "what-if-base", [{"label": "its own lesson", "value": OWN}], OWN),
            html.P(id="what-if-source", className="soft"),
            html.Div(id="what-if-form"),
        ],
        className="panel what-if-form",
    )


def _changed() -> Component:
    progress: Any = {"aria-label": "How far it is"}
    return html.Section(
        [
            html.H3("Changed"),
            html.Ul(id="what-if-changes", className="what-if-sentences"),
            html.P("Nothing is changed yet.", id="what-if-nothing", className="soft"),
            html.Div(
                [
                    html.Button(
                        "Show both", id="what-if-show", type="button", className="chief", disabled=True
                    ),
                    html.Button("Stop", id="what-if-stop", type="button", hidden=True),
                    html.Button("Undo all changes", id="what-if-undo", type="button", hidden=True),
                ],
                className="acts",
            ),
            html.Progress(id="what-if-progress", max="1", value="0", hidden=True, **progress),
            html.P(id="what-if-status", className="what-if-status", role="status"),
            html.Details(
                [html.Summary("Keep the changed lesson"), _kept_here(), _saved()],
                id="what-if-keep",
                className="what-if-keep",
                hidden=True,
            ),
        ],
        className="panel what-if-changed",
    )


def _kept_here() -> Component:
    data: Any = {"data-changes": "[]", "data-role": "keep"}
    told: Any = {"data-role": "told"}
    why = dcc.Input(
        id="what-if-why", type="text", className="entry", autoComplete="off", maxLength=200,
        placeholder="for example: the reference was measured",
    )  # fmt: skip
    return html.Div(
        [
            html.Label(
                [html.Span("Why, for whoever reads it later", className="what-if-label"), why],
                className="what-if-field tall",
            ),
            html.Button("Keep it in this replay", id="what-if-keep-button", type="button", **data),
            html.P(_KEPT, className="soft"),
            html.P(id="what-if-told", className="told-here", role="status", **told),
        ],
        id="what-if-keep-here",
        hidden=True,
    )


def _saved() -> Component:
    button = html.Button("Save as a lesson file", id="what-if-save", type="button")
    return html.Div([button, html.P(_SAVED, className="soft")])


def _view() -> Component:
    return html.Form(
        [
            _labelled("Channel", "what-if-channel", [], None),
            html.Fieldset(
                [
                    html.Legend("Both results"),
                    dcc.RadioItems(
                        id="what-if-view", options=VIEWS, value="side", className="what-if-radios"
                    ),
                ],
                className="what-if-field tall",
            ),
            html.Fieldset(
                [html.Legend("Benches"), dcc.Checklist(id="what-if-benches", className="what-if-radios")],
                className="what-if-field tall",
            ),
        ],
        id="what-if-view-form",
        className="panel what-if-view",
        hidden=True,
    )


def _labelled(label: str, name: str, options: list[dict[str, str]], value: str | None) -> Component:
    choice = dcc.Dropdown(id=name, options=options, value=value, clearable=False, searchable=False)
    return html.Label([html.Span(label, className="what-if-label"), choice], className="what-if-field tall")
