"""A comparison in words and tables, for the terminal, the page and the hand-outs alike."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from dashboard.class_known import clock_words
from dashboard.comparing import Comparison, Figure
from dashboard.comparing.comparison import RANKED
from dashboard.comparing.figure import figure
from dashboard.comparing.outliers import Outlying
from dashboard.figures_as_text import decimals_for, figure_text, number_text, plain_number

GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Level", ("level", "level in common", "bias", "z-score", "robust z-score")),
    ("Against the reference", ("bias to reference", "En number")),
    ("Noise, steps and pace", ("noise", "resolution", "drift", "line rate", "gaps")),
    ("Response", ("onset", "time constant", "rise time", "settling time", "overshoot", "ambient")),
)
"""Which figures stand in one table."""
CONFIDENCE_WORDS = "What stands behind ± or in brackets holds the true value with 95 % confidence."
EXPLAINED = {
    "level": "mean over time of all that the bench measured",
    "level in common": "mean over the times at which every bench has a value",
    "bias": "level in common, less the median of the class",
    "z-score": "how many standard deviations of the class its level in common lies from the mean",
    "robust z-score": "the same, by a mean and a deviation that a few wrong values do not move",
    "bias to reference": "level, less the reference",
    "En number": "that difference over both expanded uncertainties; up to 1 they agree",
    "noise": "standard deviation about the course",
    "resolution": "the smallest step of the values",
    "drift": "slope of the straight line nearest to the course",
    "line rate": "readings a second, gaps left out",
    "gaps": "how long the bench was silent",
    "onset": "when the answer begins",
    "time constant": "until 63 % of the step is done, by a first-order fit",
    "rise time": "from 10 to 90 % of the step",
    "settling time": "until it stays near the level after the step",
    "overshoot": "how far it goes beyond the level after the step",
    "ambient": "the level that the course comes near to",
}  # fmt: skip


class Cell(NamedTuple):
    """One figure of one bench."""

    figure: Figure
    text: str
    note: int  # its note's number; 0 without one


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureTable:
    """Some figures of all benches, the notes that go with them below."""

    title: str
    columns: tuple[tuple[str, str], ...]  # name and unit
    rows: tuple[tuple[int, tuple[Cell, ...]], ...]  # bench and its figures
    notes: tuple[str, ...]  # the first has number 1

    @property
    def headings(self) -> tuple[str, ...]:
        """Of the columns, with units."""
        return tuple(f"{name}, {unit}" if unit not in ("", "1") else name for name, unit in self.columns)


def tables_of(comparison: Comparison) -> tuple[FigureTable, ...]:
    """The tables of a comparison; figures that no bench was asked for are left out."""
    tables = (_table(comparison, title, names) for title, names in GROUPS)
    return tuple(table for table in tables if table is not None)


def _table(comparison: Comparison, title: str, names: Sequence[str]) -> FigureTable | None:
    if title == GROUPS[1][0] and comparison.choices.reference is None:
        return None
    columns: list[tuple[str, str]] = []
    by_bench: dict[int, list[Cell]] = {one.bench: [] for one in comparison.benches}
    notes: dict[str, int] = {}
    for name in names:
        found = {one.bench: figure_or_none(comparison, one.bench, name) for one in comparison.benches}
        known = [one for one in found.values() if one is not None]
        if not known:
            continue
        columns.append((name, known[0].unit))
        for bench, one in found.items():
            shown = one or Figure(name=name, unit=known[0].unit, words="not asked for")
            note = notes.setdefault(shown.words, len(notes) + 1) if shown.words else 0
            by_bench[bench].append(Cell(shown, figure_text(shown), note))
    if not columns:
        return None
    rows = tuple((bench, tuple(cells)) for bench, cells in by_bench.items())
    return FigureTable(title=title, columns=tuple(columns), rows=rows, notes=tuple(notes))


def figure_or_none(comparison: Comparison, bench: int, name: str) -> Figure | None:
    """A bench's figure by its name; None where the comparison has none of it."""
    try:
        return comparison.figure(bench, name)
    except KeyError:
        return None


def method_sentences(comparison: Comparison) -> tuple[str, ...]:
    """What was compared, and how."""
    choices = comparison.choices
    kind = choices.alignment.kind
    how = "at the same instant" if kind == "instant" else f"since the {kind} at each bench"
    grid = comparison.grid
    said = [
        f"Channel {choices.channel}{f' in {comparison.unit}' if comparison.unit else ''}, compared {how}."
    ]
    if choices.from_seconds is not None or choices.to_seconds is not None:
        since = "the begin" if choices.from_seconds is None else clock_words(choices.from_seconds)
        until = "the end" if choices.to_seconds is None else clock_words(choices.to_seconds)
        said.append(f"Only the time from {since} to {until} counts.")
    if grid is not None and len(grid.seconds) > 1:
        step = plain_number(float(grid.seconds[1] - grid.seconds[0]))
        between = (
            "straight lines between readings" if grid.interpolation == "linear" else "the previous reading"
        )
        said.append(f"Values at the same times: one every {step} s, by {between}, never across a gap.")
    return tuple(said)


