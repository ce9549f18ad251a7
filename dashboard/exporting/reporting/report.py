"""The whole report as one HTML file."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from dashboard.exporting.cautions import CAUTIONS
from dashboard.exporting.drawing.svg import element, escaped
from dashboard.exporting.pictures import Picture
from dashboard.exporting.reporting import sections
from dashboard.exporting.reporting.html import bullets, figure, paragraph, section
from dashboard.exporting.session import Session

_STYLE = Path(__file__).with_name("report.css")
# Even if a text got through unescaped, a browser would run and fetch nothing.
_POLICY = "default-src 'none'; style-src 'unsafe-inline'"
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December",
)  # fmt: skip


def report_of(session: Session, pictures: list[Picture], *, whole: Session, bench: int | None) -> str:
    """The report of the class or of one group.

    Args:
        session: Whose it is.
        pictures: That it shows, in their order.
        whole: The class's session, with its comparison.
        bench: The group's bench; None for the class.
    """
    whose = "The class" if bench is None else session.group(bench).name
    title = f"{session.title}: {whose}"
    parts = [
        _head(session, bench),
        sections.job(session),
        section("Curves", *(figure(one.svg, one.title) for one in pictures)),
        sections.figures(session, whole),
        sections.values(session, whole),
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


def _head(session: Session, bench: int | None) -> str:
    whose = (
        element("p", f"Report of the class, {len(session.benches)} benches", class_="whose")
        if bench is None
        else element("p", "Report of ", sections.named(session.group(bench)), class_="whose")
    )
    minutes = max(1, round(session.length_seconds / 60))
    when = f"{_date(session.started)}, {minutes} min. Recording: {session.file}."
    damaged = (
        paragraph(f"Not everything could be read: {session.damage}.", kind="damage") if session.damage else ""
    )
    return element("header", element("h1", escaped(session.title)), whose, paragraph(when), damaged)


def _date(time: pd.Timestamp) -> str:
    return f"{time.day} {_MONTHS[time.month - 1]} {time.year}, {time:%H:%M} UTC"
