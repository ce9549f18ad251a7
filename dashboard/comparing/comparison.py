"""The whole comparison of a class: from the table of readings to figures with their worth, in one call."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from dashboard.comparing.agreement import (
    Anova,
    Precision,
    anova_of,
    cells_of,
    en_number,
    precision_of,
    z_scores,
)
from dashboard.comparing.alignment import Grid, aligned, cut_to, found_instead, grid_of
from dashboard.comparing.bench_figures import BenchFigures, figures_of
from dashboard.comparing.choices import Choices
from dashboard.comparing.events import Event
from dashboard.comparing.figure import Figure, figure, no_figure
from dashboard.comparing.level import bias, biases_to_median
from dashboard.comparing.moments import Floats, moments
from dashboard.comparing.noise import sd_about_neighbours
from dashboard.comparing.outliers import Outlying, cochran, grubbs
from dashboard.comparing.ranking import Ranking, ranking_of
from dashboard.comparing.series import Series, series_of
from dashboard.comparing.units import in_unit

LEAST_COMMON = 10
"""Times of the grid at which all benches have a value, below which nothing is said about agreement."""
RANKED = {"level in common": True, "noise": False, "time constant": False, "rise time": False}
"""Figures that benches are ranked by; whether the highest comes first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A bench that is not in the figures, and why."""

    bench: int
    words: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Agreement:
    """How far the benches agree, of one result each in every part of their common time.

    A result is the bench's mean difference to the class median over the part: the course that all share is no
    spread. What is left of each bench's own course counts as its repeatability.
    """

    results: Mapping[int, Floats]
    precision: Precision | None
    anova: Anova | None
    outlying: tuple[Outlying, ...]
    words: str  # why there is none, or what to know


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Comparison:
    """All figures, per bench and for the class, with what was left out and why."""

    choices: Choices
    unit: str
    started: pd.Timestamp  # UTC: of second 0 of the session
    benches: tuple[BenchFigures, ...]
    left_out: tuple[LeftOut, ...]
    events: Mapping[int, Event]  # also of benches where none was found
    found: Mapping[int, Event]  # what was found where a person set another
    readings: Mapping[int, Series]  # of all benches in the common unit, in session time
    grid: Grid | None
    class_figures: tuple[Figure, ...]
    in_common: Mapping[int, tuple[Figure, ...]]  # by bench: those that need the others
    agreement: Agreement
    rankings: tuple[Ranking, ...]
    remarks: tuple[str, ...]

    @property
    def marked_names(self) -> dict[int, str]:
        """By bench, for tables and pictures: a warning sign stands before one that something is against."""
        return {
            one.bench: f"⚠ {one.name}" if self.choices.marks.get(one.bench) else one.name
            for one in self.benches
        }

    def figure(self, bench: int, name: str) -> Figure:
        """A bench's figure by its name.

        Raises:
            KeyError: No such bench or figure.
        """
        for one in self.in_common.get(bench, ()):
            if one.name == name:
                return one
        for found in self.benches:
            if found.bench == bench:
                return found.figure(name)
        raise KeyError(bench)


def comparison_of(
    table: pd.DataFrame,
    choices: Choices,
    *,
    seconds: Floats | None = None,
    started: pd.Timestamp | None = None,
) -> Comparison:
    """Compare the benches of a recording.

    Args:
        table: As `bridge.read_recording` gives it: time, bench, channel, value, unit, u, quality.
        choices: What to compare, and how.
        seconds: Session time of each row; None: since the table's first reading.
        started: UTC of second 0; None: of the table's first reading.

    Raises:
        ValueError: Nobody has the channel, or a choice can't be met.
    """
    every = series_of(table, choices.channel, seconds=seconds)
    left_out = [
        LeftOut(bench=b, words=w or "left out by choice") for b, w in choices.left_out.items() if b in every
    ]
    kept = {bench: one for bench, one in every.items() if bench not in choices.left_out}
    brought, faults = in_unit(kept, choices.unit)
    left_out += [LeftOut(bench=bench, words=words) for bench, words in faults.items()]
    whole, events = aligned(brought, choices.alignment)
    left_out += [LeftOut(bench=b, words=events[b].words) for b in brought if b not in whole]
    cut = cut_to(whole, choices.from_seconds, choices.to_seconds)
    left_out += [
        LeftOut(bench=b, words="fewer than two readings within the window")
        for b, one in cut.items()
        if len(one) < 2
    ]
    cut = {bench: one for bench, one in cut.items() if len(one) > 1}
    benches = tuple(figures_of(one, whole[bench], events.get(bench), choices) for bench, one in cut.items())
    grid = _grid(cut, events, choices)
    in_common = _in_common(grid, benches, choices)
    agreement = _agreement(grid, choices)
    return Comparison(
        choices=choices,
        unit=next((one.unit for one in brought.values()), choices.unit or ""),
        started=table["time"].min() if started is None else started,
        benches=benches,
        left_out=tuple(sorted(left_out, key=lambda one: one.bench)),
        events=events,
        found=found_instead(brought, choices.alignment),
        readings=brought,
        grid=grid,
        class_figures=_class_figures(in_common),
        in_common=in_common,
        agreement=agreement,
        rankings=_rankings(benches, in_common),
        remarks=_remarks(benches, grid),
    )


def _grid(cut: Mapping[int, Series], events: Mapping[int, Event], choices: Choices) -> Grid | None:
    if not cut:
        return None
    u_zero = {bench: event.u for bench, event in events.items() if event.u is not None}
    return grid_of(
        cut,
        interpolation=choices.alignment.interpolation,
        from_seconds=choices.from_seconds,
        to_seconds=choices.to_seconds,
        u_zero=u_zero,
    )


def _common_rows(grid: Grid) -> Floats:
    """The grid's values at the times at which every bench has one."""
    rows: Floats = grid.values[np.isfinite(grid.values).all(axis=1)]
    return rows


