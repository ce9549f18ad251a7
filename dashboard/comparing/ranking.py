"""Who is first, with ties where the uncertainty does not tell benches apart."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeVar

from dashboard.comparing.figure import CONFIDENCE, Figure

_FEW = 2  # benches: of more that are all apart one sentence says so
_Key = TypeVar("_Key")
RULE = (
    "Two benches are told apart when their difference is more than its uncertainty explains, at 5 % for all "
    "pairs of the class together (Holm 1979). A bench's rank reaches from one more than the number of "
    "benches that are surely ahead of it to the number that are not surely behind it."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranked:
    """A bench's place."""

    bench: int
    figure: Figure
    best_rank: int  # counting only those that are surely ahead
    worst_rank: int  # counting all that are not surely behind
    tied_with: tuple[int, ...]  # cannot be told apart from these


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranking:
    """All benches with a value, the best first; and those without, with the words why."""

    name: str
    ranked: tuple[Ranked, ...]
    unranked: tuple[tuple[int, str], ...]
    groups: tuple[tuple[int, ...], ...]  # largest sets in which no two can be told apart, in order of rank

    def sentences(self, names: Mapping[int, str] | None = None) -> tuple[str, ...]:
        """What can and what can't be said, in plain words."""

        def name(bench: int) -> str:
            return (names or {}).get(bench, f"bench {bench}")

        said = [
            f"{_listed([name(bench) for bench in group])} cannot be told apart"
            for group in self.groups
            if len(group) > 1
        ]
        alone = [one for one in self.ranked if not one.tied_with]
        if len(alone) == len(self.ranked) > _FEW:
            said.append("each is told apart from all others")
        else:
            said += [f"{name(one.bench)} is number {one.best_rank}, apart from all others" for one in alone]
        said += [f"{name(bench)} has no rank: {words}" for bench, words in self.unranked]
        return tuple(said)


def ranking_of(figures: Mapping[int, Figure], *, highest_first: bool = True) -> Ranking:
    """Rank benches by a figure; see RULE.

    The uncertainties count as independent. One that all benches share (the same reference) should not be in
    them: it moves all alike and would hide differences that are there.

    Args:
        figures: One of each bench; without a value a bench has no rank, without an uncertainty neither.
        highest_first: Whether more is better.

    Source: Holm, Scand. J. Statist. 6 (1979) 65.
    """
    known = {bench: one for bench, one in figures.items() if one.value is not None and one.u is not None}
    sign = -1.0 if highest_first else 1.0
    order = sorted(known, key=lambda bench: (sign * (known[bench].value or 0.0), bench))
    apart = _told_apart({bench: known[bench] for bench in order})
    ranked = []
    for i, bench in enumerate(order):
        ahead = sum((min(bench, other), max(bench, other)) in apart for other in order[:i])
        behind = sum((min(bench, other), max(bench, other)) in apart for other in order[i + 1 :])
        tied = tuple(
            other for other in order if other != bench and (min(bench, other), max(bench, other)) not in apart
        )
        ranked.append(
            Ranked(
                bench=bench,
                figure=known[bench],
                best_rank=ahead + 1,
                worst_rank=len(order) - behind,
                tied_with=tied,
            )
        )
    unranked = tuple(
        (bench, one.words if one.value is None else "its uncertainty is unknown")
        for bench, one in figures.items()
        if bench not in known
    )
    name = next((one.name for one in figures.values()), "")
    return Ranking(name=name, ranked=tuple(ranked), unranked=unranked, groups=_groups(ranked, apart))


def holm(probabilities: Mapping[_Key, float], level: float) -> set[_Key]:
    """Which of several are more than chance at a level for all together: the clearest meets the strictest.

    Args:
        probabilities: That chance alone does it, by whatever they are of.
        level: That one of all is wrongly named, at most.

    Source: Holm, Scand. J. Statist. 6 (1979) 65.
    """
    found: set[_Key] = set()
    for i, key in enumerate(sorted(probabilities, key=lambda one: probabilities[one])):
        if probabilities[key] > level / (len(probabilities) - i):
            break
        found.add(key)
    return found


def _told_apart(figures: Mapping[int, Figure]) -> set[tuple[int, int]]:
    """The pairs whose difference is real."""
    probabilities = {}
    for a, b in itertools.combinations(sorted(figures), 2):
        one, other = figures[a], figures[b]
        u = math.hypot(one.u or 0.0, other.u or 0.0)
        difference = abs((one.value or 0.0) - (other.value or 0.0))
        probabilities[a, b] = math.erfc(difference / u / math.sqrt(2)) if u > 0 else float(difference == 0)
    return holm(probabilities, 1 - CONFIDENCE)


def _groups(ranked: list[Ranked], apart: set[tuple[int, int]]) -> tuple[tuple[int, ...], ...]:
    """The largest sets of benches, neighbours in rank, of which no two are told apart."""
    order = [one.bench for one in ranked]
    groups: list[tuple[int, ...]] = []
    for begin in range(len(order)):
        end = begin + 1
        while end < len(order) and all(
            (min(order[end], other), max(order[end], other)) not in apart for other in order[begin:end]
        ):
            end += 1
        group = tuple(order[begin:end])
        if not groups or not set(group) <= set(groups[-1]):
            groups.append(group)
    return tuple(groups)


def _listed(names: list[str]) -> str:
    return ", ".join(names[:-1]) + f" and {names[-1]}" if len(names) > 1 else "".join(names)
