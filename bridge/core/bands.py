"""Bands above a baseline, held with a deadband so that noise does not flip them."""

from __future__ import annotations

import math
from bisect import bisect_right

from bridge.core.as_written import sum_as_written


class HeldBand:
    """The band that a value lies in, held with a deadband.

    A value at or above an edge is in the band above it at once. It falls back only below the edge less the
    deadband. So noise whose span is narrower than the deadband can't flip a band back and forth.
    Without a value there is no band.
    """

    def __init__(self, edges: tuple[float, ...], *, deadband: float) -> None:
        """Edges rise, in the channel's unit, absolute; the deadband is >= 0, in the same unit."""
        self.edges, self.deadband = edges, deadband
        self._falls = tuple(sum_as_written(edge, -deadband) for edge in edges)  # below it, its band is left
        self.band: int | None = None
        self.low, self.high = math.nan, math.nan  # low <= value < high keeps the band

    def take(self, value: float) -> int:
        """Take a value, return the band that is held now."""
        if not self.low <= value < self.high:  # also true while there is no band: NaN compares false
            band = bisect_right(self.edges, value)
            if self.band is not None and band < self.band:
                # Falling: an edge that is less than a deadband above the value is not yet left.
                band = min(self.band, bisect_right(self._falls, value))
            self._hold(band)
        assert self.band is not None
        return self.band

    def lose(self) -> None:
        """There is no value any more."""
        self.band = None
        self.low = self.high = math.nan

    def _hold(self, band: int) -> None:
        self.band = band
        self.low = self._falls[band - 1] if band > 0 else -math.inf
        self.high = self.edges[band] if band < len(self.edges) else math.inf
