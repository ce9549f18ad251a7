"""Whether the bytes are text at all, at which rate they were sent, and whether they have line ends."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol

from bridge.core.baud import BaudFound, BaudMeter

from .signs import SECOND_NS, Signs

NO_LINE_END_BYTES = 1000
NO_LINE_END_NS = 8 * SECOND_NS  # or so long, for a program that prints little
_OPEN_SECONDS = 4  # seconds with bytes, so that it is no single slow line
_FEW_BYTES = 40
_TEXT_SHARE = 0.75  # less is no text
_TEXT_BYTES = bytes((0x09, 0x0A, 0x0D, *range(0x20, 0x7F)))
_KEPT_BYTES = 1024
_GARBAGE_NS = 3 * SECOND_NS  # start-up text at another rate is followed by good lines before
_NO_TEXT_NS = 5 * SECOND_NS
_NO_TEXT_BYTES = 100
_SHOWN = 40

Chunks = Sequence[tuple[bytes, int]]


class RateMeter(Protocol):
    """Measures the rate at which a board sends from bytes that were read at another one."""

    def take(self, data: bytes) -> None:
        """Take bytes as they came."""

    def likely(self) -> BaudFound | None:
        """The rate at which the board sends, None when it can't be told."""

    def worth_trying(self) -> int | None:
        """A rate at which it would show its own."""


