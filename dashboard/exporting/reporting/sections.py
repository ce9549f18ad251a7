"""The sections of a report in their order: job, set-up, conversions, calibration, figures, findings."""

from __future__ import annotations

import numpy as np

from bridge import JournalEntry
from dashboard.class_known import clock_words
from dashboard.class_words import class_sentences
from dashboard.comparing import Comparison
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
from dashboard.exporting.reporting.conversions import steps_of
from dashboard.exporting.reporting.episodes import episodes_of, other_deeds
from dashboard.exporting.reporting.html import (
    NOTHING,
    Markup,
    bullets,
    code,
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

N_TIMES = 21  # rows of the table of values: twenty even steps
_MOST_BENCHES = 6  # side by side in one table; further ones in a table below


def job(session: Session) -> Markup:
    """What was to be found out, and what was measured."""
    lesson = session.lesson
    rows = [
        [shown(one.name), shown(one.quantity), shown(one.unit), shown(f"{one.low:g} to {one.high:g}")]
        for one in lesson.channels
    ]
    return section(
        "The job",
        *(paragraph(words.replace("\n", " ")) for words in lesson.note.split("\n\n")),
        table(("channel", "quantity", "unit", "scale"), rows),
    )


def set_up(session: Session) -> Markup:
    """The benches, their ports, and their boards' text as it was understood."""
    ports: dict[int | None, str] = {}
    for moment in session.links:
        ports.setdefault(moment.bench, moment.words)
    layouts = {one.bench: one for one in session.layouts}
    rows = []
    for bench in session.benches:
        found = layouts.get(bench)
        fields = [
            f"{one.name}{f' ({one.role.role})' if one.role.role else ''}: {one.text} {one.unit}".rstrip()
            for one in (found.fields if found else ())
        ]
        newest = found.samples[-1] if found and found.samples else ""
        counted = f"{found.n_read} lines read, {found.n_set_aside} set aside" if found else ""
        rows.append(
            [
                named(session.group(bench)),
                shown(ports.get(bench, "")),
                joined(shown(found.words if found else ""), "<br>", code(newest)),
                joined("<br>".join(shown(one) for one in fields)),
                shown(counted),
            ]
        )
    headings = ("bench", "port", "its text, and the newest line", "fields", "lines")
    return section("Set-up", table(headings, rows))


def conversions(session: Session) -> Markup:
    """From the printed number to the value, for each bench."""
    rows = []
    for channel in session.lesson.channels:
        for bench in session.benches:
            has = ((session.readings["bench"] == bench) & (session.readings["channel"] == channel.name)).any()
            steps = steps_of(session, bench, channel.name) if has else []
            if steps:
                lines = joined("<br>".join(shown(step) for step in steps))
                rows.append([named(session.group(bench)), shown(channel.name), lines])
    if not rows:
        return section("Conversions", paragraph("Each number was taken as it was printed."))
    return section("Conversions", table(("bench", "channel", "from the printed number to the value"), rows))


def calibration(session: Session) -> Markup:
    """Points and fit of each bench that was calibrated."""
    parts: list[Markup] = []
    for bench in session.benches:
        for own in session.lesson.bench(bench).channels:
            given = own.calibration
            if given is None:
                continue
            known = [
                f"fit: {given.fit}",
                given.date,
                f"reference: {given.reference}" if given.reference else "",
            ]
            rows = [
                [
                    shown(plain_number(point.reference)),
                    shown(plain_number(point.indication)),
                    shown(plain_number(point.u_reference) if point.u_reference else "unknown"),
                    shown(plain_number(point.u_indication) if point.u_indication else "unknown"),
                ]
                for point in given.points
            ]
            parts.append(heading(f"{session.group(bench).name}, {own.channel}"))
            parts.append(paragraph("; ".join(one for one in known if one)))
            columns = ("reference", "indication", "u of the reference", "u of the indication")
            parts.append(table(columns, rows, kind="numbers"))
    return section("Calibration", *(parts or [paragraph("No bench was calibrated against a reference.")]))


def choices(comparison: Comparison | None) -> Markup:
    """Which choices were made: what was compared, how, since when, without whom."""
    if comparison is None:
        return NOTHING
    kind = comparison.choices.response
    response = {
        "step": "The answer of each bench to a step was looked for and fitted.",
        "towards ambient": "Each bench's way towards ambient was fitted.",
        "none": "No response was fitted.",
    }[kind]
    said = [*method_sentences(comparison), response]
    if comparison.choices.alignment.kind != "instant":
        said += event_sentences(comparison)
    return section("How it was compared", bullets([*said, *left_out_sentences(comparison)]))


def figures(session: Session, comparison: Comparison | None) -> Markup:
    """What was measured, with its uncertainty; a group sees its own row, and the class in words."""
    if comparison is None:
        return section("Figures", paragraph("There was nothing to compare."))
    mine = set(session.benches)
    parts: list[Markup] = [paragraph(CONFIDENCE_WORDS)]
    names: list[str] = []
    for one in tables_of(comparison):
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
    parts.append(bullets(f"{name}: {EXPLAINED[name]}" for name in names if name in EXPLAINED))
    parts.append(heading("The class"))
    parts.append(bullets(class_sentences(comparison)))
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
    """Values at even times with their uncertainty, to be plotted by hand."""
    if comparison is None or comparison.grid is None or not len(comparison.grid.seconds):
        return NOTHING
    grid = comparison.grid
    benches = [bench for bench in session.benches if bench in grid.benches]
    rows_at = np.unique(np.linspace(0, len(grid.seconds) - 1, N_TIMES).round().astype(int)).tolist()
    parts = []
    for begin in range(0, len(benches), _MOST_BENCHES):
        some = benches[begin : begin + _MOST_BENCHES]
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
        f"{comparison.choices.channel}{unit}, value ± 2 standard uncertainties; – where there is no reading."
    )
    return section("Values at even times", paragraph(words), *parts)


