"""What the commands that show screens (demo, live, replay) have in common."""

from __future__ import annotations

import argparse
import socket
import threading
import time
import webbrowser
from collections.abc import Callable
from pathlib import Path
from typing import Any

from bridge import BenchrowError

DASHBOARD_PORT = 8050
BRIDGE_PORT = 8765


def add_screen_arguments(parser: argparse.ArgumentParser) -> None:
    """The options of every command that starts the bridge and the dashboard."""
    parser.add_argument("--no-browser", action="store_true", help="open no browser")
    parser.add_argument(
        "--port", type=_port, default=DASHBOARD_PORT, help="the dashboard's port (%(default)s)"
    )
    parser.add_argument(
        "--bridge-port", type=_port, default=BRIDGE_PORT, help="the bridge's port (%(default)s)"
    )
    parser.add_argument(
        "--host",
        default="127.0.0.1",
        help="the address to serve on (%(default)s: this machine only; 0.0.0.0: the class's network too)",
    )
    parser.add_argument("--data-dir", type=Path, help="where recordings are kept (the user's data folder)")


def _port(text: str) -> int:
    if text.isascii() and text.isdigit() and 1 <= int(text) <= 65535:
        return int(text)
    raise argparse.ArgumentTypeError(
        f"{text!r} is no port; write a whole number from 1 to 65535, for example 8060"
    )


def data_dir(options: argparse.Namespace) -> Path:
    """The folder for recordings, as given or the user's own."""
    from platformdirs import user_data_path

    given: Path | None = options.data_dir
    return given.absolute() if given else user_data_path("benchrow", appauthor=False)


def number_between(low: float, high: float, *, example: str) -> Callable[[str], float]:
    """A reader of a number within bounds, for argparse's `type`."""

    def read(text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            value = float("nan")
        if low <= value <= high:
            return value
        raise argparse.ArgumentTypeError(
            f"{text!r} is no number from {low:g} to {high:g}; write for example {example}"
        )

    return read


def existing_file(path: Path | None, *, what: str) -> Path | None:
    """The path as it is, once it is sure that a file stands there.

    Raises:
        BenchrowError: There is none.
    """
    if path is not None and not path.is_file():
        raise BenchrowError(f"there is no {what} {path}", remedy="Give the path of a file that exists")
    return path


def show(options: argparse.Namespace, **settings: Any) -> int:
    """Run the bridge and the dashboard until the user stops them.

    Args:
        options: The command's, with those of `add_screen_arguments`.
        settings: Further fields of `BridgeSettings`.

    Returns:
        The exit code.
    """
    from bridge import new_passcode
    from dashboard.supervising import BridgeSettings, supervise

    told = BridgeSettings(
        data_dir=data_dir(options),
        host=options.host,
        bridge_port=options.bridge_port,
        dashboard_port=options.port,
        passcode=new_passcode(),
        **settings,
    )

    def on_ready(ready: dict[str, Any]) -> None:
        page = f"http://{address_to_show(options.host)}:{options.port}/"
        instructor = f"{page}#passcode={told.passcode}"
        print(f"Wall         {page}")
        print(f"Instructor   {instructor}")
        print(f"Passcode     {told.passcode}  (who has it may acknowledge, mark and record)")
        print(f"Bridge       {ready.get('url') or ready['ready']}")
        if recording := ready.get("recording"):
            print(f"Recording    {recording}")
        print("Stop with Ctrl-C.", flush=True)
        if not options.no_browser:
            arguments = (options.host, options.port, instructor)
            threading.Thread(target=_open_when_served, args=arguments, daemon=True).start()

    return supervise(told, verbose=options.verbose, on_ready=on_ready)


def address_to_show(host: str) -> str:
    """The host as a browser must name it: all of the machine's addresses are reached by its name."""
    if host in {"0.0.0.0", "::", ""}:  # noqa: S104  # compared, not served on
        return socket.gethostname()
    return f"[{host}]" if ":" in host else host


def _open_when_served(host: str, port: int, address: str, *, patience_seconds: float = 30.0) -> None:
    to_ask = "127.0.0.1" if host in {"0.0.0.0", "::", ""} else host  # noqa: S104
    give_up = time.monotonic() + patience_seconds
    while time.monotonic() < give_up:
        try:
            socket.create_connection((to_ask, port), timeout=1.0).close()
        except OSError:
            time.sleep(0.05)
            continue
        webbrowser.open(address)
        return