class RawBytes:
    """Follows the bytes since the last good line, and since the last line end."""

    def __init__(self, *, baud: int, meter: Callable[[int], RateMeter] | None = None) -> None:
        self._make_meter = meter or _meter_at
        self._n_garbage = self._n_odd = self._n_garbage_seconds = self._garbage_ns = 0
        self._garbage = b""
        self._measured: tuple[int, BaudFound | None, int | None] = (0, None, None)  # (of so many bytes, ...)
        self.restart(baud)

    def restart(self, baud: int) -> None:
        """The port was opened, or its rate was changed."""
        self.baud = baud
        self._forget_garbage()
        self._n_open = self._n_open_seconds = 0  # bytes, and seconds with bytes, since the last line end
        self._open_ns = 0
        self._newest = b""

    @property
    def is_garbage(self) -> bool:
        """Whether what came since the last good line is hardly text."""
        n = self._n_garbage
        return n >= _FEW_BYTES and self._n_odd > (1 - _TEXT_SHARE) * n

    def take_second(self, chunks: Chunks, *, has_rows: bool) -> None:
        """What came in the second that ends now; `has_rows`: and gave readings."""
        data = b"".join([data for data, _ in chunks])
        if not data:
            return
        n_odd = 0 if has_rows and data.isascii() else len(data.translate(None, _TEXT_BYTES))
        if n_odd > (1 - _TEXT_SHARE) * len(data) and _is_text_of_another_script(data):
            n_odd = 0
        has_end = self._follow_line_end(chunks, data)
        self._follow_garbage(chunks, data, n_odd, is_good=has_rows or (has_end and not self.is_garbage))

    def signs(self, at_ns: int) -> list[Signs]:
        """The first thing that is wrong: it hides the next."""
        return self._garbage_signs(at_ns) if self.is_garbage else self._line_end_signs(at_ns)

    def _follow_line_end(self, chunks: Chunks, data: bytes) -> bool:
        end = max(data.rfind(b"\n"), data.rfind(b"\r")) + 1
        n_open = len(data) - end
        if end:
            self._n_open, self._n_open_seconds = n_open, int(n_open > 0)
            self._open_ns = _time_of_last(chunks, n_open)
        else:
            if not self._n_open:
                self._open_ns = chunks[0][1]
            self._n_open += n_open
            self._n_open_seconds += 1
        self._newest = (self._newest + data[-_KEPT_BYTES:])[-_KEPT_BYTES:]
        return end > 0

    def _follow_garbage(self, chunks: Chunks, data: bytes, n_odd: int, *, is_good: bool) -> None:
        is_odd = n_odd > (1 - _TEXT_SHARE) * len(data)
        if not is_odd and (is_good or not self._n_garbage):
            self._forget_garbage()
            return
        if not self._n_garbage:
            self._garbage_ns = chunks[0][1]
        self._n_garbage += len(data)
        self._n_odd += n_odd
        self._n_garbage_seconds += is_odd
        self._garbage = (self._garbage + data[-_KEPT_BYTES:])[-_KEPT_BYTES:]

    def _forget_garbage(self) -> None:
        self._n_garbage = self._n_odd = self._n_garbage_seconds = self._garbage_ns = 0
        self._garbage = b""
        self._measured = (0, None, None)

    def _garbage_signs(self, at_ns: int) -> list[Signs]:
        lasted_ns = at_ns - self._garbage_ns
        if self._n_garbage_seconds < 2 and lasted_ns < _GARBAGE_NS:
            return []
        found, worth = self._measure()
        share = 1 - self._n_odd / self._n_garbage
        counted = f"{share:.0%} of {self._n_garbage} bytes are text"
        if found is not None:
            return [
                Signs(
                    "wrong baud", "", self._garbage_ns,
                    f"The board sends at another baud rate, probably {found.baud}; it is read at {self.baud}",
                    f"{counted}; {found.words}",
                    f"Read it at {found.baud} baud, or set the program to {self.baud}",
                    try_baud=found.baud, size=found.baud, lasts_ns=SECOND_NS,
                )
            ]  # fmt: skip
        if lasted_ns < _NO_TEXT_NS or self._n_garbage < _NO_TEXT_BYTES:
            return []
        return [
            Signs(
                "no text", "", self._garbage_ns,
                "What the board sends is no text: raw bytes, or another baud rate",
                f"{counted}, and they fit no usual baud rate",
                "Let the program print its numbers as text; look at the baud rate that it sets",
                try_baud=worth, size=share + 0.1, lasts_ns=SECOND_NS,
            )
        ]  # fmt: skip

    def _measure(self) -> tuple[BaudFound | None, int | None]:
        """Measured anew when much more has come: that costs milliseconds."""
        n_before, found, worth = self._measured
        if self._n_garbage >= (8 if found is not None else 2) * n_before:
            meter = self._make_meter(self.baud)
            meter.take(self._garbage)
            found = meter.likely() or found
            worth = meter.worth_trying() if found is None else None
            self._measured = (self._n_garbage, found, worth)
        return found, worth

    def _line_end_signs(self, at_ns: int) -> list[Signs]:
        n, open_ns = self._n_open, at_ns - self._open_ns
        is_late = n >= _FEW_BYTES and open_ns >= NO_LINE_END_NS and self._n_open_seconds >= _OPEN_SECONDS
        if n < NO_LINE_END_BYTES and not is_late:
            return []
        newest = shown(self._newest.decode(errors="replace"))
        return [
            Signs(
                "no line end", "", self._open_ns,
                "The board prints without ever ending a line, so no number is known to be whole",
                f"{n} bytes in {open_ns / 1e9:.0f} s without a line end: {newest}",
                "End each line in the program: print the last number with a line end",
                lasts_ns=0, size=float(n),
            )
        ]  # fmt: skip


def shown(text: str) -> str:
    """The end of a board's text as it may stand within a sentence."""
    bare = "".join(char if char.isprintable() else "·" for char in text).strip()
    return f"'…{bare[-_SHOWN:]}'" if len(bare) > _SHOWN else f"'{bare}'"


def _is_text_of_another_script(data: bytes) -> bool:
    """Whole UTF-8 but for its ends, without control characters."""
    text = data.decode(errors="replace").strip("\ufffd")
    is_plain = all(char.isprintable() or char in "\r\n\t" for char in text)
    return bool(text) and "\ufffd" not in text and is_plain


def _time_of_last(chunks: Chunks, n_bytes: int) -> int:
    """When the n-th byte from the end came."""
    for data, at_ns in reversed(chunks):
        n_bytes -= len(data)
        if n_bytes <= 0:
            return at_ns
    return chunks[0][1]


def _meter_at(rate: int) -> RateMeter:
    return BaudMeter(baud=rate)
