"""How long a bench was held in which band, in the comparison's time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple


class Stay(NamedTuple):
    """A stretch in which a bench was held in one band; s, in session time or since the bench's event."""

    band: int  # 0 below the first edge
    since: float
    until: float


class BandTime(NamedTuple):
    """How long a bench was held in one band."""

    band: int
    seconds: float
    share: float  # of the time in which it had a band


def stays_within(
    stays: Sequence[Stay],
    from_seconds: float | None = None,
    to_seconds: float | None = None,
    *,
    zero_at: float = 0.0,
) -> tuple[Stay, ...]:
    """The parts of the stays within a window.

    Args:
        stays: In the order of their times.
        from_seconds: The window's begin, in the time counted from `zero_at`; None: open.
        to_seconds: Its end.
        zero_at: From where their time is counted.
    """
    since = -math.inf if from_seconds is None else from_seconds
    until = math.inf if to_seconds is None else to_seconds
    cut = (Stay(one.band, max(since, one.since - zero_at), min(until, one.until - zero_at)) for one in stays)
    return tuple(one for one in cut if one.until > one.since)


def time_in_bands(stays: Sequence[Stay], n_bands: int) -> tuple[BandTime, ...]:
    """The time in each of so many bands; none where the bench had no band at all."""
    seconds = [0.0] * n_bands
    for one in stays:
        seconds[one.band] += one.until - one.since
    total = math.fsum(seconds)
    return tuple(BandTime(band, one, one / total) for band, one in enumerate(seconds)) if total > 0 else ()
