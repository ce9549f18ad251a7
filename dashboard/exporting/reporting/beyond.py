"""When readings lay beyond a limit of their value: told from the readings and the lesson's limits."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from dashboard.comparing.series import Series
from dashboard.exporting.pictures import HIGH_KINDS, LOW_KINDS, curves_of
from dashboard.exporting.session import Session


class Beyond(NamedTuple):
    """One stretch of one bench beyond one limit."""

    bench: int
    channel: str
    kind: str
    at: float
    unit: str
    from_seconds: float
    to_seconds: float | None  # None: to the end
    farthest: float
    message: str


def beyond_limits(session: Session) -> list[Beyond]:
    """Every stretch that lasted as long as its alarm waits, in the order of time.

    A stretch ends when a reading is back by the deadband. A limit that the lesson had only for a part of the
    session is taken for all of it: these are the readings seen with the lesson as it is now.
    """
    found = [
        one
        for channel in session.lesson.channels
        for limit in channel.limits
        if limit.kind in (*HIGH_KINDS, *LOW_KINDS)
        for curve in curves_of(session, channel.name)
        for one in _stretches(
            curve.series, limit.kind, limit.at, limit.deadband, limit.on_delay_seconds, limit.message
        )
    ]
    return sorted(found, key=lambda one: (one.from_seconds, one.bench))


def _stretches(
    series: Series, kind: str, at: float, deadband: float, least_seconds: float, message: str
) -> Iterator[Beyond]:
    sign = 1.0 if kind in HIGH_KINDS else -1.0
    past = sign * (series.values - at)
    begin: int | None = None
    for i in np.flatnonzero((past > 0) | (past <= -deadband)).tolist():
        if past[i] > 0:
            begin = i if begin is None else begin
        elif begin is not None:
            yield from _one(series, (begin, i), sign, (kind, at, message), least_seconds)
            begin = None
    if begin is not None:
        yield from _one(series, (begin, None), sign, (kind, at, message), least_seconds)


def _one(
    series: Series,
    span: tuple[int, int | None],
    sign: float,
    limit: tuple[str, float, str],
    least_seconds: float,
) -> Iterator[Beyond]:
    begin, end = span
    since = float(series.seconds[begin])
    until = float(series.seconds[-1] if end is None else series.seconds[end])
    if until - since < least_seconds:
        return
    values = series.values[begin:end]
    farthest = float(values.max() if sign > 0 else values.min())
    kind, at, message = limit
    yield Beyond(
        series.bench,
        series.channel,
        kind,
        at,
        series.unit,
        since,
        None if end is None else until,
        farthest,
        message,
    )
