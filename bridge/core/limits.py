"""High and low limits with deadband, on-delay and off-delay, and the states of their alarms.

Source of the states and transitions: IEC 62682, alarm state transition diagram; the table is the part of it
that needs no latch, shelf or suppression. Where the value rests exactly on the limit it has not passed it.
"""

from __future__ import annotations

from bridge.core.as_written import sum_as_written
from bridge.core.lesson import Limit
from bridge.core.readings import AlarmEvent, AlarmState

TRANSITIONS: dict[tuple[AlarmState, AlarmEvent], AlarmState] = {
    ("normal", "rise"): "unacknowledged",
    ("unacknowledged", "acknowledge"): "acknowledged",
    ("unacknowledged", "return"): "returned unacknowledged",
    ("acknowledged", "return"): "normal",
    ("returned unacknowledged", "acknowledge"): "normal",
    ("returned unacknowledged", "rise"): "unacknowledged",
}
"""(state, event) -> next state. What is not listed changes nothing."""

NEVER_NS = 1 << 62


class LimitWatch:
    """Watches one limit of one channel: values in; the condition's rises and returns out, at their times.

    A delay that has run out takes effect at the instant it ran out, whenever it is asked for: so the same
    values give the same alarms, live or in a replay at any speed.
    """

    def __init__(self, limit: Limit) -> None:
        self.limit = limit
        self.state: AlarmState = "normal"
        self.active = False
        self.due_ns = NEVER_NS  # when the delay that is running runs out
        # One rule for both sides: a low limit is a high limit of the negated value.
        self._sign = 1.0 if limit.kind == "high" else -1.0
        self.clear = sum_as_written(limit.at, -self._sign * limit.deadband)  # here an active one returns
        self._on_delay_ns = round(limit.on_delay_seconds * 1e9)
        self._off_delay_ns = round(limit.off_delay_seconds * 1e9)

    def take(self, value: float, at_ns: int) -> None:
        """Take a value; `fire` then tells what is due."""
        if self.active:
            wants, delay_ns = self._sign * value <= self._sign * self.clear, self._off_delay_ns
        else:
            wants, delay_ns = self._sign * value > self._sign * self.limit.at, self._on_delay_ns
        if not wants:
            self.due_ns = NEVER_NS
        elif self.due_ns == NEVER_NS:
            self.due_ns = at_ns + delay_ns

    def fire(self, at_ns: int) -> tuple[int, AlarmEvent] | None:
        """The rise or return whose delay has run out by `at_ns`, with the instant it did."""
        if self.due_ns > at_ns:
            return None
        when, self.due_ns = self.due_ns, NEVER_NS
        self.active = not self.active
        return when, "rise" if self.active else "return"

    def apply(self, event: AlarmEvent) -> AlarmState | None:
        """Take the event; the state before it when the state changed, else None."""
        after = TRANSITIONS.get((self.state, event))
        if after is None:
            return None
        before, self.state = self.state, after
        return before

    def lose(self) -> None:
        """There is no value any more: nobody can say that a delay was stayed through. An alarm stands."""
        self.due_ns = NEVER_NS
