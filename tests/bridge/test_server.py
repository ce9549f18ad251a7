"""The server through real sockets on 127.0.0.1."""

from __future__ import annotations

import contextlib
import json
import queue
import re
import socket
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from typing import Any

import pytest
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import ClientConnection, connect
from websockets.typing import Origin, Subprotocol

from bridge.controls import Acknowledge, Control, Mark
from bridge.errors import BenchrowError, ControlError
from bridge.server import MAX_MESSAGE_BYTES
from tests.bridge.made_up import SECOND, checked, hub_of, reading, rise
from tests.bridge.served import DEADLINE_SECONDS, ServedHub
from tests.dashboard.made_up_bridge import Printed

PAGE = "http://127.0.0.1:8050"


class Room:
    """A served hub with what its handler heard."""

    def __init__(self) -> None:
        self.heard: queue.SimpleQueue[Control] = queue.SimpleQueue()
        self.served = ServedHub(
            hub_of(), passcode="tea", handle=self._handle, now_ns=lambda: 5 * SECOND, origins=[PAGE]
        )

    async def _handle(self, control: Control) -> str:
        self.heard.put(control)
        match control:
            case Mark(words="refuse"):
                raise ControlError("the paper is full", remedy="Take a new sheet", bench="Bench 1")
            case Mark(words="fail"):
                raise ZeroDivisionError
            case Mark():
                self.served.hub.add_marker(5 * SECOND, control.words, "instructor")
        return "done"

    def client(self, **options: Any) -> AbstractContextManager[ClientConnection]:
        ours = {"subprotocols": [Subprotocol("benchrow.v1")], "compression": None, "proxy": None}
        return connect(self.served.url, **(ours | options))


@pytest.fixture
def room() -> Iterator[Room]:
    one = Room()
    with one.served:
        yield one


def messages_of(client: ClientConnection) -> Iterator[dict[str, Any]]:
    while True:
        yield checked(client.recv(DEADLINE_SECONDS))


def first(
    client: ClientConnection, kind: str, fits: Callable[[Any], bool] = lambda _: True
) -> dict[str, Any]:
    return next(one for one in messages_of(client) if one["kind"] == kind and fits(one))


def closing_code_of(client: ClientConnection) -> int | None:
    """Reads to the end and tells the code of the server's close frame."""
    with contextlib.suppress(ConnectionClosed):
        for _ in messages_of(client):
            pass
    return client.close_code


def closing_code_after(client: ClientConnection, sent: bytes, is_text: bool) -> int | None:
    with contextlib.suppress(ConnectionClosed):
        client.send(sent, text=is_text)
    return closing_code_of(client)


def ask(client: ClientConnection, **message: Any) -> dict[str, Any]:
    client.send(json.dumps({"id": 1, **message}))
    return first(client, "reply", lambda one: one["to"] == message.get("id", 1))


def test_a_client_is_greeted_and_then_gets_frames(room: Room) -> None:
    with room.client() as client:
        assert client.subprotocol == "benchrow.v1"
        assert checked(client.recv(DEADLINE_SECONDS))["kind"] == "hello"
        room.served.on_hub(lambda hub: hub.take_readings([reading(21.5)]))
        assert first(client, "frame", lambda one: one["values"])["values"][0][3] == 21.5


def test_heartbeats_come_while_nothing_changes(room: Room) -> None:
    with room.client() as client:
        beats = [first(client, "frame") for _ in range(4)]
        assert [beat["values"] for beat in beats[1:]] == [[], [], []]


def test_a_client_that_speaks_another_protocol_is_refused(room: Room) -> None:
    for offered in (None, [Subprotocol("benchrow.v9")]):
        with pytest.raises(InvalidStatus) as told, room.client(subprotocols=offered):
            pass
        assert told.value.response.status_code == 400


def test_a_page_of_another_address_is_refused(room: Room) -> None:
    with pytest.raises(InvalidStatus) as told, room.client(origin=Origin("http://evil.example")):
        pass
    assert told.value.response.status_code == 403
    with room.client(origin=Origin(PAGE)) as client:
        assert checked(client.recv(DEADLINE_SECONDS))["kind"] == "hello"


