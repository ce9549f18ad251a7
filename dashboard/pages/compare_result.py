"""What the compare page shows of a comparison: sentences, tables and pictures."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from dash import dcc, html
from dash.development.base_component import Component

from dashboard.pages.compare_benches import mark_image

if TYPE_CHECKING:
    from dashboard.comparer import Shown
    from dashboard.comparison_words import FigureTable

Words = Sequence[str]


def result(shown: Shown, *, is_live: bool = False) -> list[Component]:
    """Sentences, tables and pictures, as many as are drawn.

    Args:
        shown: What came out.
        is_live: The session goes on: up to when it was read is told.
    """
    from dashboard.class_known import clock_words
    from dashboard.class_words import class_sentences
    from dashboard.comparison_words import (
        CONFIDENCE_WORDS,
        RANKING_WORDS,
        left_out_sentences,
        method_sentences,
        ranking_sentences,
        remark_sentences,
        tables_of,
    )
    from dashboard.further_tables import AVERAGING_WORDS, averaging_table, bands_table

    compared = shown.compared
    comparison = compared.comparison
    method = [
        *([f"The class as far as {clock_words(compared.length_seconds)} of its time."] if is_live else []),
        *method_sentences(comparison),
        *([f"No ghost: {compared.ghost_words}."] if compared.ghost_words else []),
    ]
    rankings = ranking_sentences(comparison)
    further = (averaging_table(comparison), bands_table(comparison))
    tables = [_table(one, shown) for one in (*tables_of(comparison), *further) if one is not None]
    words = f"{CONFIDENCE_WORDS} {AVERAGING_WORDS}" if further[0] is not None else CONFIDENCE_WORDS
    first, *rest = shown.pictures
    return [
        _panel("What was compared", [_sentences([*method, *left_out_sentences(comparison)])], "method"),
        _panel("To know before trusting the figures", [_sentences(remark_sentences(comparison))], "remarks")
        if comparison.remarks
        else html.Div(hidden=True),
        _picture(first.key, first.heading, first.figure, first.words),
        _panel("Figures", [*tables, html.P(words, className="soft")], "figures"),
        *_beside_the_ghost(shown),
        _panel("The class", [_sentences(class_sentences(comparison))], "class"),
        _panel(
            "Who is first",
            [
                html.P(RANKING_WORDS, className="soft"),
                *(part for heading, said in rankings for part in (html.H4(heading), _sentences(said))),
            ],
            "rankings",
        ),
        *(_picture(one.key, one.heading, one.figure, one.words) for one in rest),
    ]


def _beside_the_ghost(shown: Shown) -> list[Component]:
    """Each bench against itself in the other recording."""
    from dashboard.comparing.two import RULE
    from dashboard.two_as_text import sentences_of_two, tables_of_two

    first, second = shown.compared.ghost, shown.compared.comparison
    if first is None or first.unit != second.unit:
        return []
    tables = [_table(one, shown) for one in tables_of_two(first, second)]
    said = _sentences(sentences_of_two(first, second))
    return [
        _panel(
            "Against the other recording",
            [
                html.P("First: the other recording. Second: the one above.", className="soft"),
                said,
                *tables,
                html.P(RULE, className="soft"),
            ],
            "two",
        )
    ]


def failed(words: str) -> Component:
    """Why nothing could be compared."""
    return html.P(words, className="panel compare-failed")


def _panel(heading: str, children: list[Component], key: str) -> Component:
    data: Any = {"data-part": key}
    return html.Section([html.H3(heading), *children], className="panel compare-part", **data)


def _sentences(said: Words) -> Component:
    return html.Ul([html.Li(one) for one in said], className="compare-sentences")


def _table(table: FigureTable, shown: Shown) -> Component:
    from dashboard.comparison_words import EXPLAINED

    known, names = shown.compared.known, shown.compared.comparison.marked_names
    head = html.Tr([html.Th("Bench", scope="col"), *(html.Th(one, scope="col") for one in table.headings)])
    rows = [
        html.Tr(
            [
                html.Th([mark_image(known.looks[bench]), f" {names[bench]}"], scope="row"),
                *(html.Td([cell.text, html.Sup(str(cell.note)) if cell.note else ""]) for cell in cells),
            ]
        )
        for bench, cells in table.rows
    ]
    notes = [html.Li(one) for one in table.notes]
    meaning = [f"{name}: {EXPLAINED[name]}" for name, _ in table.columns if name in EXPLAINED]
    # Wider than a small screen: it scrolls by itself, also by the keyboard.
    scrolled: Any = {"role": "region", "aria-label": table.title, "tabIndex": 0}
    return html.Div(
        className="compare-figures",
        children=[
            html.H4(table.title),
            html.Div(html.Table([html.Thead(head), html.Tbody(rows)]), className="compare-wide", **scrolled),
            html.Ol(notes, className="compare-notes") if notes else html.Span(hidden=True),
            html.Details(
                [html.Summary("What the words mean"), _sentences(meaning)], className="compare-meaning"
            )
            if meaning
            else html.Span(hidden=True),
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
