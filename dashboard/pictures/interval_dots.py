"""One figure of all benches as dots with their intervals, and which of them cannot be told apart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from dashboard.class_known import BenchMark
from dashboard.comparing import Comparison, Ranking
from dashboard.comparing import Figure as Number
from dashboard.comparing.comparison import RANKED
from dashboard.comparing.ranking import ranking_of
from dashboard.comparison_words import figure_or_none
from dashboard.figures_as_text import figure_text
from dashboard.pictures.lettering import fitted
from dashboard.pictures.look import LIGHT, Figure, Look, Trace, axis, empty, figure_of, plain
from dashboard.pictures.marks import NO_MARK, colour_of, mark_traces

_ROW_PX = 30
_GROUPS_FROM = 0.86  # of the width: the lines of those that cannot be told apart
_GROUP_STEP = 0.025
_NAME_PX = 130.0


def dots(
    comparison: Comparison,
    looks: Mapping[int, BenchMark],
    look: Look = LIGHT,
    *,
    name: str = "level in common",
    own: int | None = None,
) -> Figure:
    """A dot for each bench's figure, as wide a line as its 95 % interval, the best or least at the top.

    Args:
        comparison: Where the figure stands.
        looks: The benches' marks.
        look: Colours and type.
        name: The figure's.
        own: The bench that is named, among the others that are not: what one group is handed.
    """
    title = f"{name[:1].upper()}{name[1:]}"
    found = {
        one.bench: number
        for one in comparison.benches
        if (number := figure_or_none(comparison, one.bench, name)) is not None
    }
    known = {bench: number for bench, number in found.items() if number.value is not None}
    if not known:
        why = next((number.words for number in found.values()), "no bench has this figure")
        return empty(look, title=title, words=f"Nothing to show: {why}.")
    highest_first = RANKED.get(name, True)
    ranking = ranking_of(found, highest_first=highest_first)
    order = sorted(known, key=lambda bench: (known[bench].value or 0.0) * (-1 if highest_first else 1))
    place = {bench: -i for i, bench in enumerate(order)}
    names = comparison.marked_names
    unit = next(number.unit for number in known.values())
    traces: list[Trace] = []
    for bench in order:
        if own in (None, bench):
            traces += _dot(known[bench], place[bench], looks.get(bench, NO_MARK), look, names[bench])
        else:
            traces += _nameless(known[bench], place[bench], look)
    groups = [group for group in ranking.groups if len(group) > 1]
    shapes = [
        _group(group, place, column, look) for group, column in zip(groups, _columns(groups), strict=True)
    ]
    notes = []
    if groups:
        notes.append(
            {
                "text": "Cannot be<br>told apart",
                "xref": "paper",
                "x": _GROUPS_FROM + 0.01,
                "xanchor": "left",
                "yref": "paper",
                "y": 1,
                "yanchor": "bottom",
                "align": "left",
                "showarrow": False,
                "font": {"size": 0.85 * look.font_px},
            }
        )
    return figure_of(
        traces,
        look,
        title=title,
        words=_words(name, ranking, names, found, own),
        height=120 + round(_ROW_PX * look.tall) * len(order),
        shapes=shapes,
        annotations=notes,
        xaxis=axis(
            look,
            plain(f"{title}{f', {unit}' if unit not in ('', '1') else ''}"),
            domain=[0, _GROUPS_FROM - 0.02],
        ),
        yaxis=axis(
            look,
            range=[-len(order) + 0.4, 0.6],
            showgrid=False,
            ticks="",
            showline=False,
            tickmode="array",
            tickvals=[place[bench] for bench in order],
            ticktext=[
                fitted(names[bench], _NAME_PX * look.wide, look.font_px) if own in (None, bench) else ""
                for bench in order
            ],
            tickfont={"color": look.ink},
        ),
        margin={"l": 60, "r": 16, "t": 60, "b": 52},
    )


def _dot(number: Number, at: float, mark: BenchMark, look: Look, name: str) -> list[Trace]:
    value = number.value or 0.0
    traces = [
        {**line, "line": stroke}
        for line in _interval(number, at)
        for stroke in ({"color": look.ink, "width": 5}, {"color": colour_of(mark), "width": 2.6})
    ]
    said = f"{plain(name)}: {plain(figure_text(number, with_unit=True))}"
    if number.words:
        said += f"<br>{plain(number.words)}"
    return [*traces, *mark_traces([value], [at], mark, look, size=13, hovertext=said)]


def _nameless(number: Number, at: float, look: Look) -> list[Trace]:
    """Another group's: no mark tells whose it is."""
    ring = {"symbol": "circle", "size": 7, "color": look.card, "line": {"color": look.ink, "width": 1.2}}
    base: Trace = {"type": "scatter", "mode": "markers", "hoverinfo": "skip", "marker": ring}
    lines = [{**line, "line": {"color": look.soft, "width": 1.6}} for line in _interval(number, at)]
    return [*lines, {**base, "x": [number.value], "y": [at]}]


def _interval(number: Number, at: float) -> list[Trace]:
    if number.low is None or number.high is None:
        return []
    ends = [number.low, number.high]
    return [{"type": "scatter", "mode": "lines", "x": ends, "y": [at, at], "hoverinfo": "skip"}]


def _columns(groups: Sequence[tuple[int, ...]]) -> list[int]:
    """In which column each group's line stands: groups that share a bench stand beside each other."""
    found: list[int] = []
    for i, group in enumerate(groups):
        taken = {found[j] for j in range(i) if set(groups[j]) & set(group)}
        found.append(next(column for column in range(i + 1) if column not in taken))
    return found


def _group(group: tuple[int, ...], place: Mapping[int, int], i: int, look: Look) -> Trace:
    at = [place[bench] for bench in group]
    x = _GROUPS_FROM + 0.015 + _GROUP_STEP * i
    return {
        "type": "line",
        "xref": "paper",
        "yref": "y",
        "x0": x,
        "x1": x,
        "y0": min(at) - 0.3,
        "y1": max(at) + 0.3,
        "line": {"color": look.ink, "width": 4},
    }


def _words(
    name: str, ranking: Ranking, names: Mapping[int, str], found: Mapping[int, Number], own: int | None
) -> str:
    without = [
        names[bench] for bench, number in found.items() if number.value is None and own in (None, bench)
    ]
    said = f"The {name} of each bench with the interval that holds the true value with 95 % confidence."
    if own is not None:
        said += " The other benches stand without their names."
    if any(len(group) > 1 for group in ranking.groups):
        said += " A line at the right joins benches that cannot be told apart."
    if without:
        said += f" Without a value: {', '.join(without)}."
    return said