def test_origins_may_be_given_as_a_pattern() -> None:
    async def handle(_: Control) -> str:
        return ""

    pattern = re.compile(r"http://127\.0\.0\.1:\d+")
    with ServedHub(hub_of(), passcode="tea", handle=handle, now_ns=lambda: 0, origins=[pattern]) as served:
        options: dict[str, Any] = {"subprotocols": [Subprotocol("benchrow.v1")], "proxy": None}
        with connect(served.url, origin=Origin("http://127.0.0.1:1234"), **options) as client:
            assert checked(client.recv(DEADLINE_SECONDS))["kind"] == "hello"
        with (
            pytest.raises(InvalidStatus),
            connect(served.url, origin=Origin("http://127.0.0.1:12.evil.example"), **options),
        ):
            pass


def test_a_locked_connection_may_look_but_not_control(room: Room) -> None:
    with room.client() as client:
        answer = ask(client, kind="mark", words="lid on")
        assert not answer["ok"]
        assert "passcode" in answer["words"]
        assert ask(client, kind="follow", bench=1)["ok"]
        assert room.heard.empty()


def test_the_passcode_unlocks_its_own_connection_only(room: Room) -> None:
    with room.client() as client, room.client() as other:
        assert ask(client, kind="unlock", passcode="tea")["ok"]
        assert ask(client, kind="mark", words="lid on")["ok"]
        assert room.heard.get() == Mark(1, "lid on")
        assert first(other, "marker")["marker"]["words"] == "lid on"
        assert not ask(other, kind="mark", words="lid off")["ok"]


def test_a_wrong_passcode_unlocks_nothing(room: Room) -> None:
    with room.client() as client:
        assert not ask(client, kind="unlock", passcode="coffee")["ok"]
        assert not ask(client, kind="mark", words="lid on")["ok"]
        assert ask(client, kind="unlock", passcode="tea")["ok"]


def test_what_the_bridge_refuses_or_fails_at_is_answered_in_words(room: Room) -> None:
    with room.client() as client:
        ask(client, kind="unlock", passcode="tea")
        refused = ask(client, kind="mark", words="refuse")
        assert (refused["ok"], refused["words"]) == (False, "Bench 1: the paper is full. Take a new sheet.")
        assert not ask(client, kind="mark", words="fail")["ok"]
        assert ask(client, kind="acknowledge", alarm="1/temperature/high")["ok"]
        assert room.heard.get() is not None
        assert Acknowledge(1, "1/temperature/high") in [room.heard.get(), room.heard.get()]


def test_alarms_reach_every_client(room: Room) -> None:
    with room.client() as client, room.client() as other:
        for one in (client, other):
            assert checked(one.recv(DEADLINE_SECONDS))["kind"] == "hello"
        room.served.on_hub(lambda hub: hub.take_changes([rise()]))
        for one in (client, other):
            assert first(one, "alarm")["alarm"]["id"] == "1/temperature/high"


def test_an_alarm_in_the_greeting_is_not_told_again(room: Room) -> None:
    room.served.on_hub(lambda hub: hub.take_changes([rise()]))
    with room.client() as client:
        assert len(checked(client.recv(DEADLINE_SECONDS))["alarms"]) == 1
        room.served.on_hub(lambda hub: hub.add_marker(SECOND, "later", "rule"))
        told = []
        for message in messages_of(client):
            told.append(message["kind"])
            if message["kind"] == "marker":
                break
        assert "alarm" not in told


def test_everybody_starts_over_when_a_replay_moves_elsewhere(room: Room) -> None:
    with room.client() as client:
        room.served.on_hub(lambda hub: hub.take_readings([reading(21.5)]))
        first(client, "frame", lambda one: one["values"])
        room.served.on_hub(lambda hub: hub.reset())
        assert first(client, "hello")["values"] == []
        room.served.on_hub(lambda hub: hub.take_readings([reading(19.0)]))
        assert first(client, "frame", lambda one: one["values"])["values"][0][3] == 19.0


