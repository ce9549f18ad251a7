"""A group asks from its own page, through real sockets: with its key, and nothing else."""

from __future__ import annotations

import asyncio
import json
import logging
import queue
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, AsyncExitStack, ExitStack
from pathlib import Path
from typing import Any

import pytest
from websockets.asyncio.client import ClientConnection as AsyncConnection
from websockets.asyncio.client import connect as connect_async
from websockets.sync.client import ClientConnection, connect
from websockets.typing import Subprotocol

from bridge.bench_codes import CodeMaker
from bridge.bench_keys import BenchKeys
from bridge.controls import Ask, Control
from bridge.desk import MAX_ASKS
from bridge.live import LiveSession
from bridge.passcode import MAX_WRONG
from bridge.ports import Listing
from bridge.recorded import Recorded
from bridge.replaying import ReplaySession
from bridge.server import Server
from bridge.session import Session, SessionClock
from tests.bridge.made_up import SECOND, checked, hub_of
from tests.bridge.served import DEADLINE_SECONDS, ServedHub
from tests.bridge.test_session import lesson_file, run_apart, running, settings

KEYS = BenchKeys(bytes(32))
CODES = CodeMaker(KEYS, host="0.0.0.0", page_port=8050, addresses=lambda: ("192.168.1.20",))
OURS: dict[str, Any] = {"subprotocols": [Subprotocol("benchrow.v1")], "compression": None, "proxy": None}


class Room:
    """A served hub with two benches, and what its handler heard."""

    def __init__(self) -> None:
        self.heard: queue.SimpleQueue[Control] = queue.SimpleQueue()
        self.served = ServedHub(
            hub_of(), passcode="tea", handle=self._handle, now_ns=lambda: 5 * SECOND, codes=CODES
        )

    async def _handle(self, control: Control) -> str:
        self.heard.put(control)
        if isinstance(control, Ask) and control.want == "nothing":
            raise ZeroDivisionError
        return "done"

    def client(self) -> AbstractContextManager[ClientConnection]:
        client: AbstractContextManager[ClientConnection] = connect(self.served.url, **OURS)
        return client


@pytest.fixture
def room() -> Iterator[Room]:
    one = Room()
    with one.served:
        yield one


def answer(client: ClientConnection, **message: Any) -> dict[str, Any]:
    client.send(json.dumps({"id": 1, **message}))
    return answer_to(client)


def answer_to(client: ClientConnection) -> dict[str, Any]:
    while True:
        told = checked(client.recv(DEADLINE_SECONDS))
        if told.get("to") == 1:
            return told


def ask(
    client: ClientConnection, bench: int = 1, want: str = "help", key: str | None = None
) -> dict[str, Any]:
    return answer(client, kind="ask", bench=bench, want=want, key=KEYS.key(bench) if key is None else key)


def test_a_group_asks_with_the_key_of_its_bench_which_goes_no_further(room: Room) -> None:
    with room.client() as phone:
        assert ask(phone)["ok"]
    assert room.heard.get(timeout=DEADLINE_SECONDS) == Ask(1, 1, "help", "", "group")


@pytest.mark.parametrize(
    "message",
    [
        {"kind": "ask", "bench": 2, "want": "help", "key": ""},
        {"kind": "attend", "call": "ask/1", "bench": None},
        {"kind": "codes", "base": None},
        {"kind": "mark", "words": "lid on"},
        {"kind": "acknowledge", "alarm": "1/temperature/high"},
    ],
)
def test_with_its_key_it_can_do_nothing_else(room: Room, message: dict[str, Any]) -> None:
    with room.client() as phone:
        assert ask(phone)["ok"]
        told = answer(phone, **message)
    assert (told["kind"], told["ok"]) == ("reply", False)
    assert "passcode" in told["words"]
    assert room.heard.qsize() == 1


