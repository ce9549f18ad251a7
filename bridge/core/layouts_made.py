"""Makes layouts of wordings: the names of the fields, their units, how their numbers are written."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from .deciding import Way, numbers_of
from .headings import column_fields, heading_cells, labelled_fields
from .lesson import FieldSpec, Layout
from .notation import notations_of
from .printed import is_missing
from .wording import Wording

Seen = list[tuple[int, Wording]]
"""Lines that show the same wording: the number of each, and how it shows it."""


def layout_of(way: Way, headings: Sequence[str]) -> Layout:
    """The layout of lines that are a record each.

    Args:
        way: How they are read.
        headings: Texts ahead of them, one of which may name the columns.
    """
    first = way.seen[0]
    units = units_of(way.seen)
    if first.kind == "columns":
        ends_with_separator = way.n > 1 and not any(one.texts[-1] for one in way.seen)
        if ends_with_separator and not any(heading_cells(h, first.separator, way.n) for h in headings):
            units = units[:-1]
        fields = column_fields(headings, first.separator, units)
    else:
        fields = labelled_fields(first.labels, units, is_behind=first.kind == "labels-after")
    return Layout(
        name="learned",
        kind=first.kind,
        fields=fields,
        separator=first.separator,
        decimal_comma=way.notation.decimal_comma,
        thousands=way.notation.thousands,
        lead=first.lead,
        tail=first.tail,
    )


def record_of(wordings: Collection[Seen], best: Seen) -> list[Layout]:
    """Lines of several wordings in turn, each with labels of its own, make one record.

    None when they make none; several when their numbers can be read in several notations.

    Args:
        wordings: All that were seen.
        best: The one that was seen most.
    """
    first = best[0][1]
    is_bare = first.kind == "columns" and len(first.texts) == 1
    if first.kind not in ("pairs", "labels-after", "record") and not is_bare:
        return []
    turns = [
        seen
        for seen in wordings
        if _is_turn(seen[0][1], of_bare=is_bare) and _around(seen[0][1]) == _around(first)
    ]
    most = max(map(len, turns), default=0)
    turns = [seen for seen in turns if len(seen) >= max(2, most - 1)]
    is_above = any(seen[0][1].kind == "record" for seen in turns)
    if len(turns) < (1 if is_above else 2) or (not is_bare and most < len(best)):
        return []
    covered = {i for seen in turns for i, _ in seen}
    if is_bare and any(i not in covered for i, _ in best[1:]):
        return []  # the first may be the rest of a record that began before
    labels = [label for seen in turns for label in seen[0][1].labels]
    if len(set(labels)) < len(labels) or "" in labels:
        return []
    columns = [column for seen in turns for column in zip(*(one.texts for _, one in seen), strict=True)]
    notations = notations_of([[text for text in column if not is_missing(text)] for column in columns])
    units = [unit for seen in turns for unit in units_of([one for _, one in seen])]
    is_behind = all(seen[0][1].kind == "labels-after" for seen in turns)
    return [
        Layout(
            name="learned",
            kind="record",
            fields=labelled_fields(labels, units, is_behind=is_behind),
            separator=first.separator,
            decimal_comma=notation.decimal_comma,
            thousands=notation.thousands,
            lead=first.lead,
            tail=first.tail,
        )
        for notation in notations
    ]


def turns_layout(way: Way, n: int, headings: Sequence[str], *, with_decimals: bool) -> Layout:
    """The layout of n bare numbers in turn; with their decimals where nothing else tells them apart."""
    numbers = list(numbers_of(way))
    named = column_fields(headings, ",", [""] * n)
    fields = tuple(
        FieldSpec(
            name=field.name.replace("column", "line"),
            label="",
            decimals=max(one.decimals for one in numbers[i::n]) if with_decimals else None,
        )
        for i, field in enumerate(named)
    )
    first = way.seen[0]
    comma, thousands = way.notation
    return Layout(
        name="learned",
        kind="record",
        fields=fields,
        decimal_comma=comma,
        thousands=thousands,
        lead=first.lead,
        tail=first.tail,
    )


def below_a_label(label: str, wording: Wording) -> list[Wording]:
    """The wording of a bare number whose label stood alone on the line before."""
    if wording.kind != "columns" or len(wording.texts) > 1:
        return []
    return [wording._replace(kind="record", labels=(label,))]


def units_of(seen: Sequence[Wording]) -> list[str]:
    """The unit of each field: the first that was printed."""
    return [next(filter(None, column), "") for column in zip(*(one.units for one in seen), strict=True)]


def _is_turn(one: Wording, *, of_bare: bool) -> bool:
    if of_bare:
        return one.kind == "record" or (one.kind == "labels-after" and len(one.texts) == 1)
    return one.kind in ("pairs", "labels-after", "record")


def _around(one: Wording) -> tuple[str, str]:
    return one.key[2], one.key[3]
