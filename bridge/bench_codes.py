"""Bench codes: what a phone reads to open the page of its group's bench, with the key to ask from there."""

from __future__ import annotations

import ipaddress
import re
from collections.abc import Callable, Sequence
from urllib.parse import urlsplit

import segno

from bridge.bench_keys import BenchKeys
from bridge.errors import ControlError
from bridge.messages import BenchCode, BenchCodes
from bridge.own_addresses import own_addresses
from bridge.session import page_origins

CORRECTION = "m"  # mends 15 % of the modules: a print-out that is folded or has a stain
ANY_ADDRESS = frozenset(("0.0.0.0", "::", ""))  # noqa: S104  # compared, not listened on
_origin = re.compile(r"https?://(?:[A-Za-z0-9._-]+|\[[0-9A-Fa-f:.]+\])(?::\d{1,5})?", re.ASCII)


class CodeMaker:
    """Makes the codes of all benches. What was made last is kept: a code takes some 15 ms.

    Args:
        keys: The benches' keys.
        host: Where the session listens.
        page_port: The port of the pages.
        addresses: This machine's addresses for others, asked for anew each time.
    """

    def __init__(
        self,
        keys: BenchKeys,
        *,
        host: str,
        page_port: int,
        addresses: Callable[[], Sequence[str]] = own_addresses,
    ) -> None:
        self.keys = keys
        self._host, self._port, self._addresses = host, page_port, addresses
        self._made: tuple[str, tuple[int, ...], tuple[BenchCode, ...]] = ("", (), ())

    def codes(self, benches: Sequence[int], base: str | None) -> BenchCodes:
        """The codes of these benches.

        Args:
            benches: Their numbers.
            base: The origin that they lead to, as "http://192.168.1.20:8050"; None: this machine's first.

        Raises:
            ControlError: The base is no plain origin.
        """
        bases = tuple(f"http://{_bracketed(one)}:{self._port}" for one in self._hosts())
        used = (
            (bases[0] if bases else f"http://127.0.0.1:{self._port}")
            if base is None
            else checked_origin(base)
        )
        words = self._why_not(bases, used)
        return BenchCodes(
            base=used, bases=bases, reachable=not words, words=words, codes=self._codes(used, tuple(benches))
        )

    def _codes(self, base: str, benches: tuple[int, ...]) -> tuple[BenchCode, ...]:
        made = self._made
        if made[:2] != (base, benches):
            codes = tuple(_code(n, f"{base}/bench/{n}#k={self.keys.key(n)}") for n in benches)
            made = self._made = (base, benches, codes)
        return made[2]

    def _hosts(self) -> Sequence[str]:
        if self._host in ANY_ADDRESS:
            return self._addresses()
        return () if is_loopback(self._host) else (self._host,)

    def _why_not(self, bases: Sequence[str], used: str) -> str:
        if is_loopback(self._host):
            return (
                "This session was started for this machine only. "
                "Start it again with --host 0.0.0.0, then phones in the same network can open these pages."
            )
        if not bases:
            return "This machine is in no network. Join the network of the class, then look again."
        host = urlsplit(used).hostname or ""
        if is_loopback(host):
            return f"On a phone, {host} is the phone itself. Choose one of {', '.join(bases)}."
        if used in bases or used in page_origins(self._host, self._port):
            return ""
        return f"Pages opened at {used} may not connect to this session. Choose one of {', '.join(bases)}."


def checked_origin(base: str) -> str:
    """The origin in lower case, once it is nothing else.

    Raises:
        ControlError: It is not http(s)://HOST or http(s)://HOST:PORT.
    """
    if not _origin.fullmatch(base) or not _has_port_in_range(base):
        raise ControlError(
            f"{base[:80]!r} is no address for bench codes", remedy="Write it like http://192.168.1.20:8050"
        )
    return base.lower()


def is_loopback(host: str) -> bool:
    """Whether the name stands for this machine alone, whoever asks."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host.lower() == "localhost"


def _has_port_in_range(base: str) -> bool:
    try:
        return urlsplit(base).port != 0
    except ValueError:
        return False


def _bracketed(host: str) -> str:
    return f"[{host}]" if ":" in host else host


def _code(bench: int, url: str) -> BenchCode:
    matrix = segno.make_qr(url, error=CORRECTION, boost_error=False).matrix
    return BenchCode(bench, url, tuple("".join("1" if dark else "0" for dark in row) for row in matrix))
