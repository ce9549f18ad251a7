"""The whole report as one HTML file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from dashboard.comparison_asked import Compared
from dashboard.exporting.cautions import CAUTIONS
from dashboard.exporting.drawing.svg import element, escaped
from dashboard.exporting.pictures import Picture
from dashboard.exporting.reporting import measured, sections, times
from dashboard.exporting.reporting.html import bullets, figure, named, paragraph, section
from dashboard.exporting.session import Session

_STYLE = Path(__file__).with_name("report.css")
# Even if a text got through unescaped, a browser would run and fetch nothing.
_POLICY = "default-src 'none'; style-src 'unsafe-inline'"
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December",
)  # fmt: skip


def report_of(session: Session, pictures: Sequence[Picture], compared: Compared | None) -> str:
    """The report of the class or of one group.

    Args:
        session: Whose it is.
        pictures: That it shows, in their order.
        compared: The whole class, compared; None where there was nothing to compare.
    """
    comparison = None if compared is None else compared.comparison
    whose = "The class" if session.bench is None else session.group(session.bench).name
    title = f"{session.title}: {whose}"
    parts = [
        _head(session),
        sections.job(session),
        measured.choices(session, comparison),
        section("Pictures", *(figure(one.svg, one.words) for one in pictures)),
        measured.figures(session, comparison),
        measured.values(session, comparison),
        times.bands(session),
        sections.findings(session),
        sections.alarms(session),
        sections.set_up(session),
        sections.conversions(session),
        sections.calibration(session),
        sections.course(session),
        section("Cautions", bullets(CAUTIONS)),
    ]
    head = element(
        "head",
        '<meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        element("title", escaped(title)),
        element("style", _STYLE.read_text(encoding="utf-8")),
    )
    return f"<!DOCTYPE html>\n{element('html', head, element('body', *parts), lang='en')}\n"


def _head(session: Session) -> str:
    whose = (
        element("p", f"Report of the class, {len(session.benches)} benches", class_="whose")
        if session.bench is None
        else element("p", "Report of ", named(session.group(session.bench)), class_="whose")
    )
    minutes = max(1, round(session.length_seconds / 60))
    when = f"{_date(session.started)}, {minutes} min. Recording: {session.file}."
    damaged = (
        paragraph(f"Not everything could be read: {session.damage}.", kind="damage") if session.damage else ""
    )
    return element("header", element("h1", escaped(session.title)), whose, paragraph(when), damaged)


def _date(time: pd.Timestamp) -> str:
    return f"{time.day} {_MONTHS[time.month - 1]} {time.year}, {time:%H:%M} UTC"
