"""Which pictures the class and each group are handed, each under a name of its own."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
import pandas as pd

from dashboard.comparing.series import Series
from dashboard.comparison_words import figure_or_none
from dashboard.exporting.drawing.curves import Curve, overlay, small_multiples
from dashboard.exporting.drawing.dots import Row, dots
from dashboard.exporting.drawing.frame import Instant, Level
from dashboard.exporting.session import Session

HIGH_KINDS, LOW_KINDS = ("high-high", "high"), ("low", "low-low")
_MOST_CHANNELS = 6  # with a picture of their own: further ones stand in the tables alone
_no_slug = re.compile(r"[^a-z0-9]+")


class Picture(NamedTuple):
    """One still picture."""

    name: str  # of its file, without a suffix
    title: str
    svg: str


def pictures_of(session: Session, *, whole: Session) -> list[Picture]:
    """The pictures of a class or of one group.

    Args:
        session: The class's or one bench's.
        whole: The class's, with its comparison where there is one.
    """
    channels = channels_in(session)[:_MOST_CHANNELS]
    found: list[Picture] = []
    for number, channel in enumerate(channels):
        curves = curves_of(session, channel)
        title = f"{_capital(quantity_of(session, channel))} over time"
        name = "curves" if number == 0 else f"curves-{number + 1}{_slug(channel)}"
        svg = overlay(
            curves,
            title=title,
            y_label=_axis(session, channel),
            lines=list(lines_of(session, channel)),
            moments=[Instant(one.seconds, one.words) for one in session.markers],
            usual=_scale(session, channel),
        )
        found.append(Picture(name, title, svg))
    if channels and len(session.benches) > 1:
        found += _of_the_class(session, channels[0], whole)
    return found


def channels_in(session: Session) -> list[str]:
    """Those with a value, the lesson's first, in its order."""
    known = set(session.readings["channel"][session.readings["value"].notna()])
    given = [one.name for one in session.lesson.channels if one.name in known]
    return [*given, *sorted(known - set(given))]


def curves_of(session: Session, channel: str) -> list[Curve]:
    """Each bench's course, in session time, in the unit that it has it in first."""
    rows = session.readings[(session.readings["channel"] == channel) & session.readings["value"].notna()]
    numbers = rows["bench"].to_numpy(np.int64)
    return [
        Curve(session.group(bench), _series(bench, channel, rows[numbers == bench]))
        for bench in np.unique(numbers).tolist()
    ]


def lines_of(session: Session, channel: str) -> Iterator[Level]:
    """The limits of a channel's value, and for a bench alone its band edges."""
    given = next((one for one in session.lesson.channels if one.name == channel), None)
    if given is None:
        return
    for limit in given.limits:
        if limit.kind in (*HIGH_KINDS, *LOW_KINDS):
            yield Level(limit.at, f"{limit.kind} limit {limit.at:g}", is_limit=True)
    if given.bands is None or len(session.benches) != 1:
        return
    own = session.lesson.bench(session.benches[0]).channels
    baseline = next((one.baseline for one in own if one.channel == channel), None)
    baseline = given.bands.baseline if baseline is None else baseline
    if baseline is not None:
        for edge, name in zip(given.bands.edges, given.bands.names[1:], strict=True):
            yield Level(baseline + edge, f"band {name}".strip(), is_limit=False)


def quantity_of(session: Session, channel: str) -> str:
    """In words: the lesson's, else the channel's name."""
    given = next((one for one in session.lesson.channels if one.name == channel), None)
    return (given.quantity if given is not None else "") or channel


def _of_the_class(session: Session, channel: str, whole: Session) -> Iterator[Picture]:
    quantity, label = quantity_of(session, channel), _axis(session, channel)
    lines = [one for one in lines_of(session, channel) if one.is_limit]
    title = f"{_capital(quantity)}, each bench by itself"
    svg = small_multiples(
        curves_of(session, channel), title=title, y_label=label, lines=lines, usual=_scale(session, channel)
    )
    yield Picture("each-bench", title, svg)
    comparison = whole.comparison
    if comparison is None:
        return
    if comparison.grid is not None and np.isfinite(comparison.grid.class_median).any():
        title = f"{_capital(quantity)}, difference to the class median"
        label = f"difference{f' in {comparison.unit}' if comparison.unit else ''}"
        svg = overlay(_differences(whole), title=title, y_label=label, lines=[Level(0.0, "", is_limit=False)])
        yield Picture("difference", title, svg)
    rows = [
        Row(session.group(one.bench), figure)
        for one in comparison.benches
        if (figure := figure_or_none(comparison, one.bench, "level in common")) is not None
    ]
    if rows:
        title = f"{_capital(quantity)}, mean at the times that all benches have in common"
        middle = next((one.value for one in comparison.class_figures if one.name == "class median"), None)
        yield Picture(
            "levels", title, dots(rows, title=title, x_label=_axis(session, channel), middle=middle)
        )


def _differences(whole: Session) -> list[Curve]:
    """Of each bench at the times of the grid; its uncertainty is the bench's own."""
    comparison = whole.comparison
    assert comparison is not None
    grid = comparison.grid
    assert grid is not None
    # The grid counts from the first reading; only a label's place depends on this difference.
    shift = (comparison.started - whole.started).total_seconds()
    curves = []
    for i, bench in enumerate(grid.benches):
        values = grid.values[:, i] - grid.class_median
        known = np.isfinite(values)
        series = Series(
            bench,
            "difference",
            grid.unit,
            grid.seconds[known] + shift,
            values[known],
            grid.u[known, i],
            np.zeros(int(known.sum()), np.bool_),
        )
        curves.append(Curve(whole.group(bench), series))
    return curves


def _series(bench: int, channel: str, rows: pd.DataFrame) -> Series:
    rows = rows[rows["unit"] == rows["unit"].iloc[0]]
    order = np.argsort(rows["seconds"].to_numpy(np.float64), kind="stable")  # a board's clock may jump back
    return Series(
        bench,
        channel,
        str(rows["unit"].iloc[0]),
        rows["seconds"].to_numpy(np.float64)[order],
        rows["value"].to_numpy(np.float64)[order],
        rows["u"].to_numpy(np.float64)[order],
        (rows["quality"].to_numpy() == "uncertain")[order],
    )


def _axis(session: Session, channel: str) -> str:
    unit = session.units().get(channel, "")
    return f"{quantity_of(session, channel)}{f' in {unit}' if unit else ''}"


def _scale(session: Session, channel: str) -> tuple[float, float] | None:
    """The ends of the gauge."""
    given = next((one for one in session.lesson.channels if one.name == channel), None)
    return None if given is None else (given.low, given.high)


def _slug(channel: str) -> str:
    slug = _no_slug.sub("-", channel.lower()).strip("-")[:30]
    return f"-{slug}" if slug else ""


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
