"""The demo session raises the findings and alarms that its script put in, one by one, and no other."""

from __future__ import annotations

from typing import NamedTuple

import pytest

from bridge import KeptSession, read_session
from demo.faults import DEEDS, FAULTS, FaultKind, KnownFault
from demo.make import RECORDING

NEAR_SECONDS = 3.0


class Told(NamedTuple):
    """A finding (its kind) or an alarm (its name) of one bench, from when to when in session seconds."""

    bench: int
    what: str
    from_seconds: float
    to_seconds: float


FINDINGS: dict[tuple[int, FaultKind], list[Told]] = {
    (1, "starts mid-line"): [],  # the cut line became no reading: there is nothing to be told
    (4, "wrong reference"): [
        Told(4, "wrong formula", 4, 903),
        Told(4, "unlike the others", 20, 650),  # while the water is much warmer than the room
    ],
    (2, "integer division"): [Told(2, "too coarse", 94, 273), Told(2, "wrong formula", 273, 333)],
    (8, "resetting"): [Told(8, "board resetting", 242, 286)],
    (6, "sensor lifted out"): [],  # the board is well; the alarm tells it
    (3, "unplugged"): [Told(3, "board not reached", 466, 503)],
    (7, "topped up too warm"): [],
    (5, "pin disconnected"): [Told(5, "floating input", 623, 696)],
    (1, "quiet"): [Told(1, "no bytes", 725, 736)],
    (7, "damaged bytes"): [Told(7, "unreadable lines", 787, 807)],
    (3, "wrong baud"): [Told(3, "wrong baud", 842, 866)],
    (8, "no line end"): [Told(8, "no line end", 939, 966)],
}
ALARMS: dict[tuple[int, FaultKind], Told] = {
    (6, "sensor lifted out"): Told(6, "low", 456, 506),  # after half a minute near the room's temperature
    (7, "topped up too warm"): Told(7, "high", 496, 601),
    (5, "pin disconnected"): Told(5, "high", 623, 696),
}


@pytest.fixture(scope="module")
def session() -> KeptSession:
    return read_session(RECORDING)


def findings(session: KeptSession) -> list[Told]:
    return [
        Told(one.bench, one.finding.kind, one.found_ns / 1e9, (one.gone_ns or 10**18) / 1e9)
        for one in session.findings
    ]


def alarms(session: KeptSession) -> list[Told]:
    changes = [one.change for one in session.alarms]
    rises = [one for one in changes if one.event == "rise"]
    found = []
    for rise in rises:
        name = rise.bench, rise.channel, rise.limit
        (back, *_) = [
            one.at_ns
            for one in changes
            if (one.bench, one.channel, one.limit, one.event) == (*name, "return") and one.at_ns > rise.at_ns
        ]
        found.append(Told(rise.bench, rise.limit, rise.at_ns / 1e9, back / 1e9))
    return found


def near(told: Told) -> object:
    return pytest.approx((told.from_seconds, told.to_seconds), abs=NEAR_SECONDS)


def fault_of(fault: KnownFault) -> tuple[int, FaultKind]:
    return fault.bench, fault.kind


def test_every_fault_of_the_script_stands_in_the_list() -> None:
    assert {fault_of(fault) for fault in FAULTS} == set(FINDINGS)
    assert set(ALARMS) <= set(FINDINGS)


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: f"{fault.bench} {fault.kind}")
def test_a_fault_is_found_by_name_in_its_time(session: KeptSession, fault: KnownFault) -> None:
    for expected in FINDINGS[fault_of(fault)]:
        (one,) = [
            one
            for one in findings(session)
            if one[:2] == expected[:2]
            and one.from_seconds < expected.to_seconds
            and one.to_seconds > expected.from_seconds
        ]
        assert one[2:] == near(expected)
        assert fault.from_seconds <= one.from_seconds < fault.to_seconds
        assert one.to_seconds <= fault.to_seconds + 25  # until what came before it is out of view


@pytest.mark.parametrize(
    "fault", [one for one in FAULTS if fault_of(one) in ALARMS], ids=lambda one: one.kind
)
def test_what_passes_a_limit_raises_its_alarm_in_its_time(session: KeptSession, fault: KnownFault) -> None:
    expected = ALARMS[fault_of(fault)]
    (one,) = [one for one in alarms(session) if one[:2] == expected[:2]]
    assert one[2:] == near(expected)
    assert fault.from_seconds <= one.from_seconds < fault.to_seconds


def test_nothing_else_is_found_and_no_other_alarm_comes(session: KeptSession) -> None:
    listed = sorted(told[:2] for of_fault in FINDINGS.values() for told in of_fault)
    assert sorted(told[:2] for told in findings(session)) == listed
    assert sorted(told[:2] for told in alarms(session)) == sorted(told[:2] for told in ALARMS.values())


def test_what_the_instructor_did_stands_between_a_rise_and_its_return(session: KeptSession) -> None:
    seen = [(one.change.bench, one.change.limit, one.change.at_ns / 1e9) for one in session.alarms
            if one.change.event == "acknowledge"]  # fmt: skip
    deeds = [(deed.bench, deed.words, deed.at_seconds) for deed in DEEDS if deed.kind == "acknowledge"]
    assert [one[:2] for one in seen] == [one[:2] for one in deeds]
    assert [one[2] for one in seen] == pytest.approx([one[2] for one in deeds], abs=1.0)
    assert all(
        entry.change.who == "instructor" for entry in session.alarms if entry.change.event == "acknowledge"
    )
