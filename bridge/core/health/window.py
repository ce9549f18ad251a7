"""The newest rows of a bench, as numbers: bounded, and looked at from the end."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from bridge.core.exact import Values
from bridge.core.findings import FindingKind
from bridge.core.framing import Line

from .seen import ChannelSeen

MAX_ROWS = 600  # a minute at ten lines a second; of a faster board less than a minute is looked at
MAX_SPAN_NS = 60_000_000_000
KEPT_LINES = 128  # the newest lines whose texts are looked at

Numbers = NDArray[np.float64]
Times = NDArray[np.int64]


def middle(x: Numbers) -> float:
    """The median; a tenth of the time that numpy's takes for so few numbers. NaN when one is missing."""
    s = np.sort(x)  # NaN last
    n = len(s)
    return float(s[n // 2] + s[(n - 1) // 2]) / 2 if n and s[-1] == s[-1] else np.nan


class Window:
    """At most `MAX_ROWS` rows; NaN where a board printed no number."""

    def __init__(self, n_fields: int) -> None:
        self.n_fields = n_fields
        self.lines: deque[Line] = deque(maxlen=KEPT_LINES)
        self._values = np.empty((2 * MAX_ROWS, n_fields))
        self._times = np.empty(2 * MAX_ROWS, np.int64)
        self._numbers = np.empty(2 * MAX_ROWS, np.int64)
        self._start = self._end = 0
        self._n_whole = 0  # rows since the last one with a missing number

    @property
    def n(self) -> int:
        """Rows that are kept."""
        return self._end - self._start

    @property
    def has_gaps(self) -> bool:
        """Whether a number is missing in one of the rows."""
        return self._n_whole < self.n

    def add(self, rows: Sequence[Values], lines: Sequence[Line]) -> int:
        """Take rows with their lines; the answer is how many are new in here."""
        rows, lines = rows[-MAX_ROWS:], lines[-MAX_ROWS:]
        n = len(rows)
        if self._end + n > len(self._times):
            kept = min(self.n, MAX_ROWS)
            for array in (self._values, self._times, self._numbers):
                array[:kept] = array[self._end - kept : self._end]
            self._start, self._end = 0, kept
        block = self._values[self._end : self._end + n]
        block[:] = np.array(rows, np.float64)  # None becomes NaN
        self._times[self._end : self._end + n] = [line.at_ns for line in lines]
        self._numbers[self._end : self._end + n] = [line.number for line in lines]
        self._n_whole = 0 if np.isnan(block).any() else min(self._n_whole + n, MAX_ROWS)
        self._end += n
        self._start = max(self._start, self._end - MAX_ROWS)
        self.lines.extend(lines)
        return n

    def values(self, n: int) -> Numbers:
        """The newest n rows (or fewer), shape (n, fields)."""
        return self._values[max(self._start, self._end - n) : self._end]

    def times(self, n: int) -> Times:
        """When they came."""
        return self._times[max(self._start, self._end - n) : self._end]

    def numbers(self, n: int) -> Times:
        """Their lines' numbers."""
        return self._numbers[max(self._start, self._end - n) : self._end]

    def n_since(self, at_ns: int) -> int:
        """How many rows came at or after that time."""
        times = self._times[self._start : self._end]
        return len(times) - int(times.searchsorted(at_ns))

    def usual_interval_ns(self) -> int | None:
        """The median time between the newest arrivals; None before the third."""
        times = self.times(40)
        gaps = np.diff(times)
        gaps = gaps[gaps > 0]
        return int(middle(gaps.astype(np.float64))) if len(gaps) >= 2 else None


class Look:
    """One assessment of a bench's rows: everything that a detector may ask."""

    def __init__(
        self,
        at_ns: int,
        window: Window,
        fields: tuple[ChannelSeen, ...],
        n_new: int,
        stands: Callable[[FindingKind, str], bool],
    ) -> None:
        self.at_ns, self.window, self.fields, self.n_new, self.stands = at_ns, window, fields, n_new, stands
        n = min(n_new + 1, window.n)
        self.newest = window.values(n)  # the new rows, and the one before them where there is one
        self.newest_ns = window.times(n)
        self.jumps: Numbers = self.newest[1:] - self.newest[:-1]

    @property
    def n_minute(self) -> int:
        """How many rows of the last minute there are."""
        return self.window.n_since(self.at_ns - MAX_SPAN_NS)

    def n_within(self, seconds: float, *, at_least: int = 0) -> int:
        """How many of the newest rows came within so many seconds, or as many as asked for if there are."""
        n = self.window.n_since(self.at_ns - round(seconds * 1e9))
        return max(n, min(at_least, self.window.n))

    def column(self, index: int, n: int) -> Numbers:
        """The newest n numbers of a field that are there."""
        column: Numbers = self.window.values(n)[:, index]
        return column[~np.isnan(column)] if self.window.has_gaps else column

    def columns(self, i: int, j: int, n: int) -> tuple[Numbers, Numbers]:
        """Two fields where both are there."""
        rows = self.window.values(n)
        x, y = rows[:, i], rows[:, j]
        if self.window.has_gaps:
            both = ~(np.isnan(x) | np.isnan(y))
            return x[both], y[both]
        return x, y
