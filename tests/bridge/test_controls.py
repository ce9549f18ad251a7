from __future__ import annotations

import contextlib
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from bridge.controls import (
    Acknowledge,
    AlarmCommand,
    Ask,
    Attend,
    Capture,
    ChooseLayout,
    CodesRequest,
    Fit,
    Follow,
    HistoryRequest,
    JournalRequest,
    Mark,
    Point,
    ProposalsRequest,
    Record,
    Relearn,
    Release,
    ReplayControl,
    Request,
    RequestError,
    Revise,
    Seat,
    Shelve,
    StartPhase,
    Survey,
    TakeBack,
    TakeBaseline,
    TryBaud,
    Uncalibrate,
    Unlock,
    request_from_text,
)
from bridge.schemas import Side, kinds, validator

GOOD: list[tuple[str, Request]] = [
    ('{"kind":"unlock","passcode":"tea","id":1}', Unlock(1, "tea")),
    ('{"kind":"follow","bench":3}', Follow(None, 3)),
    ('{"kind":"follow","bench":null}', Follow(None, None)),
    (
        '{"kind":"history","bench":3,"channel":0,"from_ms":0,"to_ms":9000,"rows":100,"id":7}',
        HistoryRequest(7, 3, 0, 0, 9000, 100),
    ),
    (
        '{"kind":"history","bench":3,"channel":0,"from_ms":0,"to_ms":9000,"rows":100,"plain":true}',
        HistoryRequest(None, 3, 0, 0, 9000, 100, plain=True),
    ),
    ('{"kind":"journal","after":40,"id":1}', JournalRequest(1, 40)),
    ('{"kind":"proposals","bench":3,"id":2}', ProposalsRequest(2, 3)),
    ('{"kind":"acknowledge","alarm":"3/temperature/high"}', Acknowledge(None, "3/temperature/high")),
    (
        '{"kind":"shelve","alarm":"3/t/high","minutes":5,"reason":" being stirred "}',
        Shelve(None, "3/t/high", 5.0, "being stirred"),
    ),
    ('{"kind":"unshelve","alarm":"3/t/high"}', AlarmCommand(None, "unshelve", "3/t/high")),
    ('{"kind":"reset","alarm":"3/t/high"}', AlarmCommand(None, "reset", "3/t/high")),
    ('{"kind":"remove","alarm":"3//finding"}', AlarmCommand(None, "remove", "3//finding")),
    ('{"kind":"restore","alarm":"3/t/high","id":2}', AlarmCommand(2, "restore", "3/t/high")),
    ('{"kind":"baseline","benches":[1,2],"channel":"t"}', TakeBaseline(None, (1, 2), "t")),
    ('{"kind":"phase","phase":"run"}', StartPhase(None, "run")),
    ('{"kind":"phase","phase":""}', StartPhase(None, "")),
    ('{"kind":"ask","bench":3,"want":"help","key":"k","id":1}', Ask(1, 3, "help", "k")),
    ('{"kind":"attend","call":"ask/3","bench":3}', Attend(None, "ask/3", 3)),
    (
        '{"kind":"attend","call":"finding/wrong formula","bench":null}',
        Attend(None, "finding/wrong formula", None),
    ),
    ('{"kind":"codes","base":null,"id":5}', CodesRequest(5, None)),
    ('{"kind":"codes","base":"http://192.168.1.20:8050"}', CodesRequest(None, "http://192.168.1.20:8050")),
    ('{"kind":"mark","words":" lid on "}', Mark(None, "lid on")),
    ('{"kind":"record","on":true}', Record(None, True)),
    ('{"kind":"release","bench":3}', Release(None, 3)),
    ('{"kind":"take_back","bench":3}', TakeBack(None, 3)),
    ('{"kind":"seat","board":"location:1-2","bench":3}', Seat(None, "location:1-2", 3)),
    ('{"kind":"replay","action":"play"}', ReplayControl(None, "play", None)),
    ('{"kind":"replay","action":"speed","value":4}', ReplayControl(None, "speed", 4)),
    ('{"kind":"replay","action":"seek","value":1500.5}', ReplayControl(None, "seek", 1500.5)),
    ('{"kind":"replay","action":"loop","value":true}', ReplayControl(None, "loop", True)),
    (
        '{"kind":"revise","changes":[[["bench",3,"channel","temperature","offset"],-0.4]]}',
        Revise(None, ((("bench", 3, "channel", "temperature", "offset"), -0.4),)),
    ),
    (
        '{"kind":"revise","changes":[[["channel","t","bands","edges"],[2.0,5.0]],[["note"],null]]}',
        Revise(None, ((("channel", "t", "bands", "edges"), (2.0, 5.0)), (("note",), None))),
    ),
    ('{"kind":"survey","on":true}', Survey(None, True)),
    (
        '{"kind":"choose_layout","bench":3,"alternative":1,"words":"two numbers","id":4}',
        ChooseLayout(4, 3, 1, "two numbers"),
    ),
    ('{"kind":"relearn","bench":3}', Relearn(None, 3)),
    ('{"kind":"try_baud","bench":3,"baud":19200}', TryBaud(None, 3, 19200)),
    (
        '{"kind":"capture","benches":[1,2],"channel":"temperature","reference":null}',
        Capture(None, (1, 2), "temperature", None, None, ""),
    ),
    (
        '{"kind":"capture","benches":[3],"channel":"t","reference":20,"u_reference":0.1,"words":" glass "}',
        Capture(None, (3,), "t", 20.0, 0.1, "glass"),
    ),
    (
        '{"kind":"point","bench":3,"channel":"t","reference":20.5,"indication":21,"u_indication":0.2}',
        Point(None, 3, "t", 20.5, 21.0, None, 0.2, ""),
    ),
    ('{"kind":"fit","benches":[3],"channel":"t","fit":"line"}', Fit(None, (3,), "t", "line")),
    ('{"kind":"uncalibrate","bench":3,"channel":"t"}', Uncalibrate(None, 3, "t")),
]