@pytest.mark.parametrize(
    ("bench", "key", "words"),
    [
        (2, KEYS.key(1), "not of this bench"),
        (1, "guess", "not of this bench"),
        (7, KEYS.key(7), "no bench 7"),
    ],
)
def test_another_key_and_another_bench_are_refused(room: Room, bench: int, key: str, words: str) -> None:
    with room.client() as phone:
        told = ask(phone, bench, key=key)
    assert not told["ok"]
    assert words in told["words"]
    assert room.heard.empty()


def test_wrong_keys_do_not_lock_the_instructor_out(room: Room) -> None:
    with ExitStack() as stack:
        phones = [stack.enter_context(room.client()) for _ in range(MAX_WRONG + 1)]
        for phone in phones:
            phone.send(json.dumps({"kind": "ask", "bench": 1, "want": "help", "key": "guess", "id": 1}))
        assert not any(answer_to(phone)["ok"] for phone in phones)
        assert answer(stack.enter_context(room.client()), kind="unlock", passcode="tea")["ok"]
        assert answer(phones[0], kind="unlock", passcode="tea")["ok"]


def test_a_phone_can_not_fill_the_recording(room: Room) -> None:
    with room.client() as phone, room.client() as other, room.client() as instructor:
        for i in range(MAX_ASKS):
            assert ask(phone if i % 2 else other, want=("help", "done")[i % 2])["ok"]
        told = ask(phone)
        assert (told["ok"], "Wait a moment" in told["words"]) == (False, True)
        assert ask(phone, 2)["ok"]
        assert answer(instructor, kind="unlock", passcode="tea")["ok"]
        assert ask(instructor, key="")["ok"]
    heard = [room.heard.get() for _ in range(room.heard.qsize())]
    assert len(heard) == MAX_ASKS + 2
    assert heard[-1] == Ask(1, 1, "help", "", "instructor")


def test_keys_are_not_logged(room: Room, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.DEBUG)
    with room.client() as phone:
        assert not ask(phone, want="nothing")["ok"]  # the handler fails at it, which is logged
        assert not ask(phone, 2, key=KEYS.key(1))["ok"]
    assert "Ask failed" in caplog.text
    bridge_log = "".join(one.getMessage() for one in caplog.records if one.name.startswith("bridge"))
    assert KEYS.key(1) not in bridge_log
    assert KEYS.key(1) not in repr(Ask(1, 1, "help", KEYS.key(1)))


def test_the_instructor_gets_the_codes_alone(room: Room) -> None:
    with room.client() as instructor:
        answer(instructor, kind="unlock", passcode="tea")
        told = answer(instructor, kind="codes", base=None)
        assert (told["kind"], told["reachable"], told["words"]) == ("codes", True, "")
        assert [one["bench"] for one in told["codes"]] == [1, 2]
        assert told["codes"][0]["url"] == f"http://192.168.1.20:8050/bench/1#k={KEYS.key(1)}"
        told = answer(instructor, kind="codes", base="http://192.168.1.20:8050/bench")
        assert (told["kind"], told["ok"]) == ("reply", False)


# ---- a whole session ----


class Page:
    """A page that looks at a session on the same loop."""

    def __init__(self, connection: AsyncConnection) -> None:
        self._connection = connection
        self.calls: dict[str, Any] = {}

    async def until(self, fits: Callable[[dict[str, Any]], object]) -> dict[str, Any]:
        async with asyncio.timeout(DEADLINE_SECONDS):
            while True:
                told = checked(await self._connection.recv())
                self.calls = told.get("calls", self.calls)
                if fits(told):
                    return told

    async def says(self, **message: Any) -> dict[str, Any]:
        await self._connection.send(json.dumps({"id": 1, **message}))
        return await self.until(lambda told: told.get("to") == 1)

    async def until_calls(self, fits: Callable[[dict[str, Any]], object]) -> None:
        if not (self.calls and fits(self.calls)):
            await self.until(lambda told: "calls" in told and fits(told["calls"]))

    async def asks(self, bench: int, want: str) -> dict[str, Any]:
        return await self.says(kind="ask", bench=bench, want=want, key=KEYS.key(bench))


