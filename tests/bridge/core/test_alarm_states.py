from __future__ import annotations

import csv
from pathlib import Path
from typing import Any, get_args

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from bridge.core.alarm_states import HELD, ORDINARY, TABLE, AlarmMachine
from bridge.core.readings import AlarmEvent, AlarmState

REFERENCE = Path(__file__).parents[2] / "reference"

STATES: dict[str, AlarmState] = {
    "normal": "normal",
    "unack_active": "unacknowledged",
    "ack_active": "acknowledged",
    "rtn_unack": "returned unacknowledged",
    "latched_unack": "latched unacknowledged",
    "latched_ack": "latched acknowledged",
    "shelved": "shelved",
    "suppressed_by_design": "suppressed",
    "out_of_service": "out of service",
}
EVENTS: dict[str, AlarmEvent] = {
    "condition_true": "rise",
    "condition_clear": "return",
    "acknowledge": "acknowledge",
    "reset": "reset",
    "re_alarm": "re-alarm",
    "shelve": "shelve",
    "unshelve_or_timeout": "unshelve",
    "suppress_by_design": "suppress",
    "unsuppress": "unsuppress",
    "remove_from_service": "remove",
    "return_to_service": "restore",
}
HOLDS: dict[AlarmEvent, AlarmState] = {
    "shelve": "shelved", "suppress": "suppressed", "remove": "out of service"
}  # fmt: skip
ENDS: dict[AlarmEvent, AlarmState] = {
    "unshelve": "shelved", "unsuppress": "suppressed", "restore": "out of service"
}  # fmt: skip


