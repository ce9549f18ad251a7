"""Opening a port by any pyserial URL, and saying in plain words why it can't be opened.

The one place where pyserial's errors become ours. pyserial tells the reason as an error number, as the error
that it was raised from, or, on Windows, only inside its text.
"""

from __future__ import annotations

import errno
import os
import re
import socket
import sys
from pathlib import Path
from typing import Protocol, cast
from urllib.parse import urlsplit

import serial
from serial.urlhandler import protocol_socket

from bridge.errors import PortError, PortProblem
from bridge.ports import programs_with_open

READ_SECONDS = 1.0  # a read that can be cancelled comes back this often all the same
POLL_SECONDS = 0.2  # a read that can't be cancelled (socket://, some handlers) must come back by itself
MAX_READ_BYTES = 65536

_IN_USE = {errno.EBUSY, errno.EAGAIN, errno.EWOULDBLOCK, errno.ETXTBSY}
_NO_PERMISSION = {errno.EACCES, errno.EPERM}
_NO_PORT_AT_ALL = {errno.ENOTTY, errno.EISDIR}


class Port(Protocol):
    """What is used of an open port of pyserial, whatever its kind."""

    @property
    def in_waiting(self) -> int:
        """Bytes that a read gives without waiting."""

    def read(self, size: int = 1, /) -> bytes:
        """Bytes; fewer than asked for when the time is over."""

    def close(self) -> None:
        """Give the port free."""


MOST_BAUD = 2**31 - 1  # what a driver is handed


class _SocketPort(protocol_socket.Serial):
    """pyserial's socket://, which tells only that something waits, and would be read byte by byte."""

    _socket: socket.socket | None

    @property
    def in_waiting(self) -> int:
        if self._socket is None:
            raise serial.PortNotOpenError
        try:
            return len(self._socket.recv(MAX_READ_BYTES, socket.MSG_PEEK))
        except BlockingIOError:
            return 0

    def close(self) -> None:
        # pyserial leaves the socket open when the other side has reset it.
        inner = self._socket if self.is_open else None
        super().close()
        if inner is not None:
            inner.close()


def open_port(url: str, *, baud: int, pulse_dtr: bool) -> Port:
    """Open a port for this program alone.

    Args:
        url: A device ('/dev/ttyACM0', 'COM3') or any URL that pyserial knows ('socket://', 'rfc2217://').
        baud: Bits per second; ignored where there are none.
        pulse_dtr: False keeps DTR and RTS down from the start, so that opening does not restart a board that
            is wired to restart on them. A board that waits for DTR stays silent then; and the drivers of some
            systems raise both for an instant all the same, before a program can say anything.

    Raises:
        PortError: It can't be opened; `reason` says why, `remedy` what to do.
    """
    try:
        port = _port_for(url)
        port.baudrate = baud
        port.exclusive = True  # a lock where there are locks; Windows opens for one program anyway
        if not pulse_dtr:
            port.dtr = port.rts = False
        port.timeout = READ_SECONDS if hasattr(port, "cancel_read") else POLL_SECONDS
        port.open()
    except Exception as error:  # termios.error, NotImplementedError, ... a handler may raise what it likes
        raise port_error(error, url, baud=baud) from error
    return port


def set_rate(port: Port, url: str, *, baud: int) -> None:
    """Read on at another rate, without opening anew: that would restart many a board.

    Raises:
        PortError: The port does not take that rate.
    """
    try:
        cast("serial.Serial", port).baudrate = baud
    except Exception as error:  # as on opening
        raise port_error(error, url, baud=baud) from error


def has_rate(url: str) -> bool:
    """Whether bits per second mean anything at that port."""
    return not url.lower().startswith("socket://")


def check_url(url: str) -> None:
    """Find out early that a URL can never be opened.

    Raises:
        PortError: pyserial knows no such kind, or host and number are missing.
    """
    scheme = url.split("://", 1)[0].lower() if "://" in url else ""
    try:
        if scheme in ("socket", "rfc2217"):
            parts = urlsplit(url)
            if not parts.hostname or parts.port is None:
                raise ValueError("host or number is missing")
        elif scheme != "hwgrep":  # that one looks for its port when the URL is set
            _port_for(url)
    except ValueError as error:
        raise port_error(error, url) from error


def read_portion(port: Port) -> bytes:
    """What has arrived: waits for the first byte, not for a line.

    Returns:
        b"" when none came in time, or the read was cancelled.

    Raises:
        OSError: The port is gone.
    """
    data = port.read(port.in_waiting or 1)
    # After a silence the first byte would be a chunk of its own, with a wake-up of its own.
    if len(data) == 1 and (n_more := port.in_waiting):
        data += port.read(n_more)
    return data


