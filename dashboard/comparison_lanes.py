"""Each bench's course in session time with its event, for the page on which events are moved by hand."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import numpy as np

from dashboard.class_known import BenchMark
from dashboard.comparing import Comparison
from dashboard.comparing.series import Series
from dashboard.pictures.curves import course_of, line_points

COLUMNS = 240  # of a lane: four px or so
_ROOM = 0.3  # of the time that all events span, to either side of a close look
_LEAST_ROOM_SECONDS = 10.0
_HARDLY_LONGER = 2.0  # times a close look: the whole session is then as good

Json = dict[str, Any]


def lanes_text(comparison: Comparison, looks: Mapping[int, BenchMark]) -> str:
    """As JSON for `assets/parts/event-lanes.mjs`; "" where benches are compared at the same instant."""
    kind = comparison.choices.alignment.kind
    readings = {bench: one for bench, one in comparison.readings.items() if len(one) > 1}
    if kind == "instant" or not readings:
        return ""
    whole = (
        min(float(one.seconds[0]) for one in readings.values()),
        max(float(one.seconds[-1]) for one in readings.values()),
    )
    close = _close(comparison, whole)
    lanes = [
        _lane(comparison, one, looks.get(bench, BenchMark("circle", "black")), close)
        for bench, one in sorted(readings.items())
    ]
    return json.dumps(
        {"kind": kind, "whole": whole, "close": close, "lanes": lanes}, allow_nan=False, ensure_ascii=False
    )


def _close(comparison: Comparison, whole: tuple[float, float]) -> tuple[float, float] | None:
    """The time about all events, found or set; None where the whole session is hardly longer."""
    events = (*comparison.events.values(), *comparison.found.values())
    at = [one.seconds for one in events if one.seconds is not None]
    if not at:
        return None
    room = max(_LEAST_ROOM_SECONDS, _ROOM * (max(at) - min(at)))
    since, until = max(whole[0], min(at) - room), min(whole[1], max(at) + room)
    return (since, until) if _HARDLY_LONGER * (until - since) < whole[1] - whole[0] else None


def _lane(comparison: Comparison, series: Series, look: BenchMark, close: tuple[float, float] | None) -> Json:
    event = comparison.events.get(series.bench)
    found = comparison.found.get(series.bench, event)
    choices = comparison.choices
    sign = "⚠ " if choices.marks.get(series.bench) else ""
    return {
        "bench": series.bench,
        "name": f"{sign}{choices.names.get(series.bench, f'Bench {series.bench}')}",
        "shape": look.shape,
        "colour": look.colour,
        "at": None if event is None else event.seconds,
        "by_hand": event is not None and event.by == "hand",
        "found": None if found is None or found.by == "hand" else found.seconds,
        "words": "" if found is None else found.words,
        "whole": _points(series),
        "close": None if close is None else _points(series.within(*close)),
    }


def _points(series: Series) -> Json:
    """Times and places from 0 at the least value to 1 at the greatest; null breaks the line."""
    if len(series) < 2:
        return {"t": [], "y": []}
    t, y = line_points(course_of(series, COLUMNS))
    low, high = float(np.nanmin(y)), float(np.nanmax(y))
    places = (y - low) / (high - low) if high > low else np.where(np.isnan(y), y, 0.5)
    return {
        "t": [round(float(one), 2) for one in t],
        "y": [None if np.isnan(one) else round(float(one), 3) for one in places],
    }
