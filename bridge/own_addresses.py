"""This machine's addresses in the network of the class, found without sending anything."""

from __future__ import annotations

import contextlib
import ipaddress
import socket
from collections.abc import Iterator, Sequence

_ANY_PORT = 9
# RFC 5737, an address for documentation: the way out of the network, if there is one. RFC 1918, an address in
# each of the networks that a router or a phone's hotspot usually makes: also those that lead nowhere else.
_FAR = "192.0.2.1"
_NEAR = (
    *(f"192.168.{n}.2" for n in range(256)),
    *(f"10.{n}.0.2" for n in range(256)),
    *(f"172.{n}.0.2" for n in range(16, 32)),
    "172.20.10.2",
    "169.254.0.2",
)


def own_addresses() -> tuple[str, ...]:
    """The IPv4 addresses that others in the network may use for this machine; private ones first.

    Connecting a datagram socket only looks up the route, and with it the address that would be the sender: no
    packet leaves the machine, and no name is asked for. Some 500 lookups take a few milliseconds.
    """
    found = dict.fromkeys(_senders())
    return ordered(tuple(found))


def ordered(addresses: Sequence[str]) -> tuple[str, ...]:
    """Those that a phone can use: private ones first, then public ones, last self-given ones."""
    known = [(address, ipaddress.IPv4Address(address)) for address in addresses]
    usable = [one for one in known if not (one[1].is_loopback or one[1].is_unspecified)]
    return tuple(
        name for name, _ in sorted(usable, key=lambda one: (one[1].is_link_local, not one[1].is_private))
    )


def _senders() -> Iterator[str]:
    for address in (_FAR, *_NEAR):
        # OSError: no way leads there.
        with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            probe.connect((address, _ANY_PORT))
            yield str(probe.getsockname()[0])
