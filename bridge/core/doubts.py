"""Texts that can be read in more than one way: between which layouts a person must choose, and why."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from .layout_words import MARK_WORDS, layout_shown
from .lesson import Layout

_NUMBER_WORDS = {2: "two", 3: "three", 4: "four"}


class Doubt(NamedTuple):
    """Between which layouts nobody can choose but a person."""

    words: str  # why, and what to do
    alternatives: tuple[Layout, ...]  # at least one


def doubt_between(layouts: Sequence[Layout], text: str) -> Doubt:
    """Several layouts read the same lines, such as `text`."""
    ways = []
    for layout in layouts:
        shown = layout_shown(layout, [text])
        n = len(layout.fields)
        numbers = "1 number" if n == 1 else f"{n} columns"
        notation = " with decimal comma" if layout.decimal_comma else ""
        notation += f" with {MARK_WORDS[layout.thousands]} between thousands" if layout.thousands else ""
        read = f" ({' and '.join(shown.rows[0])})" if shown.rows else ""
        ways.append(f"as {numbers}{notation}{read}")
    return Doubt(
        f"The line {text!r} can be read in {_NUMBER_WORDS.get(len(ways), str(len(ways)))} ways: "
        f"{' or '.join(ways)}. Give this bench a layout in the lesson, or choose; until then nothing is read",
        tuple(layouts),
    )


def doubt_of_commas(columns: Layout, text: str) -> Doubt:
    """Some commas of the line must be decimal signs, but nobody can tell which."""
    return Doubt(
        f"In {text!r} some commas may be decimal signs: a number begins with a zero. Print decimal points, "
        "or semicolons between the columns; until then, or until one is chosen, nothing is read",
        (columns,),
    )


def doubt_of_turns(turns: Layout, single: Layout, texts: Sequence[str]) -> Doubt:
    """Bare numbers come round: several quantities in turn, or one. `texts`: one round of them."""
    n = len(turns.fields)
    decimals = [field.decimals for field in turns.fields]
    can_be_told_apart = all(decimals[i:] + decimals[:i] != decimals for i in range(1, n))
    return Doubt(
        f"Every {n} lines the numbers come round ({', '.join(texts)}): they may be {n} quantities, one on a "
        "line in turn, or a single one. Print a label before each number, or choose; until then nothing is "
        "read",
        (turns, single) if can_be_told_apart else (single,),
    )
