"""How long each bench was in which band, and how often it changed."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from bridge import BandStay
from dashboard.class_known import clock_words
from dashboard.exporting.reporting.html import (
    NOTHING,
    Markup,
    heading,
    joined,
    named,
    paragraph,
    section,
    shown,
    table,
)
from dashboard.exporting.session import Session

_WORDS = (
    "Time in each band as it was held, with its deadband: min:s, and the share of the time in which the "
    "bench had a band. A change is one from a band to another, without a gap between."
)


def bands(session: Session) -> Markup:
    """A table for each channel that has bands; "" without any."""
    kept = session.kept
    if kept is None:
        return NOTHING
    parts: list[Markup] = []
    for channel in session.lesson.channels:
        stays = {
            bench: [one for one in kept.bands if one.bench == bench and one.channel == channel.name]
            for bench in session.benches
        }
        if channel.bands is None or not any(stays.values()):
            continue
        n_bands = 1 + max(one.band for some in stays.values() for one in some)
        names = [*channel.bands.names, *("" for _ in range(n_bands))][
            : max(n_bands, len(channel.bands.names))
        ]
        headings = [name or f"band {i}" for i, name in enumerate(names)]
        rows = [
            [named(session.group(bench)), *_row(some, len(headings))] for bench, some in stays.items() if some
        ]
        parts += [heading(channel.name), table(("bench", *headings, "changes"), rows, kind="numbers")]
    return section("Times in bands", paragraph(_WORDS), *parts) if parts else NOTHING


def _row(stays: Sequence[BandStay], n_bands: int) -> list[Markup]:
    ns = [0] * n_bands
    for one in stays:
        ns[one.band] += one.until_ns - one.since_ns
    n_changes = sum(before.until_ns == after.since_ns for before, after in pairwise(stays))
    cells = [shown("–" if not one else f"{clock_words(one / 1e9)} ({one / sum(ns):.0%})") for one in ns]
    return [*cells, joined(f"{n_changes}")]
