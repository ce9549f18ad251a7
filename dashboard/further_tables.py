"""Two more tables of a comparison: what averaging gains, and how long each bench was in which band."""

from __future__ import annotations

import math

from dashboard.class_known import clock_words
from dashboard.comparing import BenchFigures, Comparison, Figure
from dashboard.comparing.figure import figure, no_figure
from dashboard.comparison_words import Cell, FigureTable
from dashboard.figures_as_text import figure_text

AVERAGING_TITLE = "Scatter of averaged readings (Allan deviation)"
AVERAGING_WORDS = (
    "Scatter of averaged readings: how much the mean over a time differs from that over the next. Where it "
    "no longer falls, averaging for longer gains nothing; where it rises, what is measured itself changes."
)
BANDS_TITLE = "Time in bands, as held with the deadband"
_NEAR_SECONDS = (1, 4, 16, 64)
"""Averaging times of the columns: each bench has its own, doubled from its usual interval."""
_NEAR = math.sqrt(2) * 1.0001  # times a column's; the nearest of doubled times is never farther off


def averaging_table(comparison: Comparison) -> FigureTable | None:
    """The Allan deviation of each bench at a few averaging times; None where no bench has any."""
    near = [
        tau
        for tau in _NEAR_SECONDS
        if any(_allan(one, tau, comparison.unit).is_known for one in comparison.benches)
    ]
    if not near:
        return None
    notes: dict[str, int] = {}
    rows = []
    for one in comparison.benches:
        found = [_allan(one, tau, comparison.unit) for tau in near]
        rows.append((one.bench, tuple(Cell(each, figure_text(each), _note(notes, each)) for each in found)))
    columns = tuple((f"over about {tau} s", comparison.unit) for tau in near)
    return FigureTable(title=AVERAGING_TITLE, columns=columns, rows=tuple(rows), notes=tuple(notes))


def _allan(one: BenchFigures, tau: float, unit: str) -> Figure:
    name = f"over {tau:g} s"
    point = min(one.allan, key=lambda each: abs(math.log(each.seconds / tau)), default=None)
    if point is None:
        return no_figure(name, unit, one.allan_words or "no averaging time can be named")
    if not 1 / _NEAR <= point.seconds / tau <= _NEAR:
        shorter = point.seconds < tau
        words = "too few readings for so long a time" if shorter else "the readings come more slowly"
        return no_figure(name, unit, words)
    return figure(name, unit, point.deviation, interval=(point.low, point.high))


def bands_table(comparison: Comparison) -> FigureTable | None:
    """How long each bench was held in each band; None where no bench had any."""
    if not any(one.bands for one in comparison.benches):
        return None
    names = comparison.choices.band_names
    n_bands = comparison.choices.n_bands
    headings = [names[i] if i < len(names) and names[i] else f"band {i}" for i in range(n_bands)]
    notes: dict[str, int] = {}
    rows = []
    for one in comparison.benches:
        times = {each.band: each for each in one.bands}
        cells = []
        for band, heading in enumerate(headings):
            given = times.get(band)
            if given is None:
                each = no_figure(heading, "s", "it had no band in this time")
                cells.append(Cell(each, figure_text(each), _note(notes, each)))
                continue
            text = f"{clock_words(given.seconds)} ({given.share:.0%})" if given.seconds else "–"
            cells.append(Cell(figure(heading, "s", given.seconds), text, 0))
        rows.append((one.bench, tuple(cells)))
    columns = tuple((heading, "min:s") for heading in headings)
    return FigureTable(title=BANDS_TITLE, columns=columns, rows=tuple(rows), notes=tuple(notes))


def _note(notes: dict[str, int], one: Figure) -> int:
    return notes.setdefault(one.words, len(notes) + 1) if one.words else 0
