"""The page that compares a recording's benches: choices, tables with their worth, sentences, pictures."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

import dash
import flask
from dash import ALL, Input, Output, State, ctx, dcc, html, no_update
from dash.development.base_component import Component

from dashboard.recordings import CURRENT, Recordings, described

if TYPE_CHECKING:  # what computes takes a second to import: the wall need not wait for it
    from bridge import KeptSession
    from dashboard.class_known import BenchMark
    from dashboard.comparer import Comparer, Job, Shown
    from dashboard.comparison_words import FigureTable

POLL_MS = 400
_ALIGNMENTS = {
    "instant": "the same instant",
    "onset": "the onset at each bench",
    "release": "the release",
    "peak": "the peak",
}
_RESPONSES = {"step": "to a step", "towards ambient": "towards ambient", "none": "no fit"}
_FIGURES = (
    "level in common",
    "level",
    "bias",
    "bias to reference",
    "noise",
    "resolution",
    "drift",
    "time constant",
    "rise time",
    "settling time",
    "overshoot",
    "onset",
    "ambient",
)
_NUMBERS = {
    "from": "Window from",
    "to": "Window to",
    "reference": "Reference",
    "u_reference": "Uncertainty of the reference",
    "ambient": "Ambient",
    "u_ambient": "Uncertainty of the ambient",
}
_LOOPBACK = {"127.0.0.1", "::1", "::ffff:127.0.0.1"}
Words = Sequence[str]


def layout(recordings: Recordings) -> Component:
    """The page before anything is compared; what may be chosen goes by who asks."""
    current = recordings.current()
    others = [path for path in recordings.listed() if path != current] if is_from_here() else []
    offered = [{"label": described(path), "value": path.name} for path in others]
    if current is not None:
        now = (
            "this session, as far as it is recorded"
            if recordings.is_live
            else "the recording that is replayed"
        )
        offered.insert(0, {"label": now, "value": CURRENT})
    named: Any = {"aria-label": "Compare", "data-busy": ""}
    return html.Section(
        id="compare",
        className="compare",
        children=[
            *(
                dcc.Store(id=f"compare-{name}", data=data)
                for name, data in (("look", "light"), ("read", None))
            ),
            *(
                dcc.Interval(id=f"compare-{name}-again", interval=POLL_MS, disabled=True)
                for name in ("read", "show")
            ),
            html.Header(
                className="panel compare-head",
                children=[
                    html.H2("Compare"),
                    html.P(id="compare-reading", className="compare-status", role="status"),
                    html.P(id="compare-status", className="compare-status", role="status"),
                    html.Button(
                        "Compare up to now", id="compare-again", type="button", hidden=not recordings.is_live
                    ),
                ],
            ),
            _choices(offered)
            if offered
            else html.P(
                "Nothing is recorded, and there is no recording to compare. Begin to record on the wall.",
                className="panel",
            ),
            html.Div(id="compare-result", className="compare-result", **named),
        ],
    )


def _choices(offered: list[dict[str, str]]) -> Component:
    none = {"label": "none", "value": ""}
    return html.Form(
        className="panel compare-choices",
        children=[
            _field(
                "Recording",
                dcc.Dropdown(
                    id="compare-recording",
                    options=offered,
                    value=offered[0]["value"],
                    clearable=False,
                    searchable=False,
                ),
            ),
            _field(
                "Laid over as a ghost",
                dcc.Dropdown(
                    id="compare-ghost",
                    options=[none, *offered],
                    value="",
                    clearable=False,
                    searchable=False,
                ),
            ),
            _field("Channel", dcc.Dropdown(id="compare-channel", clearable=False, searchable=False)),
            _group(
                "Compared since",
                dcc.RadioItems(
                    id="compare-kind",
                    options=_ALIGNMENTS,
                    value="instant",
                    className="compare-radios",
                ),
            ),
            _group(
                "Window in that time, s",
                html.Div(
                    className="compare-pair",
                    children=[
                        _field("from", _number("from")),
                        _field("to", _number("to")),
                    ],
                ),
            ),
            _group(
                "Response",
                dcc.RadioItems(
                    id="compare-response",
                    options=_RESPONSES,
                    value="step",
                    className="compare-radios",
                ),
            ),
            _group(
                "Ambient, where it is known",
                html.Div(
                    className="compare-pair",
                    children=[
                        _field("value", _number("ambient")),
                        _field("standard uncertainty", _number("u_ambient")),
                    ],
                ),
            ),
            _group(
                "Reference for the level",
                html.Div(
                    className="compare-pair",
                    children=[
                        _field("value", _number("reference")),
                        _field("standard uncertainty", _number("u_reference")),
                    ],
                ),
            ),
            _field(
                "Figure shown as dots",
                dcc.Dropdown(
                    id="compare-figure",
                    options=list(_FIGURES),
                    value=_FIGURES[0],
                    clearable=False,
                    searchable=False,
                ),
            ),
            _field(
                "Another channel, upright",
                dcc.Dropdown(
                    id="compare-other",
                    options=[none],
                    value="",
                    clearable=False,
                    searchable=False,
                ),
            ),
            html.Fieldset(
                className="compare-benches",
                children=[
                    html.Legend("Benches that count, and when their event was (s; empty: as found)"),
                    html.Div(id="compare-benches"),
                ],
            ),
        ],
    )


def _field(label: str, control: Component) -> Component:
    return html.Label([html.Span(label), control], className="compare-field")


def _group(label: str, control: Component) -> Component:
    return html.Fieldset([html.Legend(label), control], className="compare-group")


def _number(name: str) -> Component:
    # Text, not "number": that one takes no decimal comma and no min:s, and its steppers take the room.
    return dcc.Input(
        id=f"compare-{name}",
        type="text",
        debounce=True,
        className="entry",
        autoComplete="off",
    )


class NoNumberError(Exception):
    """What stands in a field can't be read; the words say what to write."""