async def served(session: Session, stack: AsyncExitStack) -> tuple[Page, Page]:
    """A phone's page and the instructor's."""
    server = Server(
        session.hub,
        port=0,
        passcode="tea",
        origins=(),
        handle=session.handle,
        now_ns=session.now_ns,
        codes=CODES,
    )
    await stack.enter_async_context(server)
    phone, instructor = [
        Page(await stack.enter_async_context(connect_async(server.url, **OURS))) for _ in "12"
    ]
    assert (await instructor.says(kind="unlock", passcode="tea"))["ok"]
    return phone, instructor


def test_asks_and_what_the_instructor_does_are_recorded_and_replayed(tmp_path: Path) -> None:
    async def lived() -> tuple[str, dict[str, Any]]:
        # Session time at twenty times the pace: the list stands for whole seconds.
        clock = SessionClock(lambda: 20 * time.monotonic_ns())
        session = LiveSession(
            settings(tmp_path, lesson=lesson_file(tmp_path)), clock=clock, listing=Listing(list)
        )
        async with AsyncExitStack() as stack:
            await stack.enter_async_context(running(session))
            phone, instructor = await served(session, stack)
            told = await phone.asks(3, "help")
            assert (told["ok"], told["words"]) == (True, "you have asked for help")
            assert (await phone.asks(3, "help"))["ok"]  # is not kept again
            await instructor.until_calls(lambda calls: calls["asked"])
            (call,) = instructor.calls["list"]
            assert (call["id"], call["kind"], call["priority"]) == ("ask/3", "ask", "medium")
            wrong = await instructor.says(kind="attend", call="ask/4", bench=None)
            assert (wrong["ok"], "nothing calls" in wrong["words"]) == (False, True)
            wrong = await instructor.says(kind="attend", call="ask/3", bench=4)
            assert not wrong["ok"]
            assert (await instructor.says(kind="attend", call="ask/3", bench=3))["ok"]
            await phone.until_calls(lambda calls: calls["asked"])
            await phone.until_calls(lambda calls: not calls["asked"])
            await phone.asks(3, "done")
            await phone.asks(5, "help")
            await phone.until_calls(lambda calls: calls["done"] and calls["asked"])
            await instructor.says(kind="mark", words="all seen")
            assert session.recording
            return session.recording, phone.calls

    path, at_the_end = run_apart(lived())
    with Recorded(path) as recorded:
        kept = [(one.kind, one.bench, one.detail) for one in recorded.events]
        (asked_ns, attended_ns, *_) = [one.at_ns for one in recorded.events]
    assert kept == [
        ("ask", 3, {"want": "help", "who": "group"}),
        ("attend", None, {"call": "ask/3", "benches": [3], "who": "instructor"}),
        ("ask", 3, {"want": "done", "who": "group"}),
        ("ask", 5, {"want": "help", "who": "group"}),
    ]

    async def replayed() -> None:
        session = ReplaySession(settings(tmp_path, mode="replay", recording=Path(path), playing=False))
        async with AsyncExitStack() as stack:
            await stack.enter_async_context(running(session))
            phone, instructor = await served(session, stack)
            await instructor.says(kind="replay", action="seek", value=1e9)
            await instructor.until_calls(lambda calls: calls["done"])
            assert instructor.calls == at_the_end
            before_it_ends = attended_ns // SECOND * 1000 + 1
            await instructor.says(kind="replay", action="seek", value=before_it_ends)
            await instructor.until_calls(lambda calls: calls["asked"] != at_the_end["asked"])
            assert [one["bench"] for one in instructor.calls["asked"]] == [3]
            assert instructor.calls["asked"][0]["since_ms"] == asked_ns // 1_000_000
            refused = await phone.asks(3, "help")
            assert (refused["ok"], "kept" in refused["words"]) == (False, True)
            told = await instructor.says(kind="attend", call="ask/3", bench=None)
            assert told["words"].startswith("in this replay only")

    run_apart(replayed())