@pytest.mark.parametrize(("text", "request_"), GOOD)
def test_a_good_message_becomes_its_value(text: str, request_: Request) -> None:
    assert request_from_text(text) == request_


def test_every_kind_that_has_a_schema_has_a_reader_and_a_test() -> None:
    assert {json.loads(text)["kind"] for text, _ in GOOD} == set(kinds("from_client"))


@pytest.mark.parametrize(
    "text",
    [
        "", "{", "[]", "null", '"mark"', "12", "NaN", '{"kind":"mark","words":NaN}', "[" * 60_000,
        '{"kind":"mark"}', '{"kind":"mark","words":7}', '{"kind":"mark","words":"a","more":1}',
        '{"kind":"mark","words":"' + "a" * 201 + '"}',
        '{"kind":"dance"}', '{"kind":null}', '{"kind":["mark"]}', '{"words":"a"}',
        '{"kind":"follow","bench":0}', '{"kind":"follow","bench":1e400}', '{"kind":"follow","bench":true}',
        '{"kind":"record","on":1}', '{"kind":"mark","words":"a","id":"x"}',
        '{"kind":"mark","words":"a","id":' + "9" * 5000 + "}",
        '{"kind":"history","bench":1,"channel":0,"from_ms":0,"to_ms":1,"rows":2001}',
        '{"kind":"replay","action":"speed","value":1000}', '{"kind":"replay","action":"speed"}',
        '{"kind":"replay","action":"speed","value":true}',
        '{"kind":"replay","action":"seek","value":-1}', '{"kind":"replay","action":"play","value":1}',
        '{"kind":"replay","action":"stop"}', '{"kind":"revise","changes":[]}',
        '{"kind":"revise","changes":[[["a"],{"b":1}]]}', '{"kind":"revise","changes":[[[],1]]}',
        '{"kind":"revise","changes":[[["a"],1e999]]}', '{"kind":"try_baud","bench":3,"baud":0}',
        '{"kind":"capture","benches":[],"channel":"t","reference":1}',
        '{"kind":"capture","benches":[1,1],"channel":"t","reference":1}',
        '{"kind":"point","bench":1,"channel":"t","reference":1,"indication":2,"u_reference":0}',
        '{"kind":"fit","benches":[1],"channel":"t","fit":"cubic"}',
        '{"kind":"shelve","alarm":"3/t/high","minutes":0,"reason":"a"}',
        '{"kind":"shelve","alarm":"3/t/high","minutes":241,"reason":"a"}',
        '{"kind":"shelve","alarm":"3/t/high","minutes":5,"reason":" "}',
        '{"kind":"shelve","alarm":"3/t/high","minutes":5}', '{"kind":"unshelve","alarm":""}',
        '{"kind":"reset"}', '{"kind":"remove","alarm":3}', '{"kind":"restore","alarm":"a","minutes":5}',
        '{"kind":"baseline","benches":[],"channel":"t"}', '{"kind":"baseline","benches":[1],"channel":""}',
        '{"kind":"ask","bench":3,"want":"help"}', '{"kind":"ask","bench":3,"want":"tea","key":"k"}',
        '{"kind":"ask","bench":0,"want":"help","key":"k"}',
        '{"kind":"ask","bench":3,"want":"help","key":null}',
        '{"kind":"attend","call":"ask/3"}', '{"kind":"attend","call":"","bench":null}',
        '{"kind":"codes"}', '{"kind":"codes","base":"ftp://a"}', '{"kind":"codes","base":"http://a/b"}',
        '{"kind":"phase"}', '{"kind":"phase","phase":null}',
    ],
)  # fmt: skip
def test_a_wrong_message_is_refused_in_words(text: str) -> None:
    with pytest.raises(RequestError) as told:
        request_from_text(text)
    assert 20 < len(str(told.value)) < 600


