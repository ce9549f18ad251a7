"""A comparison as text: tables with aligned columns, then sentences; or as one JSON object."""

from __future__ import annotations

import textwrap
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from dashboard.class_known import BenchMark
from dashboard.class_words import class_sentences
from dashboard.comparing import BenchFigures, Comparison, Event, Figure
from dashboard.comparing.ranking import Ranked
from dashboard.comparison_words import (
    CONFIDENCE_WORDS,
    FigureTable,
    event_sentences,
    left_out_sentences,
    method_sentences,
    names_of,
    ranking_sentences,
    remark_sentences,
    tables_of,
)
from dashboard.further_tables import AVERAGING_WORDS, averaging_table, bands_table

WIDTH = 100
Json = dict[str, Any]


def comparison_text(comparison: Comparison, *, title: str = "") -> str:
    """The whole comparison for a terminal."""
    names = {**names_of(comparison), **comparison.marked_names}
    parts: list[str] = [title] if title else []
    parts.append(paragraph(method_sentences(comparison)))
    parts += section("Left out", left_out_sentences(comparison))
    parts += section("Events", event_sentences(comparison))
    averaging = averaging_table(comparison)
    for table in (*tables_of(comparison), averaging, bands_table(comparison)):
        if table is None:
            continue
        parts.append(f"{table.title.upper()}\n{aligned(table, names)}")
    parts.append(paragraph([CONFIDENCE_WORDS, *([AVERAGING_WORDS] if averaging is not None else [])]))
    parts += section("The class", class_sentences(comparison))
    for heading, said in ranking_sentences(comparison):
        parts += section(f"Ranking by {heading[:1].lower()}{heading[1:]}", said)
    parts += section("To know before trusting the figures", remark_sentences(comparison))
    return "\n\n".join(parts) + "\n"


def section(heading: str, sentences: Iterable[str]) -> list[str]:
    """A heading with its sentences below; nothing without any."""
    said = [textwrap.fill(one, WIDTH, initial_indent="  ", subsequent_indent="    ") for one in sentences]
    return ["\n".join([heading.upper(), *said])] if said else []


def paragraph(sentences: Iterable[str]) -> str:
    """Sentences behind each other, as wide as a terminal."""
    return textwrap.fill(" ".join(sentences), WIDTH)


def aligned(table: FigureTable, names: Mapping[int, str]) -> str:
    """Numbers stand on the right, so that digits of one place come below each other; notes in brackets."""
    head = ["bench", *table.headings]
    rows = [
        [
            f"{bench} {names[bench]}",
            *(f"{cell.text}{f' [{cell.note}]' if cell.note else ''}" for cell in cells),
        ]
        for bench, cells in table.rows
    ]
    lines = _lines(head, rows)
    notes = [
        textwrap.fill(f"[{number}] {words}", WIDTH, initial_indent="  ", subsequent_indent="      ")
        for number, words in enumerate(table.notes, 1)
    ]
    return "\n".join([*lines, *notes])


def _lines(head: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    widths = [max(map(_width, column)) for column in zip(head, *rows, strict=True)]
    for row in (head, *rows):
        first, *rest = row
        cells = [
            first + " " * (widths[0] - _width(first)),
            *(text.rjust(width) for text, width in zip(rest, widths[1:], strict=True)),
        ]
        yield "  " + "  ".join(cells).rstrip()


def _width(text: str) -> int:
    """Places on a terminal: two for a letter of East Asia or a picture, none for an accent of its own."""
    return sum(
        0 if unicodedata.combining(one) else 2 if unicodedata.east_asian_width(one) in "WF" else 1
        for one in text
    )


def comparison_json(comparison: Comparison, *, looks: Mapping[int, BenchMark], title: str = "") -> Json:
    """The same as values for programs, with all digits; None where there is no value."""
    choices, grid = comparison.choices, comparison.grid
    agreement = comparison.agreement
    return {
        "title": title,
        "started": comparison.started.isoformat().replace("+00:00", "Z"),
        "channel": choices.channel,
        "unit": comparison.unit,
        "alignment": choices.alignment.kind,
        "from": choices.from_seconds,
        "to": choices.to_seconds,
        "grid_step": None if grid is None or len(grid.seconds) < 2 else float(np.diff(grid.seconds[:2])[0]),
        "between": choices.alignment.interpolation,
        "response": choices.response,
        "ambients": {
            str(one.bench): dict(zip(("value", "u"), choices.ambient_at(one.bench), strict=True))
            for one in comparison.benches
        },
        "reference": None if choices.reference is None else _figure(choices.reference),
        "benches": [_bench(comparison, one, looks) for one in comparison.benches],
        "left_out": [asdict(one) for one in comparison.left_out],
        "events": [_event(one, comparison.found) for _, one in sorted(comparison.events.items())],
        "class": [_figure(one) for one in comparison.class_figures],
        "agreement": {
            "words": agreement.words,
            "precision": _precision(comparison),
            "tests": [one._asdict() for one in agreement.outlying],
        },
        "rankings": [
            {
                "figure": ranking.name,
                "ranks": [_ranked(one) for one in ranking.ranked],
                "unranked": [{"bench": bench, "words": words} for bench, words in ranking.unranked],
                "sentences": ranking.sentences(names_of(comparison)),
            }
            for ranking in comparison.rankings
        ],
        "remarks": comparison.remarks,
    }  # fmt: skip


def _bench(comparison: Comparison, one: BenchFigures, looks: Mapping[int, BenchMark]) -> Json:
    look = looks.get(one.bench)
    course = one.course
    return {
        "bench": one.bench,
        "name": one.name,
        "mark": None if look is None else look._asdict(),
        "marks": one.marks,
        "figures": [_figure(found) for found in (*one.figures, *comparison.in_common.get(one.bench, ()))],
        "bands": _bands(comparison, one),
        "allan": [point._asdict() for point in one.allan],
        "fit": None
        if course is None
        else {
            "kind": course.kind,
            "is_first_order": course.is_first_order,
            "residual_sd": course.residual_sd,
            "r_squared": course.r_squared if np.isfinite(course.r_squared) else None,
            "words": course.words,
        },
    }


def _bands(comparison: Comparison, one: BenchFigures) -> list[Json]:
    names = comparison.choices.band_names
    return [
        {**band._asdict(), "name": names[band.band] if band.band < len(names) else ""} for band in one.bands
    ]


def _ranked(one: Ranked) -> Json:
    return {"bench": one.bench, "from": one.best_rank, "to": one.worst_rank, "tied_with": one.tied_with}


def _figure(figure: Figure) -> Json:
    return asdict(figure)


def _event(event: Event, found: Mapping[int, Event]) -> Json:
    """With what was found where a person set another."""
    instead = found.get(event.bench, event if event.by == "found" else None)
    return {**asdict(event), "found_seconds": None if instead is None else instead.seconds}


def _precision(comparison: Comparison) -> Json | None:
    precision = comparison.agreement.precision
    if precision is None:
        return None
    return {
        "s_r": _figure(precision.s_r),
        "s_L": _figure(precision.s_l),
        "s_R": _figure(precision.s_big_r),
        "repeatability_limit": precision.repeatability_limit,
        "reproducibility_limit": precision.reproducibility_limit,
        "h": dict(zip(map(str, precision.benches), precision.h, strict=True)),
        "k": dict(zip(map(str, precision.benches), precision.k, strict=True)),
        "h_critical": precision.h_critical,
        "k_critical": precision.k_critical,
    }
