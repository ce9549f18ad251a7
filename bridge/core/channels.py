"""What a screen must know of a channel before it can show its readings, and how its newest value was made."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from bridge.core.lesson import AlarmGiven


class NamedBands(NamedTuple):
    """What the bands are called in some phases of the lesson."""

    phases: tuple[str, ...]  # none: in all others
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelInfo:
    """One channel of one bench as it is shown: everything absolute, in the channel's unit."""

    name: str
    unit: str = ""
    decimals: int = 1
    low: float = 0.0  # ends of the gauge's scale
    high: float = 100.0
    baseline: float | None = None
    takes_baseline: bool = False  # it is taken from the bench, not given as a number
    edges: tuple[float, ...] = ()  # rising; the bench's own baseline is already in them
    edge_names: tuple[str, ...] = ()  # the bands' names: one more than edges, or none without edges
    bands_of_phases: tuple[
        NamedBands, ...
    ] = ()  # all that the lesson has, where phases have bands of their own
    limits: tuple[AlarmGiven, ...] = ()
    gain: float = 1.0  # the bench's own correction, see `BenchChannel`
    offset: float = 0.0

    def __post_init__(self) -> None:
        if not self.low < self.high:
            raise ValueError(
                f"{self.name}: the scale's low end {self.low} must lie below its high end {self.high}"
            )
        if self.edge_names and len(self.edge_names) != len(self.edges) + 1:
            raise ValueError(f"{self.name}: {len(self.edges)} edges need {len(self.edges) + 1} band names")


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of a conversion with this moment's number."""

    channel: str
    words: str  # what the step does: "volts from the count"
    formula: str  # with the numbers put in: "512 / 1024 x 5 V"
    number: float | None
    unit: str
