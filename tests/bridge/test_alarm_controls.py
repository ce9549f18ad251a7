"""What a person does with alarms, baselines and phases: done, kept, and the same from the recording."""

from __future__ import annotations

import asyncio
import json
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from bridge import call_controls, messages
from bridge.alarm_answers import prepared
from bridge.alarm_controls import AlarmControl, handle
from bridge.alarms_kept import journal_of_recording
from bridge.band_times_kept import band_times_of_recording
from bridge.controls import (
    Acknowledge,
    AlarmCommand,
    Ask,
    Attend,
    JournalRequest,
    ReplayControl,
    Shelve,
    StartPhase,
    TakeBaseline,
)
from bridge.core.classroom import Classroom
from bridge.core.lesson import OPEN_LESSON
from bridge.core.readings import AlarmChange, BandChange, Change
from bridge.errors import ControlError
from bridge.hub import Hub
from bridge.lesson_file import lesson_from_text
from bridge.messages import encoded
from bridge.processing import Processor
from bridge.recorded import Event, Recorded
from bridge.recording import RecordingWriter
from bridge.replaying import ReplaySession
from bridge.settings import Settings
from bridge.showing import bands_message
from bridge.table import outcomes_of
from tests.bridge.made_up import SECOND, SESSION, checked

LESSON = """\
title = "Cooling"

[[phase]]
name = "baseline"

[[phase]]
name = "run"

[[channel]]
name = "temperature"
unit = "°C"

[channel.bands]
baseline_from = "captured"
steady_seconds = 5.0
edges = [2.0, 5.0]
deadband = 0.5

[[channel.limit]]
kind = "high-high"
at = 50.0
latching = true

[[channel.limit]]
kind = "high"
at = 40.0
deadband = 1.0

[[channel.limit]]
kind = "low"
at = 10.0
phases = ["run"]

[[channel]]
name = "volts"
unit = "V"

[channel.bands]
baseline = 1.0
edges = [0.5]

[[alarm]]
findings = ["no bytes"]

[[layout]]
name = "two"
kind = "columns"
fields = ["temperature", "volts"]

[[bench]]
number = 1
layout = "two"

[[bench]]
number = 2
layout = "two"
"""


