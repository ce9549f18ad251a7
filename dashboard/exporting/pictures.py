"""Which pictures the class and each group are handed, each under a name of its own."""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from typing import NamedTuple

from dashboard.class_known import ClassKnown, class_known
from dashboard.comparing import Choices, Comparison, comparison_of
from dashboard.comparison_asked import Compared
from dashboard.comparison_words import figure_or_none
from dashboard.exporting.drawing.still import still_of
from dashboard.exporting.parts import DOTTED
from dashboard.exporting.session import Session
from dashboard.pictures import (
    PAPER,
    Marked,
    band_ribbons,
    consistency,
    difference,
    dots,
    marked_of,
    overlay,
    responses,
    small_multiples,
    two_channels,
)
from dashboard.pictures.look import Figure

_MOST_CHANNELS = 6  # with a picture of their own: further ones stand in the tables alone
_MOST_FITS = 9  # in one picture: a page of paper holds no more
_no_slug = re.compile(r"[^a-z0-9]+")


class Picture(NamedTuple):
    """One still picture."""

    name: str  # of its file, without a suffix
    title: str
    words: str  # its caption
    svg: str  # without the caption, for a page that has it beside the picture
    alone: str  # with the caption


def pictures_of(
    session: Session,
    compared: Compared | None,
    *,
    dotted: Sequence[str] = DOTTED,
    told: Callable[[str], None] = lambda _: None,
) -> Iterator[Picture]:
    """The pictures of a class or of one group, made one by one.

    Args:
        session: The class's or one bench's.
        compared: What came of comparing the class; None where there was nothing to compare.
        dotted: Figures with a picture of dots, those that a bench has a value of.
        told: Hears the name of each before it is drawn.
    """
    if compared is None:
        return
    whose = session.bench
    figures = (
        _of_the_class(session, compared, dotted)
        if whose is None
        else _of_a_group(session, compared, dotted, whose)
    )
    for name, draw in figures:
        told(name)
        figure = draw()
        title, words = (html.unescape(one) for one in (figure.layout.title.text, figure.layout.meta["words"]))
        yield Picture(name, title, words, still_of(figure, with_words=False), still_of(figure))


_Drawings = Iterator[tuple[str, Callable[[], Figure]]]


def _of_the_class(session: Session, compared: Compared, dotted: Sequence[str]) -> _Drawings:
    one, looks = compared.comparison, compared.known.looks
    marked = _marked(session, one)
    yield "curves", partial(overlay, one, looks, PAPER, marked=marked)
    yield from _other_channels(session, one)
    if len(one.benches) > 1:
        yield "each-bench", partial(small_multiples, one, looks, PAPER, marked=marked)
    if _has_median(one):
        yield "difference", partial(difference, one, looks, PAPER, marked=marked)
    for name in dotted:
        if any(_has(one, each.bench, name) for each in one.benches) and len(one.benches) > 1:
            yield f"figure{_slug(name)}", partial(dots, one, looks, PAPER, name=name)
    yield from _fits(one, compared.known)
    if one.agreement.precision is not None:
        yield "consistency", partial(consistency, one, looks, PAPER)
    if any(each.stays for each in one.benches):
        yield "bands", partial(band_ribbons, one, looks, PAPER, marked=marked)
    other = compared.other
    if other is not None:
        yield "two-channels", partial(two_channels, one, other, looks, PAPER)


def _of_a_group(session: Session, compared: Compared, dotted: Sequence[str], bench: int) -> _Drawings:
    """Its own course, its fit, and where it stands among the others, who are not named."""
    whole, looks = compared.comparison, compared.known.looks
    mine = _alone(whole, bench)
    if not mine.benches:
        return
    marked = _marked(session, whole, bench)
    yield "curves", partial(overlay, mine, looks, PAPER, marked=marked)
    yield from _other_channels(session, mine)
    yield from _fits(mine, compared.known)
    if _has_median(whole):
        yield "difference", partial(difference, mine, looks, PAPER, marked=marked)
    for name in dotted:
        if _has(whole, bench, name) and len(whole.benches) > 1:
            yield f"figure{_slug(name)}", partial(dots, whole, looks, PAPER, name=name, own=bench)
    if any(each.stays for each in mine.benches):
        yield "bands", partial(band_ribbons, mine, looks, PAPER, marked=marked)
    other = compared.other
    if other is not None and any(one.bench == bench for one in other.benches):
        yield "two-channels", partial(two_channels, mine, _alone(other, bench), looks, PAPER)


def _fits(comparison: Comparison, known: ClassKnown) -> _Drawings:
    """Where any response was found; those that were not fitted are told under the last picture."""
    fitted = [one for one in comparison.benches if one.course is not None]
    others = [one for one in comparison.benches if one.course is None]
    for begin in range(0, len(fitted), _MOST_FITS):
        some = fitted[begin : begin + _MOST_FITS]
        rest = others if begin + _MOST_FITS >= len(fitted) else []
        part = replace(comparison, benches=(*some, *rest))
        name = f"fits-{begin // _MOST_FITS + 1}" if len(fitted) > _MOST_FITS else "fits"
        yield name, partial(responses, part, known.looks, PAPER)


def _other_channels(session: Session, comparison: Comparison) -> _Drawings:
    """The courses of the channels that were not compared, of the same benches in session time."""
    others = [one for one in session.channels if one != comparison.choices.channel]
    shown = {one.bench for one in comparison.benches}
    for number, channel in enumerate(others[: _MOST_CHANNELS - 1], start=2):

        def draw(channel: str = channel) -> Figure:
            assert session.kept is not None
            known = class_known(session.kept, channel)
            choices = Choices(channel=channel, names=known.names, marks=known.marks, response="none")
            seconds = session.readings["seconds"].to_numpy()
            found = comparison_of(session.readings, choices, seconds=seconds, started=session.started)
            found = replace(found, benches=tuple(one for one in found.benches if one.bench in shown))
            return overlay(found, known.looks, PAPER, marked=_marked(session, found))

        yield f"curves-{number}{_slug(channel)}", draw


def _marked(session: Session, comparison: Comparison, bench: int | None = None) -> Marked:
    if session.kept is None:
        return Marked()
    return marked_of(session.kept, comparison, bench=bench)


def _alone(comparison: Comparison, bench: int) -> Comparison:
    """The same with one bench to show; the class stays behind it in the grid and the ranking."""
    return replace(comparison, benches=tuple(one for one in comparison.benches if one.bench == bench))


def _has(comparison: Comparison, bench: int, name: str) -> bool:
    found = figure_or_none(comparison, bench, name)
    return found is not None and found.value is not None


def _has_median(comparison: Comparison) -> bool:
    return comparison.grid is not None and len(comparison.grid.benches) > 2


def _slug(name: str) -> str:
    slug = _no_slug.sub("-", name.lower()).strip("-")[:30]
    return f"-{slug}" if slug else ""
