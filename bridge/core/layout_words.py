"""A layout in words, and how it reads sample lines: what a person chooses by."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from .layouts import reader_for
from .lesson import Layout
from .printed import Notation, Printed

_SEPARATOR_WORDS = {
    ",": "commas",
    ", ": "commas with a blank",
    ";": "semicolons",
    "\t": "tabs",
    "|": "bars",
    " ": "blanks",
}
MARK_WORDS = {",": "commas", ".": "points", "'": "apostrophes", " ": "blanks"}


class LayoutShown(NamedTuple):
    """One way to read the text, with the sample lines as it reads them."""

    words: str
    columns: tuple[str, ...]  # the fields' names, with their units
    rows: tuple[tuple[str, ...], ...]  # for each record the numbers, with a decimal point; "-" for missing


def layout_shown(layout: Layout, texts: Sequence[str]) -> LayoutShown:
    """How the layout reads these lines, in their order; those that it can't read are left out."""
    reader = reader_for(layout)
    rows = [reader.read(text) for text in texts]
    notation = Notation(layout.decimal_comma, layout.thousands)
    return LayoutShown(
        layout_words(layout),
        tuple(f"{one.name} ({one.unit})" if one.unit else one.name for one in layout.fields),
        tuple(tuple(_shown(field, notation) for field in row) for row in rows if row is not None),
    )


def _shown(field: Printed, notation: Notation) -> str:
    return "-" if field.value is None else notation.pointed(field.text)


def layout_words(layout: Layout) -> str:
    """The layout in words."""
    n = len(layout.fields)
    names = ", ".join(f"{one.name} in {one.unit}" if one.unit else one.name for one in layout.fields)
    notation = ", with decimal comma" if layout.decimal_comma else ""
    if layout.thousands:
        notation += f", with {MARK_WORDS[layout.thousands]} between thousands"
    between = f", {_SEPARATOR_WORDS.get(layout.separator, repr(layout.separator))} between" if n > 1 else ""
    around = "".join(
        f", {where} {text!r}"
        for where, text in (("behind", layout.lead), ("before", layout.tail))
        if text.strip()
    )
    how = f"{between}{notation}{around}: {names}"
    match layout.kind:
        case "columns":
            return f"{n} column{'s' * (n > 1)}{how}"
        case "pairs":
            return f"label and value{how}"
        case "labels-after":
            return f"value and label{how}"
        case "json":
            return f"a JSON object{around}: {names}"
        case "record":
            lines = (
                "numbers in turn, one on a line"
                if layout.fields[0].label == ""
                else "a record over several lines"
            )
            return f"{lines}{notation}{around}: {names}"
