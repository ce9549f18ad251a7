"""What can be wrong with a board's text as such, in words."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Literal, NamedTuple

N_NOISE = 20  # newest lines that are judged for damage
_MIN_NOISE_BYTES = 64
_NOISE_SHARE = 0.7


class TextFinding(NamedTuple):
    """Something wrong with the text as such."""

    kind: Literal["numbers run together", "text changed", "no text"]
    words: str
    evidence: str
    remedy: str


class NoiseSeen(NamedTuple):
    """One line that could not be read."""

    is_damaged: bool
    n_bytes: int


def noise_finding(seen: Collection[NoiseSeen]) -> TextFinding | None:
    """Bytes that are no text. `seen`: the newest lines, since one could be read."""
    n_bytes = sum(one.n_bytes for one in seen)
    n_damaged = sum(one.n_bytes for one in seen if one.is_damaged)
    if n_damaged < max(_MIN_NOISE_BYTES, _NOISE_SHARE * n_bytes):
        return None
    return TextFinding(
        "no text",
        "What comes is no text",
        f"{n_damaged} of the newest {n_bytes} bytes stand in lines with bytes that are no characters",
        "Set the baud rate that the program has; see that it prints text, not raw bytes",
    )


def run_together_finding(texts: Sequence[str], field: str, newest: str) -> TextFinding | None:
    """Numbers without a separator: lines that can't be read for it, or a field that behaves as two."""
    if not texts and not field:
        return None
    what = "two decimal points in one word" if texts else "the front changes all the time, the rear does not"
    return TextFinding(
        "numbers run together",
        f"The numbers{'' if texts else f' of {field!r}'} run together: print a separator between them",
        f"{(texts[-1] if texts else newest)!r}: {what}",
        "Print a comma, a tab or a blank between two numbers",
    )


def not_as_the_lesson_finding(layout: str, n: int, newest: str) -> TextFinding:
    """The lines are not those of the lesson's layout."""
    return TextFinding(
        "text changed",
        "The lines do not fit the lesson's layout",
        f"{n} lines in a row, the newest {newest!r}",
        f"Compare the program with the layout {layout!r} of the lesson, or take that away",
    )


def changed_finding(doubt: str, newest: str) -> TextFinding:
    """The text changed, and nobody can tell how it goes on."""
    return TextFinding("text changed", doubt, f"now {newest!r}", "Choose how the lines are read")