def rows_of(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open() as file:
        return list(csv.DictReader(file))


def transitions() -> list[dict[str, str]]:
    return rows_of("alarm_transitions.csv")


def applies(row: dict[str, str], *, latching: bool, needs_acknowledgement: bool, is_active: bool) -> bool:
    """Whether the row's condition holds."""
    facts = {
        "": True,
        "latching": latching,
        "not latching": not latching,
        "not latching and acknowledgement required": not latching and needs_acknowledgement,
        "not latching and acknowledgement not required": not latching and not needs_acknowledgement,
        "condition true": is_active,
        "condition false": not is_active,
    }
    return facts[row["condition"]]


def machine_in(state: AlarmState, *, is_active: bool, latching: bool, needed: bool) -> AlarmMachine:
    """A machine brought into the state by events alone."""
    machine = AlarmMachine(latching=latching, needs_acknowledgement=needed)
    ways: dict[AlarmState, tuple[AlarmEvent, ...]] = {
        "normal": (),
        "unacknowledged": ("rise",),
        "acknowledged": ("rise", "acknowledge"),
        "returned unacknowledged": ("rise", "return"),
        "latched unacknowledged": ("rise", "return"),
        "latched acknowledged": ("rise", "acknowledge", "return"),
        "shelved": ("rise", "shelve") if is_active else ("shelve",),
        "suppressed": ("rise", "suppress") if is_active else ("suppress",),
        "out of service": ("rise", "remove") if is_active else ("remove",),
    }
    for event in ways[state]:
        machine.apply(event)
    assert machine.state == state
    return machine


@pytest.mark.parametrize("row", transitions(), ids=lambda row: f"{row['state']}-{row['event']}")
def test_the_machine_agrees_with_each_row_of_the_reference(row: dict[str, str]) -> None:
    if row["event"] == "silence":  # stops the sound only: no event of an alarm's state
        assert row["next_state"] == row["state"]
        return
    latching = row["state"].startswith("latched") or row["condition"] == "latching"
    needed = row["condition"] != "not latching and acknowledgement not required"
    is_active = row["condition"] != "condition false"
    machine = machine_in(STATES[row["state"]], is_active=is_active, latching=latching, needed=needed)
    machine.apply(EVENTS[row["event"]])
    assert machine.state == STATES[row["next_state"]]


def test_each_row_of_the_table_stands_in_the_reference() -> None:
    known = {(STATES[r["state"]], EVENTS[r["event"]], STATES[r["next_state"]])
             for r in transitions() if r["event"] in EVENTS}  # fmt: skip
    own = {(r.before, r.event, r.after) for r in TABLE}
    # Two holds at once: the reference's notes say how, its table does not list them.
    beside = {one for one in own - known if one[0] in HELD and one[2] in HELD}
    assert own - known == beside
    assert len(beside) == 6


def test_the_states_are_those_of_the_standard() -> None:
    assert {STATES[row["state"]] for row in rows_of("alarm_states.csv")} == set(get_args(AlarmState))
    assert {*ORDINARY, *HELD} == set(get_args(AlarmState))


def test_an_alarm_is_told_in_the_states_that_the_reference_names() -> None:
    for row in rows_of("alarm_states.csv"):
        state = STATES[row["state"]]
        machine = machine_in(state, is_active=True, latching=state.startswith("latched"), needed=True)
        assert machine.is_told == (row["annunciated"] == "yes")


def sequences() -> dict[str, list[dict[str, str]]]:
    found: dict[str, list[dict[str, str]]] = {}
    for row in rows_of("alarm_sequences.csv"):
        found.setdefault(row["sequence"], []).append(row)
    return found


@pytest.mark.parametrize("name", sequences())
def test_scripted_events_lead_where_the_reference_says(name: str) -> None:
    start, *steps = sequences()[name]
    machine = AlarmMachine(latching=start["latching"] == "latching")
    assert machine.state == STATES[start["state_after"]]
    for step in steps:
        before = machine.state
        did = machine.apply(EVENTS[step["event"]])
        assert machine.state == STATES[step["state_after"]], step
        assert did == before or (did is None and machine.state == before)


@pytest.mark.parametrize("first", HOLDS)
@pytest.mark.parametrize("second", HOLDS)
@pytest.mark.parametrize("is_active", [False, True])
def test_an_alarm_comes_back_only_after_the_last_of_two_holds(
    first: AlarmEvent, second: AlarmEvent, is_active: bool
) -> None:
    ends = dict(zip(HOLDS, ENDS, strict=True))
    machine = AlarmMachine()
    machine.apply(first)
    machine.apply(second)
    if is_active:
        assert machine.apply("rise") is not None, "a rise is told of although it is set aside"
    if first != second:
        machine.apply(ends[first])
        assert machine.state == HOLDS[second]
    machine.apply(ends[second])
    assert machine.state == ("unacknowledged" if is_active else "normal")


class Follows(RuleBasedStateMachine):
    """Any events in any order, beside a model that only reads the reference's rows."""

    @initialize(latching=st.booleans(), needed=st.booleans())
    def begin(self, latching: bool, needed: bool) -> None:
        self.machine = AlarmMachine(latching=latching, needs_acknowledgement=needed)
        self.given = {"latching": latching, "needs_acknowledgement": needed}
        self.state, self.is_active = "normal", False
        self.holds: set[AlarmState] = set()
        self.rows = [row for row in transitions() if row["event"] in EVENTS]

    @rule(event=st.sampled_from(sorted(EVENTS)))
    def happens(self, event: str) -> None:
        before = (self.state, self.is_active, frozenset(self.holds))
        ours = EVENTS[event]
        if ours == "rise" or ours == "return":
            self.is_active = ours == "rise"
        if ours in HOLDS:
            self.holds.add(HOLDS[ours])
        elif ours in ENDS:
            self.holds.discard(ENDS[ours])
        is_between = ours in {**HOLDS, **ENDS} and self.holds and before[2]
        if is_between:  # as the reference's notes say: the alarm comes back after the last one ends
            names: dict[AlarmState, str] = {ours: name for name, ours in STATES.items()}
            self.state = names[max(self.holds, key=HELD.index)]
        else:
            found = [
                row["next_state"]
                for row in self.rows
                if row["state"] == self.state
                and row["event"] == event
                and applies(row, **self.given, is_active=self.is_active)
            ]
            assert len(found) <= 1
            self.state = found[0] if found else self.state
        did = self.machine.apply(ours)
        after = (self.state, self.is_active, frozenset(self.holds))
        assert (did is not None) == (after != before or ours == "shelve")
        assert did in (None, STATES[before[0]])

    @invariant()
    def stands_where_the_reference_says(self) -> None:
        if not hasattr(self, "machine"):
            return
        assert self.machine.state == STATES[self.state]
        assert self.machine.is_active == self.is_active
        if not self.holds:
            has_condition = self.machine.state in ("unacknowledged", "acknowledged")
            assert self.machine.is_active == has_condition, "no rise is lost, no return either"


TestFollows: Any = Follows.TestCase
TestFollows.settings = settings(max_examples=150, stateful_step_count=30, deadline=None)
