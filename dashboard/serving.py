"""Serves the dashboard with a production server."""

from __future__ import annotations

import logging
import socket
from typing import Any

import waitress  # type: ignore[import-untyped]  # ships no types
from waitress import wasyncore

from dashboard.app import make_app
from dashboard.ports_in_use import must_be_free
from dashboard.recordings import Recordings

# The largest answer is plotly's script, 5 MB: no answer goes through a file on the disk, which a browser that
# leaves in the middle would leave open.
MAX_ANSWER_BYTES = 16 << 20
_N_THREADS = 8  # requests are few and short: pages and files, never live data


class Dashboard:
    """The dashboard on its address. Bound when it exists, so that a taken port is told at once."""

    def __init__(self, host: str, port: int, bridge_url: str, recordings: Recordings | None = None) -> None:
        """Bind the address.

        Args:
            host: Where to listen, for example "127.0.0.1".
            port: 0 lets the system choose a free one.
            bridge_url: The bridge's WebSocket.
            recordings: Those that may be compared.

        Raises:
            BenchrowError: The address can't be used; the text says why and what to do.
        """
        # A page asks for many small files at once: no reason for waitress to warn of a queue.
        logging.getLogger("waitress.queue").setLevel(logging.ERROR)
        listening = _listening_socket(host, port)
        self.host, self.port = host, int(listening.getsockname()[1])
        self._server: Any = waitress.create_server(
            make_app(bridge_url=bridge_url, recordings=recordings).server,
            sockets=[listening],
            threads=_N_THREADS,
            ident=None,
            clear_untrusted_proxy_headers=True,
            outbuf_overflow=MAX_ANSWER_BYTES,
        )

    @property
    def url(self) -> str:
        """The wall's address for a browser on this machine."""
        host = {"0.0.0.0": "127.0.0.1", "::": "[::1]"}.get(self.host, self.host)  # noqa: S104
        return f"http://{host}:{self.port}/"

    def run(self) -> None:
        """Serve until `close`, or until the program is interrupted."""
        try:
            self._server.run()
        finally:
            self._server.task_dispatcher.shutdown()
            wasyncore.close_all(self._sockets)

    def close(self) -> None:
        """Stop serving. May be called from another thread."""
        # The loop ends once its map is empty; only the loop's own thread may empty it.
        self._server.trigger.pull_trigger(lambda: wasyncore.close_all(self._sockets))

    @property
    def _sockets(self) -> Any:
        return self._server._map


def serve(host: str, port: int, bridge_url: str) -> None:
    """Serve the dashboard until interrupted.

    Raises:
        BenchrowError: The address can't be used.
    """
    Dashboard(host, port, bridge_url).run()


def _listening_socket(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        return socket.create_server((host, port), family=family, backlog=128)
    except OSError:
        must_be_free(host, port, option="--port")  # tells in words what is the matter
        raise
