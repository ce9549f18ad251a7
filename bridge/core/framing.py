"""Cuts a board's bytes into lines: the same lines, flaws and numbers whatever the portions.

Knows no port and no clock. A line ends with LF, CR or CR LF. Zero bytes at its edges are ignored, lines of
blanks are none. Damaged bytes (no valid UTF-8, or control characters) flaw the whole line: it is kept and
told, never repaired by leaving bytes out. Clean chunks take the short way: one check, one decode, one
split; only chunks with odd bytes are looked at line by line.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import partial
from itertools import repeat
from typing import NamedTuple

import numpy as np

WORTH_BULK = 4  # fewer chunks are cut sooner one by one
COLD = "after a cold start"
CUT = "cut"
DAMAGED = "damaged bytes"
OVER_LONG = "over-long"

_CONTROLS = bytes({*range(0x20), 0x7F} - set(b"\t\n\r"))
_late_control = re.compile(rb"\xc2[\x80-\x9f]").search  # U+0080 to U+009F, as UTF-8
_line_end = re.compile(rb"\r\n?|\n").search


class Line(NamedTuple):
    """One framed text line with its flaws. `flaws` is "" for a line that may become a reading."""

    number: int  # from 1, blank lines not counted
    text: str  # without line end and edge zeros; what can't be decoded shows as U+FFFD
    raw: bytes  # as it came, without the line end; of an over-long line only the kept front
    at_ns: int  # arrival of the chunk that ended it
    flaws: str  # "" or several of COLD, CUT, DAMAGED, "over-long (n bytes)", joined by ", "


_line = partial(tuple.__new__, Line)  # half the time of Line(...): made for every line of the class


class Framer:
    """One board's bytes in, lines out.

    Args:
        max_line_bytes: Longest line that is kept whole; of a longer one the front is kept, the rest
            is counted.
        cold: The port was opened just now, so that bytes up to the first line end may be half a line.
        first_number: Number of the first line.
    """

    def __init__(self, *, max_line_bytes: int = 4096, cold: bool = False, first_number: int = 1) -> None:
        self.max_line_bytes = max_line_bytes
        self.next_number = first_number
        self.n_degree_signs = 0  # lines whose degree sign came as the single byte B0 and was read as one
        self.n_bytes_since_line_end = 0
        self._pending = b""  # at most max_line_bytes
        self._is_cold = cold
        self._after_cr = False  # the last byte was a CR: an LF that follows belongs to it

    @property
    def pending(self) -> bytes:
        """The bytes that wait for their line end; at most `max_line_bytes`."""
        return self._pending

    def feed(self, data: bytes, at_ns: int) -> list[Line]:
        """Take a chunk; return the lines that it completes: none, one or many."""
        if self._after_cr and data:
            self._after_cr = False
            if data[0] == 0x0A:
                data = data[1:]
        end = max(data.rfind(b"\n"), data.rfind(b"\r")) + 1
        if not end:
            self._wait(data)
            return []
        self._after_cr = data.endswith(b"\r")
        n_ahead = self.n_bytes_since_line_end - len(
            self._pending
        )  # bytes of an over-long line that were not kept
        body = self._pending + data[:end] if self._pending else data[:end]
        self._pending, self.n_bytes_since_line_end = b"", 0
        self._wait(data[end:])
        first: list[Line] = []
        if n_ahead or self._is_cold:
            found = _line_end(body)
            assert found is not None
            first = self._lines_one_by_one(body[: found.end()], at_ns, n_ahead)
            body = body[found.end() :]
        lines = self._clean_lines(body, at_ns) if body else []
        return first + (self._lines_one_by_one(body, at_ns, 0) if lines is None else lines)

    def feed_many(self, chunks: Sequence[tuple[bytes, int]]) -> list[Line]:
        """`feed` of each (bytes, time), the same lines with the same times; in bulk where the bytes allow."""
        if len(chunks) < WORTH_BULK:
            return [line for data, at_ns in chunks for line in self.feed(data, at_ns)]
        lines = self._clean_lines_of_many(chunks)
        if lines is None:  # somewhere a byte calls for a closer look: only there it is taken
            half = len(chunks) // 2
            lines = self.feed_many(chunks[:half]) + self.feed_many(chunks[half:])
        return lines

    def break_off(self, at_ns: int, *, cold: bool = True) -> list[Line]:
        """The connection broke, or the source ended: the half line is thrown away, told as a flawed line."""
        raw, n_bytes = self._pending, self.n_bytes_since_line_end
        self._pending, self.n_bytes_since_line_end, self._after_cr = b"", 0, False
        lines = self._line_of(raw, n_bytes, at_ns, CUT)
        self._is_cold = cold
        return lines

    def _wait(self, data: bytes) -> None:
        self.n_bytes_since_line_end += len(data)
        room = self.max_line_bytes - len(self._pending)
        self._pending += data[:room]

    def _clean_lines_of_many(self, chunks: Sequence[tuple[bytes, int]]) -> list[Line] | None:
        """The lines of many chunks; None, with nothing changed, when they call for a closer look."""
        joined = b"".join([self._pending, *(data for data, _ in chunks)])
        end = joined.rfind(b"\n") + 1
        has_lone_cr = joined.count(b"\r") != joined.count(b"\r\n")
        not_kept = self.n_bytes_since_line_end != len(self._pending)
        if not end or has_lone_cr or not_kept or self._after_cr or self._is_cold:
            return None
        body, first = joined[:end], self.next_number
        if self._pending and len(body.partition(b"\n")[0]) > self.max_line_bytes:
            return None
        lines = self._clean_lines(body, 0)
        ends = np.flatnonzero(np.frombuffer(body, np.uint8) == 0x0A)
        if lines is None or len(lines) != len(ends):  # blank lines: which end is whose is not plain
            self.next_number = first
            return None
        self._pending, self.n_bytes_since_line_end = b"", 0
        self._wait(joined[end:])
        # A line ends with the chunk that brings its CR, else its LF.
        ends -= (np.frombuffer(body, np.uint8)[ends - 1] == 0x0D) & (ends > 0)
        sizes = [len(data) for data, _ in chunks]
        chunk_ends = np.cumsum(sizes) + (len(joined) - sum(sizes))
        of_chunk = np.searchsorted(chunk_ends, ends, side="right").tolist()
        return [
            _line((number, text, raw, chunks[i][1], flaws))
            for (number, text, raw, _, flaws), i in zip(lines, of_chunk, strict=True)
        ]

    def _clean_lines(self, body: bytes, at_ns: int) -> list[Line] | None:
        """All lines at once; None when a line calls for a closer look."""
        if not _is_plain(body):
            return None
        if b"\r" in body:
            body = body.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
        body = body[:-1]
        try:
            text = body.decode()
        except UnicodeDecodeError:
            return None
        raws, texts = body.split(b"\n"), text.split("\n")
        if len(body) > self.max_line_bytes and len(max(raws, key=len)) > self.max_line_bytes:
            return None
        if "" in texts or (body[:1] in b" \t") or b"\n " in body or b"\n\t" in body:
            kept = [(t, r) for t, r in zip(texts, raws, strict=True) if r.strip()]
            texts, raws = [t for t, _ in kept], [r for _, r in kept]
        first = self.next_number
        self.next_number += len(texts)
        numbers = range(first, self.next_number)
        return list(map(_line, zip(numbers, texts, raws, repeat(at_ns), repeat(""), strict=False)))

    def _lines_one_by_one(self, body: bytes, at_ns: int, n_ahead: int) -> list[Line]:
        lines: list[Line] = []
        for raw in body.splitlines():  # of bytes: splits at LF, CR and CR LF only
            lines += self._line_of(raw, len(raw) + n_ahead, at_ns, "")
            n_ahead = 0
            self._is_cold = False
        return lines

    def _line_of(self, raw: bytes, n_bytes: int, at_ns: int, flaw: str) -> list[Line]:
        raw = raw[: self.max_line_bytes]
        bare = raw.strip(b"\0")
        if n_bytes <= self.max_line_bytes and not bare.strip(b" \t"):
            return []
        text, is_whole = self._text_of(bare)
        flaws = [
            COLD if self._is_cold else "",
            flaw,
            f"{OVER_LONG} ({n_bytes} bytes)" if n_bytes > self.max_line_bytes else "",
            "" if is_whole else DAMAGED,
        ]
        line = Line(self.next_number, text, raw, at_ns, ", ".join(filter(None, flaws)))
        self.next_number += 1
        return [line]

    def _text_of(self, bare: bytes) -> tuple[str, bool]:
        is_plain = _is_plain(bare)
        try:
            return bare.decode(), is_plain
        except UnicodeDecodeError:
            pass
        try:  # a lone B0 before C or F is the degree sign of an 8-bit code page; no other repair is safe
            text = bare.replace(b"\xb0C", b"\xc2\xb0C").replace(b"\xb0F", b"\xc2\xb0F").decode()
        except UnicodeDecodeError:
            return bare.decode(errors="replace"), False
        self.n_degree_signs += is_plain
        return text, is_plain


def _is_plain(data: bytes) -> bool:
    """Whether there are no control characters but tabs and line ends."""
    return len(data.translate(None, _CONTROLS)) == len(data) and (data.isascii() or not _late_control(data))
