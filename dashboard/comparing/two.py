"""The same benches in two recordings: how far each figure moved, and whether that is more than chance."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from dashboard.comparing.comparison import Comparison
from dashboard.comparing.figure import CONFIDENCE, Figure, figure, no_figure
from dashboard.comparing.ranking import holm

FIGURES = (
    "level",
    "noise",
    "drift",
    "time constant",
    "rise time",
    "settling time",
    "overshoot",
    "ambient",
)
"""Those that stand for themselves: what a bench has only among others of its class is no property of it."""
RULE = (
    "A bench is told apart from itself where the difference is more than the uncertainties of both figures "
    "explain, at 5 % for all benches together (Holm 1979). The two uncertainties count as independent: an "
    "error that both share, as of one calibration, makes them too wide, never too narrow."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One figure of one bench in both recordings."""

    bench: int
    first: Figure
    second: Figure
    less: Figure  # second less first
    is_apart: bool | None  # None: it can't be said, `less.words` says why


def differences_of(
    first: Comparison, second: Comparison, names: Sequence[str] = FIGURES
) -> Mapping[str, tuple[Difference, ...]]:
    """By figure: the benches that both recordings have, by number; figures that no bench has are left out.

    Args:
        first: The one from which differences are counted.
        second: In the same unit, compared the same way.
        names: Of the figures.

    Raises:
        ValueError: The units differ.
    """
    if first.unit != second.unit and first.benches and second.benches:
        raise ValueError(f"one recording is in {first.unit!r}, the other in {second.unit!r}")
    numbers = {one.bench for one in second.benches}
    both = [one.bench for one in first.benches if one.bench in numbers]
    found = {}
    for name in names:
        pairs = {b: (_figure(first, b, name), _figure(second, b, name)) for b in both}
        if any(one.is_known and other.is_known for one, other in pairs.values()):
            found[name] = _judged(pairs)
    return found


def only_in(one: Comparison, other: Comparison) -> tuple[int, ...]:
    """Benches with figures in one that the other has none of."""
    there = {bench.bench for bench in other.benches}
    return tuple(bench.bench for bench in one.benches if bench.bench not in there)


def _figure(comparison: Comparison, bench: int, name: str) -> Figure:
    try:
        return comparison.figure(bench, name)
    except KeyError:
        return no_figure(name, "", "not asked for")


def _judged(pairs: Mapping[int, tuple[Figure, Figure]]) -> tuple[Difference, ...]:
    less = {bench: _less(*pair) for bench, pair in pairs.items()}
    probabilities = {
        bench: math.erfc(abs(one.value) / one.u / math.sqrt(2)) if one.u > 0 else float(one.value == 0)
        for bench, one in less.items()
        if one.value is not None and one.u is not None
    }
    apart = holm(probabilities, 1 - CONFIDENCE)
    return tuple(
        Difference(
            bench=bench,
            first=one,
            second=other,
            less=less[bench],
            is_apart=bench in apart if bench in probabilities else None,
        )
        for bench, (one, other) in pairs.items()
    )


def _less(first: Figure, second: Figure) -> Figure:
    """Source: JCGM 100:2008 (GUM), 5.1.2."""
    for which, one in (("first", first), ("second", second)):
        if one.value is None:
            return no_figure(first.name, first.unit, f"in the {which}: {one.words}")
    assert first.value is not None
    assert second.value is not None
    if first.u is None or second.u is None:
        words = "not every uncertainty is known"
        return figure(first.name, first.unit, second.value - first.value, words=words)
    return figure(first.name, first.unit, second.value - first.value, math.hypot(first.u, second.u))
