"""Ports that are reached over the network, here over 127.0.0.1."""

from __future__ import annotations

import socket
import threading
from collections.abc import Callable, Iterator
from itertools import repeat

import pytest
import serial
import serial.rfc2217

from bridge.errors import ControlError
from bridge.inbox import Arrived
from bridge.sources import PortSource
from tests.bridge.sources.rig import DEADLINE_SECONDS, Takings

Reads = Callable[..., PortSource]


class Server:
    """A TCP port with one client at a time."""

    def __init__(self, number: int = 0) -> None:
        self._listening = socket.create_server(("127.0.0.1", number))
        self._listening.settimeout(DEADLINE_SECONDS)
        self.number: int = self._listening.getsockname()[1]
        self._client: socket.socket | None = None

    def accept(self) -> socket.socket:
        """Wait for the next client."""
        self.hang_up()
        self._client, _ = self._listening.accept()
        self._client.settimeout(DEADLINE_SECONDS)
        return self._client

    def hang_up(self) -> None:
        """Close the connection."""
        if self._client is not None:
            self._client.close()
            self._client = None

    def close(self) -> None:
        """Close everything."""
        self.hang_up()
        self._listening.close()


@pytest.fixture
def server() -> Iterator[Server]:
    server = Server()
    yield server
    server.close()


def test_a_socket_is_read_in_portions_not_byte_by_byte(
    takings: Takings, reads: Reads, server: Server
) -> None:
    reads(f"socket://127.0.0.1:{server.number}")
    client = server.accept()
    takings.until_states("open")
    text = b"".join(b"%d\n" % i for i in range(20_000))
    client.sendall(text)
    takings.until_data(text)
    assert sum(isinstance(one, Arrived) for one in takings.items) < len(text) / 100


def test_a_connection_that_the_other_side_closes_is_lost_and_made_again(
    takings: Takings, reads: Reads, server: Server
) -> None:
    reads(f"socket://127.0.0.1:{server.number}")
    client = server.accept()
    takings.until_states("open")
    client.sendall(b"21.5\n2")
    takings.until_data(b"21.5\n2")
    server.hang_up()
    client = server.accept()  # the source is back in a moment: lost alone may be seen by nobody
    assert takings.until_states("open", "lost", "open").breaks
    assert takings.links()[1].breaks
    client.sendall(b"22.0\n")
    takings.until_data(b"21.5\n222.0\n")


def test_a_connection_that_is_reset_is_lost_and_made_again(
    takings: Takings, reads: Reads, server: Server
) -> None:
    reads(f"socket://127.0.0.1:{server.number}")
    client = server.accept()
    takings.until_states("open")
    client.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, b"\1\0\0\0\0\0\0\0")  # closing resets
    server.hang_up()
    server.accept()
    takings.until_states("open", "lost", "open")


def test_a_number_where_nothing_listens_is_told_and_tried_again(takings: Takings, reads: Reads) -> None:
    server = Server()
    server.close()
    reads(f"socket://127.0.0.1:{server.number}", waits=lambda: repeat(0.05))
    searching = takings.until_states("searching")
    assert "nothing answers" in searching.words
    assert "correct host and number" in searching.remedy
    server = Server(server.number)
    server.accept()
    takings.until_states("searching", "open")
    server.close()


def test_a_quiet_socket_is_released_and_stopped(takings: Takings, reads: Reads, server: Server) -> None:
    source = reads(f"socket://127.0.0.1:{server.number}")
    client = server.accept()
    takings.until_states("open")
    source.release()
    takings.until_states("open", "released")
    assert client.recv(1) == b""
    source.take_back()
    server.accept()
    takings.until_states("open", "released", "open")


@pytest.mark.filterwarnings("ignore:set(Daemon|Name):DeprecationWarning")  # inside pyserial
def test_a_port_server_that_speaks_rfc_2217_is_read(takings: Takings, reads: Reads, server: Server) -> None:
    class Line(serial.rfc2217.Serial):
        """The server's way back to its client; only `write` is used of it."""

        def write(self, data: object) -> int:
            client.sendall(bytes(data))  # type: ignore[call-overload]
            return 0

    def serve() -> None:
        with serial.serial_for_url("loop://") as port:
            manager = serial.rfc2217.PortManager(port, Line())  # type: ignore[arg-type] # stubs are narrow
            while asked := client.recv(1024):
                list(manager.filter(asked))

    reads(f"rfc2217://127.0.0.1:{server.number}", baud=19200)
    client = server.accept()
    serving = threading.Thread(target=serve)
    serving.start()
    takings.until_states("open")
    client.sendall(b"21.5\r\n")
    takings.until_data(b"21.5\r\n")
    client.shutdown(socket.SHUT_RDWR)
    serving.join(DEADLINE_SECONDS)
    server.hang_up()
    takings.until_states("open", "lost")


def test_a_socket_has_no_rate(takings: Takings) -> None:
    source = PortSource(1, "socket://127.0.0.1:5000", inbox=takings.inbox)
    with pytest.raises(ControlError, match="has no baud rate"):
        source.set_baud(115200)
