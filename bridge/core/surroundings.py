"""What a board prints around its fields: a clock text, a mark, brackets. Left out, but it must be there."""

from __future__ import annotations

import re

from .exact import Span

_pieces = re.compile(r"[0-9]+|\s+|[^0-9\s]+").findall


class Surroundings:
    """The text before and behind the fields of a line.

    Args:
        lead: An example of what stands before them; any run of digits stands for its digits, any blanks or
            none for its blanks.
        tail: The same of what stands behind.
    """

    def __init__(self, lead: str, tail: str) -> None:
        self._head = re.compile(rf"\s*{_pattern(lead, group=True)}\s*").match
        self._end = re.compile(rf"\s*{_pattern(tail)}\s*$").search if tail else None

    def body(self, text: str) -> Span | None:
        """From where to where the fields stand; None when the surroundings are not there."""
        head = self._head(text)
        if head is None:
            return None
        if self._end is None:
            return head.end(), len(text)
        end = self._end(text, head.end())
        return None if end is None else (head.end(), end.start())

    def digits(self, text: str) -> list[Span]:
        """Where the digits of the lead stand."""
        head = self._head(text)
        return [] if head is None else [head.span(i + 1) for i in range(head.re.groups)]


def surroundings_of(lead: str, tail: str) -> Surroundings | None:
    """None where nothing stands around the fields."""
    return Surroundings(lead, tail) if lead.strip() or tail.strip() else None


def _pattern(example: str, *, group: bool = False) -> str:
    digits = "([0-9]+)" if group else "[0-9]+"
    return "".join(
        digits if piece[0].isdigit() else r"\s*" if piece.isspace() else re.escape(piece)
        for piece in _pieces(example.strip())
    )
