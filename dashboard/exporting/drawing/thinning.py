"""A curve with as many points as its picture can show: the least and the greatest of each column."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from dashboard.comparing.series import Series

Floats = NDArray[np.float64]
COVERAGE = 2.0  # an uncertainty is drawn as value ± 2 u


class Thinned(NamedTuple):
    """One stretch without a gap, in order."""

    seconds: Floats
    values: Floats
    columns: Floats  # times at which the envelope is known
    low: Floats  # least value - 2 u in each of them; NaN unknown
    high: Floats


def thinned(series: Series, *, width_seconds: float, n_columns: int) -> list[Thinned]:
    """Its stretches, each with at most two points for each column.

    Args:
        series: The readings.
        width_seconds: Of the whole picture.
        n_columns: Into how many columns that is cut.
    """
    return [_one(series, stretch, width_seconds / n_columns) for stretch in series.stretches]


def _one(series: Series, stretch: slice, column_seconds: float) -> Thinned:
    seconds, values, u = series.seconds[stretch], series.values[stretch], series.u[stretch]
    column = np.floor(seconds / column_seconds).astype(np.int64)
    begins = np.flatnonzero(np.diff(column, prepend=column[0] - 1))
    ends = np.append(begins[1:], len(seconds))
    kept: list[int] = []
    for a, b in zip(begins.tolist(), ends.tolist(), strict=True):
        least, greatest = a + int(values[a:b].argmin()), a + int(values[a:b].argmax())
        kept += sorted({least, greatest})
    low = np.minimum.reduceat(values - COVERAGE * u, begins)
    high = np.maximum.reduceat(values + COVERAGE * u, begins)
    middle = np.add.reduceat(seconds, begins) / (ends - begins)
    return Thinned(seconds[kept], values[kept], middle, low, high)
