"""One way to see a line: its kind, its separator, its labels and units, its numbers."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from .lesson import LayoutKind
from .printed import is_missing
from .units import canonical_unit

_digits = re.compile(r"[0-9]+")


class Wording(NamedTuple):
    """One line's wording. Lines of the same `key` are read by the same layout."""

    kind: LayoutKind  # "record": the label stood alone on the line before
    separator: str
    labels: tuple[str, ...]  # as printed; "" for a number without one
    units: tuple[str, ...]  # "" where none is printed
    texts: tuple[str, ...]  # the values as printed
    lead: str = ""  # what stands before the fields
    tail: str = ""  # what stands behind them

    @property
    def key(self) -> tuple[str, ...]:
        """What stays the same from line to line."""
        return self.kind, self.separator, _shape(self.lead), _shape(self.tail), *self.labels

    @property
    def n_numbers(self) -> int:
        """Values that are not missing."""
        return sum(not is_missing(text) for text in self.texts)


class ValueSeen(NamedTuple):
    """One number, or word for a missing one, as printed."""

    label: str
    text: str
    unit: str


def wordings_with(kind: LayoutKind, separator: str, values: Sequence[ValueSeen]) -> tuple[Wording, ...]:
    """The wording of these values; none for a label that stands twice."""
    labels = [" ".join(value.label.split()) for value in values]
    named = [label for label in labels if label]
    if not values or (kind != "columns" and len(set(named)) < len(named)):
        return ()
    units = tuple(canonical_unit(value.unit) for value in values)
    return (Wording(kind, separator, tuple(labels), units, tuple(value.text for value in values)),)


def _shape(text: str) -> str:
    return "".join(_digits.sub("0", text).split())