def number_of(text: object, what: str) -> float | None:
    """The number in a field, with decimal point or comma, times also as min:s; None for an empty one."""
    words = str(text or "").strip().replace("−", "-").replace(",", ".")
    if not words:
        return None
    if not re.fullmatch(r"[+-]?(\d+:)?\d*\.?\d+", words, re.ASCII):
        raise NoNumberError(f"{what}: “{text}” is no number. Write for example 20.5, a time also as 1:30.")
    minutes, sign, seconds = words.lstrip("+-").rpartition(":")
    size = float(seconds) + (60 * int(minutes) if sign else 0)
    return -size if words.startswith("-") else size


def is_from_here() -> bool:
    """Whether a browser on this machine asks; only it sees what other classes recorded."""
    return flask.has_request_context() and flask.request.remote_addr in _LOOPBACK


def register(app: dash.Dash, recordings: Recordings) -> None:
    """Add the page's callbacks to the app."""
    kept: list[Comparer] = []

    def comparer() -> Comparer:
        if not kept:
            from dashboard.comparer import Comparer

            kept.append(Comparer())
        return kept[0]

    @app.callback(
        Output("compare-channel", "options"),
        Output("compare-channel", "value"),
        Output("compare-other", "options"),
        Output("compare-other", "value"),
        Output("compare-benches", "children"),
        Output("compare-read", "data"),
        Output("compare-reading", "children"),
        Output("compare-read-again", "disabled"),
        Input("compare-recording", "value"),
        Input("compare-again", "n_clicks"),
        Input("compare-read-again", "n_intervals"),
        State("compare-channel", "value"),
        State("compare-other", "value"),
        State("compare-read", "data"),
    )
    def read(
        name: str, n_again: int | None, _: int, channel: str | None, other: str | None, before: Any
    ) -> tuple[Any, ...]:
        nothing = (no_update,) * 6
        path = recordings.found(name, from_here=is_from_here())
        if path is None:
            return *nothing, "This recording is not there any more.", True
        if ctx.triggered_id == "compare-again":
            comparer().forget(path)
        lesson = recordings.lesson if name == CURRENT else None
        job = comparer().session(path, lesson)
        if job.failure:
            return *nothing, job.failure, True
        if job.result is None:
            return *nothing, progress_words(job), False
        version = [name, n_again or 0, job.result.length_ns]
        if before == version:
            return *nothing, "", True
        return *_offered(job.result, channel, other), version, "", True

    @app.callback(
        Output("compare-result", "children"),
        Output("compare-result", "data-busy"),
        Output("compare-status", "children"),
        Output("compare-show-again", "disabled"),
        Output({"compare-found": ALL}, "children"),
        Input("compare-read", "data"),
        Input("compare-show-again", "n_intervals"),
        Input("compare-look", "data"),
        Input("compare-ghost", "value"),
        Input("compare-channel", "value"),
        Input("compare-other", "value"),
        Input("compare-kind", "value"),
        Input("compare-response", "value"),
        Input("compare-figure", "value"),
        *(Input(f"compare-{one}", "value") for one in _NUMBERS),
        Input({"compare-in": ALL}, "value"),
        Input({"compare-event": ALL}, "value"),
        State("compare-recording", "value"),
        State({"compare-in": ALL}, "id"),
        prevent_initial_call=True,
    )
    def show(*given: Any) -> tuple[Any, ...]:
        read_data, _, look, ghost, channel, other, kind, response, figure_name = given[:9]
        counted, events, name, ids = given[15:]
        benches = [one["compare-in"] for one in ids]
        quiet = [no_update] * len(benches)
        path = recordings.found(name, from_here=is_from_here())
        if read_data is None or channel is None or path is None:
            return no_update, "", "", True, quiet
        from dashboard.comparer import Asked

        try:
            numbers = {
                one: number_of(text, _NUMBERS[one]) for one, text in zip(_NUMBERS, given[9:15], strict=True)
            }
            by_hand = {
                bench: number_of(text, f"Event of bench {bench}")
                for bench, text in zip(benches, events, strict=True)
            }
        except NoNumberError as error:
            return no_update, "", str(error), True, quiet
        asked = Asked(
            path=path,
            lesson=recordings.lesson if name == CURRENT else None,
            ghost=recordings.found(ghost, from_here=is_from_here()) if ghost else None,
            channel=channel,
            other_channel=other or None,
            kind=kind,
            by_hand=()
            if kind == "instant"
            else tuple((b, at) for b, at in by_hand.items() if at is not None),
            from_seconds=numbers["from"],
            to_seconds=numbers["to"],
            left_out=tuple(bench for bench, counts in zip(benches, counted, strict=True) if not counts),
            reference=numbers["reference"],
            u_reference=abs(numbers["u_reference"] or 0.0),
            response=response,
            ambient=numbers["ambient"] if response == "towards ambient" else None,
            u_ambient=abs(numbers["u_ambient"] or 0.0),
        )
        job = comparer().shown(asked, look=look, figure_name=figure_name)
        if job.failure:
            return html.P(job.failure, className="panel compare-failed"), "", "", True, quiet
        if job.result is None:
            return no_update, "busy", progress_words(job), False, quiet
        return result(job.result), "", "", True, [_found_words(job.result, bench) for bench in benches]


