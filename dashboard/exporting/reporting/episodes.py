"""Alarms as a person tells them: each from its rise to its return, with who acknowledged it when."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from bridge import JournalEntry

_RISES, _RETURNS = ("rise", "re-alarm"), "return"
_DEEDS = ("acknowledge", _RETURNS, *_RISES)


@dataclass(slots=True, kw_only=True)
class Episode:
    """One alarm of one bench, from one rise to the return after it; times are session seconds."""

    risen: JournalEntry
    returned_seconds: float | None = None  # None: it stood to the end
    acknowledged_seconds: float | None = None
    by: str = ""  # who acknowledged it

    @property
    def risen_seconds(self) -> float:
        """When it rose."""
        return self.risen.change.at_ns / 1e9


def episodes_of(journal: Iterable[JournalEntry]) -> list[Episode]:
    """Every rise with what became of it, in the order of the rises."""
    found: list[Episode] = []
    newest: dict[tuple[int, str, str], Episode] = {}
    for entry in journal:
        change = entry.change
        key = (change.bench, change.channel, change.limit)
        if change.event in _RISES:
            newest[key] = Episode(risen=entry)
            found.append(newest[key])
        elif (episode := newest.get(key)) is not None:
            if change.event == _RETURNS and episode.returned_seconds is None:
                episode.returned_seconds = change.at_ns / 1e9
            elif change.event == "acknowledge" and episode.acknowledged_seconds is None:
                episode.acknowledged_seconds, episode.by = change.at_ns / 1e9, change.who
    return found


def other_deeds(journal: Iterable[JournalEntry]) -> list[JournalEntry]:
    """What else was done with alarms: shelved, suppressed, taken out of service, reset, and back."""
    return [entry for entry in journal if entry.change.event not in _DEEDS]
