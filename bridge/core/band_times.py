"""How long a bench was in each band and how often it changed; and how often without a deadband."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from bridge.core.readings import BandChange


class BandTotal(NamedTuple):
    """One band so far."""

    seconds: float
    n_entries: int  # from another band, or from having no value


class BandTally:
    """Adds up the time in each band and the changes between them.

    An edge change is one edge that was passed: from band 1 to band 3 are two. So boards that step through a
    band on the way and boards that leap over it count the same.
    """

    def __init__(self, n_bands: int) -> None:
        self._ns, self._entries = [0] * n_bands, [0] * n_bands
        self._band: int | None = None
        self._since_ns = 0
        self.n_changes = 0  # from one band to another
        self.n_edge_changes = 0

    def take(self, band: int | None, at_ns: int) -> None:
        """The band that is held from that instant on; None: no value, so no band."""
        if self._band is not None:
            self._ns[self._band] += at_ns - self._since_ns
        if band is not None and band != self._band:
            self._entries[band] += 1
            if self._band is not None:
                self.n_changes += 1
                self.n_edge_changes += abs(band - self._band)
        self._band, self._since_ns = band, at_ns

    def totals(self, now_ns: int) -> tuple[BandTotal, ...]:
        """Each band's time and entries, the band of now counted up to now."""
        ns = list(self._ns)
        if self._band is not None:
            ns[self._band] += now_ns - self._since_ns
        return tuple(BandTotal(one / 1e9, n) for one, n in zip(ns, self._entries, strict=True))


def tally_of(changes: Sequence[BandChange], n_bands: int, *, start_ns: int, end_ns: int) -> BandTally:
    """The tally of a stretch of a session, as of a phase of the lesson, up to its end.

    Args:
        changes: Of one channel of one bench, in the order of their times, from the session's start on.
        n_bands: One more than edges.
        start_ns: Where the stretch begins; the band that is held there counts as entered there.
        end_ns: Where it ends.
    """
    tally = BandTally(n_bands)
    before = [one.band for one in changes if one.at_ns <= start_ns]
    if before:
        tally.take(before[-1], start_ns)
    for change in changes:
        if start_ns < change.at_ns < end_ns:
            tally.take(change.band, change.at_ns)
    tally.take(None, end_ns)
    return tally


class PlainBands:
    """What a board would show that compares its reading with the edges, without deadband or dwell."""

    def __init__(self, edges: tuple[float, ...]) -> None:
        """Edges rise, in the channel's unit, absolute."""
        self.edges = edges
        self.band: int | None = None
        self.n_edge_changes = 0
        self._low = self._high = math.nan  # low <= value < high keeps the band

    def take(self, value: float) -> int:
        """Take a value, return its band."""
        if not self._low <= value < self._high:
            self._enter(bisect_right(self.edges, value))
        assert self.band is not None
        return self.band

    def take_many(self, values: Sequence[float]) -> None:
        """`take` of each."""
        if self._low <= min(values) and max(values) < self._high:
            return
        bands = np.searchsorted(self.edges, np.asarray(values), side="right")
        self._enter(int(bands[0]))
        self.n_edge_changes += int(np.abs(np.diff(bands)).sum())
        self.band = None  # the steps between are counted
        self._enter(int(bands[-1]))

    def lose(self) -> None:
        """There is no value any more: the next one changes no edge."""
        self.band = None
        self._low = self._high = math.nan

    def _enter(self, band: int) -> None:
        if self.band is not None:
            self.n_edge_changes += abs(band - self.band)
        self.band = band
        self._low = self.edges[band - 1] if band > 0 else -math.inf
        self._high = self.edges[band] if band < len(self.edges) else math.inf


def plain_band_changes(
    times_ns: Sequence[int], values: Sequence[float | None], edges: tuple[float, ...]
) -> list[tuple[int, int | None]]:
    """What such a board would have shown over time: each change of its band, to lay beside the held one.

    Args:
        times_ns: Rising, shape (n,).
        values: Readings, None where one is missing.
        edges: Absolute, rising.
    """
    changes: list[tuple[int, int | None]] = []
    before: int | None = None
    for at_ns, value in zip(times_ns, values, strict=True):
        band = None if value is None else bisect_right(edges, value)
        if band != before:
            changes.append((at_ns, band))
            before = band
    return changes
