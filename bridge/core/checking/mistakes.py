"""The mistakes that a program's formula can have, each with the words for a person."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

MistakeKind = Literal[
    "reference", "divisor", "whole numbers", "overflow", "volts scale", "supply", "millivolts",
    "offset missing", "offset sign", "other sensor", "leg", "logarithm", "factor", "unit", "whole value",
    "own reference", "own offset", "own gain",
]  # fmt: skip

FITTED: frozenset[MistakeKind] = frozenset(("own reference", "own offset", "own gain"))
"""Kinds with a number that no list has: found by intersecting intervals, so less telling than a named one."""

_USUALNESS: dict[MistakeKind, float] = {
    "reference": 1, "whole numbers": 2, "overflow": 3, "offset missing": 4, "offset sign": 5, "millivolts": 6,
    "volts scale": 6.5, "unit": 7, "leg": 8, "logarithm": 9, "divisor": 10, "factor": 11, "other sensor": 12,
    "supply": 13, "whole value": 14, "own reference": 20, "own offset": 21, "own gain": 22,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Mistake:
    """One thing in which a program's formula is not the lesson's."""

    kind: MistakeKind
    words: str  # what the program does, behind "The program": "computes with 5 V, but ..."
    number: float = (
        0.0  # what makes it this one of its kind: the reference in V, the divisor, the factor, ...
    )
    least: float = 0.0  # of a fitted number: the interval that every record allows
    most: float = 0.0
    rarity: float = 0.0  # among those of its kind, 0 to 0.9

    @property
    def order(self) -> float:
        """The lower, the more usual."""
        return _USUALNESS[self.kind] + self.rarity

    @property
    def is_fitted(self) -> bool:
        """Whether its number was found by intersecting intervals."""
        return self.kind in FITTED


def order_of(mistakes: Sequence[Mistake]) -> float:
    """The lower, the more usual: by the rarest of them first."""
    orders = sorted((one.order for one in mistakes), reverse=True)
    return sum(order / 100.0**i for i, order in enumerate(orders))


def together(mistakes: Sequence[Mistake]) -> str:
    """What the program does, as one phrase."""
    return " and ".join(one.words for one in mistakes)


def same_to_a_person(some: Sequence[Mistake], others: Sequence[Mistake]) -> bool:
    """Whether both are told alike: they differ only in where the program does it."""
    return [(one.kind, one.number) for one in some] == [(one.kind, one.number) for one in others]
