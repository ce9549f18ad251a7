"""A channel's newest reading, with the least and greatest value since any version that a client may have."""

from __future__ import annotations

import math

from bridge.core.readings import Reading

# A second at 30 frames and what is merged at once. Who missed more gets a span too wide, never too narrow.
MAX_SPANS = 48

_N_MERGED = 18


class Newest:
    """Keeps what a frame needs of one channel."""

    __slots__ = ("_spans", "band", "reading", "version")

    def __init__(self) -> None:
        self.reading: Reading | None = None
        self.version = 0  # the version that the newest change belongs to
        self.band: int | None = None
        self._spans: list[tuple[int, float, float]] = []  # version, least, greatest; versions rise

    def take(self, reading: Reading, version: int) -> None:
        """The reading is the newest one now."""
        self.reading = reading
        self.version = version
        value = reading.value
        if value is None or value - value != 0.0:  # not finite
            return
        spans = self._spans
        if spans and spans[-1][0] == version:
            _, low, high = spans[-1]
            if not low <= value <= high:
                spans[-1] = (version, min(low, value), max(high, value))
            return
        spans.append((version, value, value))
        if len(spans) > MAX_SPANS:
            older = spans[:_N_MERGED]
            low, high = min(low for _, low, _ in older), max(high for _, _, high in older)
            spans[:_N_MERGED] = [(older[-1][0], low, high)]

    def take_band(self, band: int | None, version: int) -> None:
        """The channel went into another band."""
        self.band = band
        self.version = version

    def span_since(self, version: int) -> tuple[float | None, float | None]:
        """Least and greatest value of the readings after `version`; None when none of them has a value."""
        low, high = math.inf, -math.inf
        for newer, span_low, span_high in reversed(self._spans):  # one, for who missed nothing
            if newer <= version:
                break
            low, high = min(low, span_low), max(high, span_high)
        return (low, high) if low <= high else (None, None)
