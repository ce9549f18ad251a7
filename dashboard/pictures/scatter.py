"""One channel against another: two quantities of the same benches at the same times."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from dashboard.class_known import BenchMark
from dashboard.comparing import Comparison
from dashboard.comparing.alignment import values_at
from dashboard.comparing.moments import Floats
from dashboard.pictures.curves import value_range
from dashboard.pictures.key import CURVES_UP_TO, key_traces, paper_axes, plot_height
from dashboard.pictures.look import LIGHT, Figure, Look, Trace, axis, empty, figure_of, plain
from dashboard.pictures.marks import NO_MARK, mark_traces

_HEIGHT = 480
_AROUND_PX = 96
_MOST_POINTS, _LEAST_POINTS = 120, 30  # of a bench
_POINTS = 960  # of all: more cover each other
_APART = 0.02


def two_channels(
    across: Comparison, up: Comparison, looks: Mapping[int, BenchMark], look: Look = LIGHT
) -> Figure:
    """Each bench's value of one channel over its value of another at the same time.

    Args:
        across: The comparison of the channel on the level axis.
        up: That of the channel on the upright axis, compared in the same time.
        looks: The benches' marks.
        look: Colours and type.
    """
    title = f"{up.choices.channel} over {across.choices.channel}"
    other = {one.bench: one.series for one in up.benches}
    names = across.marked_names
    points = {}
    n_points = max(_LEAST_POINTS, min(_MOST_POINTS, _POINTS // max(1, len(across.benches))))
    for one in across.benches:
        if one.bench not in other or len(one.series) < 2 or len(other[one.bench]) < 2:
            continue
        begin = max(one.series.seconds[0], other[one.bench].seconds[0])
        end = min(one.series.seconds[-1], other[one.bench].seconds[-1])
        times = np.linspace(begin, end, n_points)
        x, _ = values_at(one.series, times)
        y, _ = values_at(other[one.bench], times)
        both = np.isfinite(x) & np.isfinite(y)
        if both.any():
            points[one.bench] = (x[both], y[both])
    if not points:
        return empty(
            look, title=title, words="Nothing to show: no bench has both channels at the same times."
        )
    low, high = value_range(*(y for _, y in points.values()))
    left, right = value_range(*(x for x, _ in points.values()))
    traces: list[Trace] = []
    for bench, (x, y) in points.items():
        seen = (x >= left) & (x <= right) & (y >= low) & (y <= high)
        seen &= _apart(x / (right - left), y / (high - low))
        traces += mark_traces(
            x[seen].tolist(),
            y[seen].tolist(),
            looks.get(bench, NO_MARK),
            look,
            size=7,
            hovertext=plain(names[bench]),
        )
    ends = {bench: float(y[-1]) for bench, (_, y) in points.items()}
    height = plot_height(look, len(ends), least=_HEIGHT, around=_AROUND_PX)
    traces += key_traces(ends, names, looks, look, low=low, high=high, plot_px=height - _AROUND_PX)
    n_beyond = sum(
        int(np.count_nonzero((x < left) | (x > right) | (y < low) | (y > high))) for x, y in points.values()
    )
    words = (
        f"Each bench's {up.choices.channel} over its {across.choices.channel} at the same times, "
        "by straight lines between readings, never across a gap."
    )
    if n_beyond:
        words += f" {n_beyond} points lie beyond the axes."
    return figure_of(
        traces, look, title=title, words=words, height=height,
        xaxis=axis(look, _with_unit(across), domain=[0, CURVES_UP_TO - 0.01], range=[left, right]),
        yaxis=axis(look, _with_unit(up), range=[low, high]), **paper_axes(),
    )  # fmt: skip


def _apart(x: Floats, y: Floats) -> NDArray[np.bool_]:
    """Points far enough from the one before, of the axes' lengths, that both are seen."""
    kept = np.zeros(len(x), np.bool_)
    last = (math.inf, math.inf)
    for i, here in enumerate(zip(x.tolist(), y.tolist(), strict=True)):
        if math.dist(here, last) >= _APART:
            kept[i], last = True, here
    return kept


def _with_unit(comparison: Comparison) -> str:
    return plain(f"{comparison.choices.channel}{f', {comparison.unit}' if comparison.unit else ''}")
