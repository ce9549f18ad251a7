"""What is marked in a picture over time: phases of the lesson, named instants, limits and band edges."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from bridge import KeptSession, Lesson
from dashboard.class_known import clock_words
from dashboard.comparing import Comparison
from dashboard.pictures.lettering import fitted, width_of
from dashboard.pictures.look import Look, Trace, plain

_LIMIT_KINDS = ("high-high", "high", "low", "low-low")
_SMALL = 0.85  # of the type's size: words within a plot
_LEAST_PX = 24.0  # of a phase that has its name written in it


class Level(NamedTuple):
    """A line across the plot."""

    value: float
    words: str
    is_limit: bool = True  # else a band edge: fainter


class Instant(NamedTuple):
    """A named instant, in the comparison's time."""

    seconds: float
    words: str


class Stretch(NamedTuple):
    """A phase of the lesson, in the comparison's time."""

    since: float
    until: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Marked:
    """All of it; empty where nothing is marked."""

    levels: tuple[Level, ...] = ()
    instants: tuple[Instant, ...] = ()
    phases: tuple[Stretch, ...] = ()

    def words(self, since: float, until: float) -> str:
        """What a caption tells of those within a plot, "" of none."""
        there = [one for one in sorted(self.instants) if since <= one.seconds <= until]
        phases = [one for one in self.phases if one.until > since and one.since < until]
        said = ""
        if phases:
            named = ", ".join(f"{one.words} from {clock_words(one.since)}" for one in phases)
            said += f" Stripes: the phases of the lesson ({named})."
        if there:
            named = "; ".join(f"{clock_words(one.seconds)} {one.words}" for one in there)
            said += f" Upright dashed lines: {named}."
        return said

    @property
    def values(self) -> tuple[float, ...]:
        """Of the limits, for a value axis that shows those that lie near."""
        return tuple(one.value for one in self.levels)


NOTHING_MARKED = Marked()


def marked_of(
    session: KeptSession,
    comparison: Comparison,
    *,
    bench: int | None = None,
) -> Marked:
    """What a session marks in the pictures of a comparison.

    Phases and instants have a place only in the session's own time; since an event, each bench has another.

    Args:
        session: Its lesson has limits and bands, its recording phases.
        comparison: In whose time.
        bench: Whose band edges are shown too; None: of a class no bench's, for each may have its own.
    """
    levels = tuple(_levels(session.lesson, comparison, bench))
    if comparison.choices.alignment.kind != "instant":
        return Marked(levels=levels)
    ends = [*session.phases, None]
    phases = tuple(
        Stretch(
            one.at_ns / 1e9,
            (session.length_ns if later is None else later.at_ns) / 1e9,
            one.phase,
        )
        for one, later in pairwise(ends)
        if one is not None and one.phase
    )
    return Marked(
        levels=levels,
        instants=tuple(Instant(one.at_ns / 1e9, one.words) for one in session.markers),
        phases=phases,
    )


def _levels(lesson: Lesson, comparison: Comparison, bench: int | None) -> Iterator[Level]:
    given = next((one for one in lesson.channels if one.name == comparison.choices.channel), None)
    if given is None or given.unit != comparison.unit:
        return  # another unit was asked for: the lesson's limits do not stand in it
    for limit in given.limits:
        if limit.kind in _LIMIT_KINDS:
            yield Level(limit.at, f"{limit.kind} limit {limit.at:g}")
    if bench is None or given.bands is None:
        return
    edges = comparison.choices.band_edges.get(bench, ())
    for edge, name in zip(edges, given.bands.names[1:], strict=False):
        yield Level(edge, f"band {name}".strip(), is_limit=False)


def marked_shapes(
    marked: Marked,
    look: Look,
    *,
    time: tuple[float, float],
    values: tuple[float, float],
    width_px: float,
    axes: tuple[str, str] = ("x", "y"),
    with_words: bool = True,
) -> tuple[list[Trace], list[Trace]]:
    """Shapes and annotations of one plot.

    Args:
        marked: What is marked.
        look: Colours and type.
        time: The plot's time axis.
        values: Its value axis; levels beyond it are left out.
        width_px: About how wide it is: words that have no room are left to the caption.
        axes: Of plotly.
        with_words: Small plots show lines and stripes alone.
    """
    shapes: list[Trace] = []
    notes: list[Trace] = []
    since, until = time
    per_second = width_px / (until - since)
    x, y = axes
    edge = f"{y} domain"
    size = _SMALL * look.font_px

    def note(text: str, at: float, up: float, yref: str, **more: object) -> Trace:
        font = {"color": look.soft, "size": size}
        return {
            "text": text,
            "xref": x,
            "yref": yref,
            "x": at,
            "y": up,
            "showarrow": False,
            "font": font,
        } | more

    for i, one in enumerate(marked.phases):
        begin, end = max(since, one.since), min(until, one.until)
        if end <= begin:
            continue
        base = {"xref": x, "yref": edge, "y0": 0, "y1": 1, "layer": "below"}
        if i % 2 == 0:  # two that follow each other differ, and a line stands between them
            shapes.append(
                {
                    **base,
                    "type": "rect",
                    "x0": begin,
                    "x1": end,
                    "fillcolor": look.stripe,
                    "line": {"width": 0},
                }
            )
        if begin > since:
            shapes.append(
                {**base, "type": "line", "x0": begin, "x1": begin, "line": {"color": look.line, "width": 1}}
            )
        room = per_second * (end - begin) - 6
        if with_words and room >= _LEAST_PX:
            text = fitted(one.words, room, size)
            notes.append(
                note(text, begin, 1, edge, xanchor="left", yanchor="top", xshift=3, bgcolor=look.card)
            )
    free_from = since
    for at in sorted(marked.instants):
        if not since <= at.seconds <= until:
            continue
        line = {"color": look.line, "width": 1, "dash": "dash"}
        shapes.append(
            {
                "type": "line",
                "xref": x,
                "yref": edge,
                "x0": at.seconds,
                "x1": at.seconds,
                "y0": 0,
                "y1": 1,
                "layer": "below",
                "line": line,
            }
        )
        wide = (width_of(at.words, size) + 8) / per_second
        if with_words and at.seconds >= free_from and at.seconds + wide <= until + 40 / per_second:
            notes.append(note(plain(at.words), at.seconds, 1, edge, xanchor="left", yanchor="bottom"))
            free_from = at.seconds + wide
    taken: list[float] = []
    for level in sorted(marked.levels, key=lambda one: not one.is_limit):
        if not values[0] <= level.value <= values[1]:
            continue
        line = {
            "color": look.ink if level.is_limit else look.line,
            "width": 1.2 if level.is_limit else 1,
            "dash": "dash" if level.is_limit else "dot",
        }
        shapes.append(
            {
                "type": "line",
                "xref": f"{x} domain",
                "yref": y,
                "x0": 0,
                "x1": 1,
                "y0": level.value,
                "y1": level.value,
                "layer": "below",
                "line": line,
            }
        )
        apart = 0.06 * (values[1] - values[0])
        if with_words and level.words and all(abs(level.value - one) > apart for one in taken):
            taken.append(level.value)
            notes.append(
                note(
                    plain(level.words),
                    1,
                    level.value,
                    y,
                    xref=f"{x} domain",
                    xanchor="right",
                    yanchor="bottom",
                    bgcolor=look.card,
                )
            )
    return shapes, notes
