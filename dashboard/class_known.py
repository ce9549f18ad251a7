"""What a session knows of its benches beside their readings: names, marks, bands, what is against them."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

import pandas as pd

from bridge import KeptSession, Lesson, Standing
from dashboard.comparing.bands import Stay

OLD_CALIBRATION_DAYS = 365
"""A calibration that was made longer ago than this is told as out of date."""


class BenchMark(NamedTuple):
    """A bench's shape and its colour of the Okabe-Ito set, by their names in the lesson."""

    shape: str
    colour: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassKnown:
    """What `Choices` and the pictures need of a session, each by bench."""

    names: Mapping[int, str]
    looks: Mapping[int, BenchMark]
    marks: Mapping[int, tuple[str, ...]]  # what is against trusting its figures; benches without any left out
    unit: str  # that the lesson gives the channel; "" where it knows none of that name
    band_edges: Mapping[int, tuple[float, ...]]  # that hold all the time, in the channel's unit
    band_stays: Mapping[int, tuple[Stay, ...]]  # when it was held in which band, in session time
    band_names: tuple[str, ...]  # from the lowest; empty where phases have bands of their own


def channels_of(session: KeptSession) -> tuple[str, ...]:
    """The channels that any bench has a value of: in the lesson's order, then what only boards print."""
    has_value = session.table[session.table["value"].notna()]
    found = set(has_value["channel"])
    given = [one.name for one in session.lesson.channels if one.name in found]
    return (*given, *sorted(found - set(given)))


Window = tuple[float | None, float | None]
"""Begin and end in session seconds, None for the session's own."""


def class_known(session: KeptSession, channel: str, window: Window = (None, None)) -> ClassKnown:
    """What is known of each bench that has the channel; of findings those that stood within the window."""
    table, lesson = session.table, session.lesson
    benches = sorted({int(one) for one in table["bench"][table["channel"] == channel].unique()})
    names = _names(lesson, benches)
    at = table["time"].min()
    edges = {bench: some for bench in benches if (some := _edges(lesson, bench, channel))}
    given = next((one for one in lesson.channels if one.name == channel), None)
    marks = {
        bench: found
        for bench in benches
        if (
            found := (
                *_found_wrong(session, bench, channel, window),
                *_calibration(lesson, bench, channel, at),
            )
        )
    }
    return ClassKnown(
        names=names,
        looks={bench: BenchMark(lesson.bench(bench).shape, lesson.bench(bench).colour) for bench in benches},
        marks=marks,
        unit=given.unit if given is not None else "",
        band_edges=edges,
        band_stays={bench: stays for bench in benches if (stays := _stays(session, bench, channel))},
        band_names=_band_names(lesson, channel),
    )


def clock_words(seconds: float) -> str:
    """Session time as "12:45", hours as minutes."""
    sign, whole = ("-" if seconds <= -0.5 else ""), round(abs(seconds))
    return f"{sign}{whole // 60}:{whole % 60:02d}"


def _names(lesson: Lesson, benches: list[int]) -> dict[int, str]:
    """As the lesson has them; with the number where two have the same."""
    names = {bench: lesson.bench(bench).name or f"Bench {bench}" for bench in benches}
    times = Counter(names.values())
    return {bench: f"{name} ({bench})" if times[name] > 1 else name for bench, name in names.items()}


def _stays(session: KeptSession, bench: int, channel: str) -> tuple[Stay, ...]:
    return tuple(
        Stay(one.band, one.since_ns / 1e9, one.until_ns / 1e9)
        for one in session.bands
        if one.bench == bench and one.channel == channel
    )


def _band_names(lesson: Lesson, channel: str) -> tuple[str, ...]:
    """Where phases have bands of their own, a band's number alone has no name."""
    given = next((one for one in lesson.channels if one.name == channel), None)
    if given is None or given.bands is None or given.phase_bands:
        return ()
    return given.bands.names


def _edges(lesson: Lesson, bench: int, channel: str) -> tuple[float, ...]:
    given = next((one for one in lesson.channels if one.name == channel), None)
    if given is None or given.bands is None or given.bands.phases or given.phase_bands:
        return ()
    own = next((one.baseline for one in lesson.bench(bench).channels if one.channel == channel), None)
    baseline = own if own is not None else given.bands.baseline
    return () if baseline is None else tuple(baseline + edge for edge in given.bands.edges)


def _found_wrong(session: KeptSession, bench: int, channel: str, window: Window) -> Iterator[str]:
    """Findings about the board as a whole, this channel or the field that it is made from.

    What was gone before the bench's first value of the channel says nothing against its figures.
    """
    ours = ((session.table["bench"] == bench) & (session.table["channel"] == channel)).to_numpy()
    valued = session.seconds[ours & session.table["value"].notna().to_numpy()]
    begin = float(valued.min()) if len(valued) else -math.inf
    window = (begin if window[0] is None else max(begin, window[0]), window[1])
    for standing in session.findings:
        about = standing.finding.channel
        is_ours = about in ("", channel) or _is_made_from(session.lesson, bench, channel, about)
        if standing.bench == bench and is_ours and _stood_within(standing, window):
            yield _words(standing)


def _stood_within(standing: Standing, window: Window) -> bool:
    since, until = window
    gone = math.inf if standing.gone_ns is None else standing.gone_ns / 1e9
    return (until is None or standing.found_ns / 1e9 <= until) and (since is None or gone >= since)


def _is_made_from(lesson: Lesson, bench: int, channel: str, field: str) -> bool:
    own = next((one.field for one in lesson.bench(bench).channels if one.channel == channel), None)
    given = next((one.field for one in lesson.channels if one.name == channel), None)
    if field in {one.name for one in lesson.channels}:
        return False  # a channel of its own
    return field == (own or given or channel)


def _words(standing: Standing) -> str:
    since = clock_words(standing.found_ns / 1e9)
    until = "the end" if standing.gone_ns is None else clock_words(standing.gone_ns / 1e9)
    words = standing.finding.words.rstrip(".")
    return f"found from {since} to {until}: {words[:1].lower()}{words[1:]}"


def _calibration(lesson: Lesson, bench: int, channel: str, at: pd.Timestamp) -> Iterator[str]:
    by_bench = {
        one.number: own.calibration
        for one in lesson.benches
        for own in one.channels
        if own.channel == channel
    }
    calibrated = [number for number, found in by_bench.items() if found is not None]
    found = by_bench.get(bench)
    if found is None:
        if calibrated:
            yield "not calibrated, as others of the class are"
        return
    try:
        days = (at.date() - date.fromisoformat(found.date[:10])).days
    except ValueError:
        yield "its calibration bears no date"
        return
    if days > OLD_CALIBRATION_DAYS:
        yield f"its calibration is {days} days old"
