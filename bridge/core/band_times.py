"""How long a bench was in each band and how often it changed; and how often without a deadband."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections import deque
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

MAX_FLICKERS = 8_192  # full seconds with changes that are kept: over two hours of a band that never rests
_SECOND_NS = 1_000_000_000


class BandTotal(NamedTuple):
    """One band so far."""

    seconds: float
    n_entries: int  # from another band, or from having no value


class BandTimes(NamedTuple):
    """The bands of one channel so far: how long in each, how often changed, and without a deadband."""

    channel: str
    phases: tuple[str, ...]  # of the lesson, in which these bands hold; none: in all others
    is_on: bool  # whether they hold now
    names: tuple[str, ...]
    edges: tuple[float, ...]  # absolute
    begun_ns: int | None  # since when they are counted; None: no value yet
    totals: tuple[BandTotal, ...]
    n_changes: int
    n_edge_changes: int
    n_plain_edge_changes: int  # of a board that compares without deadband and dwell

    @property
    def n_avoided(self) -> int:
        """Edge changes that the deadband and the dwell have spared."""
        return self.n_plain_edge_changes - self.n_edge_changes


class Flicker(NamedTuple):
    """What a board without deadband and dwell would have shown in one full second, put together."""

    at_ns: int  # the first change of that second
    last_ns: int  # the last one
    band: int | None  # after the last one; None: no value
    n_changes: int
    highest: int | None  # of the bands that were shown


class BandTally:
    """Adds up the time in each band and the changes between them.

    An edge change is one edge that was passed: from band 1 to band 3 are two. So boards that step through a
    band on the way and boards that leap over it count the same.
    """

    def __init__(self, n_bands: int) -> None:
        self._ns, self._entries = [0] * n_bands, [0] * n_bands
        self._band: int | None = None
        self._since_ns = 0
        self.begun_ns: int | None = None  # when the first band was entered
        self.n_changes = 0  # from one band to another
        self.n_edge_changes = 0

    def take(self, band: int | None, at_ns: int) -> None:
        """The band that is held from that instant on; None: no value, so no band."""
        if self._band is not None:
            self._ns[self._band] += at_ns - self._since_ns
        if self.begun_ns is None and band is not None:
            self.begun_ns = at_ns
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


class PlainBands:
    """What a board would show that compares its reading with the edges, without deadband or dwell."""

    def __init__(self, edges: tuple[float, ...], flickers: deque[Flicker] | None = None) -> None:
        """Edges rise, in the channel's unit, absolute; what is shown is noted behind those flickers."""
        self.edges = edges
        self.band: int | None = None
        self.n_edge_changes = 0
        self.flickers = new_flickers() if flickers is None else flickers
        self._low = self._high = math.nan  # low <= value < high keeps the band

    def take(self, value: float, at_ns: int) -> int:
        """Take a value, return its band."""
        if not self._low <= value < self._high:
            self._enter(bisect_right(self.edges, value), at_ns)
        assert self.band is not None
        return self.band

    def take_many(self, values: Sequence[float], times_ns: Sequence[int]) -> None:
        """`take` of each."""
        if self._low <= min(values) and max(values) < self._high:
            return
        bands = np.searchsorted(self.edges, np.asarray(values), side="right")
        is_new = np.ones(len(bands), dtype=bool)
        is_new[1:] = bands[1:] != bands[:-1]
        for i in np.flatnonzero(is_new).tolist():
            if bands[i] != self.band:
                self._enter(int(bands[i]), times_ns[i])

    def lose(self, at_ns: int) -> None:
        """There is no value any more: the next one changes no edge."""
        if self.band is not None:
            self._enter(None, at_ns)

    def _enter(self, band: int | None, at_ns: int) -> None:
        if band is not None and self.band is not None:
            self.n_edge_changes += abs(band - self.band)
        self.band = band
        self._note(band, at_ns)
        if band is None:
            self._low = self._high = math.nan
            return
        self._low = self.edges[band - 1] if band > 0 else -math.inf
        self._high = self.edges[band] if band < len(self.edges) else math.inf

    def _note(self, band: int | None, at_ns: int) -> None:
        new, flickers = Flicker(at_ns, at_ns, band, 1, band), self.flickers
        if flickers and flickers[-1].at_ns // _SECOND_NS == at_ns // _SECOND_NS:
            flickers[-1] = _together(flickers[-1], new)
        else:
            flickers.append(new)


def new_flickers() -> deque[Flicker]:
    """None yet; beyond the bound the oldest are forgotten."""
    return deque(maxlen=MAX_FLICKERS)


def flickers_between(flickers: Iterable[Flicker], from_ns: int, to_ns: int, n_rows: int) -> list[Flicker]:
    """Those of a stretch of time, begun by the newest one before it, whose band was shown when it began.

    Args:
        flickers: In the order of their times.
        from_ns: Where the stretch begins.
        to_ns: Where it ends.
        n_rows: In how many equal parts it is cut; those of one part are put together.
    """
    part_ns = max(1, (to_ns - from_ns) // max(1, n_rows))
    before: Flicker | None = None
    inside: list[Flicker] = []
    for one in flickers:
        if one.at_ns > to_ns:
            break
        if one.at_ns <= from_ns:
            before = one
        elif inside and (inside[-1].at_ns - from_ns) // part_ns == (one.at_ns - from_ns) // part_ns:
            inside[-1] = _together(inside[-1], one)
        else:
            inside.append(one)
    return inside if before is None else [before, *inside]


def _together(first: Flicker, second: Flicker) -> Flicker:
    shown = [one for one in (first.highest, second.highest) if one is not None]
    n_changes = first.n_changes + second.n_changes
    return Flicker(first.at_ns, second.last_ns, second.band, n_changes, max(shown, default=None))
