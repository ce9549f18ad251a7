"""A comparison in words and tables, for the terminal, the page and the hand-outs alike."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from dashboard.class_known import clock_words
from dashboard.comparing import Comparison, Figure
from dashboard.comparing.comparison import RANKED
from dashboard.comparing.figure import figure
from dashboard.figures_as_text import figure_text, plain_number

GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Level", ("level", "level in common", "bias", "z-score", "robust z-score")),
    ("Against the reference", ("bias to reference", "En number")),
    ("Noise, steps and pace", ("noise", "resolution", "drift", "line rate", "gaps")),
    ("Response", ("onset", "time constant", "rise time", "settling time", "overshoot", "ambient")),
)
"""Which figures stand in one table."""
CONFIDENCE_WORDS = "What stands behind ± or in brackets holds the true value with 95 % confidence."
RANKING_WORDS = (
    "Two benches are told apart where their difference is more than their uncertainties explain: for all "
    "pairs together a wrong word in at most 5 of 100 classes. Who cannot be told apart shares ranks."
)
EXPLAINED = {
    "level": "mean over time of all that the bench measured",
    "level in common": "mean over the times at which every bench has a value",
    "bias": "level in common, less the median of the class",
    "z-score": "how many standard deviations of the class its level in common lies from the mean of the "
    "class; up to 2 is usual, from 3 on it stands out",
    "robust z-score": "the same, by a mean and a deviation that a few wrong values do not move",
    "bias to reference": "level, less the reference",
    "En number": "that difference, divided by what both uncertainties together allow (95 %); "
    "from −1 to 1 the bench agrees with the reference",
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
        step = f"{grid.seconds[1] - grid.seconds[0]:.4g}"
        between = (
            "on the straight line between two readings"
            if grid.interpolation == "linear"
            else "each reading holding until the next"
        )
        said.append(f"Values at the same times: one every {step} s, {between}, never across a gap.")
    if choices.response == "towards ambient":
        said.append(_ambient_sentence(comparison))
    return tuple(said)


def _ambient_sentence(comparison: Comparison) -> str:
    choices, names = comparison.choices, names_of(comparison)
    unit = f" {comparison.unit}".rstrip()

    def text(value: float, u: float, where: str) -> str:
        told = figure_text(figure("ambient", comparison.unit, value, u if u > 0 else None), with_unit=True)
        return f"{told} at {where}" if u > 0 else f"{plain_number(value)}{unit} at {where}, taken as exact"

    given = [text(*one, names.get(b, f"bench {b}")) for b, one in sorted(choices.ambients.items())]
    if choices.ambient is not None:
        given.append(text(choices.ambient, choices.u_ambient, "the others" if given else "all"))
    if not given:
        return "The ambient is fitted at each bench."
    rest = "" if choices.ambient is not None else "; at the others it is fitted"
    return f"Ambient given: {'; '.join(given)}{rest}."


def ranking_sentences(comparison: Comparison) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """By each figure: a heading, and what can and what can't be said."""
    names = {**names_of(comparison), **comparison.marked_names}
    found = []
    for ranking in comparison.rankings:
        order = "highest first" if RANKED.get(ranking.name) else "lowest first"
        by_rank: dict[str, list[str]] = {}
        for one in ranking.ranked:
            rank = f"{one.best_rank}{f' to {one.worst_rank}' if one.worst_rank > one.best_rank else ''}"
            by_rank.setdefault(rank, []).append(names.get(one.bench, str(one.bench)))
        placed = "; ".join(f"{rank}: {', '.join(who)}" for rank, who in by_rank.items())
        said = [f"Ranks {placed}."] if placed else []
        said += [f"{capital(sentence)}." for sentence in ranking.sentences(names)]
        found.append((f"{capital(ranking.name)}, {order}", tuple(said)))
    return tuple(found)


def remark_sentences(comparison: Comparison) -> tuple[str, ...]:
    """What a reader must know before trusting the figures."""
    return tuple(f"{capital(one)}." for one in comparison.remarks)


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


def capital(words: str) -> str:
    """With a capital letter first."""
    return words[:1].upper() + words[1:]
