"""Lines that give no reading: none fits, some are damaged, or their encoding is not UTF-8."""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Sequence

from bridge.core.framing import DAMAGED, Line

from .raw_bytes import shown
from .signs import SECOND_NS, Signs

UNREADABLE_LINES = 5
UNREADABLE_NS = 8 * SECOND_NS  # a greeting of several lines is over by then
DAMAGED_NS = 20 * SECOND_NS
DAMAGED_LINES, DAMAGED_SHARE = 3, 0.1
NEARLY = 0.6  # so much of a line like those that are read

_form = re.compile(r"[0-9]").sub


class Texts:
    """Follows the lines, second by second."""

    def __init__(self) -> None:
        self.restart()

    def restart(self) -> None:
        """The port was opened, or its rate was changed."""
        self._unread: deque[tuple[Line, str]] = deque(maxlen=4 * UNREADABLE_LINES)
        self._n_unread = self._unread_ns = 0
        self._counts: deque[tuple[int, int, int]] = deque(maxlen=60)  # (end, damaged, all)
        self._newest_damaged, self._damaged_ns = "", -DAMAGED_NS
        self._no_utf8: Line | None = None  # the first one
        self._newest: Line | None = None

    def take_second(
        self,
        at_ns: int,
        odd: Sequence[tuple[Line, str]],
        row_lines: Sequence[Line],
        n_lines: int,
        n_waiting: int,
    ) -> None:
        """What came in the second that ends now; `odd`: the lines that gave no reading."""
        if row_lines or n_waiting:
            self._unread.clear()
            self._n_unread = 0
        elif odd:
            if not self._unread:
                self._unread_ns = odd[0][0].at_ns
            self._unread.extend(odd)
            self._n_unread += len(odd)
        damaged = [line for line, fate in odd if DAMAGED in line.flaws or self._nearly_fits(line, fate)]
        if damaged:
            self._newest_damaged, self._damaged_ns = damaged[-1].text, at_ns
        self._counts.append((at_ns, len(damaged), n_lines))
        if row_lines:
            self._newest = row_lines[-1]
            if not _has_single_byte_sign(self._newest):
                self._no_utf8 = None
            elif self._no_utf8 is None:
                self._no_utf8 = self._newest

    def signs(self, at_ns: int) -> list[Signs]:
        """What is wrong with the lines."""
        return (self._unreadable() or self._damaged(at_ns)) + self._encoding()

    def _nearly_fits(self, line: Line, fate: str) -> bool:
        """Whether it looks like a line that was read, but for a few characters."""
        if self._newest is None or fate != "set aside" or line.flaws:
            return False
        text, usual = _form("0", line.text), _form("0", self._newest.text)
        if abs(len(text) - len(usual)) > 2 or text == usual:
            return False
        same = sum(a == b for a, b in zip(text, usual, strict=False))
        return same >= NEARLY * max(len(text), len(usual))

    def _unreadable(self) -> list[Signs]:
        if self._n_unread < UNREADABLE_LINES:
            return []
        newest = self._unread[-1][0]
        if newest.at_ns - self._unread_ns < UNREADABLE_NS:
            return []
        only_words = all(fate == "text" for _, fate in self._unread)
        words = "The board prints only words, no numbers" if only_words else "No line fits the layout"
        remedy = (
            "Read what it says: a program often tells what it waits for"
            if only_words
            else "Let the text be learned anew, or choose the layout that fits"
        )
        return [
            Signs(
                "unreadable lines", "", self._unread_ns, words,
                f"{self._n_unread} lines without a reading; the newest: {shown(newest.text)}", remedy,
                lasts_ns=SECOND_NS, size=float(self._n_unread),
            )
        ]  # fmt: skip

    def _damaged(self, at_ns: int) -> list[Signs]:
        if at_ns - self._damaged_ns > DAMAGED_NS:
            return []
        recent = [one for one in self._counts if one[0] > at_ns - DAMAGED_NS]
        n_damaged, n_lines = sum(one[1] for one in recent), sum(one[2] for one in recent)
        if n_damaged < DAMAGED_LINES or n_damaged < DAMAGED_SHARE * n_lines:
            return []
        since_ns = next(end for end, n, _ in recent if n) - SECOND_NS
        return [
            Signs(
                "unreadable lines", "", since_ns, "Some lines arrive damaged; they are set aside",
                f"{n_damaged} of {n_lines} lines in 20 s, such as {shown(self._newest_damaged)}",
                "Try another cable or socket, away from motors; look whether two programs print at once",
                weight="hint", size=n_damaged / n_lines, lasts_ns=5 * SECOND_NS,
            )
        ]  # fmt: skip

    def _encoding(self) -> list[Signs]:
        if self._no_utf8 is None:
            return []
        return [
            Signs(
                "no UTF-8", "", self._no_utf8.at_ns,
                "The degree sign comes as a single byte, not as UTF-8; it was read as a degree sign",
                f"the byte B0 in {shown(self._no_utf8.text)}",
                "Nothing need be done; to be sure, let the program print C without the sign",
                weight="hint", lasts_ns=5 * SECOND_NS,
            )
        ]  # fmt: skip


def _has_single_byte_sign(line: Line) -> bool:
    return b"\xb0" in line.raw and b"\xc2\xb0" not in line.raw and "°" in line.text
