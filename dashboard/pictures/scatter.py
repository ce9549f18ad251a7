"""One channel against another: two quantities of the same benches at the same times."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from dashboard.class_known import BenchMark
from dashboard.comparing import Comparison
from dashboard.comparing.alignment import values_at
from dashboard.pictures.curves import value_range
from dashboard.pictures.key import CURVES_UP_TO, key_traces, paper_axes
from dashboard.pictures.look import LIGHT, Figure, Look, Trace, axis, empty, figure_of, plain
from dashboard.pictures.marks import NO_MARK, mark_traces

_HEIGHT = 480
_AROUND_PX = 96
_MOST_POINTS = 120  # of a bench


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
    for one in across.benches:
        if one.bench not in other or len(one.series) < 2 or len(other[one.bench]) < 2:
            continue
        begin = max(one.series.seconds[0], other[one.bench].seconds[0])
        end = min(one.series.seconds[-1], other[one.bench].seconds[-1])
        times = np.linspace(begin, end, _MOST_POINTS)
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
        traces += mark_traces(
            x[seen].tolist(),
            y[seen].tolist(),
            looks.get(bench, NO_MARK),
            look,
            size=8,
            hovertext=plain(names[bench]),
        )
    ends = {bench: float(y[-1]) for bench, (_, y) in points.items()}
    traces += key_traces(ends, names, looks, look, low=low, high=high, plot_px=_HEIGHT - _AROUND_PX)
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
        traces, look, title=title, words=words, height=_HEIGHT,
        xaxis=axis(look, _with_unit(across), domain=[0, CURVES_UP_TO - 0.01], range=[left, right]),
        yaxis=axis(look, _with_unit(up), range=[low, high]), **paper_axes(),
    )  # fmt: skip


def _with_unit(comparison: Comparison) -> str:
    return plain(f"{comparison.choices.channel}{f', {comparison.unit}' if comparison.unit else ''}")
