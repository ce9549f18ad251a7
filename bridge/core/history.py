"""One channel's past, bounded: the whole session coarse, its newest part reading by reading."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Row = tuple[int, float, float]  # at_ns of the column's first reading, least, greatest value

GAP_NS = 3_000_000_000  # a shorter silence is never a gap
GAP_INTERVALS = 3  # nor is one of at most so many usual intervals
USUAL_INTERVALS = 16  # the usual interval is the median of so many latest ones
FIRST_COLUMN_NS = 50_000_000

_Ints = NDArray[np.int64]
_Floats = NDArray[np.float64]
_Flags = NDArray[np.bool_]


class _Columns:
    """Stretches of time with their least and greatest value, oldest first."""

    __slots__ = ("first", "gap", "high", "last", "low")

    def __init__(self, first: _Ints, last: _Ints, low: _Floats, high: _Floats, gap: _Flags) -> None:
        self.first, self.last = first, last  # at_ns of the first and last reading
        self.low, self.high = low, high
        self.gap = gap  # a gap lies between the reading before and this column's last one

    def __len__(self) -> int:
        return len(self.first)

    def merged(self, groups: _Ints) -> _Columns:
        """Columns of the same (rising) group number made one; least and greatest stay."""
        if not len(self):
            return self
        starts = np.flatnonzero(np.diff(groups, prepend=groups[0] - 1))
        ends = np.append(starts[1:], len(groups)) - 1
        return _Columns(
            self.first[starts],
            self.last[ends],
            np.minimum.reduceat(self.low, starts),
            np.maximum.reduceat(self.high, starts),
            np.logical_or.reduceat(self.gap, starts),
        )

    def followed_by(self, others: _Columns) -> _Columns:
        return _Columns(*(np.concatenate([getattr(self, name), getattr(others, name)]) for name in _NAMES))

    def part(self, where: slice) -> _Columns:
        return _Columns(*(getattr(self, name)[where] for name in _NAMES))


_NAMES = ("first", "last", "low", "high", "gap")


def _nothing() -> _Columns:
    ints, floats = np.empty(0, np.int64), np.empty(0)
    return _Columns(ints, ints, floats, floats, np.empty(0, np.bool_))


class History:
    """A channel's readings over the session.

    Bounds: the newest `max_fine` readings (up to twice as many between two clear-outs) are kept one by one;
    the whole session is kept in at most `max_columns` columns of equal width. When these are full the width
    doubles and each two become one with their least and greatest value, so a spike stays visible however
    long the session lasts.
    """

    def __init__(self, *, max_fine: int = 2048, max_columns: int = 2048, max_pending: int = 512) -> None:
        self.max_fine, self.max_columns, self.max_pending = max_fine, max_columns, max_pending
        self._times: list[
            int
        ] = []  # waiting to be folded in: a list takes them ten times as fast as an array
        self._values: list[float] = []
        self._missing = False  # a missing value came after the newest reading that has one
        self._intervals: _Ints = np.empty(0, np.int64)  # the latest ones above zero, at most USUAL_INTERVALS
        self._fine = _nothing()
        self._coarse = _nothing()
        self._has_all_fine = True
        self._width_ns = FIRST_COLUMN_NS

    def add(self, at_ns: int, value: float | None) -> None:
        """Take a reading; times never fall. None (or a value that is not finite) makes a gap."""
        self._times.append(at_ns)
        self._values.append(np.nan if value is None else value)
        if len(self._times) >= self.max_pending:
            self._fold()

    def rows(self, from_ns: int, to_ns: int, n: int) -> list[Row | None]:
        """Least and greatest value in at most `n` columns of equal width; None stands where the curve breaks.

        Args:
            from_ns: Session time of the left end.
            to_ns: Session time of the right end, included.
            n: Most rows that may come back, the None rows counted in; at least 2.
        """
        self._fold()
        columns = self._between(from_ns, to_ns)
        rows = _rows(columns, from_ns, to_ns, n)
        return rows if len(rows) <= n else _rows(columns, from_ns, to_ns, n // 2)

    @property
    def first_ns(self) -> int | None:
        """Session time of the oldest reading that has a value."""
        self._fold()
        return int(self._coarse.first[0]) if len(self._coarse) else None

    def _between(self, from_ns: int, to_ns: int) -> _Columns:
        is_fine = self._has_all_fine or from_ns >= self._fine.first[0]
        source = self._fine if is_fine else self._coarse
        left = int(np.searchsorted(source.last, from_ns, side="left"))
        right = int(np.searchsorted(source.first, to_ns, side="right"))
        return source.part(slice(left, max(left, right)))

    def _fold(self) -> None:
        if not self._times:
            return
        times, values = np.array(self._times, np.int64), np.array(self._values)
        self._times, self._values = [], []
        has_value = np.isfinite(values)
        # After a missing value the next reading that has one begins a new piece of curve.
        n_missing = np.cumsum(~has_value) + int(self._missing)
        self._missing = not has_value[-1]
        if not has_value.any():
            return
        times, values, n_missing = times[has_value], values[has_value], n_missing[has_value]
        gap = np.diff(n_missing, prepend=0) > 0
        gap |= self._silences(times)
        new = _Columns(times, times, values, values, gap)
        self._fine = self._fine.followed_by(new)
        if len(self._fine) > 2 * self.max_fine:
            self._fine = self._fine.part(slice(-self.max_fine, None))
            self._has_all_fine = False
        self._widen_with(new)

    def _silences(self, times: _Ints) -> _Flags:
        """Where the time since the reading before is a gap."""
        before = self._coarse.last[-1] if len(self._coarse) else times[0]
        intervals = np.diff(times, prepend=before)
        silent = np.zeros(len(times), np.bool_)
        known = np.concatenate([self._intervals, intervals])
        for i in np.flatnonzero(intervals > GAP_NS):  # few, or of a board so slow that there are few of all
            latest = known[: len(self._intervals) + i + 1]
            latest = np.sort(latest[latest > 0][-USUAL_INTERVALS:])
            usual = latest[(len(latest) - 1) // 2]  # of two middle ones the shorter
            silent[i] = intervals[i] > GAP_INTERVALS * usual
        # Lines that came in one chunk share its time: an interval of nothing tells nothing.
        self._intervals = known[known > 0][-USUAL_INTERVALS:]
        return silent

    def _widen_with(self, new: _Columns) -> None:
        columns = self._coarse.followed_by(new)
        columns = columns.merged(columns.first // self._width_ns)
        while len(columns) > self.max_columns:
            self._width_ns *= 2
            columns = columns.merged(columns.first // self._width_ns)
        self._coarse = columns


def _rows(columns: _Columns, from_ns: int, to_ns: int, n: int) -> list[Row | None]:
    if len(columns) > n:  # else each stays as it is
        width = max(1, -(-(to_ns - from_ns + 1) // n))
        columns = columns.merged(np.maximum(0, columns.first - from_ns) // width)
    rows: list[Row | None] = []
    for first, low, high, gap in zip(
        columns.first.tolist(), columns.low.tolist(), columns.high.tolist(), columns.gap.tolist(), strict=True
    ):
        if gap and rows:
            rows.append(None)
        rows.append((first, low, high))
    return rows
