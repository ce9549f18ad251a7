"""Bands above a baseline, held with a deadband and a dwell so that noise does not flip them."""

from __future__ import annotations

import math
from bisect import bisect_right

from bridge.core.as_written import sum_as_written
from bridge.core.limits import NEVER_NS


class HeldBand:
    """The band that a value lies in, held with a deadband, and for a time at least.

    A value at or above an edge is in the band above it at once. It falls back only below the edge less the
    deadband. So noise whose span is narrower than the deadband can't flip a band back and forth. A band that
    was entered is held at least for the dwell: what the value asks for meanwhile takes effect at the instant
    the dwell ends, if it still asks for it. Without a value there is no band.
    """

    def __init__(self, edges: tuple[float, ...], *, deadband: float, dwell_ns: int = 0) -> None:
        """Edges rise, in the channel's unit, absolute; the deadband is >= 0, in the same unit."""
        self.edges, self.deadband = edges, deadband
        self._falls = tuple(sum_as_written(edge, -deadband) for edge in edges)  # below it, its band is left
        self._dwell_ns = dwell_ns
        self._free_ns = 0  # from then on the band may be left
        self._wanted = 0
        self.band: int | None = None
        self.due_ns = NEVER_NS  # when the band that is wanted is entered
        self.low, self.high = math.nan, math.nan  # low <= value < high keeps the band

    def take(self, value: float, at_ns: int = 0) -> int:
        """Take a value, return the band that is held now; `fire` what was due before."""
        if self.low <= value < self.high:  # never while there is no band: NaN compares false
            assert self.band is not None
            return self.band
        band = self._band_of(value)
        if self.band is None or (band != self.band and at_ns >= self._free_ns):
            self._hold(band, at_ns)
        elif band == self.band:
            self.miss()
        else:
            self._wanted, self.due_ns = band, self._free_ns
            self.low = self.high = math.nan  # each value may take the wish back
        return self.band if self.band is not None else band

    def fire(self) -> int:
        """The dwell has ended: enter the band that is wanted."""
        self._hold(self._wanted, self.due_ns)
        return self._wanted

    def miss(self) -> None:
        """A value is missing, or is back: nobody asks for another band any more."""
        self.due_ns = NEVER_NS
        if self.band is not None:
            self.low, self.high = self._span(self.band)

    def lose(self) -> None:
        """There is no value any more."""
        self.band, self.due_ns = None, NEVER_NS
        self.low = self.high = math.nan

    def _band_of(self, value: float) -> int:
        band = bisect_right(self.edges, value)
        if self.band is not None and band < self.band:
            # Falling: an edge that is less than a deadband above the value is not yet left.
            band = min(self.band, bisect_right(self._falls, value))
        return band

    def _hold(self, band: int, at_ns: int) -> None:
        self.band, self._free_ns, self.due_ns = band, at_ns + self._dwell_ns, NEVER_NS
        self.low, self.high = self._span(band)

    def _span(self, band: int) -> tuple[float, float]:
        low = self._falls[band - 1] if band > 0 else -math.inf
        return low, self.edges[band] if band < len(self.edges) else math.inf