def progress_words(job: Job[Any]) -> str:
    """How far it is: "Reading class.benchrow … 40 %"."""
    return f"{job.words[:1].upper()}{job.words[1:]} … {job.share:.0%}"


def _offered(session: KeptSession, channel: str | None, other: str | None) -> tuple[Any, ...]:
    """What can be chosen of a session; a choice that still can be stays."""
    from dashboard.class_known import channels_of, class_known

    channels = channels_of(session)
    chosen = channel if channel in channels else channels[0]
    known = class_known(session, chosen)
    rest = [{"label": "none", "value": ""}, *({"label": one, "value": one} for one in channels)]
    return (
        list(channels),
        chosen,
        rest,
        other if other in channels else "",
        [
            _bench(bench, name, known.looks[bench], known.marks.get(bench, ()))
            for bench, name in known.names.items()
        ],
    )


def _bench(bench: int, name: str, look: BenchMark, marks: Words) -> Component:
    """A bench's row: whether it counts, what is against it, its event."""
    label = html.Span([mark_image(look), f" {name}"], className="compare-name")
    return html.Div(
        className="compare-bench",
        children=[
            dcc.Checklist(id={"compare-in": bench}, options=[{"label": label, "value": "in"}], value=["in"]),
            html.Label(
                [
                    html.Span(f"Event of {name}", className="out-of-sight"),
                    dcc.Input(
                        id={"compare-event": bench},
                        type="text",
                        autoComplete="off",
                        debounce=True,
                        className="entry",
                        placeholder="as found",
                    ),
                ]
            ),
            html.Span(id={"compare-found": bench}, className="compare-found"),
            html.Span("⚠ " + "; ".join(marks) if marks else "", className="compare-marks"),
        ],
    )


