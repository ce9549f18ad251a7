"""What goes wrong in the demo session, where and when; and what the people in it do.

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


DeedKind = Literal["marker", "acknowledge", "phase", "attend", "ask"]


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
    """What a person does.

    | kind | who | words |
    |---|---|---|
    | marker | the instructor sets it | what it says |
    | acknowledge | the instructor, an alarm of a bench | the key of its limit |
    | phase | the instructor starts it | its name |
    | attend | the instructor goes to a bench that shares a call | the call's id |
    | ask | the group of a bench says it | help, done or nothing |
    """

    at_seconds: float
    kind: DeedKind
    words: str
    bench: int | None = None


def _deed(at_seconds: float, kind: DeedKind, words: str, bench: int | None = None) -> Deed:
    return Deed(at_seconds=at_seconds, kind=kind, words=words, bench=bench)


DEEDS: tuple[Deed, ...] = (
    _deed(2, "phase", "pour"),
    _deed(20, "marker", "water poured"),
    _deed(60, "phase", "cool"),
    _deed(135, "ask", "help", 2),
    _deed(210, "attend", "finding/wrong formula/printed", 4),
    _deed(315, "attend", "ask/2", 2),
    _deed(468, "ask", "help", 3),
    _deed(496, "acknowledge", "low", 6),
    _deed(508, "attend", "ask/3", 3),
    _deed(530, "acknowledge", "high", 7),
    _deed(600, "marker", "second half"),
    _deed(655, "acknowledge", "high", 5),
    _deed(1140, "marker", "last minute"),
    _deed(1150, "ask", "done", 6),
    _deed(1172, "ask", "done", 1),
)


def faults_of(bench: int, kind: FaultKind | None = None) -> tuple[KnownFault, ...]:
    """The faults of a bench, of one kind or of all kinds."""
    return tuple(one for one in FAULTS if one.bench == bench and kind in (None, one.kind))
