"""The straight line beneath a cloud of points, where what is added is never negative.

What arrives is late by a delay that is at least some smallest one: arrival minus the board's own time lies on
or above a line, whose slope is the skew of the two clocks. The line is the one beneath all points that lies
closest to them in sum. It runs through an edge of their lower convex hull: the edge over their mean.

Source: S. B. Moon, P. Skelly, D. Towsley, "Estimation and removal of clock skew from network delay
measurements", IEEE INFOCOM 1999 (the line as a linear program); L. Zhang, Z. Liu, C. H. Xia, "Clock
synchronization algorithms for network measurements", IEEE INFOCOM 2002 (by the convex hull).
"""

from __future__ import annotations

from collections import deque
from itertools import pairwise
from typing import NamedTuple

N_BLOCKS = 8
BLOCK_NS = 32_000_000_000  # so the window is four minutes: long for a skew, short for a board that warms up
LEAST_OF_BLOCK = 16  # points; the blocks of a board that prints once a minute are longer
MAX_CORNERS = 64  # of a block's hull; beyond it every other inner corner is given up

Point = tuple[int, int]  # the board's time, and arrival minus it; both in ns


class Under(NamedTuple):
    """The line beneath the points: arrival minus board time = at_zero_ns + slope * board time."""

    slope: float
    at_zero_ns: float
    span_ns: int  # from the first to the last point's board time


class LowerEnvelope:
    """Keeps what is needed of the newest points, which come in the order of the board's time."""

    def __init__(self) -> None:
        self._blocks: deque[list[Point]] = deque(maxlen=N_BLOCKS)  # each its lower convex hull
        self._weights: deque[tuple[int, int]] = deque(
            maxlen=N_BLOCKS
        )  # points of each, and their sum of times
        self._hull: list[Point] = []
        self._n = 0
        self._sum = 0
        self._begins: int | None = None

    def add(self, time: int, above: int) -> None:
        """Take a point, whose time is not before the last one's."""
        if self._begins is None or (time - self._begins > BLOCK_NS and self._n >= LEAST_OF_BLOCK):
            self._close(time)
        self._n += 1
        self._sum += time
        hull = self._hull
        if _stands_lower(hull, (time, above)):
            return
        while len(hull) > 1:
            (x0, y0), (x1, y1) = hull[-2], hull[-1]
            if (y1 - y0) * (time - x1) < (above - y1) * (x1 - x0):
                break
            hull.pop()
        hull.append((time, above))
        if len(hull) > MAX_CORNERS:
            del hull[1:-1:2]

    def under(self, least_slope: float, most_slope: float) -> Under:
        """The line beneath the newest points, its slope held between two.

        Ends that rise or fall much more steeply are no skew: at the beginning the last of lines that had
        waited, at the end the first of such. They are left out.

        Raises:
            ValueError: There are no points.
        """
        if not self._hull:
            raise ValueError("there are no points")
        hull: list[Point] = []
        for block in (*self._blocks, self._hull):
            for point in block:
                if _stands_lower(hull, point):  # two blocks may meet at one time
                    continue
                while len(hull) > 1 and not _turns_left(hull[-2], hull[-1], point):
                    hull.pop()
                hull.append(point)
        n = self._n + sum(n for n, _ in self._weights)
        mean = (self._sum + sum(total for _, total in self._weights)) / n
        first, last = 0, len(hull) - 1
        while first < last and _slope(hull[first], hull[first + 1]) < 2 * least_slope:
            first += 1
        while first < last and _slope(hull[last - 1], hull[last]) > 2 * most_slope:
            last -= 1
        hull = hull[first : last + 1]
        if first:
            mean = max(mean, (hull[0][0] + hull[-1][0]) / 2)
        slope = next((_slope(a, b) for a, b in pairwise(hull) if b[0] >= mean or b == hull[-1]), 0.0)
        slope = min(max(slope, least_slope), most_slope)
        return Under(slope, min(y - slope * x for x, y in hull), hull[-1][0] - hull[0][0])

    def _close(self, time: int) -> None:
        if self._hull:
            self._blocks.append(self._hull)
            self._weights.append((self._n, self._sum))
        self._hull, self._n, self._sum, self._begins = [], 0, 0, time


def _stands_lower(hull: list[Point], point: Point) -> bool:
    """Whether the hull ends at the point's time and not above it; an end above it is taken away."""
    if not hull or hull[-1][0] != point[0]:
        return False
    if hull[-1][1] > point[1]:
        hull.pop()
        return False
    return True


def _slope(a: Point, b: Point) -> float:
    return (b[1] - a[1]) / (b[0] - a[0])


def _turns_left(a: Point, b: Point, c: Point) -> bool:
    """Whether b is a corner of the lower hull between a and c."""
    return (b[1] - a[1]) * (c[0] - b[0]) < (c[1] - b[1]) * (b[0] - a[0])