def _in_common(
    grid: Grid | None, benches: tuple[BenchFigures, ...], choices: Choices
) -> dict[int, tuple[Figure, ...]]:
    """Level at the common times, bias, scores and En number of each bench."""
    if grid is None:
        return {}
    common: NDArray[np.bool_] = np.asarray(np.isfinite(grid.values).all(axis=1), np.bool_)
    levels = _common_levels(grid, common, benches)
    biases = biases_to_median(levels)
    values = np.array([one.value for one in levels if one.value is not None])
    plain = z_scores(values) if len(values) == len(levels) else None
    robust = z_scores(values, robust=True) if choices.is_robust and len(values) == len(levels) else None
    found: dict[int, tuple[Figure, ...]] = {}
    for i, bench in enumerate(grid.benches):
        own = benches[i].figure("level")
        against = (
            (bias("bias to reference", own, choices.reference), en_number(own, choices.reference))
            if choices.reference is not None
            else (no_figure("bias to reference", grid.unit, "no reference was given"),
                  no_figure("En number", "1", "no reference was given"))
        )  # fmt: skip
        found[bench] = (
            levels[i],
            biases[i],
            *against,
            _score("z-score", plain, i),
            *([_score("robust z-score", robust, i)] if choices.is_robust else []),
        )
    return found


def _common_levels(grid: Grid, common: NDArray[np.bool_], benches: tuple[BenchFigures, ...]) -> list[Figure]:
    name = "level in common"
    n = int(common.sum())
    if n < 2:
        words = "there is no time at which every bench has a value"
        return [no_figure(name, grid.unit, words) for _ in benches]
    levels = []
    for i, one in enumerate(benches):
        column, u = grid.values[common, i], grid.u[common, i]
        u_common = float(np.nanmean(u)) if np.isfinite(u).any() else 0.0
        u_noise = sd_about_neighbours(one.series.values) / np.sqrt(n)
        levels.append(figure(name, grid.unit, float(column.mean()), float(np.hypot(u_common, u_noise))))
    return levels


def _score(name: str, scores: tuple[float, ...] | None, i: int) -> Figure:
    if scores is None:
        return no_figure(name, "1", "fewer than three benches in common, or none that differ")
    size = abs(scores[i])
    words = "" if size <= 2 else "questionable" if size < 3 else "stands out"
    return figure(name, "1", scores[i], words=words)


def _agreement(grid: Grid | None, choices: Choices) -> Agreement:
    rows = _common_rows(grid) if grid is not None else np.empty((0, 0))
    if grid is None or len(rows) < max(LEAST_COMMON, 2 * choices.parts) or len(grid.benches) < 3:
        words = "needs three benches that have values at the same times"
        return Agreement(results={}, precision=None, anova=None, outlying=(), words=words)
    differences = rows - np.median(rows, axis=1, keepdims=True)
    parts = [part.mean(axis=0) for part in np.array_split(differences, choices.parts)]
    results = {bench: np.array([part[i] for part in parts]) for i, bench in enumerate(grid.benches)}
    cells = cells_of(results)
    precision = precision_of(cells, grid.unit)
    tests = (cochran(cells), *grubbs({bench: cell.mean for bench, cell in cells.items()}))
    return Agreement(
        results=results,
        precision=None if isinstance(precision, str) else precision,
        anova=anova_of(list(results.values())),
        outlying=tuple(test for test in tests if test is not None),
        words=precision if isinstance(precision, str) else precision.words,
    )


def _class_figures(in_common: Mapping[int, tuple[Figure, ...]]) -> tuple[Figure, ...]:
    known = [figures[0] for figures in in_common.values() if figures[0].value is not None]
    unit = next((one.unit for one in known), "")
    if not known:
        return (no_figure("class median", unit, "no bench has a level in common with the others"),)
    values = np.array([one.value for one in known])
    found = moments(values)
    n = len(known)
    # The median of n normal values scatters 1.25 times as much as their mean (ISO 13528, 7.7).
    u = 1.25 * found.sd / np.sqrt(n) if n > 1 else float("nan")
    return (
        figure("class median", unit, float(np.median(values)), float(u)),
        figure("class mean", unit, found.mean, float(found.sd / np.sqrt(n)) if n > 1 else None),
        figure("spread between benches", unit, found.sd, float(found.sd / np.sqrt(2 * (n - 1))))
        if n > 1
        else no_figure("spread between benches", unit, "one bench alone has none"),
        figure("benches", "1", float(n)),
    )


def _rankings(
    benches: tuple[BenchFigures, ...], in_common: Mapping[int, tuple[Figure, ...]]
) -> tuple[Ranking, ...]:
    rankings = []
    for name, highest_first in RANKED.items():
        figures = {}
        for one in benches:
            for found in (*one.figures, *in_common.get(one.bench, ())):
                if found.name == name:
                    figures[one.bench] = found
        if len(figures) > 1 and any(found.is_known for found in figures.values()):
            rankings.append(ranking_of(figures, highest_first=highest_first))
    return tuple(rankings)


def _remarks(benches: tuple[BenchFigures, ...], grid: Grid | None) -> tuple[str, ...]:
    remarks = [f"{one.name}: {mark}" for one in benches for mark in one.marks]
    if grid is not None:
        n = int(np.isfinite(grid.values).all(axis=1).sum())
        share = n / len(grid.seconds) if len(grid.seconds) else 0.0
        if share < 1:
            remarks.append(
                f"every bench has a value at {share:.0%} of the times; figures in common are of these"
            )
    return tuple(remarks)
