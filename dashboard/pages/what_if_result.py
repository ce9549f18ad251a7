"""What the what-if page shows of two results: sentences, pictures, and a table of all that differs."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any

from dash import dcc, html
from dash.development.base_component import Component

from dashboard.class_known import BenchMark
from dashboard.pages.compare_benches import mark_image

if TYPE_CHECKING:
    from dashboard.what_if import Told
    from dashboard.what_if.courses import Drawn
    from dashboard.what_if.worker import Found


def answer(found: Found, told: Told) -> list[Component]:
    """What is said of the two."""
    is_same: Any = {"data-same": "yes" if found.difference.is_same else ""}
    return [
        html.Section(
            [
                html.H3("What would have been"),
                html.P(f"{'; '.join(one.sentence for one in found.both.changes)}.", className="soft"),
                html.Ul([html.Li(one) for one in told.summary], className="what-if-sentences summary"),
                html.Ul(
                    [html.Li([_mark(found, bench), f" {said}"]) for bench, said in told.benches.items()],
                    className="what-if-sentences",
                ),
                html.Details(
                    [
                        html.Summary("What was compared with what"),
                        html.Ul([html.Li(one) for one in told.source], className="what-if-sentences"),
                    ]
                ),
            ],
            className="panel what-if-part",
            **_part("answer"),
            **is_same,
        )
    ]


def pictures(found: Found, channel: str, benches: Sequence[int], view: str, look: str) -> list[Component]:
    """Both courses and the bands, of the benches that are chosen."""
    from dashboard.pictures import DARK, LIGHT
    from dashboard.what_if.courses import over_each_other, side_by_side
    from dashboard.what_if.ribbons import ribbons

    colours = DARK if look == "dark" else LIGHT
    if view == "over":
        courses = [over_each_other(found.both, channel, benches, colours)]
    else:
        courses = side_by_side(found.both, channel, benches, colours)
    bands = ribbons(found.both, channel, benches, colours)
    return [
        html.Div([_picture(one) for one in courses], className="what-if-sides"),
        *([_picture(bands)] if bands is not None else []),
    ]


def table(found: Found, told: Told, benches: Collection[int]) -> list[Component]:
    """All that differs at the benches that are chosen."""
    rows = [one for one in told.rows if one.bench in benches]
    if not rows:
        return []
    head = html.Tr(
        [html.Th(one, scope="col") for one in ("Bench", "What", "Before", "With the change", "Change")]
    )
    body = []
    for bench, some in groupby(rows, key=lambda one: one.bench):
        ours = list(some)
        for i, one in enumerate(ours):
            name = [
                html.Th([_mark(found, bench), f" {told.names[bench]}"], scope="rowgroup", rowSpan=len(ours))
            ]
            cells = [html.Td(text) for text in (one.what, one.before, one.after, one.change)]
            body.append(html.Tr([*(name if i == 0 else []), *cells]))
    # Wider than a small screen: it scrolls by itself, also by the keyboard.
    scrolled: Any = {"role": "region", "aria-label": "All that differs", "tabIndex": 0}
    return [
        html.Section(
            [
                html.H3("All that differs"),
                html.Div(
                    html.Table([html.Thead(head), html.Tbody(body)]), className="what-if-wide", **scrolled
                ),
                html.P("Times are min:s.", className="soft"),
            ],
            className="panel what-if-part",
            **_part("table"),
        )
    ]


def bench_options(found: Found, told: Told) -> tuple[list[dict[str, Any]], list[int]]:
    """The benches to choose from, and those that are shown first: where something differs, else all."""
    options = [
        {"label": html.Span([_mark(found, bench), f" {name}"]), "value": bench}
        for bench, name in told.names.items()
    ]
    return options, list(found.difference.benches or told.names)


def first_channel(found: Found) -> str:
    """The channel in which something differs, the lesson's first before others."""
    difference = found.difference
    differing = {one.of.channel for one in difference.values if not one.is_same}
    judged = {one.of.channel for one in difference.alarms if not one.is_same}
    judged |= {one.of.channel for one in difference.bands if not one.is_same}
    for wanted in (differing, judged):
        for channel in found.channels:
            if channel in wanted:
                return channel
    return found.channels[0]


def _picture(drawn: Drawn) -> Component:
    figure, words = drawn.figure, drawn.figure.layout.meta["words"]
    figure.update_layout(title=None, margin_t=24)
    seen: Any = {"role": "img", "aria-label": words}
    scrolled: Any = {"role": "region", "aria-label": drawn.heading, "tabIndex": 0}
    graph = dcc.Graph(
        figure=figure,
        config={"displayModeBar": False, "responsive": True},
        responsive=True,
        style={"height": f"{figure.layout.height}px"},
    )
    data: Any = {"data-picture": drawn.key}
    return html.Section(
        [
            html.H3(drawn.heading),
            html.Div(
                html.Div(graph, className="what-if-graph", **seen), className="what-if-wide", **scrolled
            ),
            html.P(words, className="soft"),
        ],
        className="panel what-if-part",
        **data,
    )


def _mark(found: Found, bench: int) -> Component:
    one = found.both.after.lesson.bench(bench)
    return mark_image(BenchMark(one.shape, one.colour))


def _part(name: str) -> dict[str, Any]:
    return {"data-part": name}
