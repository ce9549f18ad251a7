"""How the benches were compared and what came out: figures with their uncertainty, values at round times."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from dashboard.class_known import clock_words
from dashboard.class_words import class_sentences
from dashboard.comparing import Comparison
from dashboard.comparing.moments import Floats
from dashboard.comparison_words import (
    CONFIDENCE_WORDS,
    EXPLAINED,
    FigureTable,
    event_sentences,
    left_out_sentences,
    method_sentences,
    ranking_sentences,
    remark_sentences,
    tables_of,
)
from dashboard.exporting.drawing.svg import element
from dashboard.exporting.reporting.html import (
    NOTHING,
    Markup,
    bullets,
    heading,
    joined,
    named,
    paragraph,
    section,
    shown,
    table,
)
from dashboard.exporting.session import Session
from dashboard.figures_as_text import decimals_for, number_text, plain_number
from dashboard.further_tables import AVERAGING_WORDS, averaging_table

N_TIMES = 21  # rows of the table of values
_STEPS = (1, 2, 5, 10, 15, 20, 30, 60, 120, 180, 300, 600, 900, 1800, 3600)  # s, from row to row
_MOST_BENCHES = 6  # side by side in one table; further ones in a table below


def choices(session: Session, comparison: Comparison | None) -> Markup:
    """Which choices were made: what was compared, how, since when, without whom; a group hears of itself."""
    if comparison is None:
        return NOTHING
    kind = comparison.choices.response
    response = {
        "step": "The answer of each bench to a step was looked for and fitted.",
        "towards ambient": "Each bench's way towards ambient was fitted.",
        "none": "No response was fitted.",
    }[kind]
    shown_part = comparison
    if session.bench is not None:
        events = {bench: event for bench, event in comparison.events.items() if bench == session.bench}
        out = tuple(one for one in comparison.left_out if one.bench == session.bench)
        shown_part = replace(comparison, events=events, left_out=out)
    said = [*method_sentences(comparison), response]
    if comparison.choices.alignment.kind != "instant":
        said += event_sentences(shown_part)
    return section("How it was compared", bullets([*said, *left_out_sentences(shown_part)]))


def figures(session: Session, comparison: Comparison | None) -> Markup:
    """What was measured, with its uncertainty; a group sees its own row, and the class in words."""
    if comparison is None:
        return section("Figures", paragraph("There was nothing to compare."))
    mine = set(session.benches)
    parts: list[Markup] = [paragraph(CONFIDENCE_WORDS)]
    names: list[str] = []
    averaging = averaging_table(comparison)  # times in bands have a section of their own
    for one in (*tables_of(comparison), *([averaging] if averaging is not None else [])):
        rows = [
            [named(session.group(bench)), *(_cell(cell.text, cell.note) for cell in cells)]
            for bench, cells in one.rows
            if bench in mine
        ]
        if rows:
            parts += [
                heading(one.title),
                table(("bench", *one.headings), rows, kind="numbers"),
                _notes(one, mine),
            ]
            names += [name for name, _ in one.columns]
    meaning = [f"{name}: {EXPLAINED[name]}" for name in names if name in EXPLAINED]
    parts.append(bullets([*meaning, *([AVERAGING_WORDS] if averaging is not None else [])]))
    parts.append(heading("The class"))
    parts.append(bullets(_for_all(comparison, mine)))
    if len(mine) > 1:
        for title, sentences in ranking_sentences(comparison):
            parts += [heading(title), bullets(sentences)]
        parts += [heading("To know before trusting it"), bullets(remark_sentences(comparison))]
    else:
        marks = [mark for one in comparison.benches if one.bench in mine for mark in one.marks]
        marks += [one.words for one in comparison.left_out if one.bench in mine]
        if marks:
            parts += [heading("To know before trusting it"), bullets(_sentence(one) for one in marks)]
    return section("Figures", *parts)


def values(session: Session, comparison: Comparison | None) -> Markup:
    """Values at round times with their uncertainty, to be plotted by hand."""
    if comparison is None or comparison.grid is None or not len(comparison.grid.seconds):
        return NOTHING
    grid = comparison.grid
    benches = [bench for bench in session.benches if bench in grid.benches]
    known = np.flatnonzero(
        np.isfinite(grid.values[:, [grid.benches.index(one) for one in benches]]).any(axis=1)
    )
    rows_at = [i for i in _rows_at(grid.seconds) if len(known) and known[0] <= i <= known[-1]]
    parts = []
    n = len(benches)
    n_tables = max(1, math.ceil(n / _MOST_BENCHES))  # as full as each other
    for some in (benches[i * n // n_tables : (i + 1) * n // n_tables] for i in range(n_tables)):
        columns = [grid.benches.index(bench) for bench in some]
        rows = []
        for i in rows_at:
            cells = [_value(float(grid.values[i, j]), float(grid.u[i, j])) for j in columns]
            if len(benches) == 1 and len(grid.benches) > 2:
                cells.append(_value(float(grid.class_median[i]), float("nan")))
            rows.append([shown(clock_words(float(grid.seconds[i]))), *(shown(cell) for cell in cells)])
        headings = [session.group(bench).name for bench in some]
        if len(benches) == 1 and len(grid.benches) > 2:
            headings.append("class median")
        parts.append(table(("time, min:s", *headings), rows, kind="numbers"))
    if not parts:
        return NOTHING
    unit = f" in {grid.unit}" if grid.unit else ""
    words = (
        f"{comparison.choices.channel}{unit}, value ± 2 standard uncertainties (k = 2: about 95 %); "
        "– where there is no reading."
    )
    return section("Values at round times", paragraph(words), *parts)


def _for_all(comparison: Comparison, mine: set[int]) -> Iterator[str]:
    """What is said of the class; to one group nothing that names another."""
    if len(mine) != 1:
        return iter(class_sentences(comparison))
    (own,) = mine
    return iter(class_sentences(comparison, of_bench=own))


def _rows_at(seconds: Floats) -> list[int]:
    """The grid's times nearest to round ones, as few minutes apart as the table's length lets them be."""
    since, until = float(seconds[0]), float(seconds[-1])
    step = next((one for one in _STEPS if (until - since) / one < N_TIMES), _STEPS[-1])
    wanted = np.arange(math.ceil(since / step), math.floor(until / step) + 1) * step
    times = (
        wanted.tolist() if len(wanted) > 1 else np.linspace(since, until, min(N_TIMES, len(seconds))).tolist()
    )
    return sorted({int(np.abs(seconds - one).argmin()) for one in times})


def _cell(words: str, note: int) -> Markup:
    return joined(shown(words), element("sup", f"{note}")) if note else shown(words)


def _notes(one: FigureTable, mine: set[int]) -> Markup:
    used = {cell.note for bench, cells in one.rows if bench in mine for cell in cells if cell.note}
    lines = [
        f"{element('sup', str(i))} {shown(words)}" for i, words in enumerate(one.notes, start=1) if i in used
    ]
    return Markup(element("p", "<br>".join(lines), class_="notes")) if lines else NOTHING


def _value(value: float, u: float) -> str:
    if not np.isfinite(value):
        return "–"
    if not np.isfinite(u) or u <= 0:
        return plain_number(value)
    decimals = decimals_for(2 * u)
    return f"{number_text(value, decimals)} ± {number_text(2 * u, decimals)}"


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:].rstrip('.')}."
