"""When a board's text changes: which of the old fields a newly learned layout goes on with."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from .behaviour import places_of
from .lesson import FieldSpec, Layout
from .printed import Printed

_made_up = re.compile(r"(?:column|line|number) [0-9]+|value|number").fullmatch


class Change(NamedTuple):
    """How the text goes on: with one layout, or with a doubt between several."""

    layouts: tuple[Layout, ...]
    words: str  # "" when it is certain; else why nobody can tell


def change_between(
    before: Layout, decimals: Sequence[int | None], after: Layout, printed: Sequence[Printed]
) -> Change:
    """How the text goes on after it was read by `before` and its lines now are of the layout `after`.

    Args:
        before: How it was read until now.
        decimals: With how many decimals each of its fields was always printed; None where that changed.
        after: What was learned from the new lines.
        printed: One record of the new lines.
    """
    if not _is_bare(after):
        return Change((after,), "")  # the labels say what is what
    if before.kind not in ("columns", "record") or not _counts_its_fields(before, after):
        return Change((after,), "")  # no field of the new text has the name of an old one
    n, known = len(after.fields), [one for one in decimals if one is not None]
    found = [one.decimals for one in printed]
    if n == len(before.fields):
        as_before = replace(after, fields=_named(before.fields, after.fields))
        if n == 1 or (len(known) == n and found == known):
            return Change((as_before,), "")
        if len(known) == n and sorted(found) == sorted(known):
            swapped = swapped_layout(as_before, places_of(known, found))
            return Change((swapped, as_before), "the columns have changed places")
        ways = (as_before, after) if as_before.fields != after.fields else (as_before,)
        return Change(ways, "the columns are others than before")
    return Change((after,), f"the board prints {n} columns now, {len(before.fields)} before")


def swapped_layout(layout: Layout, places: Sequence[int]) -> Layout:
    """The same columns with each field where it stands now."""
    return replace(layout, fields=tuple(layout.fields[i] for i in places))


def _is_bare(layout: Layout) -> bool:
    """Whether nothing in the text names the fields."""
    return all(_made_up(one.name) for one in layout.fields) and layout.kind in ("columns", "record")


def _counts_its_fields(before: Layout, after: Layout) -> bool:
    names = {one.name for one in before.fields}
    return before.kind == "columns" or any(one.name in names for one in after.fields)


def _named(names: Sequence[FieldSpec], fields: Sequence[FieldSpec]) -> tuple[FieldSpec, ...]:
    """The new fields under the old names."""
    pairs = zip(names, fields, strict=True)
    return tuple(replace(new, name=old.name, unit=new.unit or old.unit) for old, new in pairs)
