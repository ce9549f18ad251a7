"""The bridge's client for programs: live readings, one after the other."""

from __future__ import annotations

import itertools
import json
import time
from collections import deque
from collections.abc import Iterator, Mapping
from contextlib import ExitStack
from types import TracebackType
from typing import Any, Self

from websockets.exceptions import ConnectionClosed, InvalidHandshake, InvalidURI
from websockets.sync.client import ClientConnection, connect
from websockets.typing import Subprotocol

from bridge.core.readings import Quality, Reading
from bridge.errors import ControlError, UnreachableError

DEFAULT_URL = "ws://127.0.0.1:8765"
MAX_MESSAGE_BYTES = 16 * 1024 * 1024
MAX_QUEUE = 4  # frames read ahead; a program that thinks long then gets newer ones, not more
MAX_KEPT = 10_000  # readings that come while an answer is waited for; beyond it the oldest are dropped
FIRST_WAIT_SECONDS, LONGEST_WAIT_SECONDS = 0.25, 5.0

_QUALITIES: tuple[Quality, ...] = ("good", "uncertain", "bad")


class Client:
    """Live readings of a running bridge.

        for reading in Client("ws://127.0.0.1:8765"):
            print(reading.bench, reading.channel, reading.value, reading.unit)

    The bridge sends frames, at most 30 a second, each with the *newest* reading of every channel that has
    changed: of readings that come faster than the frames, or than this program takes them, some are left out.
    A recording has them all (`bridge.read_recording`). Times are whole milliseconds, and `line` is 0: the
    number of the line stays in the bridge.

    A lost connection is taken up again by itself for `patience_seconds`; readings of that time are left out.
    Not for several threads at once.

    Args:
        url: The bridge's address.
        passcode: What the bridge asks for before it takes controls (`ask`); looking needs none.
        open_seconds: How long a connection may take to open.
        patience_seconds: How long to try again after a connection was lost.
    """

    def __init__(
        self,
        url: str = DEFAULT_URL,
        passcode: str | None = None,
        *,
        open_seconds: float = 5.0,
        patience_seconds: float = 60.0,
    ) -> None:
        self.url = url
        self._passcode = passcode
        self._open_seconds = open_seconds
        self._patience_seconds = patience_seconds
        self._ids = itertools.count(1)
        self._kept: deque[Reading] = deque(maxlen=MAX_KEPT)
        self._hello: Mapping[str, Any] = {}
        self._calls: Mapping[str, Any] = {}
        self._channels: dict[int, list[tuple[str, str]]] = {}  # per bench: name and unit by index
        self._connection: ClientConnection | None = None
        self._stack = ExitStack()

    def __enter__(self) -> Self:
        self._connected()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def __iter__(self) -> Iterator[Reading]:
        try:
            while True:
                while self._kept:
                    yield self._kept.popleft()
                self._take_in(self._next_message())
        finally:
            self.close()

    @property
    def hello(self) -> Mapping[str, Any]:
        """The newest greeting as it came: session, lesson, benches, their past (schema "hello").

        Raises:
            UnreachableError: No bridge answers at the address.
        """
        self._connected()
        return self._hello

    @property
    def calls(self) -> Mapping[str, Any]:
        """What calls for a person, in the order in which one should go (schema "calls").

        As it was told last: new lists come in while readings or answers are taken.

        Raises:
            UnreachableError: No bridge answers at the address.
        """
        self._connected()
        return self._calls

    def ask(self, kind: str, **fields: object) -> str:
        """Ask the bridge for something and wait for its answer (`bridge/schemas/from_client`).

        Returns:
            What the bridge says about it, in words.

        Raises:
            ControlError: The bridge refused; the text says why.
            UnreachableError: The connection was lost before the answer came.
        """
        number = next(self._ids)
        connection = self._connected()
        try:
            connection.send(json.dumps({"kind": kind, **fields, "id": number}))
            while True:
                message = json.loads(connection.recv())
                if message["kind"] == "reply" and message["to"] == number:
                    break
                self._take_in(message)
        except ConnectionClosed as error:
            self.close()
            raise _lost(self.url) from error
        if not message["ok"]:
            raise ControlError(message["words"].rstrip("."), remedy="Correct that, then ask again")
        return str(message["words"])

    def close(self) -> None:
        """End the connection; the next use opens another one."""
        self._connection = None
        self._stack.close()

    def _connected(self) -> ClientConnection:
        if self._connection is None:
            self._open()
        assert self._connection is not None
        return self._connection

    def _open(self) -> None:
        try:
            connection = self._stack.enter_context(
                connect(
                    self.url,
                    subprotocols=[Subprotocol("benchrow.v1")],
                    compression=None,
                    open_timeout=self._open_seconds,
                    max_size=MAX_MESSAGE_BYTES,
                    max_queue=MAX_QUEUE,
                    proxy=None,  # the bridge stands in the same room
                )
            )
            self._take_in(json.loads(connection.recv(self._open_seconds)))
        except (OSError, InvalidHandshake, InvalidURI, ConnectionClosed) as error:
            self.close()
            raise _unreachable(self.url, error) from error
        self._connection = connection
        if self._passcode is not None:
            self.ask("unlock", passcode=self._passcode)

    def _next_message(self) -> Mapping[str, Any]:
        try:
            message: Mapping[str, Any] = json.loads(self._connected().recv())
        except ConnectionClosed:
            self.close()
            self._open_again()
            return {"kind": "hello", **self._hello}
        return message

    def _open_again(self) -> None:
        give_up, wait = time.monotonic() + self._patience_seconds, FIRST_WAIT_SECONDS
        while True:
            try:
                self._open()
            except UnreachableError:
                if time.monotonic() + wait > give_up:
                    raise
                time.sleep(wait)
                wait = min(LONGEST_WAIT_SECONDS, 2 * wait)
            else:
                return

    def _take_in(self, message: Mapping[str, Any]) -> None:
        match message["kind"]:
            case "frame":
                self._kept.extend(self._reading(value) for value in message["values"])
            case "hello":
                self._hello = message
                self._calls = message["calls"]
                self._describe(message["benches"])
            case "lesson":
                self._describe(message["benches"])
            case "calls":
                self._calls = message["calls"]
            case "bench":
                self._describe([message["bench"]])

    def _describe(self, benches: list[Mapping[str, Any]]) -> None:
        for bench in benches:
            self._channels[bench["number"]] = [(one["name"], one["unit"]) for one in bench["channels"]]

    def _reading(self, part: list[Any]) -> Reading:
        bench, index, t_ms, value, u, quality, reason = part[:7]
        name, unit = self._channels[bench][index]
        at_ns = t_ms * 1_000_000
        return Reading(at_ns, bench, name, value, unit, u, _QUALITIES[quality], reason, 0, at_ns)


def _unreachable(url: str, error: Exception) -> UnreachableError:
    if isinstance(error, InvalidURI):
        return UnreachableError(
            f"{url!r} is no address of a bridge", remedy="Write it like ws://127.0.0.1:8765"
        )
    if isinstance(error, InvalidHandshake):
        return UnreachableError(
            f"what answers at {url} is no bridge, or has no place left ({error})",
            remedy="Take the address that the bridge shows when it starts",
        )
    return UnreachableError(
        f"no bridge answers at {url} ({error or 'it took too long'})",
        remedy="Start it, for example with 'benchrow live', and take the address that it shows",
    )


def _lost(url: str) -> UnreachableError:
    return UnreachableError(
        f"the connection to {url} was lost before the answer came",
        remedy="See whether the bridge runs, then ask again",
    )
