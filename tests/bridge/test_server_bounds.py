"""What clients that do not read, or send without end, can do to the server and to others: nothing."""

from __future__ import annotations

import base64
import contextlib
import socket
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from websockets.sync.client import connect
from websockets.typing import Subprotocol

from bridge.controls import Control
from bridge.hub import Hub
from bridge.server_client import MAX_UNSENT_BYTES, MAX_WAITING, ServedClient
from tests.bridge.made_up import SECOND, checked, hub_of, reading
from tests.bridge.served import DEADLINE_SECONDS, ServedHub

N_BENCHES = 24
MEGABYTE = 1024 * 1024


async def done(_: Control) -> str:
    return "done"


@pytest.fixture
def served() -> Iterator[ServedHub]:
    with ServedHub(hub_of(N_BENCHES), passcode="tea", handle=done, now_ns=lambda: 5 * SECOND) as one:
        yield one


@contextlib.contextmanager
def silent_client(served: ServedHub) -> Iterator[socket.socket]:
    """Opens a connection as a browser does and then never reads; its own buffer is small."""
    raw = socket.socket()
    raw.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
    raw.settimeout(DEADLINE_SECONDS)
    with raw:
        raw.connect(("127.0.0.1", served.server.port))
        key = base64.b64encode(bytes(16)).decode()
        raw.sendall(
            "GET / HTTP/1.1\r\nHost: bridge\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
            f"Sec-WebSocket-Key: {key}\r\nSec-WebSocket-Version: 13\r\n"
            "Sec-WebSocket-Protocol: benchrow.v1\r\n\r\n".encode()
        )
        assert raw.recv(12) == b"HTTP/1.1 101"
        yield raw


@contextlib.contextmanager
def witness_of(served: ServedHub) -> Iterator[Callable[[float], list[object]]]:
    """A client that reads; call it with a value to wait until a frame brings that value."""
    protocols = [Subprotocol("benchrow.v1")]
    with connect(served.url, subprotocols=protocols, compression=None, proxy=None) as client:

        def value_part(value: float) -> list[object]:
            while True:
                message = checked(client.recv(DEADLINE_SECONDS))
                for part in message["values"] if message["kind"] == "frame" else ():
                    if part[3] == value:
                        return list(part)

        yield value_part


def flood(served: ServedHub, value: float, size: int = 20_000) -> None:
    """New readings of all benches with long words beside them: a frame of about half a megabyte."""
    reason = "x" * size
    some = [reading(value, bench=bench, reason=reason) for bench in range(1, N_BENCHES + 1)]
    served.on_hub(lambda hub: hub.take_readings(some))


def clients_of(served: ServedHub) -> list[ServedClient]:
    return served.on_hub(lambda _: list(served.server._clients))


def unsent_of(served: ServedHub) -> int:
    return max((one.n_unsent_bytes for one in clients_of(served)), default=0)


def test_a_client_that_never_reads_gets_no_further_frames_and_delays_nobody(served: ServedHub) -> None:
    with silent_client(served), witness_of(served) as value_part:
        sizes = []
        for i in range(30):
            flood(served, float(i))
            value_part(float(i))  # the others get each
            sizes.append(unsent_of(served))
        # One frame that it does not take, and not a byte more however long it goes on.
        assert 0 < sizes[-1] < MEGABYTE
        assert len(set(sizes[5:])) == 1


def test_a_client_that_reads_again_gets_the_newest_and_the_extremes(served: ServedHub) -> None:
    with silent_client(served) as raw, witness_of(served) as value_part:
        for value in (21.0, 35.0, 11.0, 25.0):
            flood(served, value)
            value_part(value)
        assert unsent_of(served) > 0
        seen = []
        for message in _messages_read_by_hand(raw):
            seen += [part for part in message.get("values", ()) if part[0] == 1]
            if seen and seen[-1][3] == 25.0:
                break
    # The first was on its way when it stopped reading; the others are one now.
    assert [(part[3], part[8:]) for part in seen] == [(21.0, [21.0, 21.0]), (25.0, [11.0, 35.0])]


