"""A channel's newest reading, with the least and greatest value since any version that a client may have."""

from __future__ import annotations

from bridge.core.readings import Reading

MAX_SPANS = 32  # a second at 30 frames; who missed more gets a span too wide, never one too narrow


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
            (_, low, high), (second, low2, high2) = spans[:2]
            spans[:2] = [(second, min(low, low2), max(high, high2))]

    def take_band(self, band: int | None, version: int) -> None:
        """The channel went into another band."""
        self.band = band
        self.version = version

    def span_since(self, version: int) -> tuple[float | None, float | None]:
        """Least and greatest value of the readings after `version`; None when none of them has a value."""
        spans = [one for one in self._spans if one[0] > version]
        if not spans:
            return None, None
        return min(low for _, low, _ in spans), max(high for _, _, high in spans)
