from __future__ import annotations

import contextlib
import itertools
import socket
from collections.abc import Iterator

import pytest

from bridge.client import Client
from bridge.controls import Control, Mark
from bridge.core.call_list import AskShown, CallList
from bridge.core.readings import Reading
from bridge.errors import ControlError, UnreachableError
from tests.bridge.made_up import SECOND, hub_of, reading
from tests.bridge.served import ServedHub


async def handle(control: Control) -> str:
    if control == Mark(control.id, "refuse"):
        raise ControlError("the paper is full", remedy="Take a new sheet")
    return "done"


def serve(port: int = 0) -> ServedHub:
    return ServedHub(hub_of(), passcode="tea", handle=handle, now_ns=lambda: 5 * SECOND, port=port)


@pytest.fixture
def served() -> Iterator[ServedHub]:
    with serve() as one:
        yield one


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as one:
        port: int = one.getsockname()[1]
    return port


def tell(served: ServedHub, value: float | None, at_ms: int) -> None:
    served.on_hub(lambda hub: hub.take_readings([reading(value, at_ms=at_ms)]))


def test_live_readings_come_one_after_the_other(served: ServedHub) -> None:
    with Client(served.url) as client:
        readings = iter(client)
        for at_ms, value in ((1000, 21.5), (1100, None), (1200, 22.5)):
            tell(served, value, at_ms)
            at_ns = at_ms * 10**6
            assert next(readings) == Reading(at_ns, 1, "temperature", value, "°C", 0.1, "good", "", 0, at_ns)


def test_the_greeting_tells_the_session(served: ServedHub) -> None:
    with Client(served.url) as client:
        assert client.hello["session"]["title"] == "Cups"
        assert len(client.hello["benches"]) == 2


def test_what_calls_for_a_person_is_there_at_once_and_kept_up_to_date(served: ServedHub) -> None:
    with Client(served.url) as client:
        assert client.calls == {"list": [], "asked": [], "done": [], "n_more": 0}
        served.on_hub(lambda hub: hub.set_calls(CallList(asked=(AskShown(2, SECOND),))))
        tell(served, 21.5, 1000)
        readings = iter(client)
        next(readings)
        assert client.calls["asked"] == [{"bench": 2, "since_ms": 1000}]


def test_a_client_with_the_passcode_may_ask_for_something(served: ServedHub) -> None:
    with Client(served.url, passcode="tea") as client:
        assert client.ask("mark", words="lid on") == "done"
        with pytest.raises(ControlError, match="paper is full"):
            client.ask("mark", words="refuse")


def test_a_client_without_it_is_told_to_give_it(served: ServedHub) -> None:
    with Client(served.url) as client, pytest.raises(ControlError, match="passcode"):
        client.ask("mark", words="lid on")
    with pytest.raises(ControlError, match="not the passcode"), Client(served.url, passcode="coffee"):
        pass


def test_readings_that_come_while_an_answer_is_waited_for_are_kept(served: ServedHub) -> None:
    with Client(served.url, passcode="tea") as client:
        tell(served, 21.5, 1000)
        client.ask("mark", words="lid on")
        assert next(iter(client)).value == 21.5


def test_no_bridge_there_is_told_with_what_to_do() -> None:
    port = free_port()
    for url, words in (
        (f"ws://127.0.0.1:{port}", f"no bridge answers at ws://127.0.0.1:{port}"),
        ("http://127.0.0.1", "no address of a bridge"),
        ("nonsense", "no address of a bridge"),
    ):
        with pytest.raises(UnreachableError, match=words) as told, Client(url):
            pass
        assert told.value.remedy


def test_a_port_that_speaks_something_else_is_told() -> None:
    with socket.create_server(("127.0.0.1", 0)) as other:
        url = f"ws://127.0.0.1:{other.getsockname()[1]}"
        with pytest.raises(UnreachableError), Client(url, open_seconds=0.2):
            pass


def test_a_lost_connection_is_taken_up_again() -> None:
    port = free_port()
    with contextlib.ExitStack() as stack:
        with serve(port) as before:
            client = stack.enter_context(Client(before.url))
            readings = iter(client)
            tell(before, 21.5, 1000)
            assert next(readings).value == 21.5
        after = stack.enter_context(serve(port))
        after.talk(0.05, lambda: after.hub.take_readings([reading(22.5, at_ms=2000)]))
        assert next(readings).value == 22.5
        client.close()


def test_patience_ends_with_words() -> None:
    with serve() as served:
        client = Client(served.url, patience_seconds=0.0)
        readings = iter(client)
        tell(served, 21.5, 1000)
        assert client.hello
        tell(served, 22.5, 1100)
        assert next(readings).value is not None
    with pytest.raises(UnreachableError):
        list(itertools.islice(readings, 10))
