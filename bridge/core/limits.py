"""One alarm at work: its condition with deadband, on-delay and off-delay, its state, its shelf.

`AlarmWatch` is what every kind shares; `LimitWatch` judges the value itself. The other kinds stand in
`alarm_kinds` and `rates`. Where the value rests exactly on the limit it has not passed it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal, NamedTuple

from bridge.core.alarm_given import HIGH_KINDS, AlarmGiven
from bridge.core.alarm_states import AlarmMachine
from bridge.core.as_written import sum_as_written
from bridge.core.readings import AlarmEvent, AlarmState

NEVER_NS = 1 << 62
MAX_SHELF_NS = 4 * 3600 * 1_000_000_000  # longer than any session: what is not wanted is taken out of service

EVERYTHING = (-math.inf, math.inf)
NOTHING = (math.nan, math.nan)

Command = Literal["acknowledge", "reset", "shelve", "unshelve", "remove", "restore"]
"""What a person may do with an alarm."""


class Happened(NamedTuple):
    """One transition, or a rise or return while the alarm is set aside."""

    at_ns: int
    event: AlarmEvent
    before: AlarmState
    who: str
    reason: str = ""
    until_ns: int = 0


class Shelf(NamedTuple):
    """Since when, until when and why an alarm is set aside by a person."""

    since_ns: int
    until_ns: int
    reason: str
    who: str


class AlarmWatch:
    """Watches one alarm: what is judged comes in; the rises and returns come out, at their times.

    A delay that has run out takes effect at the instant it ran out, whenever it is asked for: so the same
    values give the same alarms, live or in a replay at any speed.
    """

    hears_all = False  # whether it must be given every value, also one within its quiet span

    def __init__(self, given: AlarmGiven) -> None:
        self.given = given
        self.machine = AlarmMachine(
            latching=given.latching, needs_acknowledgement=given.needs_acknowledgement
        )
        self.shelf: Shelf | None = None
        self.shelf_ns = NEVER_NS  # when the shelf ends
        self.measured: float | None = None  # what was judged last, where that is not the value
        self.delay_ns = NEVER_NS  # when the delay that is running runs out
        self.turn_ns = NEVER_NS  # when it judges anew by itself
        self.is_by_class = False  # judged by what spans benches: its time goes on once all have come so far
        self._on_delay_ns = round(given.on_delay_seconds * 1e9)
        self._off_delay_ns = round(given.off_delay_seconds * 1e9)

    @property
    def state(self) -> AlarmState:
        """Where the alarm stands."""
        return self.machine.state

    @property
    def active(self) -> bool:
        """Whether its condition is present, delays counted in, told or set aside."""
        return self.machine.is_active

    @property
    def due_ns(self) -> int:
        """When something happens by itself: a delay runs out, a shelf ends, it judges anew."""
        return min(self.delay_ns, self.turn_ns, self.shelf_ns)

    @property
    def quiet_span(self) -> tuple[float, float]:
        """`low <= value < high` says that a value changes nothing."""
        return EVERYTHING

    def shown_value(self, _newest: float | None) -> float | None:
        """What was judged, for the journal, where the channel's newest value is that."""
        return self.measured

    def take(self, value: float, at_ns: int) -> None:
        """Take a good value; `fire` then tells what is due."""

    def is_quiet(self, _times_ns: Sequence[int], _values: Sequence[float]) -> bool:
        """Whether taking all these good values would change nothing. For those that hear all."""
        return True

    def take_many(self, times_ns: Sequence[int], values: Sequence[float]) -> None:
        """Take values that `is_quiet` found to change nothing, as if one by one."""
        self.take(values[-1], times_ns[-1])

    def miss(self, at_ns: int, quality: str) -> None:
        """A line came without a value, or with one that is not to be trusted."""

    def lose(self) -> None:
        """There is no value any more. A raised alarm stands."""
        self.delay_ns = NEVER_NS

    def judge(self, at_ns: int, *, is_past: bool, is_back: bool) -> None:
        """Take how the condition stands: past the limit, back by the deadband, or neither."""
        wants, delay_ns = (is_back, self._off_delay_ns) if self.active else (is_past, self._on_delay_ns)
        if not wants:
            self.delay_ns = NEVER_NS
        elif self.delay_ns == NEVER_NS:
            self.delay_ns = at_ns + delay_ns

    def fire(self, due_ns: int) -> Happened | None:
        """Let happen what is due at that instant, one thing a call: first the delay, last the shelf's end."""
        if self.delay_ns == due_ns:
            self.delay_ns = NEVER_NS
            return self.apply("return" if self.active else "rise", due_ns, "rule")
        if self.turn_ns == due_ns:
            self.turn_ns = NEVER_NS
            self.turn(due_ns)
            return None
        return self.apply("unshelve", due_ns, "rule")

    def turn(self, at_ns: int) -> None:
        """Judge anew at an instant that it set itself."""

    def apply(
        self, event: AlarmEvent, at_ns: int, who: str, *, reason: str = "", until_ns: int = 0
    ) -> Happened | None:
        """Take the event; what happened, None when it did nothing.

        Raises:
            ValueError: A shelf without an end within four hours, or without a reason.
        """
        if event == "shelve":
            if not at_ns < until_ns <= at_ns + MAX_SHELF_NS:
                raise ValueError(f"a shelf ends within 4 hours after it begins, found {until_ns - at_ns} ns")
            if not reason:
                raise ValueError("a shelf has a reason, found ''")
        before = self.machine.apply(event)
        if event == "shelve":
            self.shelf, self.shelf_ns = Shelf(at_ns, until_ns, reason, who), until_ns
        elif event == "unshelve":
            self.shelf, self.shelf_ns = None, NEVER_NS
        return None if before is None else Happened(at_ns, event, before, who, reason, until_ns)

    def resume_from(self, older: AlarmWatch) -> None:
        """Carry over where the alarm stands; its delay too when nothing about the alarm was changed."""
        self.machine.resume_from(older.machine)
        self.shelf, self.shelf_ns = older.shelf, older.shelf_ns
        if self.given == older.given:
            self.delay_ns, self.turn_ns, self.measured = older.delay_ns, older.turn_ns, older.measured


