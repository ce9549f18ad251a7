"""The states of an alarm: a table of states and events, and the machine that follows it.

Source: IEC 62682, alarm state transition diagram. The rules that the diagram leaves open are those of OPC
10000-9 (IEC 62541-9), which can be read freely; its clauses (edition 1.05) stand beside the rows.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal, NamedTuple, get_args

from bridge.core.readings import AlarmEvent, AlarmState

Hold = Literal["shelved", "suppressed", "out of service"]
When = Literal[
    "", "latching", "not latching", "to be acknowledged", "acknowledges itself",
    "condition present", "condition gone", "also suppressed", "also shelved",
]  # fmt: skip

ORDINARY: tuple[AlarmState, ...] = (
    "normal",
    "unacknowledged",
    "acknowledged",
    "returned unacknowledged",
    "latched unacknowledged",
    "latched acknowledged",
)
HELD: tuple[Hold, ...] = get_args(Hold)  # of several that hold at once the last one is shown
_TAKES_HOLD: dict[AlarmEvent, Hold] = {
    "shelve": "shelved", "suppress": "suppressed", "remove": "out of service"
}  # fmt: skip
_ENDS_HOLD: dict[AlarmEvent, Hold] = {
    "unshelve": "shelved", "unsuppress": "suppressed", "restore": "out of service"
}  # fmt: skip


class Row(NamedTuple):
    """In a state, at an event, when the condition holds: the next state."""

    before: AlarmState
    event: AlarmEvent
    when: tuple[When, ...]  # all of them; none: always
    after: AlarmState
    clause: str  # of OPC 10000-9


TABLE: tuple[Row, ...] = (
    # A rise: the limit was passed all through the on-delay. While it stands it is not told again.
    Row("normal", "rise", (), "unacknowledged", "5.8.2 ActiveState, OnDelay"),
    Row("returned unacknowledged", "rise", (), "unacknowledged", "5.8.2 ActiveState"),
    Row("latched unacknowledged", "rise", (), "unacknowledged", "5.8.2 ActiveState"),
    # Systems differ here; told anew is the safer way.
    Row("latched acknowledged", "rise", (), "unacknowledged", "5.8.2 ActiveState"),
    # A return: back past the deadband all through the off-delay.
    Row("unacknowledged", "return", ("latching",), "latched unacknowledged", "5.8.2 LatchedState"),
    Row("unacknowledged", "return", ("to be acknowledged",), "returned unacknowledged", "5.7.2 AckedState"),
    Row("unacknowledged", "return", ("acknowledges itself",), "normal", "5.7.2 AckedState"),
    Row("acknowledged", "return", ("latching",), "latched acknowledged", "5.8.2 LatchedState"),
    Row("acknowledged", "return", ("not latching",), "normal", "5.8.2 ActiveState"),
    # A person has seen it.
    Row("unacknowledged", "acknowledge", (), "acknowledged", "5.7.3 Acknowledge"),
    Row("returned unacknowledged", "acknowledge", (), "normal", "5.7.3 Acknowledge"),
    Row("latched unacknowledged", "acknowledge", (), "latched acknowledged", "5.7.3 Acknowledge"),
    # A reset while active, or before it was acknowledged, is ignored.
    Row("latched acknowledged", "reset", (), "normal", "5.8.5 Reset"),
    # There is a further reason, as another finding: an alarm that was seen calls again.
    Row("acknowledged", "re-alarm", (), "unacknowledged", "5.8.2 ReAlarmTime"),
    # Set aside: by a person for a time; by the lesson's phase; by a person until further notice.
    *(Row(state, "shelve", (), "shelved", "5.8.17 ShelvedStateMachineType") for state in ORDINARY),
    *(Row(state, "suppress", (), "suppressed", "5.8.8 Suppress") for state in (*ORDINARY, "shelved")),
    *(
        Row(state, "remove", (), "out of service", "5.8.12 RemoveFromService")
        for state in (*ORDINARY, "shelved", "suppressed")
    ),
    # Back: as new where the condition is present. Of several holds the last one lets it come back.
    Row("shelved", "unshelve", ("condition gone",), "normal", "5.8.17 ShelvedStateMachineType"),
    Row("shelved", "unshelve", ("condition present",), "unacknowledged", "5.8.17 ShelvedStateMachineType"),
    Row("suppressed", "unsuppress", ("also shelved",), "shelved", "5.8.10 Unsuppress"),
    Row("suppressed", "unsuppress", ("condition gone",), "normal", "5.8.10 Unsuppress"),
    Row("suppressed", "unsuppress", ("condition present",), "unacknowledged", "5.8.10 Unsuppress"),
    Row("out of service", "restore", ("also suppressed",), "suppressed", "5.8.14 PlaceInService"),
    Row("out of service", "restore", ("also shelved",), "shelved", "5.8.14 PlaceInService"),
    Row("out of service", "restore", ("condition gone",), "normal", "5.8.14 PlaceInService"),
    Row("out of service", "restore", ("condition present",), "unacknowledged", "5.8.14 PlaceInService"),
)  # fmt: skip
"""Of several rows for a state and an event the first that applies counts. What is not listed: no change."""

_ROWS: dict[tuple[AlarmState, AlarmEvent], tuple[Row, ...]] = {}
for _row in TABLE:
    _ROWS[_row.before, _row.event] = (*_ROWS.get((_row.before, _row.event), ()), _row)


class AlarmMachine:
    """The state of one alarm. Knows no values and no times: events in, states out.

    Whether the condition is present is followed while the alarm is set aside as well, so that it comes back
    rightly.
    """

    def __init__(self, *, latching: bool = False, needs_acknowledgement: bool = True) -> None:
        self.latching, self.needs_acknowledgement = latching, needs_acknowledgement
        self.state: AlarmState = "normal"
        self.is_active = False
        self.holds: frozenset[Hold] = frozenset()

    @property
    def is_told(self) -> bool:
        """Whether it stands in the list of alarms: neither normal nor set aside."""
        return self.state != "normal" and not self.holds

    def apply(self, event: AlarmEvent) -> AlarmState | None:
        """Take an event; the state before it when it did something, else None.

        While the alarm is set aside, a rise or return does something and leaves the state as it is.
        """
        before, was = self.state, (self.is_active, self.holds)
        if event in ("rise", "return"):
            self.is_active = event == "rise"
        elif hold := _TAKES_HOLD.get(event):
            self.holds |= {hold}
        elif hold := _ENDS_HOLD.get(event):
            self.holds -= {hold}
        self.state = self._after(event)
        if self.state == before and was == (self.is_active, self.holds) and event != "shelve":
            return None  # shelved again: for another time, or another reason
        return before

    def resume_from(self, older: AlarmMachine) -> None:
        """Stand where the other one stands."""
        self.state, self.is_active, self.holds = older.state, older.is_active, older.holds

    def _after(self, event: AlarmEvent) -> AlarmState:
        facts = frozenset(self._facts())
        for row in _ROWS.get((self.state, event), ()):
            if facts.issuperset(row.when):
                return row.after
        return self.state

    def _facts(self) -> Iterator[When]:
        yield "latching" if self.latching else "not latching"
        yield "to be acknowledged" if self.needs_acknowledgement else "acknowledges itself"
        yield "condition present" if self.is_active else "condition gone"
        if "suppressed" in self.holds:
            yield "also suppressed"
        if "shelved" in self.holds:
            yield "also shelved"
