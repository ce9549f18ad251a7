"""The courses of both results over the whole session: side by side, or over each other."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from bridge import KeptSession
from dashboard.class_known import BenchMark
from dashboard.comparing.series import Series
from dashboard.pictures.curves import (
    Course,
    beyond_words,
    course_of,
    line_points,
    marked_curve,
    time_axis,
    value_range,
)
from dashboard.pictures.key import CURVES_UP_TO, key_traces, paper_axes
from dashboard.pictures.look import LIGHT, Figure, Look, Trace, axis, empty, figure_of, plain, shortened
from dashboard.pictures.marks import colour_of
from dashboard.what_if.both import Both
from dashboard.what_if.differing import ABOVE, BELOW

HEIGHT = 420
_AROUND_PX = 96  # margins above and below
_DASH = "7px,4px"
_SHORT = 10  # letters of a name beside a picture of half the width


class Drawn(NamedTuple):
    """A picture with its heading."""

    key: str
    heading: str
    figure: Figure


class _Scene(NamedTuple):
    """What one picture shows."""

    heading: str
    channel: str
    session: KeptSession  # whose names, marks and unit count
    courses: Mapping[int, Course]
    ends: tuple[float, float]  # of the value axis
    look: Look
    is_narrow: bool = False


def side_by_side(both: Both, channel: str, benches: Sequence[int], look: Look = LIGHT) -> list[Drawn]:
    """The courses of each result in a picture of its own, with the same axes."""
    sides = [("before", "Before", both.before), ("after", "With the change", both.after)]
    courses = [_courses(session, channel, benches) for _, _, session in sides]
    ends = _ends(one for some in courses for one in some.values())
    scenes = [
        _Scene(heading, channel, session, some, ends, look, is_narrow=True)
        for (_, heading, session), some in zip(sides, courses, strict=True)
    ]
    return [
        Drawn(key, heading, _one_side(scene)) for (key, heading, _), scene in zip(sides, scenes, strict=True)
    ]


def over_each_other(both: Both, channel: str, benches: Sequence[int], look: Look = LIGHT) -> Drawn:
    """Both results in one picture: before dashed and without marks, after solid with the benches' marks."""
    old, new = (_courses(one, channel, benches) for one in (both.before, both.after))
    ends = _ends([*old.values(), *new.values()])
    scene = _Scene("Both, over each other", channel, both.after, new, ends, look)
    if not new:
        return Drawn("over", scene.heading, _nothing(scene))
    names, looks = names_in(both.after, old), looks_in(both.after, old)
    below = [trace for bench in old for trace in _dashed(old[bench], looks[bench], names[bench], look)]
    words = (
        f"Each bench's {channel} over the session. Dashed: before. Solid, with the bench's mark: with the "
        f"change.{_beyond(scene)}"
    )
    return Drawn("over", scene.heading, _curves(scene, below, words, _limits_of_both(both, channel, look)))


def series_in(session: KeptSession, bench: int, channel: str) -> Series:
    """A bench's readings of a channel that have a value, in session time."""
    table = session.table
    rows = np.flatnonzero((table["bench"] == bench).to_numpy() & (table["channel"] == channel).to_numpy())
    rows = rows[np.argsort(session.seconds[rows], kind="stable")]
    values = table["value"].to_numpy(np.float64)[rows]
    rows, values = rows[np.isfinite(values)], values[np.isfinite(values)]
    return Series(
        bench=bench,
        channel=channel,
        unit="",
        seconds=session.seconds[rows],
        values=values,
        u=table["u"].to_numpy(np.float64)[rows],
        uncertain=(table["quality"].to_numpy() == "uncertain")[rows],
    )


def names_in(session: KeptSession, benches: Iterable[int]) -> dict[int, str]:
    """What stands on the benches' cards."""
    return {bench: session.lesson.bench(bench).name or f"Bench {bench}" for bench in benches}


def looks_in(session: KeptSession, benches: Iterable[int]) -> dict[int, BenchMark]:
    """The benches' marks."""
    given = {bench: session.lesson.bench(bench) for bench in benches}
    return {bench: BenchMark(one.shape, one.colour) for bench, one in given.items()}


def _courses(session: KeptSession, channel: str, benches: Sequence[int]) -> dict[int, Course]:
    found = {bench: series_in(session, bench, channel) for bench in benches}
    return {bench: course_of(series) for bench, series in found.items() if len(series)}


def _ends(courses: Iterable[Course]) -> tuple[float, float]:
    return value_range(*(part for one in courses for part in (one.low, one.high)))


