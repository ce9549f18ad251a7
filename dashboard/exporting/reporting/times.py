"""How long each bench was in which band, and how often it changed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from bridge import BandStay, KeptSession
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
        stays = [one for one in kept.bands if one.channel == channel.name and one.bench in session.benches]
        for title, names, some in _by_names(kept, channel.name, stays):
            by_bench = {bench: [one for one in some if one.bench == bench] for bench in session.benches}
            n_bands = max(len(names), 1 + max(one.band for one in some))
            headings = [names[i] if i < len(names) and names[i] else f"band {i}" for i in range(n_bands)]
            rows = [
                [named(session.group(bench)), *_row(mine, n_bands)]
                for bench, mine in by_bench.items()
                if mine
            ]
            parts += [heading(title), table(("bench", *headings, "changes"), rows, kind="numbers")]
    return section("Times in bands", paragraph(_WORDS), *parts) if parts else NOTHING


def _by_names(
    kept: KeptSession, name: str, stays: Sequence[BandStay]
) -> Iterator[tuple[str, tuple[str, ...], list[BandStay]]]:
    """A title, the names from the lowest, the stays: once, or for each bands that phases have."""
    channel = next(one for one in kept.lesson.channels if one.name == name)
    if not channel.phase_bands:
        if stays:
            yield name, channel.bands.names if channel.bands is not None else (), list(stays)
        return
    starts = [(0, ""), *((one.at_ns, one.phase) for one in kept.phases)]
    found: dict[tuple[str, ...], tuple[list[str], list[BandStay]]] = {}
    for (since, phase), (until, _) in pairwise([*starts, (kept.length_ns, "")]):
        given = channel.bands_in(phase)
        cut = [
            one._replace(since_ns=max(since, one.since_ns), until_ns=min(until, one.until_ns))
            for one in stays
        ]
        cut = [one for one in cut if one.until_ns > one.since_ns]
        if given is None or not cut:
            continue
        phases, some = found.setdefault(given.names, ([], []))
        some += cut
        if (phase or "no phase") not in phases:
            phases.append(phase or "no phase")
    for names, (phases, some) in found.items():
        yield f"{name} (phase: {', '.join(phases)})", names, some


def _row(stays: Sequence[BandStay], n_bands: int) -> list[Markup]:
    ns = [0] * n_bands
    for one in stays:
        ns[one.band] += one.until_ns - one.since_ns
    n_changes = sum(before.until_ns == after.since_ns for before, after in pairwise(stays))
    cells = [shown("–" if not one else f"{clock_words(one / 1e9)} ({one / sum(ns):.0%})") for one in ns]
    return [*cells, joined(f"{n_changes}")]