class Session:
    """A class at work: what comes is processed and kept as a live session does it."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
        self.changes: list[Change] = []
        take_changes = Hub.take_changes

        def seen(hub: Hub, changes: list[Change]) -> None:
            self.changes += changes
            take_changes(hub, changes)

        monkeypatch.setattr(Hub, "take_changes", seen)
        lesson = lesson_from_text(LESSON)
        self.hub = Hub(SESSION, lesson)
        self.processor = Processor(lesson, self.hub)
        self.path = tmp_path / "kept.benchrow"
        self._writer = RecordingWriter(self.path, lesson_text=LESSON, start_utc_ns=10**18, program="test")
        self.now_ns = 0
        self.listed: dict[int, messages.Message] = {}  # what called for a person at these instants
        for bench in (1, 2):
            detail: dict[str, object] = {"cold": False}
            self._writer.add_event("break", bench, 0, detail)
            self.processor.break_off(bench, 0, cold=False)

    def prints(self, bench: int, *values: float, seconds: float = 1.0) -> None:
        """A line each, so many seconds apart."""
        for value in values:
            self.now_ns += round(seconds * SECOND)
            data = f"{value:.1f},1.2\n".encode()
            self._writer.add_chunk(bench, data, self.now_ns)
            self.processor.take_chunk(bench, data, self.now_ns)
            self.processor.tick(self.now_ns)
            self.listed[self.now_ns] = messages.calls_part(self.processor.calls)

    def does(self, control: AlarmControl) -> str:
        self.processor.tick(self.now_ns)
        return handle(control, self.processor, self.now_ns, self._writer.add_event)

    def calls(self, control: Ask | Attend) -> str:
        self.processor.tick(self.now_ns)
        return call_controls.handle(control, self.processor, self.now_ns, self._writer.add_event)

    def state(self, name: str) -> str:
        alarm = self.hub.alarm(name)
        return alarm.state if alarm else "normal"

    def close(self) -> None:
        self._writer.close()

    def told(self) -> list[tuple[object, ...]]:
        """Alarms and bands in the order of their times."""
        return in_time(self.changes)


def in_time(changes: list[Change]) -> list[tuple[object, ...]]:
    told = [one for one in changes if isinstance(one, AlarmChange | BandChange)]
    return sorted((one.at_ns, one.bench, one.channel, *map(repr, one[3:])) for one in told)


@pytest.fixture
def session(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Session:
    return Session(monkeypatch, tmp_path)


LEFT_AT_THE_END = [
    (bench, channel, None) for bench in (1, 2) for channel in ("temperature", "volts")
]  # no board, no band
HIGH, HIGH_HIGH, LOW = "1/temperature/high", "1/temperature/high-high", "1/temperature/low"


def test_a_flood_is_told_anew_while_printed_values_make_it_grow(session: Session) -> None:
    session.prints(1, *[20.0, 45.0] * 11)
    session.prints(2, 45.0)  # and no more comes of either: the hub knows all by then
    session.processor.tick(session.now_ns + SECOND)
    flood = json.loads(session.hub.hello(session.now_ns, 0)[0])["flood"]
    assert flood["n_calls"] == 2
    assert [group["benches"] for group in flood["groups"]] == [[1], [2]]


def test_an_alarm_is_acknowledged_shelved_and_comes_back_by_itself(session: Session) -> None:
    session.prints(1, 20.0, 45.0)
    assert session.does(Acknowledge(None, HIGH)) == "acknowledged: temperature high"
    assert session.state(HIGH) == "acknowledged"
    assert (
        session.does(Shelve(None, HIGH, 0.5, "being stirred")) == "shelved for 0.5 minutes: temperature high"
    )
    alarm = session.hub.alarm(HIGH)
    assert alarm is not None
    assert (alarm.state, alarm.reason, alarm.until_ns) == ("shelved", "being stirred", 32 * SECOND)
    session.prints(1, *[45.0] * 29)
    assert session.state(HIGH) == "shelved"
    session.prints(1, 45.0)
    assert session.state(HIGH) == "unacknowledged"


def test_an_alarm_is_taken_off_the_shelf(session: Session) -> None:
    session.prints(1, 45.0)
    session.does(Shelve(None, HIGH, 5.0, "being stirred"))
    assert session.does(AlarmCommand(None, "unshelve", HIGH)) == "off the shelf: temperature high"
    assert session.state(HIGH) == "unacknowledged"


def test_an_alarm_that_is_normal_can_be_shelved_beforehand(session: Session) -> None:
    session.prints(1, 20.0)
    session.does(Shelve(None, HIGH, 5.0, "we warm it now"))
    session.prints(1, 45.0)
    assert session.state(HIGH) == "shelved"


def test_an_alarm_out_of_service_tells_nothing_until_it_is_back(session: Session) -> None:
    session.prints(1, 20.0)
    session.does(AlarmCommand(None, "remove", HIGH))
    session.prints(1, 45.0)
    assert session.state(HIGH) == "out of service"
    session.does(AlarmCommand(None, "restore", HIGH))
    assert session.state(HIGH) == "unacknowledged"


def test_a_latched_alarm_is_reset_once_it_was_acknowledged(session: Session) -> None:
    session.prints(1, 55.0, 20.0)
    assert session.state(HIGH_HIGH) == "latched unacknowledged"
    with pytest.raises(ControlError, match="can't be reset now"):
        session.does(AlarmCommand(None, "reset", HIGH_HIGH))
    session.does(Acknowledge(None, HIGH_HIGH))
    session.does(AlarmCommand(None, "reset", HIGH_HIGH))
    assert session.state(HIGH_HIGH) == "normal"


def test_a_phase_is_started_and_its_limits_count(session: Session) -> None:
    session.prints(1, 5.0)
    assert session.state(LOW) == "suppressed"
    assert session.does(StartPhase(None, "run")) == "phase: run"
    assert session.state(LOW) == "unacknowledged"
    assert session.does(StartPhase(None, "run")) == "the phase run goes on"
    assert session.does(StartPhase(None, "")) == "the phase is over"
    assert session.state(LOW) == "suppressed"


def test_the_baseline_of_every_steady_bench_is_taken(session: Session) -> None:
    for second in range(100):
        session.prints(1, 20.0 + 0.1 * (second % 2), seconds=0.05)
        session.prints(2, 20.0 + second, seconds=0.05)
    words = session.does(TakeBaseline(None, (1, 2), "temperature"))
    assert words.startswith("baseline taken: 20.0")
    assert words.endswith("not steady: Bench 2")
    (channel, _) = session.processor.seat(1).pipeline.channels
    assert channel.baseline is not None
    assert channel.edges[0] == pytest.approx(channel.baseline + 2.0)
    session.prints(1, 23.0)
    (band,) = (one for one in session.changes if isinstance(one, BandChange) and one.band == 1)
    assert band.bench == 1


@pytest.mark.parametrize(
    ("control", "wrong"),
    [
        (Acknowledge(None, "1/temperature/hot"), "there is no alarm"),
        (Acknowledge(None, HIGH), "does not wait to be acknowledged"),
        (AlarmCommand(None, "unshelve", HIGH), "is on no shelf"),
        (AlarmCommand(None, "restore", HIGH), "is not out of service"),
        (Shelve(None, HIGH, 300.0, "lunch"), "for 4 hours at most"),
        (StartPhase(None, "rum"), "no phase 'rum'"),
        (TakeBaseline(None, (1,), "humidity"), "no bands for 'humidity'"),
        (TakeBaseline(None, (1,), "volts"), "as a number"),
        (TakeBaseline(None, (1,), "temperature"), "no steady value"),
    ],
)
def test_what_can_not_be_done_is_refused_and_not_kept(
    session: Session, control: AlarmControl, wrong: str
) -> None:
    session.prints(1, 20.0)
    with pytest.raises(ControlError, match=wrong):
        session.does(control)
    session.close()
    with Recorded(session.path) as recorded:
        kinds = {item.kind for item in recorded.items() if isinstance(item, Event)}
    assert kinds == {"break"}


def whole(session: Session) -> None:
    """A lesson with everything in it that a person may do."""
    session.prints(2, 20.0, 20.0)
    session.does(StartPhase(None, "baseline"))
    for tenth in range(80):
        session.prints(1 + tenth % 2, 20.0 + 0.1 * (tenth // 2 % 2), seconds=0.1)
    session.does(TakeBaseline(None, (1, 2), "temperature"))
    session.does(StartPhase(None, "run"))
    session.prints(1, 45.0, 55.0)
    session.prints(2, 5.0, 5.0)
    session.does(Acknowledge(None, HIGH))
    session.does(Shelve(None, LOW.replace("1/", "2/"), 0.2, "ice is in it"))
    session.calls(Ask(None, 2, "help", ""))
    session.prints(1, 20.0, 45.0, seconds=7.0)
    session.calls(Attend(None, "alarm/temperature/high-high", None))
    session.calls(Attend(None, "ask/2", 2))
    session.calls(Ask(None, 1, "help", ""))
    session.calls(Ask(None, 2, "done", ""))
    session.does(Acknowledge(None, HIGH_HIGH))
    session.does(AlarmCommand(None, "reset", HIGH_HIGH))
    session.does(AlarmCommand(None, "remove", HIGH))
    session.prints(1, 20.0, 45.0)
    session.does(AlarmCommand(None, "restore", HIGH))
    session.does(StartPhase(None, ""))
    session.prints(1, 24.0, 26.0)


def test_a_recording_tells_all_that_was_told_live(session: Session) -> None:
    whole(session)
    session.close()
    lived = session.told()
    events = {one.event for one in session.changes if isinstance(one, AlarmChange)}
    assert events >= {"rise", "return", "acknowledge", "reset", "shelve", "unshelve", "suppress", "remove"}
    with Recorded(session.path) as recorded:
        room = Classroom(OPEN_LESSON)
        outcomes = list(outcomes_of(recorded.items(), lesson=None, end_ns=session.now_ns, room=room))
    found = [change for _, outcome in outcomes for change in outcome.changes]
    assert in_time(found[: -len(LEFT_AT_THE_END)]) == lived
    assert room.calls == session.processor.calls
    assert len(room.calls.calls) > 2
    left = [one for one in found[-len(LEFT_AT_THE_END) :] if isinstance(one, BandChange)]
    assert [(one.bench, one.channel, one.band) for one in left] == LEFT_AT_THE_END


def test_a_replay_tells_all_that_was_told_live(
    session: Session, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole(session)
    session.close()
    lived, calls = session.told(), hello_of(session.hub)["calls"]
    alarms = {one["id"]: one for one in hello_of(session.hub)["alarms"]}
    assert {one["kind"] for one in calls["list"]} == {"ask", "alarm", "finding"}
    assert [one["bench"] for one in calls["done"]] == [2]
    session.changes.clear()

    async def replayed() -> dict[str, Any]:
        given = Settings(
            mode="replay", passcode="1", data_dir=tmp_path, recording=session.path, playing=False
        )
        one = ReplaySession(given)
        await one.start()
        session.changes.clear()  # it computes all anew for each place
        await one.handle(ReplayControl(None, "seek", session.now_ns / 1e6))
        found = hello_of(one.hub)
        await one.close()
        return found

    with ThreadPoolExecutor(1) as pool:
        hello = pool.submit(asyncio.run, replayed()).result()
    assert session.told() == lived
    assert {one["id"]: one for one in hello["alarms"]} == alarms
    assert [one["phase"] for one in hello["phases"]] == ["", "baseline", "run", ""]
    assert hello["calls"] == calls


def test_the_journal_and_the_times_in_bands_are_the_same_live_replayed_and_kept(
    session: Session, tmp_path: Path
) -> None:
    whole(session)
    session.processor.tick(session.now_ns)
    session.close()
    live = past_of(session.hub, session.processor)

    async def replayed() -> tuple[list[Any], list[Any]]:
        given = Settings(
            mode="replay", passcode="1", data_dir=tmp_path, recording=session.path, playing=False
        )
        one = ReplaySession(given)
        await one.start()
        for at_ns in (session.now_ns, session.now_ns // 3, session.now_ns):  # forth and back again
            await one.handle(ReplayControl(None, "seek", at_ns / 1e6))
        found = past_of(one.hub, one._processor)
        await one.close()
        return found

    with ThreadPoolExecutor(1) as pool:
        assert pool.submit(asyncio.run, replayed()).result() == live
    journal = live[0]
    kept = [
        (one.change.at_ns // 1_000_000, one.change.bench, one.change.event)
        for one in journal_of_recording(session.path)
    ]
    assert sorted((row[0], row[1], row[3]) for row in journal) == sorted(kept)
    assert len(kept) > 15
    told = {(bench, part["channel"]): part for bench, part in live[1]}
    for bench, times in band_times_of_recording(session.path):
        part = told[bench, times.channel]
        assert [band["seconds"] for band in part["bands"]] == [round(one.seconds, 3) for one in times.totals]
        assert (part["changes"], part["avoided"]) == (times.n_changes, times.n_avoided)
    assert sum(band["seconds"] for band in told[1, "temperature"]["bands"]) > 10


def past_of(hub: Hub, processor: Processor) -> tuple[list[Any], list[Any]]:
    """The whole journal as it is told, and each bench's times in bands."""
    assert hub.alarm_records is not None
    journal = checked(prepared(JournalRequest(1, 0), hub.alarm_records, 0)())
    rows = [[*row[:2], journal["alarms"][row[2]], *row[3:]] for row in journal["entries"]]
    bands = [
        (bench, part)
        for bench in (1, 2)
        for part in checked(encoded(bands_message(bench, processor.seat(bench).pipeline)))["channels"]
    ]
    return sorted(rows, key=repr), bands


def test_a_seek_brings_what_called_for_a_person_at_that_instant(session: Session, tmp_path: Path) -> None:
    whole(session)
    session.close()
    instants = [*list(session.listed)[:-9:9], *list(session.listed)[-9:]]
    assert len({repr(session.listed[at_ns]) for at_ns in instants}) > 3

    async def found_at() -> dict[int, Any]:
        given = Settings(
            mode="replay", passcode="1", data_dir=tmp_path, recording=session.path, playing=False
        )
        one = ReplaySession(given)
        await one.start()
        found: dict[int, Any] = {}
        for at_ns in reversed(instants):
            await one.handle(ReplayControl(None, "seek", at_ns / 1e6))
            found[at_ns] = hello_of(one.hub)["calls"]
        await one.close()
        return found

    with ThreadPoolExecutor(1) as pool:
        found = pool.submit(asyncio.run, found_at()).result()
    assert found == {at_ns: session.listed[at_ns] for at_ns in instants}


def hello_of(hub: Hub) -> dict[str, Any]:

    hub.cut(0)
    return checked(hub.hello(0, 1 << 60)[0])
