"""What goes wrong in the demo session, where and when; and what the instructor does.

The one table of both: the simulated boards, the making of the recording and the tests read it. Seconds are
session seconds (the recording starts at 0).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

LESSON_SECONDS = 1200.0
DEMO_START_SECONDS = 472.0
"""Where `benchrow demo` opens the recording: a low alarm stands at bench 6, bench 3 is unplugged, the bands
stand at different steps; within the next half minute bench 7 passes its high limit and bench 3 comes back."""

FaultKind = Literal[
    "starts mid-line",
    "integer division",
    "wrong reference",
    "resetting",
    "sensor lifted out",
    "unplugged",
    "topped up too warm",
    "pin disconnected",
    "quiet",
    "damaged bytes",
    "wrong baud",
    "no line end",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownFault:
    """One thing that goes wrong at one bench."""

    bench: int
    from_seconds: float
    to_seconds: float
    kind: FaultKind
    words: str

    def is_on(self, at_seconds: float) -> bool:
        """Whether it goes wrong at that moment."""
        return self.from_seconds <= at_seconds < self.to_seconds


def _fault(bench: int, from_seconds: float, to_seconds: float, kind: FaultKind, words: str) -> KnownFault:
    return KnownFault(bench=bench, from_seconds=from_seconds, to_seconds=to_seconds, kind=kind, words=words)


FAULTS: tuple[KnownFault, ...] = (
    _fault(1, 0, 1, "starts mid-line", "the board prints already when its port is opened"),
    _fault(4, 0, 900, "wrong reference", "its formula takes 5.0 V; the converter compares with 3.3 V"),
    _fault(2, 90, 330, "integer division", "count * 5 / 1024 in whole numbers: volts stay at zero"),
    _fault(8, 240, 266, "resetting", "a loose plug: the board starts anew every 4 s and greets"),
    _fault(6, 400, 505, "sensor lifted out", "it hangs in the air and falls towards room temperature"),
    _fault(3, 460, 500, "unplugged", "the cable is pulled in the middle of a line and put back 40 s later"),
    _fault(7, 484, 640, "topped up too warm", "water straight from the tap is added: above the agreed start"),
    _fault(5, 620, 690, "pin disconnected", "the sensor's wire has slipped off: the pin floats"),
    _fault(1, 720, 735, "quiet", "the program hangs for 15 s, the port stays open"),
    _fault(7, 780, 800, "damaged bytes", "a cable beside a motor: now and then a bit is turned over"),
    _fault(3, 840, 865, "wrong baud", "the group tries another baud rate: the bytes make no sense"),
    _fault(8, 930, 965, "no line end", "the group's new program prints numbers without ever ending the line"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Deed:
    """What the instructor does: sets a marker with these words, or acknowledges an alarm of a bench."""

    at_seconds: float
    words: str = ""
    bench: int | None = None  # None: a marker
    limit: Literal["high", "low"] = "high"


DEEDS: tuple[Deed, ...] = (
    Deed(at_seconds=20, words="water poured"),
    Deed(at_seconds=496, bench=6, limit="low"),
    Deed(at_seconds=530, bench=7, limit="high"),
    Deed(at_seconds=600, words="second half"),
    Deed(at_seconds=655, bench=5, limit="high"),
    Deed(at_seconds=1140, words="last minute"),
)


def faults_of(bench: int, kind: FaultKind | None = None) -> tuple[KnownFault, ...]:
    """The faults of a bench, of one kind or of all kinds."""
    return tuple(one for one in FAULTS if one.bench == bench and kind in (None, one.kind))