def class_sentences(comparison: Comparison) -> tuple[str, ...]:
    """The class as a whole: its level, its spread, its precision, and who stands out."""
    names = names_of(comparison)
    said = [
        f"{_capital(one.name)}: {figure_text(one, with_unit=True)}{f' ({one.words})' if one.words else ''}."
        for one in comparison.class_figures
        if one.name != "benches"
    ]
    agreement = comparison.agreement
    if agreement.precision is None:
        return (*said, f"Nothing is said about agreement: {agreement.words}.")
    precision = agreement.precision
    for spread, limit, whose in (
        (precision.s_r, precision.repeatability_limit, "one bench"),
        (precision.s_big_r, precision.reproducibility_limit, "different benches"),
    ):
        most = f"{_rounded(limit)} {spread.unit}".rstrip()
        said.append(
            f"{_capital(spread.name)}: {figure_text(spread, with_unit=True)}; two results of {whose} differ "
            f"by no more than {most}, 95 times in 100."
        )
    if agreement.words:
        said.append(f"{_capital(agreement.words)}.")
    said += _outlying_sentences(agreement.outlying, names)
    if agreement.anova is not None:
        apart = agreement.anova.probability < 0.05
        said.append(
            "The benches differ beyond what their own repeats explain (analysis of variance, 5 %)."
            if apart
            else "The benches differ no more than their own repeats explain (analysis of variance, 5 %)."
        )
    return tuple(said)


def _outlying_sentences(tests: Sequence[Outlying], names: dict[int, str]) -> Iterator[str]:
    what = {"Cochran": "scatters more than the others"}
    quiet: list[str] = []
    for test in tests:
        who = " and ".join(names.get(bench, f"bench {bench}") for bench in test.benches)
        if not test.verdict:
            quiet.append(test.test)
            continue
        words = what.get(test.test, "stands out" if len(test.benches) == 1 else "stand out")
        at_5, at_1 = plain_number(test.critical_5_percent), plain_number(test.critical_1_percent)
        found = f"{test.test}: {plain_number(test.statistic)}; at 5 % {at_5}, at 1 % {at_1}"
        yield f"{who} {words} ({found}): {'an outlier' if test.verdict == 'outlier' else 'a straggler'}."
    if quiet:
        yield (
            f"No bench stands out by the other tests ({', '.join(quiet)})."
            if len(quiet) < len(tests)
            else (f"No bench stands out ({', '.join(quiet)}).")
        )


def ranking_sentences(comparison: Comparison) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """By each figure: a heading, and what can and what can't be said."""
    names = names_of(comparison)
    found = []
    for ranking in comparison.rankings:
        order = "highest first" if RANKED.get(ranking.name) else "lowest first"
        placed = ", ".join(
            f"{one.best_rank}{f' to {one.worst_rank}' if one.worst_rank > one.best_rank else ''} "
            f"{names.get(one.bench, str(one.bench))}"
            for one in ranking.ranked
        )
        said = [f"Ranks: {placed}."] if placed else []
        said += [f"{_capital(sentence)}." for sentence in ranking.sentences(names)]
        found.append((f"{_capital(ranking.name)}, {order}", tuple(said)))
    return tuple(found)


def remark_sentences(comparison: Comparison) -> tuple[str, ...]:
    """What a reader must know before trusting the figures."""
    return tuple(f"{_capital(one)}." for one in comparison.remarks)


def left_out_sentences(comparison: Comparison) -> tuple[str, ...]:
    """Which benches are not in the figures, and why."""
    names = comparison.choices.names
    return tuple(
        f"{names.get(one.bench, f'Bench {one.bench}')} is left out: {one.words}."
        for one in comparison.left_out
    )


def event_sentences(comparison: Comparison) -> tuple[str, ...]:
    """Where each bench's event was found or set."""
    names = comparison.choices.names
    said = []
    for bench, event in sorted(comparison.events.items()):
        name = names.get(bench, f"Bench {bench}")
        if event.seconds is None:
            said.append(f"{name}: no {event.kind} ({event.words}).")
            continue
        at = figure_text(figure("event", "s", event.seconds, event.u), with_unit=True)
        words = f", {event.words}" if event.words else ""
        said.append(f"{name}: {event.kind} at {at}{words}.")
    return tuple(said)


def names_of(comparison: Comparison) -> dict[int, str]:
    """Of all benches, those left out too."""
    return {**comparison.choices.names, **{one.bench: one.name for one in comparison.benches}}


def _rounded(value: float) -> str:
    return number_text(value, decimals_for(value)) if value > 0 else "0"


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
