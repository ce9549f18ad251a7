"""The WebSocket server: each client gets the newest that it can take, and no client can delay another.

Everything is written without awaiting, and only to a client whose write buffer is empty. What a client misses
meanwhile is not kept for it: the hub makes the newest for whoever stands at an older version. Only alarms,
markers and replies are kept, in a bounded queue per client.
"""

from __future__ import annotations

import asyncio
import contextlib
import errno
import http
import logging
import re
import socket
import time
from collections.abc import Awaitable, Callable, Sequence
from types import TracebackType
from typing import Self

import websockets.asyncio.server as ws
from websockets.exceptions import ConnectionClosed, NegotiationError
from websockets.frames import CloseCode
from websockets.http11 import Request as HttpRequest
from websockets.http11 import Response as HttpResponse
from websockets.typing import Origin, Subprotocol

from bridge.bench_codes import CodeMaker
from bridge.bench_keys import BenchKeys, new_secret
from bridge.controls import Control
from bridge.desk import Desk
from bridge.errors import BenchrowError
from bridge.hub import Hub
from bridge.passcode import Passcode
from bridge.server_client import ServedClient

PROTOCOL = Subprotocol("benchrow.v1")
FRAME_HZ = 30.0
MAX_CLIENTS = 200
MAX_MESSAGE_BYTES = 64 * 1024  # of a client's message: the longest revision of a lesson is far below
SEND_BUFFER_BYTES = 64 * 1024  # the system's, for each client; its other costs stand in server_client.py
WRITE_LIMIT_BYTES = 64 * 1024
PING_SECONDS = 20.0
CLOSE_SECONDS = 2.0

_log = logging.getLogger(__name__)
_wire_log = logging.getLogger(f"{__name__}.wire")
# A page that reloads in mid-word or a program that knocks at the port is no error that a person must read.
_wire_log.setLevel(logging.CRITICAL)


