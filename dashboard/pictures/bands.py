"""The bands of all benches over time, one ribbon above the other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from dashboard.class_known import BenchMark
from dashboard.comparing import Comparison
from dashboard.comparing.bands import Stay
from dashboard.pictures.curves import time_axis
from dashboard.pictures.key import ON_PAPER, paper_axes
from dashboard.pictures.lettering import fitted
from dashboard.pictures.look import LIGHT, Figure, Look, Trace, axis, empty, figure_of
from dashboard.pictures.marked import NOTHING_MARKED, Marked, marked_shapes
from dashboard.pictures.marks import NO_MARK, mark_traces

_ROW_PX = 54
_MOST_PX = 1032  # of all rows, so that a page of paper holds them
_FILLED = 0.8  # of a row's height: the highest band
_NAMES_UP_TO = 0.2  # of the width
_NAME_PX = 98.0  # of a picture that is 720 px wide
_COLUMNS = 250


def band_ribbons(
    comparison: Comparison,
    looks: Mapping[int, BenchMark],
    look: Look = LIGHT,
    *,
    marked: Marked = NOTHING_MARKED,
) -> Figure:
    """A ribbon for each bench, filled as high as the band that was held; empty while it had none.

    Args:
        comparison: Its benches know when they were held in which band.
        looks: The benches' marks.
        look: Colours and type.
        marked: Phases and instants; limits have no place among ribbons.
    """
    title = f"Bands of {comparison.choices.channel}"
    benches = [one for one in comparison.benches if one.stays]
    if not benches:
        return empty(look, title=title, words="Nothing to show: no bench was in any band of this channel.")
    n_bands = comparison.choices.n_bands
    since = min(min(float(one.series.seconds[0]), one.stays[0].since) for one in benches)
    until = max(max(float(one.series.seconds[-1]), one.stays[-1].until) for one in benches)
    traces: list[Trace] = []
    notes: list[Trace] = []
    n = len(benches)
    for row, one in enumerate(benches):
        floor = n - 1 - row
        stays = _few(one.stays, (until - since) / _COLUMNS)
        traces += _ribbon(stays, (since, until), floor, _FILLED / n_bands, look)
        middle = (floor + _FILLED / 2) / n
        traces += mark_traces([0.012], [middle], looks.get(one.bench, NO_MARK), look, **ON_PAPER)
        notes.append(
            {
                "text": fitted(comparison.marked_names[one.bench], _NAME_PX * look.wide, look.font_px),
                "xref": "paper",
                "yref": "paper",
                "x": 0,
                "xshift": 26,
                "y": middle,
                "xanchor": "left",
                "yanchor": "middle",
                "showarrow": False,
                "font": {"color": look.ink},
            }
        )
    named = [name for name in comparison.choices.band_names if name]
    words = (
        "A ribbon for each bench: the higher it is filled, the higher the band that was held, with its "
        "deadband. A silent board's last band stays held; nothing is filled where there was none."
    )
    if named:
        words += f" From the lowest: {', '.join(named)}."
    kind = comparison.choices.alignment.kind
    in_time = replace(marked, levels=())
    shapes, named_there = marked_shapes(in_time, look, time=(since, until), values=(0, n), width_px=500)
    return figure_of(
        traces,
        look,
        title=title,
        words=words + in_time.words(since, until),
        height=96 + round(min(_ROW_PX, _MOST_PX / n) * look.tall) * n,
        annotations=notes + named_there,
        margin={"l": 8, "r": 28, "t": 44, "b": 52},
        shapes=shapes,
        xaxis=axis(look, **time_axis(since, until, kind), domain=[_NAMES_UP_TO, 1], showgrid=False),
        yaxis=axis(look, range=[0, n], showticklabels=False, ticks="", showgrid=False, showline=False),
        **paper_axes(),
    )


def _few(stays: Sequence[Stay], least: float) -> list[Stay]:
    """No more than a picture can show: stays shorter than a column are left to the one before them."""
    found: list[Stay] = []
    for one in stays:
        before = found[-1] if found else None
        follows = before is not None and one.since - before.until < least
        if before is not None and follows and (one.band == before.band or one.until - one.since < least):
            found[-1] = before._replace(until=one.until)
        else:
            found.append(one)
    return found


def _ribbon(
    stays: Sequence[Stay], ends: tuple[float, float], floor: float, step: float, look: Look
) -> list[Trace]:
    """Steps up to the band, one `step` for each; the outline closes where there was none."""
    x: list[float | None] = []
    y: list[float | None] = []
    before: Stay | None = None
    for one in stays:
        if before is None or one.since > before.until:
            if before is not None:
                x += [before.until, None]
                y += [floor, None]
            x.append(one.since)
            y.append(floor)
        x += [one.since, one.until]
        y += [floor + step * (one.band + 1)] * 2
        before = one
    if before is not None:
        x += [before.until, None]
        y += [floor, None]
    base: Trace = {
        "type": "scatter",
        "mode": "lines",
        "x": list(ends),
        "y": [floor, floor],
        "line": {"color": look.line, "width": 1},
        "hoverinfo": "skip",
    }
    area: Trace = {
        "type": "scatter",
        "mode": "lines",
        "x": x,
        "y": y,
        "fill": "toself",
        "fillcolor": look.shade,
        "line": {"color": look.soft, "width": 1.2},
        "hoverinfo": "skip",
    }
    return [base, area]
