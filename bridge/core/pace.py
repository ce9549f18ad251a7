"""How often a board prints, and from when on its newest value is old."""

from __future__ import annotations

import itertools
from collections import deque

OLD_AFTER_NS = 3_000_000_000  # a value is never old earlier, however fast the board
OLD_AFTER_INTERVALS = 3
RATE_WINDOW_NS = 10_000_000_000
MAX_ARRIVALS = 64  # the newest arrivals that the usual interval and the rate are taken from


class Pace:
    """Follows the arrivals of a board's lines.

    A board that hands over four lines in one burst each second has a usual interval of one second and a rate
    of four lines a second: the interval is that between arrivals, the rate counts lines.
    """

    def __init__(self) -> None:
        self._arrivals: deque[tuple[int, int]] = deque(maxlen=MAX_ARRIVALS)  # (at_ns, lines)
        self.newest_ns: int | None = None
        self._usual_ns: int | None = None  # kept until the next arrival; worked out when somebody asks
        self._is_worked_out = True

    def take(self, n_lines: int, at_ns: int) -> None:
        """Take an arrival of whole lines."""
        self.newest_ns = at_ns
        self._is_worked_out = False
        if self._arrivals and self._arrivals[-1][0] == at_ns:
            n_lines += self._arrivals.pop()[1]
        self._arrivals.append((at_ns, n_lines))

    def restart(self) -> None:
        """A break: the next interval is no interval of the board's."""
        self._arrivals.clear()
        self._is_worked_out = False

    @property
    def usual_interval_ns(self) -> int | None:
        """The median interval between arrivals; None before the third."""
        if not self._is_worked_out:
            self._usual_ns, self._is_worked_out = self._median_interval(), True
        return self._usual_ns

    def _median_interval(self) -> int | None:
        times = [at for at, _ in self._arrivals]
        if len(times) < 3:
            return None
        gaps = sorted(b - a for a, b in itertools.pairwise(times))
        return gaps[len(gaps) // 2]

    @property
    def old_after_ns(self) -> int:
        """Age from which the newest value is old: three usual intervals, at least 3 s."""
        return max(OLD_AFTER_NS, OLD_AFTER_INTERVALS * (self.usual_interval_ns or 0))

    def is_old(self, now_ns: int) -> bool:
        """Whether the newest line is old by now; a board that has not printed has nothing that could be."""
        return self.newest_ns is not None and now_ns - self.newest_ns >= self.old_after_ns

    def lines_per_second(self, now_ns: int) -> float:
        """Lines a second over the arrivals of the last 10 s; 0 when the board is old.

        The lines of the first arrival came before it, in an interval that was not seen: they do not count.
        """
        if self.is_old(now_ns):
            return 0.0
        recent = [one for one in self._arrivals if one[0] >= now_ns - RATE_WINDOW_NS]
        if len(recent) < 2:  # slower than a line in 10 s
            recent = list(self._arrivals)[-2:]
        if len(recent) < 2:
            return 0.0
        return sum(n for _, n in recent[1:]) * 1e9 / (recent[-1][0] - recent[0][0])