def test_lines_go_only_to_those_who_follow_their_bench(room: Room) -> None:
    def is_followed() -> frozenset[int]:
        return room.served.on_hub(lambda hub: hub.followed)

    with room.client() as client, room.client() as other:
        assert ask(client, kind="follow", bench=2)["ok"]
        assert ask(other, kind="follow", bench=1)["ok"]
        assert is_followed() == {1, 2}
        line = (Printed(1, "Temp: 21.5", SECOND, ""), "read")
        room.served.on_hub(lambda hub: hub.take_lines(2, [line]))
        assert first(client, "lines")["lines"] == [[1, 1000, "Temp: 21.5", "", "read"]]
        room.served.on_hub(lambda hub: hub.take_lines(1, [line]))
        assert first(other, "lines")["bench"] == 1
        assert ask(client, kind="follow", bench=None)["ok"]
        assert is_followed() == {1}
        assert not ask(client, kind="follow", bench=7)["ok"]


def test_a_history_request_is_answered(room: Room) -> None:
    with room.client() as client:
        room.served.on_hub(lambda hub: hub.take_readings([reading(21.5)]))
        client.send('{"kind":"history","id":5,"bench":1,"channel":0,"from_ms":0,"to_ms":9000,"rows":50}')
        assert first(client, "history")["rows"] == [[1000, 21.5, 21.5]]
        assert not ask(client, kind="history", bench=1, channel=9, from_ms=0, to_ms=1, rows=2)["ok"]


def test_nonsense_is_answered_and_the_connection_lives_on(room: Room) -> None:
    with room.client() as client:
        for text in ("", "{", "[" * 50_000, '{"kind":"dance"}', '{"kind":"mark"}', '"\\ud800"', "NaN"):
            client.send(text)
            assert not first(client, "reply")["ok"]
        assert ask(client, kind="unlock", passcode="tea")["ok"]


@pytest.mark.parametrize(
    ("sent", "is_text", "code"),
    [(b"\x00\x01", False, 1003), (b"a" * (MAX_MESSAGE_BYTES + 1), True, 1009), (b"\xff\xfe", True, 1007)],
)
def test_what_is_no_message_at_all_ends_its_connection_only(
    room: Room, sent: bytes, is_text: bool, code: int
) -> None:
    with room.client() as witness:
        with room.client() as client:
            assert closing_code_after(client, sent, is_text) == code
        room.served.on_hub(lambda hub: hub.take_readings([reading(21.5)]))
        assert first(witness, "frame", lambda one: one["values"])["values"][0][3] == 21.5


def test_bytes_that_are_no_http_do_no_harm(room: Room) -> None:
    with socket.create_connection(("127.0.0.1", room.served.server.port), DEADLINE_SECONDS) as raw:
        raw.sendall(b"\x16\x03\x01 not http at all\r\n\r\n" * 50)
        raw.shutdown(socket.SHUT_WR)
        while raw.recv(4096):
            pass
    with room.client() as client:
        assert checked(client.recv(DEADLINE_SECONDS))["kind"] == "hello"


def test_a_port_in_use_is_told_with_what_to_do(room: Room) -> None:
    taken = ServedHub(
        hub_of(), passcode="tea", handle=room._handle, now_ns=lambda: 0, port=room.served.server.port
    )
    with pytest.raises(BenchrowError, match="is used by another program") as told:
        taken.__enter__()
    taken.__exit__(None, None, None)
    assert "--bridge-port" in told.value.remedy


def test_an_address_that_is_not_of_this_machine_is_told_with_what_to_do() -> None:
    async def handle(_: Control) -> str:
        return ""

    served = ServedHub(hub_of(), passcode="tea", handle=handle, now_ns=lambda: 0)
    served.server.host = "192.0.2.1"  # RFC 5737: nobody's
    with pytest.raises(BenchrowError, match=r"192\.0\.2\.1") as told:
        served.__enter__()
    served.__exit__(None, None, None)
    assert "--host" in told.value.remedy


def test_the_end_of_the_bridge_closes_its_connections_and_frees_its_port() -> None:
    room = Room()
    with room.served:
        connection = room.client()
        client = connection.__enter__()
        port = room.served.server.port
        first(client, "frame")
    assert closing_code_of(client) == 1001
    connection.__exit__(None, None, None)
    socket.create_server(("127.0.0.1", port)).close()