def mark_image(look: BenchMark, alt: str = "") -> Component:
    """A bench's mark as an image; its outline goes by the colour scheme."""
    from dashboard.marks import OUTLINES, hex_of

    path = OUTLINES.get(look.shape, OUTLINES["circle"])
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 24 24">'
        "<style>path{stroke:black}@media(prefers-color-scheme:dark){path{stroke:white}}</style>"
        f'<path d="{path}" fill="{hex_of(look.colour)}" fill-rule="evenodd" stroke-width="1.6"/>'
        "</svg>"
    )
    return html.Img(src=f"data:image/svg+xml,{quote(text)}", className="compare-mark", alt=alt)


def _found_words(shown: Shown, bench: int) -> str:
    event = shown.compared.comparison.events.get(bench)
    if event is None:
        return ""
    if event.seconds is None:
        return f"no {event.kind} found: {event.words}"
    by = "set by hand" if event.by == "hand" else "found"
    return f"{event.kind} at {event.seconds:.2f} s, {by}"


def result(shown: Shown) -> list[Component]:
    """Sentences, tables and pictures of a comparison."""
    from dashboard.comparison_words import (
        CONFIDENCE_WORDS,
        class_sentences,
        left_out_sentences,
        method_sentences,
        ranking_sentences,
        remark_sentences,
        tables_of,
    )

    compared = shown.compared
    comparison = compared.comparison
    method = [
        *method_sentences(comparison),
        *([f"No ghost: {compared.ghost_words}."] if compared.ghost_words else []),
    ]
    rankings = ranking_sentences(comparison)
    tables = [_table(one, shown) for one in tables_of(comparison)]
    first, *rest = shown.pictures
    return [
        _panel("What was compared", [_sentences([*method, *left_out_sentences(comparison)])], "method"),
        _panel("To know before trusting the figures", [_sentences(remark_sentences(comparison))], "remarks")
        if comparison.remarks
        else html.Div(hidden=True),
        _picture(first.key, first.heading, first.figure, first.words),
        _panel("Figures", [*tables, html.P(CONFIDENCE_WORDS, className="soft")], "figures"),
        _panel("The class", [_sentences(class_sentences(comparison))], "class"),
        _panel(
            "Who is first",
            [part for heading, said in rankings for part in (html.H4(heading), _sentences(said))],
            "rankings",
        ),
        *(_picture(one.key, one.heading, one.figure, one.words) for one in rest),
    ]


def _panel(heading: str, children: list[Component], key: str) -> Component:
    data: Any = {"data-part": key}
    return html.Section([html.H3(heading), *children], className="panel compare-part", **data)


def _sentences(said: Words) -> Component:
    return html.Ul([html.Li(one) for one in said], className="compare-sentences")


def _table(table: FigureTable, shown: Shown) -> Component:
    known = shown.compared.known
    head = html.Tr([html.Th("Bench", scope="col"), *(html.Th(one, scope="col") for one in table.headings)])
    rows = [
        html.Tr(
            [
                html.Th([mark_image(known.looks[bench]), f" {known.names[bench]}"], scope="row"),
                *(html.Td([cell.text, html.Sup(str(cell.note)) if cell.note else ""]) for cell in cells),
            ]
        )
        for bench, cells in table.rows
    ]
    notes = [html.Li(one) for one in table.notes]
    # Wider than a small screen: it scrolls by itself, also by the keyboard.
    scrolled: Any = {"role": "region", "aria-label": table.title, "tabIndex": 0}
    return html.Div(
        className="compare-figures",
        children=[
            html.H4(table.title),
            html.Div(html.Table([html.Thead(head), html.Tbody(rows)]), className="compare-wide", **scrolled),
            html.Ol(notes, className="compare-notes") if notes else html.Span(hidden=True),
        ],
    )


def _picture(key: str, heading: str, figure: Any, words: str) -> Component:
    figure.update_layout(title=None, margin_t=30 if key not in ("dots", "consistency") else 64)
    seen: Any = {"role": "img", "aria-label": words}
    scrolled: Any = {"role": "region", "aria-label": heading, "tabIndex": 0}
    data: Any = {"data-picture": key}
    return html.Section(
        className="panel compare-part compare-picture",
        children=[
            html.H3(heading),
            html.Div(
                html.Div(
                    dcc.Graph(
                        figure=figure,
                        config={"displayModeBar": False, "responsive": True},
                        responsive=True,
                        style={"height": f"{figure.layout.height}px"},
                    ),
                    className="compare-graph",
                    **seen,
                ),
                className="compare-wide",
                **scrolled,
            ),
            html.P(words, className="soft"),
        ],
        **data,
    )