def port_error(error: Exception, url: str, *, baud: int = 0, platform: str = sys.platform) -> PortError:
    """What an error on opening means to a person, on that platform."""
    number = _errno_of(error)
    windows = platform == "win32"
    if number in _IN_USE or (windows and number in _NO_PERMISSION):
        return _in_use(url)
    if number in _NO_PERMISSION:
        return _no_permission(url, platform)
    if number in _NO_PORT_AT_ALL:
        return PortError(
            f"{url} is not a serial port", reason=PortProblem.BAD_URL, remedy=_listing_remedy(platform)
        )
    if isinstance(error, ValueError | NotImplementedError):
        return _bad_url(error, url, baud)
    return _not_found(url, platform)


def lost_error(url: str) -> PortError:
    """What to say when a port that was open is gone."""
    what = "the connection to" if _is_network(url) else "port"
    return PortError(
        f"{what} {url} was lost",
        reason=PortProblem.LOST,
        remedy="Plug the board in again, or look at its cable; the bench connects by itself",
    )


def _port_for(url: str) -> serial.Serial:
    if url.lower().startswith("socket://"):
        port = cast("serial.Serial", _SocketPort(None))  # by its methods; they share only a base class
        port.port = url
        return port
    return serial.serial_for_url(url, do_not_open=True)


def _errno_of(error: BaseException) -> int | None:
    seen: BaseException | None = error
    while seen is not None:
        number = getattr(seen, "errno", None)
        if number is None and not isinstance(seen, OSError) and seen.args and isinstance(seen.args[0], int):
            number = seen.args[0]  # termios.error has it there
        if number is not None:
            return cast("int", number)
        seen = seen.__cause__ or seen.__context__
    # Windows: could not open port 'COM3': PermissionError(13, 'Access is denied.', None, 5)
    inside = re.search(r"\w+Error\((\d+),", str(error))
    return int(inside[1]) if inside else None


def _in_use(url: str) -> PortError:
    program = programs_with_open([url]).get(url, "")
    if program.endswith(f"(pid {os.getpid()})"):
        return PortError(
            f"port {url} is open at another bench",
            reason=PortProblem.IN_USE,
            remedy="Give each bench a port of its own",
        )
    return PortError(
        f"port {url} is open in another program" + (f", {program}" if program else ""),
        reason=PortProblem.IN_USE,
        remedy="Close that program, or its window that shows the port; the bench then connects by itself",
    )


def _no_permission(url: str, platform: str) -> PortError:
    if platform.startswith("linux"):
        group = _group_of(url)
        command = f"sudo usermod -aG {group} $USER"
        remedy = f"Let this account into the group '{group}' ({command}), then log out and in again"
    elif platform == "darwin":
        remedy = "Allow the accessory in System Settings, Privacy & Security, then plug the board in again"
    else:
        remedy = "Ask the person who looks after this computer for the right to use its serial ports"
    return PortError(f"this account may not open port {url}", reason=PortProblem.NO_PERMISSION, remedy=remedy)


def _group_of(url: str) -> str:
    try:
        group = Path(url).group()
    except (OSError, KeyError, NotImplementedError):
        return "dialout"
    return "dialout" if group == "root" else group


def _not_found(url: str, platform: str) -> PortError:
    if _is_network(url):
        return PortError(
            f"nothing answers at {url}",
            reason=PortProblem.NOT_FOUND,
            remedy="Start the program that offers the port there, or correct host and number",
        )
    return PortError(
        f"port {url} is not there", reason=PortProblem.NOT_FOUND, remedy=_listing_remedy(platform)
    )


def _listing_remedy(platform: str) -> str:
    plug = "Plug the board in with a cable that carries data, not only power"
    if platform == "win32":
        return (
            f"{plug}; 'benchrow ports' and the Device Manager under 'Ports (COM & LPT)' show its COM number"
        )
    example = "/dev/cu.usbmodem..." if platform == "darwin" else "/dev/ttyACM0 or /dev/ttyUSB0"
    return f"{plug}; 'benchrow ports' shows its name, such as {example}"


def _bad_url(error: Exception, url: str, baud: int) -> PortError:
    if "baud" in str(error).lower():
        return PortError(
            f"port {url} does not take {baud} baud",
            reason=PortProblem.BAD_URL,
            remedy="Set the baud rate that the board's program uses, such as 9600 or 115200",
        )
    return PortError(
        f"'{url}' is no port that can be opened ({error})",
        reason=PortProblem.BAD_URL,
        remedy="Write a device such as COM3 or /dev/ttyACM0, or a URL such as socket://127.0.0.1:5000",
    )


def _is_network(url: str) -> bool:
    return url.lower().startswith(("socket://", "rfc2217://"))
