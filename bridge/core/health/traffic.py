"""The bytes and lines of a bench, second by second: silence, their rate, the room on the wire."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from itertools import islice

import numpy as np

from .signs import SECOND_NS, Signs
from .window import Look

OPENING_PATIENCE_NS = 5 * SECOND_NS  # opening a port restarts many boards: two seconds of silence are usual
UNKNOWN_PACE_NS = 15 * SECOND_NS  # after the first line, until it is known how often the board prints
LEAST_PATIENCE_NS = 5 * SECOND_NS
PATIENCE_INTERVALS = 3
_NO_PAUSE_NS = SECOND_NS // 5  # portions of one line are less apart
_KEPT_PAUSES = 8

BITS_A_BYTE = 10
FULL_FROM, FULL_TO = 0.9, 1.08  # of what the wire carries; beyond it the port has no wire behind it
_FULL_SECONDS = 5

RATE_FACTOR, RATE_STILL = 1.5, 1.3
RATE_SECONDS = 10.0


class Traffic:
    """Counts what came in each second while the port is open."""

    def __init__(self, *, baud: int, lines_per_second: float | None, is_timed: bool) -> None:
        self.baud, self.lines_per_second = baud, lines_per_second
        self._is_timed = is_timed
        self.restart(0)

    def restart(self, at_ns: int) -> None:
        """The port was opened: what was before tells nothing."""
        self.opened_ns = at_ns
        self.newest_ns: int | None = None  # of the last byte
        self._pauses: deque[int] = deque(maxlen=_KEPT_PAUSES)
        self._seconds: deque[int] = deque(maxlen=60)  # bytes in each second
        self._n_seconds_with_bytes = 0
        self._lines: deque[tuple[int, int]] = deque(maxlen=60)  # (end of the second, lines read in it)

    def take_second(self, at_ns: int, chunks: Sequence[tuple[bytes, int]], n_lines: int) -> None:
        """What came in the second that ends now."""
        n_bytes = 0
        for data, came_ns in chunks:
            if not data:
                continue
            n_bytes += len(data)
            if self.newest_ns is not None and came_ns - self.newest_ns > _NO_PAUSE_NS:
                self._pauses.append(came_ns - self.newest_ns)
            self.newest_ns = came_ns
        self._seconds.append(n_bytes)
        self._n_seconds_with_bytes += n_bytes > 0
        self._lines.append((at_ns, n_lines))

    def signs(self, at_ns: int) -> list[Signs]:
        """Silence, and a wire that is full."""
        return self._silence(at_ns) + self._full(at_ns) if self._is_timed else []

    @property
    def patience_ns(self) -> int:
        """Silence up to here is the board's own pace."""
        slow = 0 if not self.lines_per_second else PATIENCE_INTERVALS * round(1e9 / self.lines_per_second)
        if self.newest_ns is None:
            return max(OPENING_PATIENCE_NS, slow)
        if self._n_seconds_with_bytes < 3 and len(self._pauses) < 2:
            return max(UNKNOWN_PACE_NS, slow)
        pauses = sorted(self._pauses)
        # The second longest of many: one long silence must not make the next one look usual.
        usual = 0 if not pauses else pauses[-2] if len(pauses) >= 4 else pauses[-1]
        return max(LEAST_PATIENCE_NS, PATIENCE_INTERVALS * usual, slow)

    def _silence(self, at_ns: int) -> list[Signs]:
        since_ns = self.opened_ns if self.newest_ns is None else self.newest_ns
        silent_ns = at_ns - since_ns
        if silent_ns < self.patience_ns:
            return []
        seconds = silent_ns / 1e9
        if self.newest_ns is None:
            words = "Nothing has come from this board since its port was opened"
            evidence = f"the port is open for {seconds:.0f} s, and not one byte came"
            remedy = "Look whether the program is on the board and prints; press the board's reset button"
        else:
            words = "The board has gone silent; its port is still open"
            longest = max(self._pauses, default=0) / 1e9
            evidence = f"no byte for {seconds:.0f} s; before, its longest pause was {longest:.1f} s"
            remedy = "Look whether the program hangs, waiting for its sensor; press the board's reset button"
        return [Signs("no bytes", "", since_ns, words, evidence, remedy, lasts_ns=0, size=seconds)]

    def _full(self, at_ns: int) -> list[Signs]:
        if len(self._seconds) < _FULL_SECONDS or self.baud <= 0:
            return []
        recent = list(islice(self._seconds, len(self._seconds) - _FULL_SECONDS, None))
        capacity = self.baud / BITS_A_BYTE
        share = sum(recent) / _FULL_SECONDS / capacity
        if not FULL_FROM <= share <= FULL_TO or min(recent) < capacity / 2:
            return []
        return [
            Signs(
                "too fast for its baud", "", at_ns - _FULL_SECONDS * SECOND_NS,
                "The board prints as much as its baud rate can carry, and has to wait for it",
                f"{sum(recent) / _FULL_SECONDS:.0f} bytes a second, {share:.0%} of the {capacity:.0f} that "
                f"{self.baud} baud carry",
                "Print less often, or set a higher baud rate in the program and here",
                weight="hint", size=share, patience_ns=SECOND_NS, lasts_ns=5 * SECOND_NS,
            )
        ]  # fmt: skip

    def rate_signs(self, look: Look) -> list[Signs]:
        """Rows come far more often, or far less, than the lesson says."""
        expected = self.lines_per_second
        if not expected or not self._is_timed:
            return []
        seconds = max(RATE_SECONDS, 6 / expected)
        times = look.window.times(look.n_within(seconds, at_least=6))
        if len(times) < 6 or look.at_ns - self.opened_ns < round(seconds * 1e9):
            return []
        n_first = int(np.count_nonzero(times == times[0]))
        span = float(times[-1] - times[0]) / 1e9
        if span < 0.6 * seconds:
            return []
        rows = (len(times) - n_first) / span
        factor = RATE_STILL if look.stands("line rate", "") else RATE_FACTOR
        low, high = expected / factor, expected * factor
        if low < rows < high:
            return []
        # A record over several lines may be counted either way.
        since_ns = look.at_ns - round(seconds * 1e9)
        if low < sum(n for end, n in self._lines if end > since_ns) / seconds < high:
            return []
        faster = rows > expected
        return [
            Signs(
                "line rate", "", int(times[0]),
                f"The board prints {'more' if faster else 'less'} often than the lesson asks for",
                f"{rows:.3g} readings a second over the last {span:.0f} s; the lesson says {expected:g}",
                "Look at the pause in the program's loop",
                weight="hint", size=rows / expected, patience_ns=4 * SECOND_NS, lasts_ns=4 * SECOND_NS,
            )
        ]  # fmt: skip
