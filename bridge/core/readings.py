"""What comes out of the pipeline.

Named tuples, not dataclasses: made a hundred thousand times a second flat out, and a tuple is made three
times as fast as a frozen dataclass.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

from bridge.core.findings import FindingChange

Quality = Literal["good", "uncertain", "bad"]


class Reading(NamedTuple):
    """One value of one channel of one bench."""

    at_ns: int  # arrival in session time: ns since the session's anchor, monotonic; rules go by it
    bench: int
    channel: str
    value: float | None  # None: no value; never zero for one that is missing
    unit: str
    u: float | None  # standard uncertainty, in the unit; None when nothing is known
    quality: Quality
    reason: str  # "" when good, else in plain words
    line: int  # number of the line that it came from, from 1, counted per bench
    taken_ns: int  # when the board took it: by the board's own clock where it prints one, else `at_ns`


class BandChange(NamedTuple):
    """A bench's channel went into another band."""

    at_ns: int
    bench: int
    channel: str
    band: int | None  # None: no value, so no band
    before: int | None


AlarmState = Literal[
    "normal", "unacknowledged", "acknowledged", "returned unacknowledged",
    "latched unacknowledged", "latched acknowledged", "shelved", "suppressed", "out of service",
]  # fmt: skip
AlarmEvent = Literal[
    "rise", "return", "acknowledge", "reset", "re-alarm",
    "shelve", "unshelve", "suppress", "unsuppress", "remove", "restore",
]  # fmt: skip


class AlarmChange(NamedTuple):
    """One transition of one alarm (IEC 62682)."""

    at_ns: int
    bench: int
    channel: str
    limit: str  # the alarm's key among those of its channel: its name, else its kind, as "high"
    event: AlarmEvent
    state: AlarmState
    before: AlarmState
    value: float | None  # what was judged: the value, a slope, a difference, an age
    at: float  # the limit
    who: str  # "rule" or "instructor"
    reason: str = ""  # of a shelf, in the person's words; the phase that suppresses
    until_ns: int = 0  # when a shelf ends by itself


class Note(NamedTuple):
    """Something about a bench's text that is worth telling: a layout found, bytes without a line end."""

    at_ns: int
    bench: int
    kind: str  # "layout", "doubt", "no line end", "break", ...
    words: str


Change = BandChange | AlarmChange | FindingChange | Note
