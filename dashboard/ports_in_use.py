"""Asks whether a TCP port can be served on, to say so in words before anything starts."""

from __future__ import annotations

import errno
import socket
import sys

from bridge import BenchrowError


def must_be_free(host: str, port: int, *, option: str) -> None:
    """Make sure that a port can be served on.

    Args:
        option: The command's option that chooses another port.

    Raises:
        BenchrowError: The port is taken, or the address is none of this machine's.
    """
    try:
        family, kind, proto, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
        with socket.socket(family, kind, proto) as one:
            if sys.platform == "win32":
                one.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
            else:  # a port that was closed a moment ago is free
                one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            one.bind(address)
    except OSError as error:
        if error.errno == errno.EACCES and sys.platform != "win32":
            raise BenchrowError(
                f"port {port} may be served on by an administrator only",
                remedy=f"Choose one from 1024 on, for example {option} 8050",
            ) from error
        if error.errno in {errno.EADDRINUSE, errno.EACCES}:
            raise BenchrowError(
                f"port {port} is in use by another program, perhaps by another Benchrow",
                remedy=f"End that program, or choose another port, for example {option} {port + 10}",
            ) from error
        raise BenchrowError(
            f"{host} is no address of this machine ({error.strerror or error})",
            remedy="Leave --host out (this machine only), or write 0.0.0.0 (the class's network too)",
        ) from error
