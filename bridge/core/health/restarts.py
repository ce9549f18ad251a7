"""A board that starts anew again and again, and a clock that is set back without a start."""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Sequence
from typing import NamedTuple

from bridge.core.framing import Line

from .seen import ChannelSeen
from .signs import SECOND_NS, Signs
from .window import Look

AFTER_OPENING_NS = 10 * SECOND_NS  # opening a port restarts many boards: that start is no sign
MANY = 3  # starts within a minute are a fault, one or two a hint
WITHIN_NS = 60 * SECOND_NS
HINT_NS = 20 * SECOND_NS
CLOCK_HINT_NS = 30 * SECOND_NS
_PAUSE_NS, _PAUSE_FACTOR = SECOND_NS // 2, 1.5  # a start takes at least so much longer than a usual interval
_WRAP_32 = 2.0**32
_KEPT_GREETINGS = 16
_MAX_LETTERS = 80
_PRINTABLE = bytes((0x09, *range(0x20, 0x7F)))
_has_word = re.compile(r"[^\W\d_]{4}").search
_digits = re.compile(r"[0-9]+").sub


class _Drop(NamedTuple):
    """A clock or running number that went back, not yet judged: the next row must confirm it."""

    field: ChannelSeen
    before: float
    after: float
    at_ns: int
    gap_ns: int
    is_broken: bool  # a silence, or a line that is no reading, lies between


