"""Each kind of message that the bridge makes, against its schema."""

from __future__ import annotations

import json
from typing import Any

import pytest
from jsonschema import ValidationError

from bridge import messages
from bridge.alarm_answers import prepared
from bridge.controls import JournalRequest, ProposalsRequest
from bridge.core.alarm_flood import AlarmGroup, FirstOut, FloodChange, Member
from bridge.core.alarm_records import AlarmRecords
from bridge.core.band_times import Flicker
from bridge.core.call_list import AskShown, BenchCall, Call, CallList
from bridge.core.channels import Step
from bridge.core.classroom import Classroom, PhaseStart
from bridge.core.lesson import OPEN_LESSON, Lesson, plain_bench
from bridge.core.pipeline import BenchPipeline
from bridge.hub import Hub
from bridge.messages import BenchCode, BenchCodes, FieldShown, Marker, Replay, Status, WaitingBoard
from bridge.schemas import kinds, validator
from bridge.showing import bands_message, steady_message, text_message, worth_message
from tests.bridge.core.test_alarm_records import HIGH, chattering, lesson_of
from tests.bridge.made_up import SECOND, checked, finding, hub_of, reading, rise
from tests.bridge.test_showing import banded_pipeline, pipeline_of
from tests.dashboard.made_up_bridge import Printed

REPLAY = Replay(
    playing=True,
    speed=0.25,
    position_ms=1,
    length_ms=2,
    loop=True,
    markers=(Marker(SECOND, "lid on", "rule"),),
)

CALLS = CallList(
    calls=(
        Call(
            "alarm/temperature/high", "alarm", "temperature", "Too warm", "Add cold water", "high",
            (
                BenchCall(1, SECOND, "49.0 °C", ("temperature", "high"), True),
                BenchCall(2, 0, attended=True),
            ),
        ),
    ),
    asked=(AskShown(3, SECOND),),
    done=(AskShown(2, SECOND),),
    n_more=1,
)  # fmt: skip
CODES = BenchCodes(
    base="http://192.168.1.20:8050",
    bases=("http://192.168.1.20:8050",),
    reachable=True,
    words="",
    codes=(BenchCode(1, "http://192.168.1.20:8050/bench/1#k=a", ("101" * 7,) * 21),),
)


def all_messages() -> dict[str, dict[str, Any]]:
    """One of each kind, as full as it gets."""
    hub = hub_of()
    hub.cut(0)
    since = hub.version
    hub.take_readings([reading(21.5), reading(None, at_ms=1100), reading(22.5, at_ms=1200)])
    hub.take_changes([rise(), finding()])
    hub.take_first_out(FirstOut(6 * SECOND, (rise(),), ()))
    member = Member(1, "temperature", "high", 2, SECOND, 2 * SECOND)
    hub.set_flood([FloodChange(SECOND, "begins", 2)], [AlarmGroup("bench", "", "", (1,), (member,))])
    hub.set_phases([PhaseStart(0, "", "rule"), PhaseStart(SECOND, "run", "instructor")])
    hub.set_calls(CALLS)
    hub.add_marker(SECOND, "lid on", "instructor")
    hub.set_replay(REPLAY)
    hub.set_boards((WaitingBoard("location:1-2", "COM7", "a board that may have been elsewhere"),))
    hub.set_status(1, Status(link="in use", words="open in another program", remedy="Close it"))
    hub.take_lines(1, [(Printed(1, "Temp: 21.5", SECOND, ""), "read")])
    step = Step(channel="temperature", words="volts", formula="512 × 5 / 1024", number=2.5, unit="V")
    hub.set_steps(1, [FieldShown("Temp", "21.5", 21.5, "°C")], [step])
    hub.set_flickers(1, {"temperature": [Flicker(SECOND, SECOND, 1, 1, 1)]})
    hub.cut(SECOND)
    texts = [
        hub.hello(2 * SECOND, 0)[0],
        *hub.updates(since, 2 * SECOND),
        *(text for _, text in hub.take_events()),
    ]
    texts += [
        one for one in (hub.lines(1, 0)[0], hub.history(1, 0, 0, 2 * SECOND, 10, to=1, plain=True)) if one
    ]
    texts += [messages.encoded(one) for one in _details()]
    texts += _of_alarms_past()
    texts += _after_a_revision(hub)
    texts.append(messages.encoded(messages.codes(1, CODES)))
    texts.append(messages.encoded(messages.reply(None, ok=True, words="done")))
    return {message["kind"]: message for message in map(checked, texts)}


def _of_alarms_past() -> list[bytes]:
    room = Classroom(lesson_of(HIGH))
    records = AlarmRecords(room.lesson)
    chattering(room, records, range(30))
    requests = (JournalRequest(1, 0), ProposalsRequest(2, 1))
    return [prepared(one, records, 30 * SECOND)() for one in requests]


def _details() -> list[messages.Message]:
    """What those who look closely are told."""
    doubtful = BenchPipeline(OPEN_LESSON, 1, cold=False)
    for i in range(30):
        doubtful.feed(b"45,04,55,1\r\n44,88,55,0\r\n", i * SECOND)
    pipeline = pipeline_of()
    return [
        text_message(1, pipeline),
        text_message(1, doubtful),
        steady_message(1, pipeline),
        worth_message(1, pipeline),
        bands_message(1, banded_pipeline()),
    ]


def _after_a_revision(hub: Hub) -> list[bytes]:
    since = hub.version
    hub.remove_bench(2)
    hub.set_bench(plain_bench(1), ())
    hub.cut(2 * SECOND)
    texts = [*hub.updates(since, 2 * SECOND)]
    hub.set_lesson(Lesson(title="Other cups", note="With lids."))
    hub.cut(2 * SECOND)
    return [*texts, *hub.updates(since, 2 * SECOND)]


def test_every_kind_keeps_its_schema() -> None:
    assert set(all_messages()) == set(kinds("from_bridge"))


@pytest.mark.parametrize("kind", kinds("from_bridge"))
def test_no_schema_lets_more_through_than_the_contract_says(kind: str) -> None:
    message = all_messages()[kind]
    with pytest.raises(ValidationError):
        validator("from_bridge", kind).validate(message | {"more": 1})
    for name in message:
        with pytest.raises(ValidationError):
            validator("from_bridge", kind).validate({key: one for key, one in message.items() if key != name})


def test_numbers_that_json_does_not_have_cannot_slip_out() -> None:
    with pytest.raises(ValueError, match="JSON compliant"):
        messages.encoded({"kind": "frame", "now": float("nan")})


def test_every_message_is_ascii() -> None:
    text = messages.encoded({"words": "21.5 °C \ud800"})
    assert json.loads(text.decode("ascii"))["words"] == "21.5 °C \ud800"