class LimitWatch(AlarmWatch):
    """Watches a limit of the value itself: high-high, high, low or low-low.

    A value that is missing or not to be trusted ends a running delay: nobody can say that it was stayed
    through.
    """

    def __init__(self, given: AlarmGiven) -> None:
        super().__init__(given)
        # One rule for both sides: a low limit is a high limit of the negated value.
        self._sign = 1.0 if given.kind in HIGH_KINDS else -1.0
        self.clear = sum_as_written(given.at, -self._sign * given.deadband)  # here an active one returns
        beyond = math.nextafter(self.clear, math.inf), math.nextafter(given.at, math.inf)
        self._spans = (  # while the condition is gone, while it is present
            ((-math.inf, given.at), (beyond[0], math.inf))
            if self._sign > 0
            else ((beyond[1], math.inf), (-math.inf, self.clear))
        )

    @property
    def quiet_span(self) -> tuple[float, float]:
        """`low <= value < high` says that a value changes nothing."""
        if self.delay_ns != NEVER_NS:
            return NOTHING  # a delay is under way: each value must be looked at
        return self._spans[self.active]

    def shown_value(self, newest: float | None) -> float | None:
        """The channel's value."""
        return newest

    def take(self, value: float, at_ns: int) -> None:
        """Take a good value; `fire` then tells what is due."""
        self.judge(
            at_ns,
            is_past=self._sign * value > self._sign * self.given.at,
            is_back=self._sign * value <= self._sign * self.clear,
        )

    def miss(self, _at_ns: int, _quality: str) -> None:
        """Nobody can vouch for the stretch before: a delay under way ends."""
        self.delay_ns = NEVER_NS
