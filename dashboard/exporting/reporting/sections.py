"""The sections of a report in their order: job, set-up, conversions, calibration, figures, findings."""

from __future__ import annotations

from bridge import JournalEntry
from dashboard.class_known import clock_words
from dashboard.exporting.reporting.conversions import steps_of
from dashboard.exporting.reporting.episodes import episodes_of, other_deeds
from dashboard.exporting.reporting.html import (
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
from dashboard.figures_as_text import plain_number


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
    """From the printed number to the value: benches that do the same stand together."""
    alike: dict[tuple[str, ...], list[int]] = {}
    for channel in session.lesson.channels:
        read = session.readings["bench"][session.readings["channel"] == channel.name]
        for bench in sorted(set(read.tolist())):
            if steps := steps_of(session, bench, channel.name):
                alike.setdefault((channel.name, *steps), []).append(bench)
    if not alike:
        return section("Conversions", paragraph("Each number was taken as it was printed."))
    rows = [
        [
            joined(", ".join(named(session.group(bench)) for bench in benches)),
            shown(channel),
            joined("<br>".join(shown(step) for step in steps)),
        ]
        for (channel, *steps), benches in alike.items()
    ]
    headings = ("benches", "channel", "from the printed number to the value")
    return section("Conversions", table(headings, rows, kind="steps"))


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
    headings = ("from – to, min:s", "bench", "what", "evidence", "what to try")
    return section("Findings", table(headings, rows, kind="times"))


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
    rose = table(headings, rows, kind="times") if rows else paragraph("No alarm rose.")
    parts = [rose, bullets(deeds)]
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


def _span(since: float, until: float | None) -> str:
    return f"{clock_words(since)} – {'end' if until is None else clock_words(until)}"