class Restarts:
    """Follows greetings, running numbers, clocks and silences."""

    def __init__(self, *, is_timed: bool) -> None:
        self._is_timed = is_timed
        self._starts: deque[tuple[int, str]] = deque(maxlen=64)  # (at_ns, what showed it)
        self._closings: deque[int] = deque(maxlen=16)
        self._greetings: dict[str, int] = {}  # text -> number of the row's line before it
        self._clock: tuple[int, str, str] | None = None  # (at_ns, channel, evidence) of the newest set-back
        self.restart(0)

    def restart(self, at_ns: int) -> None:
        """The port was opened."""
        self._opened_ns = at_ns
        self._drops: list[_Drop] = []
        self._odd: deque[int] = deque(maxlen=64)  # numbers of the newest lines that gave no reading
        self._newest_row = 0  # number of its line
        self._newest_line_ns: int | None = None
        self._greetings = dict.fromkeys(self._greetings, 0)

    def close(self, at_ns: int) -> None:
        """The port went away."""
        self._closings.append(at_ns)

    def take_second(self, look: Look, odd: Sequence[tuple[Line, str]], *, is_garbage: bool) -> None:
        """The rows and the other lines of the second that ends now."""
        usual_ns = look.window.usual_interval_ns() if odd or len(self._drops) or _falls(look) else None
        for line, _ in odd:
            self._odd.append(line.number)
            if not is_garbage and self._is_start(line, look, usual_ns):
                self._start(line.at_ns, "its greeting came again")
        self._judge_drops(look)
        if look.n_new:
            self._find_drops(look, usual_ns)
            self._newest_row = int(look.window.numbers(1)[0])
            self._newest_line_ns = max(self._newest_line_ns or 0, int(look.newest_ns[-1]))
        if odd:
            self._newest_line_ns = max(self._newest_line_ns or 0, odd[-1][0].at_ns)

    def signs(self, at_ns: int) -> list[Signs]:
        """Starts, and a clock that was set back."""
        return self._start_signs(at_ns) + self._clock_signs(at_ns)

    def _start(self, at_ns: int, shown_by: str) -> None:
        if at_ns - self._opened_ns >= AFTER_OPENING_NS:
            self._starts.append((at_ns, shown_by))

    def _is_start(self, line: Line, look: Look, usual_ns: int | None) -> bool:
        """Whether a line that is no reading shows a start: a known greeting, a zero byte in silence."""
        if not _is_mostly_text(line.raw):
            return False
        has_zero = b"\0" in line.raw.strip(b"\0")
        text = line.raw.rsplit(b"\0", 1)[-1].decode(errors="replace").strip()[-_MAX_LETTERS:]
        key = _digits("#", text)
        row_before = self._row_before(line, look)
        # A half line runs into the greeting that follows it.
        known = next((one for one in self._greetings if key.endswith(one)), None)
        seen_behind = self._greetings.get(known) if known is not None else None
        if known is None and len(key) > 2 and not line.flaws and len(self._greetings) < _KEPT_GREETINGS:
            self._greetings[key] = row_before
        elif known is not None:
            self._greetings[known] = row_before
        is_again = seen_behind is not None and row_before > seen_behind
        if not (is_again or has_zero) or not row_before:
            return False
        after_silence = self._is_silence(self._gap_before(line, look), usual_ns)
        has_zero = has_zero or line.raw.startswith(b"\0")
        # No program cuts its own line by a greeting, but damage may make a short text of anything.
        cuts_a_line = known is not None and len(key) > len(known) and bool(_has_word(known))
        return (is_again and (has_zero or cuts_a_line)) or after_silence

    def _row_before(self, line: Line, look: Look) -> int:
        """The number of the row before a line; 0 when none has come since the port was opened."""
        numbers = look.window.numbers(look.n_new)
        before = numbers[numbers < line.number]
        return int(before[-1]) if len(before) else self._newest_row

    def _gap_before(self, line: Line, look: Look) -> int:
        numbers, times = look.window.numbers(look.n_new), look.window.times(look.n_new)
        before = times[numbers < line.number]
        newest = int(before[-1]) if len(before) else self._newest_line_ns
        return line.at_ns - newest if newest is not None else 0

    def _is_silence(self, gap_ns: int, usual_ns: int | None) -> bool:
        if not self._is_timed or usual_ns is None:
            return False
        return gap_ns >= usual_ns + _PAUSE_NS and gap_ns >= _PAUSE_FACTOR * usual_ns

    def _find_drops(self, look: Look, usual_ns: int | None) -> None:
        falls = look.jumps < 0
        numbers = look.window.numbers(look.n_new + 1)
        for field in look.fields:
            if field.is_measured:
                continue
            for i in falls[:, field.index].nonzero()[0].tolist():
                has_other_lines = any(numbers[i] < number < numbers[i + 1] for number in self._odd)
                gap_ns = int(look.newest_ns[i + 1] - look.newest_ns[i])
                drop = _Drop(
                    field,
                    float(look.newest[i, field.index]),
                    float(look.newest[i + 1, field.index]),
                    int(look.newest_ns[i + 1]),
                    gap_ns,
                    has_other_lines or self._is_silence(gap_ns, usual_ns),
                )
                following = look.newest[i + 2 :, field.index]
                if len(following):
                    self._judge(drop, float(following[0]))
                else:
                    self._drops.append(drop)

    def _judge_drops(self, look: Look) -> None:
        if self._drops and look.n_new:
            new = look.window.values(look.n_new)[0]
            for drop in self._drops:
                self._judge(drop, float(new[drop.field.index]))
            self._drops = []

    def _judge(self, drop: _Drop, following: float) -> None:
        """A damaged digit goes back up with the next row; a start or a set-back clock goes on from there."""
        if not drop.after <= following < drop.before:
            return
        if drop.is_broken and drop.after < 0.5 * drop.before:
            which = "clock" if drop.field.role == "clock" else "running number"
            newest = self._starts[-1][0] if self._starts else -WITHIN_NS
            if newest < drop.at_ns - drop.gap_ns:  # else its greeting was taken for the same start
                self._start(drop.at_ns, f"its {which} went from {drop.before:.0f} back to {drop.after:.0f}")
        elif drop.field.role == "clock":
            wrapped = drop.before > 0.99 * _WRAP_32 and drop.after < 0.01 * _WRAP_32
            words = (
                f"it passed {_WRAP_32 - 1:.0f} and went on from {drop.after:.0f}"
                if wrapped
                else f"from {drop.before:.0f} to {drop.after:.0f}, while its lines came on evenly"
            )
            self._clock = (drop.at_ns, drop.field.name, words)

    def _start_signs(self, at_ns: int) -> list[Signs]:
        recent = [one for one in self._starts if one[0] > at_ns - WITHIN_NS]
        closings = [one for one in self._closings if one > at_ns - WITHIN_NS]
        if len(closings) >= MANY and at_ns - closings[-1] < HINT_NS:
            return [
                Signs(
                    "board resetting", "", closings[0],
                    "The board's port goes away and comes back again and again",
                    f"{len(closings)} times in the last minute",
                    "Look for a loose plug, a bad cable or a short circuit that the computer switches off",
                    size=float(len(closings)), lasts_ns=HINT_NS,
                )
            ]  # fmt: skip
        if not recent:
            return []
        first, (newest, shown_by), n = recent[0][0], recent[-1], len(recent)
        quiet_ns = HINT_NS if n < MANY else max(HINT_NS, 3 * (newest - first) // (n - 1))
        if at_ns - newest >= quiet_ns:
            return []
        if n >= MANY:
            every = (newest - first) / (n - 1) / 1e9
            return [
                Signs(
                    "board resetting", "", first,
                    "The board starts anew again and again",
                    f"{n} starts in the last minute, every {every:.1f} s; {shown_by}",
                    "Look for a loose plug, too little power (motors, many lamps), a short circuit, or a "
                    "program that crashes",
                    size=float(n), lasts_ns=0,
                )
            ]  # fmt: skip
        return [
            Signs(
                "board resetting", "", first,
                "The board has started anew",
                f"{n} start{'s' if n > 1 else ''} in the last minute; {shown_by}",
                "No harm if somebody pressed reset or loaded a program; else look at plug and power",
                weight="hint", lasts_ns=0,
            )
        ]  # fmt: skip

    def _clock_signs(self, at_ns: int) -> list[Signs]:
        if self._clock is None or at_ns - self._clock[0] >= CLOCK_HINT_NS:
            return []
        since_ns, channel, evidence = self._clock
        return [
            Signs(
                "board clock", channel, since_ns,
                "The board's clock was set back, though the board did not start anew",
                evidence,
                "Nothing need be done here: times are taken from arrival; compute spans in the program with "
                "unsigned differences",
                weight="hint", lasts_ns=0,
            )
        ]  # fmt: skip


def _is_mostly_text(raw: bytes) -> bool:
    bare = raw.replace(b"\0", b"")
    return len(bare.translate(None, _PRINTABLE)) <= 0.2 * len(bare)


def _falls(look: Look) -> bool:
    return any(bool((look.jumps[:, one.index] < 0).any()) for one in look.fields if not one.is_measured)