class Server:
    """Serves one hub to all clients, on the loop that starts it.

    Args:
        hub: The session's newest state.
        host: Address to listen on; "127.0.0.1" keeps it to this machine.
        port: Port to listen on; 0 takes any free one (see `port`).
        passcode: What a connection must show before it may control.
        origins: Addresses of the pages that may connect, such as "http://127.0.0.1:8050". Clients that send
            no Origin (programs, not browsers) may always look. A pattern must match the whole address.
        handle: Does what a control asks and tells it in words; raises ControlError to refuse.
        now_ns: The session's time.
        codes: Makes the bench codes and knows their keys; None: for this server only, on port 8050.
        frame_hz: Most frames a second for each client.
    """

    def __init__(
        self,
        hub: Hub,
        *,
        host: str = "127.0.0.1",
        port: int = 8765,
        passcode: str,
        origins: Sequence[str | re.Pattern[str]],
        handle: Callable[[Control], Awaitable[str]],
        now_ns: Callable[[], int],
        codes: CodeMaker | None = None,
        frame_hz: float = FRAME_HZ,
    ) -> None:
        self.hub = hub
        self.host = host
        self._wanted_port = port
        self._origins = [Origin(one) if isinstance(one, str) else one for one in origins]
        self._now_ns = now_ns
        self._frame_seconds = 1.0 / frame_hz
        made = codes or CodeMaker(BenchKeys(new_secret()), host=host, page_port=8050)
        self._desk = Desk(hub, Passcode(passcode), handle, now_ns, made)
        self._clients: set[ServedClient] = set()
        self._server: ws.Server | None = None
        self._sender: asyncio.Task[None] | None = None

    @property
    def port(self) -> int:
        """The port that it listens on."""
        return self._server.sockets[0].getsockname()[1] if self._server else self._wanted_port

    @property
    def url(self) -> str:
        """The address for a client on this machine."""
        host = {"0.0.0.0": "127.0.0.1", "::": "[::1]"}.get(self.host, self.host)  # noqa: S104
        return f"ws://{host}:{self.port}"

    @property
    def n_clients(self) -> int:
        """Connections that are served at this moment."""
        return len(self._clients)

    async def start(self) -> None:
        """Listen and send.

        Raises:
            BenchrowError: The address can't be had.
        """
        serving = ws.serve(
            self._serve,
            self.host,
            self._wanted_port,
            origins=[*self._origins, None],
            subprotocols=[PROTOCOL],
            select_subprotocol=_only_ours,
            process_request=self._refuse_when_full,
            compression=None,  # costs five times the load at 40 clients
            server_header=None,
            max_size=MAX_MESSAGE_BYTES,
            write_limit=WRITE_LIMIT_BYTES,
            ping_interval=PING_SECONDS,
            ping_timeout=PING_SECONDS,
            close_timeout=CLOSE_SECONDS,
            family=_family(self.host),
            logger=_wire_log,
        )
        try:
            self._server = await serving
        except OSError as error:
            raise _not_listening(error, self.host, self._wanted_port) from error
        self._sender = asyncio.get_running_loop().create_task(self._send_frames())

    async def close(self) -> None:
        """Stop sending, close every connection with code 1001, free the port."""
        if self._sender:
            self._sender.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await self._sender
        if self._server:
            for client in self._clients:
                client.give_up_if_stalled()  # it would not answer the closing handshake
            self._server.close(reason="the bridge ends")
            await self._server.wait_closed()

    async def __aenter__(self) -> Self:
        await self.start()
        return self

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        await self.close()

    def _refuse_when_full(self, connection: ws.ServerConnection, _: HttpRequest) -> HttpResponse | None:
        if len(self._clients) < MAX_CLIENTS:
            return None
        return connection.respond(
            http.HTTPStatus.SERVICE_UNAVAILABLE, f"{MAX_CLIENTS} screens are connected already. Close some.\n"
        )

    async def _serve(self, connection: ws.ServerConnection) -> None:
        raw = connection.transport.get_extra_info("socket")
        with contextlib.suppress(OSError):
            raw.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, SEND_BUFFER_BYTES)
        client = ServedClient(connection)
        self._clients.add(client)
        try:
            client.bring_up_to_date(self.hub, self._now_ns(), time.monotonic_ns())
            async for text in connection:
                if isinstance(text, bytes):
                    await connection.close(CloseCode.UNSUPPORTED_DATA, "send JSON in text frames")
                    return
                await self._desk.answer(client, text)
        except ConnectionClosed:
            pass
        except Exception:  # ours; the connection ends with it, the session goes on
            _log.exception("a connection failed")
        finally:
            self._clients.discard(client)
            self.hub.follow(client.follows, None)
            self.hub.survey(before=client.surveys, after=False)

    async def _send_frames(self) -> None:
        loop = asyncio.get_running_loop()
        due = loop.time()
        while True:
            due = max(due + self._frame_seconds, loop.time())  # late: the lost frames are not made up for
            await asyncio.sleep(due - loop.time())
            try:
                self._send_frame()
            except Exception:  # one bad value must not end the lesson; it is told and the next frame tried
                _log.exception("a frame could not be made")

    def _send_frame(self) -> None:
        steady_ns = time.monotonic_ns()
        now_ns = self._now_ns()
        self.hub.cut(steady_ns)
        events = self.hub.take_events()
        for client in tuple(self._clients):
            client.queue_events(events)
            client.bring_up_to_date(self.hub, now_ns, steady_ns)


def _only_ours(_: ws.ServerConnection, offered: Sequence[Subprotocol]) -> Subprotocol:
    if PROTOCOL not in offered:
        raise NegotiationError(f"this server speaks the subprotocol {PROTOCOL} only")
    return PROTOCOL


def _family(host: str) -> socket.AddressFamily:
    """A name such as localhost may stand for two addresses; port 0 would then become two ports."""
    return socket.AF_INET if re.fullmatch(r"[\d.]+", host) else socket.AF_UNSPEC


def _not_listening(error: OSError, host: str, port: int) -> BenchrowError:
    other = port + 1 if port < 65535 else 8766
    if error.errno == errno.EADDRINUSE or getattr(error, "winerror", None) == 10048:
        return BenchrowError(
            f"port {port} is used by another program",
            remedy=f"Close that program, or take another port: --bridge-port {other}",
        )
    if error.errno == errno.EACCES or getattr(error, "winerror", None) == 10013:
        return BenchrowError(
            f"this user may not listen on port {port}", remedy="Take a port above 1023: --bridge-port 8765"
        )
    return BenchrowError(
        f"the bridge can't listen on {host}, port {port}: {error.strerror or error}",
        remedy="Give an address of this machine with --host and a free port with --bridge-port",
    )