def test_a_refusal_bears_the_id_of_its_message() -> None:
    with pytest.raises(RequestError) as told:
        request_from_text('{"kind":"mark","id":12}')
    assert told.value.to == 12
    with pytest.raises(RequestError) as told:
        request_from_text('{"kind":"mark","words":"a","id":true}')
    assert told.value.to is None


def test_text_that_no_file_can_hold_is_made_visible() -> None:
    found = request_from_text('{"kind":"mark","words":"a\\ud800b\\u0000c\\u001b[2Jd"}')
    assert isinstance(found, Mark)
    assert found.words == "a\ufffdb\ufffdc\ufffd[2Jd"
    found.words.encode()


def test_script_tags_stay_the_text_that_they_are() -> None:
    assert request_from_text('{"kind":"mark","words":"<script>x</script>"}') == Mark(
        None, "<script>x</script>"
    )


@settings(deadline=None)
@given(st.text())
def test_any_text_is_read_or_refused(text: str) -> None:
    with pytest.raises(RequestError):
        request_from_text(text)


ANY_SCALAR = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text()
    | st.sampled_from(kinds("from_client"))
)


@settings(deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(["kind", "id", "words", "bench", "alarm", "value", "action", "changes", "passcode"]),
        st.recursive(
            st.none()
            | st.booleans()
            | st.integers()
            | st.floats()
            | st.text()
            | st.sampled_from(kinds("from_client")),
            lambda inner: (
                st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3)
            ),
            max_leaves=6,
        ),
    )
)
def test_any_object_is_read_or_refused(message: dict[str, object]) -> None:
    with contextlib.suppress(RequestError):
        assert request_from_text(json.dumps(message)) is not None


@pytest.mark.parametrize("side", ["from_bridge", "from_client"])
def test_schemas_are_strict_and_named_after_their_kind(side: Side) -> None:
    for kind in kinds(side):
        schema = validator(side, kind).schema
        assert isinstance(schema, dict)
        Draft202012Validator.check_schema(schema)
        assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
        assert schema["additionalProperties"] is False
        assert schema["properties"]["kind"] == {"const": kind}


def test_there_is_no_validator_for_a_kind_that_does_not_exist() -> None:
    with pytest.raises(KeyError):
        validator("from_client", "../from_bridge/hello")
