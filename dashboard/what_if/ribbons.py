"""The bands of both results over the whole session, as ribbons one above the other."""

from __future__ import annotations

from collections.abc import Sequence

from bridge import KeptSession
from dashboard.pictures.curves import time_axis
from dashboard.pictures.key import ON_PAPER, paper_axes
from dashboard.pictures.look import LIGHT, Look, Trace, axis, figure_of, shortened
from dashboard.pictures.marks import mark_traces
from dashboard.what_if.both import Both
from dashboard.what_if.courses import Drawn, looks_in, names_in
from dashboard.what_if.differing import band_names

_ROW_PX = 30
_FILLED = 0.82  # of a row's height: the highest band
_NAMES_UP_TO = 0.3  # of the width
_HATCH = {"shape": "/", "size": 7, "solidity": 0.25}


def ribbons(both: Both, channel: str, benches: Sequence[int], look: Look = LIGHT) -> Drawn | None:
    """The bands that were held, two ribbons a bench: hatched before, filled with the change; None without."""
    stays = [one for one in (*both.before.bands, *both.after.bands) if one.channel == channel]
    shown = [bench for bench in benches if any(one.bench == bench for one in stays)]
    if not shown:
        return None
    names, looks = names_in(both.after, shown), looks_in(both.after, shown)
    n_bands = 1 + max(one.band for one in stays)
    n = 2 * len(shown)
    traces: list[Trace] = []
    notes: list[Trace] = []
    for place, bench in enumerate(shown):
        for side, (session, said) in enumerate(((both.before, "before"), (both.after, "changed"))):
            floor = n - 1 - 2 * place - side
            traces += _ribbon(session, bench, channel, floor, n_bands, look, is_hatched=side == 0)
            words = f"{shortened(names[bench], 12)}, {said}" if side == 0 else said
            notes.append(_row_note(words, (floor + _FILLED / 2) / n, look))
        middle = (n - 1 - 2 * place + _FILLED / 2) / n
        traces += mark_traces([0.012], [middle], looks[bench], look, **ON_PAPER)
    heading = f"Bands of {channel}"
    named = [name for name in band_names(both.after, channel) if name]
    caption = (
        "Two ribbons for each bench: hatched before, filled with the change; the higher, the higher the band."
        + (f" From the lowest: {', '.join(named)}." if named else "")
    )
    length = max(both.before.length_ns, both.after.length_ns) / 1e9
    figure = figure_of(
        traces, look, title=heading, words=caption, height=96 + _ROW_PX * n, annotations=notes,
        xaxis=axis(look, **time_axis(0.0, length, "instant"), domain=[_NAMES_UP_TO, 1], showgrid=False),
        yaxis=axis(look, range=[0, n], showticklabels=False, ticks="", showgrid=False, showline=False),
        **paper_axes(),
    )  # fmt: skip
    return Drawn("ribbons", heading, figure)


def _ribbon(
    session: KeptSession, bench: int, channel: str, floor: int, n_bands: int, look: Look, *, is_hatched: bool
) -> list[Trace]:
    """Steps up to each band that was held; the outline closes where there was none."""
    x: list[float | None] = []
    y: list[float | None] = []
    until: float | None = None
    for stay in session.bands:
        if stay.bench != bench or stay.channel != channel:
            continue
        since, top = stay.since_ns / 1e9, floor + _FILLED * (stay.band + 1) / n_bands
        if since != until:
            x += [] if until is None else [until, None]
            y += [] if until is None else [floor, None]
            x.append(since)
            y.append(floor)
        until = stay.until_ns / 1e9
        x += [since, until]
        y += [top, top]
    if until is not None:
        x.append(until)
        y.append(floor)
    length = session.length_ns / 1e9
    base: Trace = {
        "type": "scatter", "mode": "lines", "x": [0.0, length], "y": [floor, floor],
        "line": {"color": look.line, "width": 1}, "hoverinfo": "skip",
    }  # fmt: skip
    area: Trace = {
        "type": "scatter", "mode": "lines", "x": x, "y": y, "fill": "toself", "fillcolor": look.shade,
        "line": {"color": look.soft, "width": 1.2, "dash": "dot" if is_hatched else "solid"},
        "hoverinfo": "skip",
    }  # fmt: skip
    if is_hatched:
        area["fillpattern"] = {**_HATCH, "fgcolor": look.soft, "bgcolor": "rgba(0, 0, 0, 0)"}
    return [base, area]


def _row_note(words: str, at: float, look: Look) -> Trace:
    return {
        "text": words, "xref": "paper", "yref": "paper", "x": 0, "xshift": 26, "y": at, "xanchor": "left",
        "yanchor": "middle", "showarrow": False, "font": {"color": look.ink},
    }  # fmt: skip
