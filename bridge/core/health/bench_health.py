"""The health of one bench: once a second of session time every detector looks at what came.

What is judged does not depend on how the bytes were cut, on ticks, or on how much was handed over at a time:
an assessment is due at each full second and sees exactly what came before it.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from operator import attrgetter, itemgetter

import numpy as np
from numpy.typing import NDArray

from bridge.core.exact import Values
from bridge.core.findings import Finding, FindingChange
from bridge.core.framing import Line

from .noise import NOISE_ROWS, newest_noise
from .raw_bytes import RateMeter, RawBytes
from .restarts import Restarts
from .rows_health import RowsHealth
from .seen import ChannelSeen, first_of_each_field
from .signs import SECOND_NS, Book, Signs
from .texts import Texts
from .traffic import Traffic
from .way import NOT_REACHED, Way
from .window import MAX_ROWS, MAX_SPAN_NS, Numbers

ASSESS_EVERY_NS = SECOND_NS
READ, WAITING = "read", "waiting"
NOISE_EVERY_NS = 5 * SECOND_NS
NOISE_MATTERS = 1.25
Noises = dict[int, tuple[float, int]]  # by field: standard deviation, and from how many readings
_MAX_ODD_LINES = 256  # of one second; a board that resets prints a few

_when = attrgetter("at_ns")
_came = itemgetter(1)

Fates = Sequence[tuple[Line, str]]
Chunks = Sequence[tuple[bytes, int]]


class BenchHealth:
    """Follows what a board sends, and tells what is wrong with it.

    A line that is told later than it came, because it waited for its layout, counts from the chunk that
    brought the decision: chunks are to be handed over one by one while lines wait.

    Args:
        bench: Its number.
        baud: The rate at which its port is read.
        lines_per_second: How often the lesson wants it to print; None: as it likes.
        is_timed: False for bytes without times of arrival: nothing is then said about silence and rates.
        meter: Makes what measures a baud rate; for tests of what is told without one.
    """

    def __init__(
        self,
        *,
        bench: int,
        baud: int,
        lines_per_second: float | None,
        is_timed: bool = True,
        meter: Callable[[int], RateMeter] | None = None,
    ) -> None:
        self.bench = bench
        self.doubt_steps: list[tuple[int, dict[int, str]]] = []
        self.noise_steps: list[tuple[int, Noises]] = []
        self._noises: Noises = {}
        self._book = Book(bench)
        self._traffic = Traffic(baud=baud, lines_per_second=lines_per_second, is_timed=is_timed)
        self._bytes, self._texts = RawBytes(baud=baud, meter=meter), Texts()
        self._restarts = Restarts(is_timed=is_timed)
        self._way = Way()
        self._rows_health: RowsHealth | None = None  # once the fields are known
        self._names: tuple[str, ...] = ()
        self._is_open = False
        self._due_ns: int | None = None
        self._assessed_ns = 0
        self._forget_pending()

    def describe(self, channels: Sequence[ChannelSeen], *, names: Sequence[str]) -> None:
        """Tell the fields of a row; to be told anew when the layout or the lesson changes.

        Args:
            channels: The fields and channels that are looked at; of one field the first counts.
            names: The names of all fields of a row.
        """
        fields = first_of_each_field(channels, len(names))
        if self._rows_health is None or tuple(names) != self._names:
            self._names = tuple(names)
            self._rows_health = RowsHealth(fields, len(names), self._book, self._traffic)
            self._forget_rows()
            self._noises = {}
        else:
            self._rows_health.describe(fields)

    def set_expectation(self, *, baud: int, lines_per_second: float | None) -> None:
        """The lesson or the port's rate has changed."""
        self._traffic.lines_per_second = lines_per_second
        if baud != self._traffic.baud:
            self._traffic.baud = baud
            self._bytes.restart(baud)
            self._texts.restart()

    def opened(self, at_ns: int) -> list[FindingChange]:
        """The port was opened."""
        self.doubt_steps, self.noise_steps = [], []
        changes = self._assess_until(at_ns)
        self._forget_pending()
        changes += self._reached("open", at_ns)
        self._open(at_ns)
        return changes

    def closed(self, at_ns: int, *, state: str = "released") -> list[FindingChange]:
        """The port is not open (any more): nothing is known about the board.

        Args:
            at_ns: Session time.
            state: Of the link: why, as the source tells it.
        """
        self.doubt_steps, self.noise_steps = [], []
        changes = self._assess_until(at_ns)
        changes += self._reached(state, at_ns)
        if not self._is_open:
            return changes
        self._is_open = False
        if self._book.doubts:
            self.doubt_steps.append((at_ns, {}))
        self._restarts.close(at_ns)
        self._forget_pending()
        changes += self._book.clear(at_ns, keep=("board resetting", NOT_REACHED))
        if self._rows_health is not None:
            self._rows_health.restart()
        return changes

    def take(
        self, chunks: Chunks, lines: Fates, row_lines: Sequence[Line], rows: Sequence[Values]
    ) -> list[FindingChange]:
        """Everything of one call of the pipeline, each in rising time.

        Args:
            chunks: (bytes, at_ns) as they came.
            lines: What was framed, with what became of it: "read", "set aside", "text" or "waiting".
            row_lines: The lines that gave a row of numbers.
            rows: Those numbers.

        Returns:
            What was found, changed and went, at the instants at which it was assessed.
        """
        self.doubt_steps, self.noise_steps = [], []
        if not chunks:  # lines that waited, or a half line at a break
            if self._is_open:
                self._add(chunks, lines, row_lines, rows)
            return []
        changes: list[FindingChange] = []
        if not self._is_open:
            first_ns = chunks[0][1]
            changes = self._assess_until(first_ns) + self._reached("open", first_ns)
            self._open(first_ns)
        # The first lines may be older than the first chunk, which an earlier call was given.
        return changes + self._take_in_seconds(chunks, lines, row_lines, rows)

    def tick(self, at_ns: int) -> list[FindingChange]:
        """Tell the time."""
        self.doubt_steps, self.noise_steps = [], []
        return self._assess_until(at_ns)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Those that stand, faults first, then by their beginning."""
        return self._book.findings

    def noise(self, index: int) -> float | None:
        """Standard deviation of a field's newest readings about their smooth course.

        As of the last assessment, in the printed number's unit; None for fewer than eight readings.
        """
        rows = self._rows_health
        if rows is None or not 0 <= index < rows.window.n_fields:
            return None
        return newest_noise(rows.window, index, self._assessed_ns)

    def newest(self, index: int) -> tuple[Numbers, NDArray[np.int64]]:
        """A field's numbers of the newest minute as printed, NaN for a missing one, and when they came."""
        rows = self._rows_health
        if rows is None or not 0 <= index < rows.window.n_fields:
            return np.empty(0), np.empty(0, np.int64)
        window = rows.window
        n = window.n_since(self._assessed_ns - MAX_SPAN_NS)
        return window.values(n)[:, index], window.times(n)

    def noises(self) -> Noises:
        """By field: the standard deviation that counts now, and from how many readings it is.

        It is renewed every few seconds and only when it has changed by a quarter, so that an uncertainty does
        not flicker. `noise_steps` holds what it was changed to within the last call, with the instants.
        """
        return dict(self._noises)

    def doubts(self) -> dict[int, str]:
        """By field: why its numbers should not be trusted now.

        `doubt_steps` holds what it became, and when, within the last call.
        """
        return dict(self._book.doubts)

    def _reached(self, state: str, at_ns: int) -> list[FindingChange]:
        """The link changed: whether the board can be reached."""
        self._way.take(state, at_ns)
        if not self._way.is_broken:
            return self._book.clear(at_ns, only=(NOT_REACHED,))
        self._due_ns = self._due_ns or (at_ns // ASSESS_EVERY_NS + 1) * ASSESS_EVERY_NS
        return []

    def _open(self, at_ns: int) -> None:
        self._is_open = True
        if self._due_ns is None or self._due_ns <= at_ns:
            self._due_ns = (at_ns // ASSESS_EVERY_NS + 1) * ASSESS_EVERY_NS
        self._traffic.restart(at_ns)
        self._bytes.restart(self._traffic.baud)
        self._texts.restart()
        self._restarts.restart(at_ns)
        if self._rows_health is not None:
            self._rows_health.restart()

    def _take_in_seconds(
        self, chunks: Chunks, lines: Fates, row_lines: Sequence[Line], rows: Sequence[Values]
    ) -> list[FindingChange]:
        """Hand over what came before each instant that falls due, and assess."""
        changes: list[FindingChange] = []
        end_ns = chunks[-1][1]
        chunk = line = row = 0
        while self._due_ns is not None and self._due_ns <= end_ns:
            due_ns = self._due_ns
            to_chunk = bisect_left(chunks, due_ns, chunk, key=_came)
            to_line = bisect_left(lines, due_ns, line, key=_line_came)
            to_row = bisect_left(row_lines, due_ns, row, key=_when)
            self._add(chunks[chunk:to_chunk], lines[line:to_line], row_lines[row:to_row], rows[row:to_row])
            chunk, line, row = to_chunk, to_line, to_row
            changes += self._assess_until(due_ns)
        self._add(chunks[chunk:], lines[line:], row_lines[row:], rows[row:])
        return changes

    def _add(self, chunks: Chunks, lines: Fates, row_lines: Sequence[Line], rows: Sequence[Values]) -> None:
        self._chunks += chunks
        self._n_lines += len(lines)
        if rows:
            self._rows += rows
            self._row_lines += row_lines
            if len(self._rows) > 2 * MAX_ROWS:
                del self._rows[:-MAX_ROWS], self._row_lines[:-MAX_ROWS]
        if len(lines) != len(row_lines):
            for one in lines:
                if one[1] != READ:
                    if one[1] == WAITING:
                        self._n_waiting += 1
                    elif len(self._odd) < _MAX_ODD_LINES:
                        self._odd.append(one)

    def _forget_rows(self) -> None:
        self._rows: list[Values] = []
        self._row_lines: list[Line] = []

    def _forget_pending(self) -> None:
        self._forget_rows()
        self._chunks: list[tuple[bytes, int]] = []
        self._odd: list[tuple[Line, str]] = []
        self._n_lines = self._n_waiting = 0

    def _assess_until(self, at_ns: int) -> list[FindingChange]:
        changes: list[FindingChange] = []
        while self._due_ns is not None and self._due_ns <= at_ns:
            due_ns = self._due_ns
            if not self._is_open and not self._way.is_broken and not self._book.findings:
                # Nothing can change while the port is closed.
                self._due_ns = (at_ns // ASSESS_EVERY_NS + 1) * ASSESS_EVERY_NS
                break
            before = self._book.doubts
            changes += self._assess(due_ns)
            self._assessed_ns, self._due_ns = due_ns, due_ns + ASSESS_EVERY_NS
            if due_ns % NOISE_EVERY_NS == 0 and self._renew_noises(due_ns):
                self.noise_steps.append((due_ns, dict(self._noises)))
            if self._book.doubts != before:
                self.doubt_steps.append((due_ns, dict(self._book.doubts)))
        return changes

    def _renew_noises(self, at_ns: int) -> bool:
        """Whether one has changed enough to be told."""
        rows = self._rows_health
        if rows is None or not rows.window.n:
            return False
        changed = False
        for field in rows.fields:
            noise = newest_noise(rows.window, field.index, at_ns) if field.is_measured else None
            if noise is None:
                continue
            held = self._noises.get(field.index, (-1.0, 0))[0]
            low, high = sorted((held, noise))
            if low < 0 or high > NOISE_MATTERS * low:
                self._noises[field.index] = noise, min(rows.window.n, NOISE_ROWS)
                changed = True
        return changed

    def _assess(self, at_ns: int) -> list[FindingChange]:
        if not self._is_open:
            return self._book.take(at_ns, self._restarts.signs(at_ns) + self._way.signs(at_ns))
        chunks, odd, rows, row_lines = self._chunks, self._odd, self._rows, self._row_lines
        n_lines, n_waiting = self._n_lines, self._n_waiting
        self._forget_pending()
        self._traffic.take_second(at_ns, chunks, n_lines)
        self._bytes.take_second(chunks, has_rows=bool(rows))
        self._texts.take_second(at_ns, odd, row_lines, n_lines, n_waiting)
        signs = self._bytes.signs(at_ns)
        if not signs and not self._bytes.is_garbage:
            signs = self._texts.signs(at_ns)
        signs = self._traffic.signs(at_ns) + signs
        if self._rows_health is not None:
            rows_health = self._rows_health
            look = rows_health.take(at_ns, rows, row_lines)
            if look is not None or odd:
                self._restarts.take_second(
                    look or rows_health.look(at_ns, 0), odd, is_garbage=self._bytes.is_garbage
                )
            signs += rows_health.signs(at_ns, look)
        starts = self._restarts.signs(at_ns)
        return self._book.take(at_ns, _without_repeats(signs + starts))


def _without_repeats(signs: list[Signs]) -> list[Signs]:
    """What makes other signs is told alone: they would send a person the wrong way."""
    kinds = {one.kind for one in signs}
    huge = {(one.channel, "top rail") for one in signs if one.kind == "unsigned below zero"}
    huge |= {(channel, "floating input") for channel, _ in huge}
    cut = {
        (one.channel, "bottom rail") for one in signs if one.kind == "too coarse" and one.weight == "fault"
    }
    # 20.09 printed as 20.9 comes back, as a placeholder would; see there for when the finding stands.
    cut |= {(one.channel, "placeholder value") for one in signs if one.kind == "lost zeros"}
    hidden: set[str] = set()
    if "no bytes" in kinds:
        hidden |= {"line rate"}
    if kinds & {"wrong baud", "no text", "no line end", "unreadable lines"}:
        hidden |= {"line rate", "too fast for its baud"}
    if "board resetting" in kinds:
        hidden |= {"line rate", "unreadable lines"}  # half lines
    return [one for one in signs if one.kind not in hidden and (one.channel, one.kind) not in huge | cut]


def _line_came(one: tuple[Line, str]) -> int:
    return one[0].at_ns