def test_events_are_kept_for_a_slow_client_up_to_a_bound_then_it_is_closed(served: ServedHub) -> None:
    with silent_client(served), witness_of(served) as value_part:
        for value in (1.0, 2.0, 3.0):
            flood(served, value)
            value_part(value)
        assert unsent_of(served) > 0

        def mark(n: int, value: float) -> None:
            def add(hub: Hub) -> None:
                for _ in range(n):
                    hub.add_marker(SECOND, "again", "rule")

            served.on_hub(add)
            flood(served, value, size=1)
            value_part(value)

        mark(MAX_WAITING, 4.0)
        assert len(clients_of(served)) == 2
        mark(1, 5.0)
        # It does not take the closing words either, so it is cut off; the other has missed nothing.
        deadline = time.monotonic() + DEADLINE_SECONDS
        value = 6.0
        while len(clients_of(served)) == 2 and time.monotonic() < deadline:
            mark(1, value)
            value += 1.0
        assert len(clients_of(served)) == 1


def test_an_answer_outlives_that_everybody_starts_over(served: ServedHub) -> None:
    with silent_client(served) as raw, witness_of(served) as value_part:
        for value in (1.0, 2.0):
            flood(served, value)
            value_part(value)
        assert unsent_of(served) > 0
        slow = max(clients_of(served), key=lambda one: one.n_unsent_bytes)

        def answer_and_move(hub: Hub) -> None:
            slow.reply(7, ok=True, words="moved")
            hub.add_marker(SECOND, "before the move", "rule")
            hub.reset()

        served.on_hub(answer_and_move)
        kinds = []
        for message in _messages_read_by_hand(raw):
            kinds.append(message["kind"])
            if message["kind"] == "reply":
                break
    assert kinds[0] == "hello"
    assert kinds[-2:] == ["hello", "reply"]
    assert "marker" not in kinds


def test_a_flood_of_pings_from_a_client_that_never_reads_ends_in_its_own_end(served: ServedHub) -> None:
    ping = b"\x89\xfd" + bytes(4) + bytes(125)
    with silent_client(served) as raw, witness_of(served) as value_part:
        with contextlib.suppress(OSError):
            for _ in range(200):
                raw.sendall(ping * 1000)
                assert unsent_of(served) < MAX_UNSENT_BYTES + 8 * MEGABYTE
        flood(served, 7.0, size=1)
        value_part(7.0)


def test_a_client_that_asks_without_end_is_answered_in_its_turn_and_delays_nobody(served: ServedHub) -> None:
    question = '{"kind":"history","bench":1,"channel":0,"from_ms":0,"to_ms":9,"rows":2000}'
    protocols = [Subprotocol("benchrow.v1")]
    with (
        connect(served.url, subprotocols=protocols, compression=None, proxy=None) as asker,
        witness_of(served) as value_part,
    ):
        for _ in range(40):
            asker.send(question)
        flood(served, 7.0, size=1)
        value_part(7.0)
        n_answers = 0
        while n_answers < 40:
            n_answers += checked(asker.recv(DEADLINE_SECONDS))["kind"] == "history"


def test_no_more_clients_than_the_bound_are_let_in(
    served: ServedHub, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bridge.server.MAX_CLIENTS", 1)
    with witness_of(served) as value_part, socket.create_connection(("127.0.0.1", served.server.port)) as raw:
        raw.settimeout(DEADLINE_SECONDS)
        raw.sendall(
            b"GET / HTTP/1.1\r\nHost: bridge\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
            b"Sec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==\r\nSec-WebSocket-Version: 13\r\n\r\n"
        )
        assert raw.recv(12) == b"HTTP/1.1 503"
        flood(served, 7.0, size=1)
        value_part(7.0)


def test_a_frame_that_cannot_be_made_does_not_end_the_sending(
    served: ServedHub, caplog: pytest.LogCaptureFixture
) -> None:
    def spoil(hub: Hub) -> None:
        hub.take_readings([reading(1.0)._replace(quality="unheard of")])  # type: ignore[arg-type]  # a fault of ours

    with witness_of(served) as value_part:
        served.on_hub(spoil)
        flood(served, 7.0, size=1)
        value_part(7.0)
    assert all(record.levelname in {"ERROR", "INFO"} for record in caplog.records)


def _messages_read_by_hand(raw: socket.socket) -> Iterator[dict[str, Any]]:
    data = raw.makefile("rb")
    while data.readline() not in {b"\r\n", b""}:
        pass
    while True:
        _, size = data.read(2)
        if size == 126:
            size = int.from_bytes(data.read(2), "big")
        elif size == 127:
            size = int.from_bytes(data.read(8), "big")
        yield checked(data.read(size))
