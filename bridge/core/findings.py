"""Findings: what is wrong with a board, its wiring or its program, in plain words.

A finding stands from the moment its evidence is there until the evidence is gone; it clears by itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

FindingKind = Literal[
    "board not reached", "no bytes", "no line end", "wrong baud", "no text", "unreadable lines",
    "numbers run together", "text changed", "no UTF-8", "lost zeros", "board resetting", "board clock",
    "line rate", "too fast for its baud", "bottom rail", "top rail", "floating input", "stuck", "neighbour",
    "mains hum", "too coarse", "placeholder value", "unsigned below zero", "wrong formula",
    "unlike the others",
]  # fmt: skip
"""One name for each thing that can be wrong; the words of a finding are for people, the kind for programs."""

FindingEvent = Literal["found", "changed", "gone"]
Weight = Literal["fault", "hint"]
"""A fault makes the readings wrong or missing; a hint is worth a look."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that is wrong at one bench."""

    kind: FindingKind
    channel: str = ""  # the channel or field that it is about; "" for the whole board
    weight: Weight = "fault"
    since_ns: int  # session time of the first evidence
    words: str  # what is wrong, one sentence that an instructor could say
    evidence: str  # what was seen, with numbers
    remedy: str  # what to try, one sentence
    try_baud: int | None = None  # the rate that would cure it, where it can be tried from here
    explains: tuple[FindingKind, ...] = ()  # kinds that need not be told at this bench while it stands

    @property
    def key(self) -> tuple[FindingKind, str]:
        """Names the finding among those of its bench: one of a kind for each channel."""
        return self.kind, self.channel


class FindingChange(NamedTuple):
    """A finding came, got other words, or went."""

    at_ns: int
    bench: int
    event: FindingEvent
    finding: Finding


def changes_between(
    before: Mapping[tuple[FindingKind, str], Finding],
    after: Mapping[tuple[FindingKind, str], Finding],
    *,
    at_ns: int,
    bench: int,
) -> list[FindingChange]:
    """What changed from one set of findings to the next, gone ones first; both by their `key`."""
    changes = [FindingChange(at_ns, bench, "gone", before[key]) for key in before.keys() - after.keys()]
    changes.sort(key=lambda change: change.finding.key)
    for key, finding in sorted(after.items()):
        if key not in before:
            changes.append(FindingChange(at_ns, bench, "found", finding))
        elif before[key] != finding:
            changes.append(FindingChange(at_ns, bench, "changed", finding))
    return changes