def _one_side(scene: _Scene) -> Figure:
    if not scene.courses:
        return _nothing(scene)
    words = (
        f"Each bench's {scene.channel} over the session, its mark along the curve and beside its name."
        f"{_beyond(scene)}"
    )
    limits = _limits(scene.session, scene.channel, scene.look, dash="dash")
    return _curves(scene, [], words, limits)


def _beyond(scene: _Scene) -> str:
    names = names_in(scene.session, scene.courses)
    return beyond_words({names[bench]: one for bench, one in scene.courses.items()}, *scene.ends)


def _curves(scene: _Scene, below: list[Trace], words: str, limits: list[tuple[Trace, Trace]]) -> Figure:
    session, look, (low, high) = scene.session, scene.look, scene.ends
    names, looks = names_in(session, scene.courses), looks_in(session, scene.courses)
    unit = _unit(session, scene.channel)
    traces, last = list(below), {}
    for place, (bench, course) in enumerate(scene.courses.items()):
        last[bench] = float(course.high[np.flatnonzero(np.isfinite(course.high))[-1]])
        traces += marked_curve(
            course, looks[bench], look, name=plain(names[bench]), unit=plain(unit), place=place
        )
    if scene.is_narrow:
        # The blank keeps the name off the mark, which takes more of a narrow picture.
        names = {bench: f"\u2002{shortened(name, _SHORT)}" for bench, name in names.items()}
    traces += key_traces(last, names, looks, look, low=low, high=high, plot_px=HEIGHT - _AROUND_PX)
    seen = [(shape, note) for shape, note in limits if low < shape["y0"] < high]
    times = time_axis(0.0, session.length_ns / 1e9, "instant")
    upright = f"{scene.channel}, {unit}" if unit else scene.channel
    return figure_of(
        traces, look, title=scene.heading, words=words, height=HEIGHT,
        shapes=[shape for shape, _ in seen], annotations=[note for _, note in seen],
        xaxis=axis(look, **times, domain=[0, CURVES_UP_TO - 0.01], showgrid=False),
        yaxis=axis(look, plain(upright), range=[low, high]),
        **paper_axes(),
    )  # fmt: skip


def _dashed(course: Course, mark: BenchMark, name: str, look: Look) -> list[Trace]:
    x, y = line_points(course)
    line: Trace = {"type": "scatter", "mode": "lines", "x": x, "y": y, "connectgaps": False}
    said = f"{plain(name)}, before<br>%{{x:.1f}} s<br>%{{y:.4~g}}<extra></extra>"
    return [
        {**line, "line": {"color": look.soft, "width": 3.0, "dash": _DASH}, "hoverinfo": "skip"},
        {**line, "line": {"color": colour_of(mark), "width": 1.8, "dash": _DASH}, "hovertemplate": said},
    ]


def _limits(
    session: KeptSession, channel: str, look: Look, *, dash: str, said: str = "", at: float = 0.0
) -> list[tuple[Trace, Trace]]:
    """A line and a note for each plain limit that the lesson has for the channel; `at`: the note's place."""
    given = next((one.limits for one in session.lesson.channels if one.name == channel), ())
    found = []
    for limit in given:
        if limit.kind not in (*ABOVE, *BELOW):
            continue
        line = {
            "type": "line", "xref": "paper", "yref": "y", "x0": 0, "x1": CURVES_UP_TO - 0.01,
            "y0": limit.at, "y1": limit.at, "layer": "below",
            "line": {"color": look.soft, "width": 1.5, "dash": dash},
        }  # fmt: skip
        note = {
            "text": plain(f"{limit.key} {limit.at:g}{said}"), "xref": "paper", "yref": "y", "x": at,
            "y": limit.at, "xanchor": "left", "yanchor": "bottom", "showarrow": False,
            "font": {"color": look.soft},
        }  # fmt: skip
        found.append((line, note))
    return found


def _limits_of_both(both: Both, channel: str, look: Look) -> list[tuple[Trace, Trace]]:
    """Those that are the same once, others with which of the two they are of."""
    old, new = (_limits(one, channel, look, dash="dash") for one in (both.before, both.after))
    before = _limits(both.before, channel, look, dash="dash", said=", before")
    after = _limits(both.after, channel, look, dash="solid", said=", changed", at=0.3)
    return [
        *(one if one in new else said for one, said in zip(old, before, strict=True)),
        *(said for one, said in zip(new, after, strict=True) if one not in old),
    ]


def _nothing(scene: _Scene) -> Figure:
    words = "No bench that is chosen has values of this channel."
    return empty(scene.look, title=scene.heading, words=words)


def _unit(session: KeptSession, channel: str) -> str:
    units = session.table["unit"][session.table["channel"] == channel].unique()
    return str(units[0]) if len(units) else ""
