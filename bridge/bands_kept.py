"""Which band was held when, in what was kept."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from bridge.core.readings import BandChange, Change


class BandStay(NamedTuple):
    """A stretch in which one bench's channel was in one band; times are session time."""

    bench: int
    channel: str
    band: int  # 0 below the first edge
    since_ns: int
    until_ns: int


def stays_of(changes: Iterable[Change], *, end_ns: int) -> list[BandStay]:
    """From single changes to stretches, by bench, channel and time; where there was no band, there is none.

    Args:
        changes: In any order between benches and channels; those of one in the order of their times.
        end_ns: The end of the session.
    """
    held: dict[tuple[int, str], tuple[int, int]] = {}
    stays: list[BandStay] = []
    for change in changes:
        if not isinstance(change, BandChange):
            continue
        key = (change.bench, change.channel)
        if key in held:
            stays.append(BandStay(*key, *held.pop(key), change.at_ns))
        if change.band is not None:
            held[key] = (change.band, change.at_ns)
    stays += [BandStay(*key, *began, end_ns) for key, began in held.items()]
    return sorted((one for one in stays if one.until_ns > one.since_ns), key=lambda one: (*one[:2], one[3]))
