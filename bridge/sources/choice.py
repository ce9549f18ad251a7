"""Choosing: what `--board` means, and which source reads it."""

from __future__ import annotations

import re
import sys
from dataclasses import dataclass
from functools import partial

from bridge.core.seating import names_a_port
from bridge.errors import PortError, PortProblem
from bridge.inbox import Inbox
from bridge.ports import Listing
from bridge.sources.pipe import PipeSource
from bridge.sources.port import PortSource
from bridge.sources.source import Source
from bridge.sources.stdin import StdinSource

STANDARD_INPUT = "-"
MAX_BENCH = 64  # as in a lesson
PIPE = "pipe://"
_EXAMPLE = "Write for example 3=COM10, 3=/dev/ttyACM0@9600 or 3=socket://127.0.0.1:5000"


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardChoice:
    """A board that is seated by hand."""

    bench: int
    url: str  # a device, a pyserial URL, '-', or a board's key
    baud: int | None = None  # None: as the lesson says


def parse_board(text: str) -> BoardChoice:
    """Read BENCH=URL[@BAUD], such as '3=/dev/ttyACM0@9600'.

    The bench ends at the first '=', the baud rate begins at the last '@'; a URL may hold more of both.

    Raises:
        PortError: The text can't be read so.
    """
    number, equals, rest = text.partition("=")
    number = number.strip()
    if not equals or not re.fullmatch(r"[0-9]+", number) or not 0 < int(number) <= MAX_BENCH:
        raise _wrong(text, "does not begin with the number of a bench, 1 to 64, and '='")
    url, at, tail = rest.strip().rpartition("@")
    if at and re.fullmatch(r"[0-9]+", tail):
        if not 0 < int(tail) < 2**31:
            raise _wrong(text, f"has the baud rate {tail}, which no port has")
        baud = int(tail)
    elif at and "://" not in rest:
        raise _wrong(text, f"has '{tail}' behind the '@', where the baud rate stands in digits")
    else:
        url, baud = rest.strip(), None  # an '@' inside a URL belongs to it
    if not url:
        raise _wrong(text, "names no port behind the '='")
    if not names_a_port(url) and ("/" in url or "\\" in url):
        raise _wrong(text, f"names '{url}', which is neither a port nor a board")
    return BoardChoice(bench=int(number), url=url, baud=baud)


def source_for(
    bench: int,
    board: str,
    *,
    inbox: Inbox,
    baud: int = 9600,
    pulse_dtr: bool = True,
    listing: Listing | None = None,
    location: str = "",
) -> Source:
    """The source that reads a board; not started yet.

    Args:
        bench: Whose board it is.
        board: A port or URL, read as it stands; a board's key (serial number or 'location:...'), looked for
            under whatever port name it has; '-' for standard input; 'pipe://' for a pipe to write into.
        inbox: Takes the bytes and the link's changes.
        baud: Bits per second.
        pulse_dtr: False keeps DTR and RTS down on opening.
        listing: Where keys are looked up; one for all sources of a session.
        location: Where a board was seen that shares its serial number with others.

    Raises:
        PortError: The URL can never be opened.
    """
    if board == STANDARD_INPUT:
        stdin = sys.stdin.buffer
        return StdinSource(bench, getattr(stdin, "raw", stdin), inbox=inbox)
    if board == PIPE:
        return PipeSource(bench, inbox=inbox)
    if names_a_port(board):
        return PortSource(bench, board, inbox=inbox, baud=baud, pulse_dtr=pulse_dtr)
    find = partial((listing or Listing()).port_of, board, location=location)
    return PortSource(bench, board, inbox=inbox, baud=baud, pulse_dtr=pulse_dtr, find=find)


def _wrong(text: str, how: str) -> PortError:
    return PortError(f"'{text}' {how}", reason=PortProblem.BAD_URL, remedy=_EXAMPLE)