def findings(session: Session) -> Markup:
    """What was wrong with a board, its wiring or its program."""
    rows = [
        [
            shown(_span(one.found_ns / 1e9, None if one.gone_ns is None else one.gone_ns / 1e9)),
            named(session.group(one.bench)),
            shown(one.finding.words),
            shown(one.finding.evidence),
            shown(one.finding.remedy),
        ]
        for one in session.findings
    ]
    if not rows:
        return section("Findings", paragraph("Nothing was found wrong with the boards."))
    return section("Findings", table(("from – to, min:s", "bench", "what", "evidence", "what to try"), rows))


def alarms(session: Session) -> Markup:
    """Every alarm from its rise to its return, and what else was done with alarms."""
    rows = []
    for one in episodes_of(session.alarms):
        entry, change = one.risen, one.risen.change
        value = "" if change.value is None else f"{plain_number(change.value)} {entry.unit}".rstrip()
        seen = one.acknowledged_seconds
        rows.append(
            [
                shown(_span(one.risen_seconds, one.returned_seconds)),
                named(session.group(change.bench)),
                shown(_alarm(entry)),
                shown(value),
                shown("" if seen is None else f"{clock_words(seen)} by {one.by}"),
                shown(entry.message),
            ]
        )
    deeds = []
    for entry in other_deeds(session.alarms):
        change, at = entry.change, clock_words(entry.change.at_ns / 1e9)
        why = f": {change.reason}" if change.reason else ""
        name = session.group(change.bench).name
        deeds.append(f"{at} {name}: {_alarm(entry)}, {change.event} by {change.who}{why}")
    headings = ("from – to, min:s", "bench", "alarm", "value then", "acknowledged", "message")
    parts = [table(headings, rows) if rows else paragraph("No alarm rose."), bullets(deeds)]
    return section("Alarms", *parts)


def _alarm(entry: JournalEntry) -> str:
    """ "temperature: high 46.5 °C"; a name of its own stands in place of the kind."""
    change = entry.change
    at = "" if entry.kind in ("bad quality", "finding") else f" {change.at:g} {entry.unit}".rstrip()
    return f"{change.channel}: {change.limit}{at}" if change.channel else f"{change.limit}{at}"


def course(session: Session) -> Markup:
    """Markers and what happened to the ports."""
    happened = sorted([*session.markers, *session.links], key=lambda one: one.seconds)
    lines = []
    for one in happened:
        whose = f"{session.group(one.bench).name}: " if one.bench is not None else ""
        lines.append(f"{clock_words(one.seconds)} {whose}{one.words}")
    return section("Course of the session", bullets(lines))


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


def _span(since: float, until: float | None) -> str:
    return f"{clock_words(since)} – {'end' if until is None else clock_words(until)}"


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:].rstrip('.')}."
