"""All pictures of a comparison in the order in which they are looked at."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from dashboard.class_known import BenchMark
from dashboard.comparing import Comparison
from dashboard.pictures.answers import responses
from dashboard.pictures.bands import band_ribbons
from dashboard.pictures.courses import difference, overlay
from dashboard.pictures.h_and_k import consistency
from dashboard.pictures.interval_dots import dots
from dashboard.pictures.look import LIGHT, Figure, Look
from dashboard.pictures.marked import NOTHING_MARKED, Marked
from dashboard.pictures.multiples import small_multiples
from dashboard.pictures.scatter import two_channels

NAMES = {
    "overlay": "All benches over each other",
    "difference": "Difference to the class median",
    "dots": "A figure of each bench, with its interval",
    "multiples": "Bench by bench",
    "responses": "Answers, fitted",
    "consistency": "Consistency: h and k",
    "ribbons": "Bands over time",
    "two-channels": "One channel over another",
}
"""Of the pictures, as headings; the keys are names for files and elements."""


class Picture(NamedTuple):
    """One of them."""

    key: str
    heading: str
    figure: Figure
    words: str  # its caption, and for those who do not see it


def pictures_of(
    comparison: Comparison,
    looks: Mapping[int, BenchMark],
    look: Look = LIGHT,
    *,
    figure_name: str = "level in common",
    marked: Marked = NOTHING_MARKED,
    ghost: Comparison | None = None,
    other_channel: Comparison | None = None,
) -> Iterator[Picture]:
    """Every picture there is something to show in, made one by one: each takes its time.

    Args:
        comparison: What was compared.
        looks: The benches' marks.
        look: Colours and type.
        figure_name: The figure for dots with intervals.
        marked: Phases, named instants and limits, in the pictures over time.
        ghost: Another recording, compared the same way.
        other_channel: Of the same recording: the upright axis of one channel over another.
    """
    made: dict[str, Callable[[], Figure]] = {
        "overlay": lambda: overlay(comparison, looks, look, ghost=ghost, marked=marked),
        "difference": lambda: difference(comparison, looks, look, marked=marked),
        "dots": lambda: dots(comparison, looks, look, name=figure_name),
        "multiples": lambda: small_multiples(comparison, looks, look, ghost=ghost, marked=marked),
    }
    if comparison.choices.response != "none":
        made["responses"] = lambda: responses(comparison, looks, look)
    made["consistency"] = lambda: consistency(comparison, looks, look)
    if comparison.choices.band_stays:
        made["ribbons"] = lambda: band_ribbons(comparison, looks, look, marked=marked)
    if other_channel is not None:
        made["two-channels"] = lambda: two_channels(comparison, other_channel, looks, look)
    for key, make in made.items():
        figure = make()
        yield Picture(key, NAMES[key], figure, str(figure.layout.meta["words"]) + _sign_words(comparison))


def _sign_words(comparison: Comparison) -> str:
    if not any(comparison.choices.marks.get(one.bench) for one in comparison.benches):
        return ""
    return " ⚠ stands before a bench with a finding, or whose calibration is missing or old."
