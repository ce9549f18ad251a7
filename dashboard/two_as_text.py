"""Two recordings beside each other: tables, sentences, text and JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from dashboard.class_known import BenchMark, clock_words
from dashboard.comparing import Comparison
from dashboard.comparing.two import RULE, Difference, differences_of, only_in
from dashboard.comparison_as_text import aligned, comparison_json, paragraph, section
from dashboard.comparison_words import (
    CONFIDENCE_WORDS,
    Cell,
    FigureTable,
    capital,
    event_sentences,
    left_out_sentences,
    method_sentences,
    names_of,
    remark_sentences,
)
from dashboard.figures_as_text import figure_text

COLUMNS = ("first", "second", "second less first")
_ALIKE = 0.05  # of the longer one: so far may the ends of two recordings differ
_APART = {True: "told apart", False: "cannot be told apart"}


def tables_of_two(first: Comparison, second: Comparison) -> tuple[FigureTable, ...]:
    """A table for each figure: both recordings, the difference, and whether it is more than chance."""
    return tuple(_table(name, differences) for name, differences in differences_of(first, second).items())


def _table(name: str, differences: tuple[Difference, ...]) -> FigureTable:
    notes: dict[str, int] = {}

    def note(words: str) -> int:
        return notes.setdefault(words, len(notes) + 1) if words else 0

    rows = []
    for one in differences:
        verdict = one.less.words if one.is_apart is None else _APART[one.is_apart]
        cells = (
            Cell(one.first, figure_text(one.first), note(one.first.words)),
            Cell(one.second, figure_text(one.second), note(one.second.words)),
            Cell(one.less, figure_text(one.less), note(verdict)),
        )
        rows.append((one.bench, cells))
    unit = next((one.first.unit for one in differences if one.first.is_known), differences[0].second.unit)
    columns = tuple((column, unit) for column in COLUMNS)
    return FigureTable(title=capital(name), columns=columns, rows=tuple(rows), notes=tuple(notes))


def sentences_of_two(first: Comparison, second: Comparison) -> tuple[str, ...]:
    """By each figure which benches moved, and which did not as far as can be told."""
    names = {**names_of(second), **names_of(first)}
    said = []
    for name, differences in differences_of(first, second).items():
        for apart, words in ((True, "differs between the two"), (False, "cannot be told apart")):
            who = [names[one.bench] for one in differences if one.is_apart is apart]
            if who:
                said.append(f"{capital(name)} {words}: {', '.join(who)}.")
    said += _times_sentences(first, second)
    for which, alone in (("first", only_in(first, second)), ("second", only_in(second, first))):
        said += [f"{names[bench]} has figures in the {which} recording only." for bench in alone]
    said += [
        f"Bench {bench} is called {mine!r} in the first and {yours!r} in the second."
        for bench, mine in sorted(names_of(first).items())
        if (yours := names_of(second).get(bench, mine)) != mine
    ]
    return tuple(said)


def _times_sentences(first: Comparison, second: Comparison) -> list[str]:
    """That the two cover different times, where they do: a level of another time is another level."""
    grids = [one.grid for one in (first, second)]
    times = [(float(one.seconds[0]), float(one.seconds[-1])) for one in grids if one and len(one.seconds)]
    if len(times) < 2:
        return []
    longest = max(until - since for since, until in times)
    if all(abs(a - b) <= _ALIKE * longest for a, b in zip(*times, strict=True)):
        return []
    told = [f"{clock_words(since)} to {clock_words(until)}" for since, until in times]
    return [
        f"The first covers {told[0]}, the second {told[1]}: level, noise and drift are of these times. "
        "Choose a window that both have, to compare the same time."
    ]


def two_text(first: Comparison, second: Comparison, *, titles: tuple[str, str]) -> str:
    """Both recordings for a terminal."""
    names = {**second.marked_names, **first.marked_names}
    parts = [f"First:  {titles[0]}\nSecond: {titles[1]}", paragraph(method_sentences(first))]
    for which, one in (("first", first), ("second", second)):
        parts += section(f"Left out of the {which}", left_out_sentences(one))
        parts += section(f"Events in the {which}", event_sentences(one))
    for table in tables_of_two(first, second):
        parts.append(f"{table.title.upper()}\n{aligned(table, names)}")
    parts.append(paragraph([CONFIDENCE_WORDS, RULE]))
    parts += section("What moved", sentences_of_two(first, second))
    for which, one in (("first", first), ("second", second)):
        parts += section(f"To know before trusting the {which}", remark_sentences(one))
    return "\n\n".join(parts) + "\n"


def two_json(
    first: Comparison,
    second: Comparison,
    *,
    looks: tuple[Mapping[int, BenchMark], Mapping[int, BenchMark]],
    titles: tuple[str, str],
) -> dict[str, Any]:
    """The same as values for programs: both comparisons whole, and every difference with all digits."""
    return {
        "first": comparison_json(first, looks=looks[0], title=titles[0]),
        "second": comparison_json(second, looks=looks[1], title=titles[1]),
        "differences": [
            {
                "bench": one.bench,
                "figure": name,
                "first": one.first.value,
                "second": one.second.value,
                "second_less_first": asdict(one.less),
                "is_apart": one.is_apart,
            }
            for name, differences in differences_of(first, second).items()
            for one in differences
        ],
        "only_in_first": only_in(first, second),
        "only_in_second": only_in(second, first),
        "sentences": sentences_of_two(first, second),
    }
