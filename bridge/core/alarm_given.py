"""An alarm as the instructor set it: what it judges, how patient it is, what it tells.

Terms of IEC 62682. The lesson's reader finds faults before, in the file's own words; here a value that exists
is valid.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, get_args

from bridge.core.findings import FindingKind, Weight

PlainKind = Literal["high-high", "high", "low", "low-low"]
AlarmKind = Literal[PlainKind, "rate of change", "deviation", "stale", "bad quality", "finding"]
AlarmPriority = Literal["high", "medium", "low"]
Side = Literal["either", "above", "below"]

PLAIN_KINDS: frozenset[AlarmKind] = frozenset(get_args(PlainKind))
HIGH_KINDS: frozenset[AlarmKind] = frozenset(("high-high", "high"))
_SIGNED_KINDS = ("rate of change", "deviation")
_NO_FINDINGS: tuple[FindingKind, ...] = ()
MIN_WINDOW_SECONDS, MAX_WINDOW_SECONDS = 2.0, 3600.0


def _need(holds: bool, rule: str, found: object) -> None:
    if not holds:
        raise ValueError(f"{rule}, found {found!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class AlarmGiven:
    """One alarm of one channel, or of a whole bench (`finding`).

    What `at` and `deadband` mean follows the kind:

    | kind | judged | `at` |
    |---|---|---|
    | high-high, high, low, low-low | the value | the limit, in the channel's unit |
    | rate of change | the slope fitted over the window | in the unit per minute, above 0 |
    | deviation | the value less the class median | in the unit, above 0 |
    | stale | the age of the newest value | seconds, above 0 |
    | bad quality | the quality of each reading | not used |
    | finding | the findings that stand at the bench | not used |

    An alarm rises once its limit was passed all through the on-delay; it returns once the value was back by
    the deadband all through the off-delay. A value that rests exactly on the limit has not passed it.
    """

    kind: AlarmKind
    at: float = 0.0
    deadband: float = 0.0  # of the same unit as `at`
    on_delay_seconds: float = 0.0
    off_delay_seconds: float = 0.0
    priority: AlarmPriority = "medium"
    message: str = ""
    advice: str = ""  # what to do
    latching: bool = False  # stays after its return until somebody resets it
    needs_acknowledgement: bool = True  # False: its return acknowledges it
    name: str = ""  # tells several of one kind apart; "" for the kind itself
    side: Side = "either"  # of rate of change and deviation: above is rising, or more than the median
    window_seconds: float = 30.0  # over which a slope is fitted
    least_benches: int = 3  # with a value, for a class median that means something
    quality: Literal["bad", "uncertain"] = "bad"  # uncertain: readings of either quality count
    findings: tuple[FindingKind, ...] = _NO_FINDINGS  # which ones; none: every one of the weight
    weight: Weight = "fault"  # hint: faults and hints
    phases: tuple[str, ...] = ()  # of the lesson, in which it is watched; none: in all

    def __post_init__(self) -> None:
        _need(math.isfinite(self.at), "at must be a number", self.at)
        numbers = (self.deadband, self.on_delay_seconds, self.off_delay_seconds)
        for name, number in zip(("deadband", "on_delay_seconds", "off_delay_seconds"), numbers, strict=True):
            _need(0 <= number < math.inf, f"{name} must be 0 or more", number)
        if self.kind in (*_SIGNED_KINDS, "stale"):
            _need(self.at > 0, f"at of an alarm for {self.kind} must be above 0", self.at)
        if self.kind in _SIGNED_KINDS:
            _need(self.deadband < self.at, "deadband must be less than at", self.deadband)
        in_range = MIN_WINDOW_SECONDS <= self.window_seconds <= MAX_WINDOW_SECONDS
        _need(in_range, "window_seconds must be from 2 to 3600", self.window_seconds)
        _need(self.least_benches >= 3, "least_benches must be 3 or more", self.least_benches)

    @property
    def key(self) -> str:
        """Names the alarm among those of its channel."""
        return self.name or self.kind
