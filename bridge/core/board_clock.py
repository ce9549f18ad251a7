"""The board's own clock, aligned with arrival times: when a reading was taken, and not when it came.

A line comes late by what the board's buffer, the wire, the adapter and this computer take; never early. So
the line beneath arrival minus board time (`envelope.py`) is the board's clock as seen from here: its slope is
the skew, its height the offset. A reading's time is that line's. Everything follows from the sequence of
(ticks, arrival) alone; the line is drawn anew between chunks only, when the newest line of one is known.

A clock that steps back is told apart by arrival: a rollover goes on beneath the same line; after a reset or
any other step the alignment begins anew.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from math import floor, sqrt
from typing import Literal, NamedTuple

from bridge.core.envelope import LowerEnvelope

MOST_TICKS = 1 << 53  # no clock that is printed as a number shows more; so no sum overflows either
MOST_SKEW = 0.05  # at one twentieth no text would come through: start and stop bits bound every board's clock
ROLLOVERS = (1 << 32, 1 << 16)  # ticks; a program with 16-bit or signed numbers prints the same step
FIT_EVERY_NS = 1_000_000_000  # of arrival; between fits the line only goes down
EARLY_FITS = 8  # chunks at the beginning after each of which a fit is made
TOLERANCE_NS = 100_000_000  # by which a reading may seem to be of the future before the clock is doubted
AHEAD_NS = 1_000_000_000  # a longer step of the clock than is usual, and than the time that went by
STEADY_AHEAD = 3  # lines that go on from a step ahead before it is believed
JUDGED_EVERY_NS = 2_000_000_000  # of arrival, and at least two lines
NONSENSE = 0.1  # share by which a clock may go wrong against arrival
IN_A_ROW = 3  # judgements until a clock is not believed any more, or again
OFTEN_LINES = 64  # a clock that stepped back three times within so many lines is none
LATE_NS = 1_000_000_000  # a delay that is worth telling
KEPT_DELAYS = 256  # the newest lines that the jitter is taken from
KEPT_STEPS = 8  # the newest steps of the clock that the usual one is taken from
SKEW_KNOWN_NS = 20_000_000_000  # a skew is told from this span on

StepKind = Literal["rollover", "reset", "step back", "step ahead"]


class ClockStep(NamedTuple):
    """The board's clock did not simply go on."""

    kind: StepKind
    at_ns: int  # arrival
    before: float  # ticks
    after: float
    words: str


class BoardClock:
    """One board's clock. Feed it each line's clock and arrival, in their order."""

    def __init__(self, *, tick_ns: int) -> None:
        """`tick_ns`: what one tick of the printed clock is worth: 1_000_000 for a clock in ms."""
        self.tick_ns = tick_ns
        self.newest_step: ClockStep | None = None
        self.n_steps = 0  # of `newest_step`, ever
        self._skew = 0.0  # slope of the line; kept over a reset, for it is the same oscillator
        self._zero_ticks: float | None = None
        self._newest_ns = -(1 << 62)  # no time that was given is later
        self._last_ticks = 0.0
        self._last_at_ns = 0
        self._is_nonsense = False
        self._steps_back: deque[int] = deque(maxlen=IN_A_ROW)
        self._n_taken = 0
        self._delays: deque[int] = deque(maxlen=KEPT_DELAYS)
        self._steps: deque[int] = deque(maxlen=KEPT_STEPS)
        self._last_time = 0
        self._ahead: list[tuple[float, int]] = []
        self._begin(0.0, 0)
        self._zero_ticks = None

    @property
    def is_used(self) -> bool:
        """Whether times come from the board's clock; else they are those of arrival."""
        return self._zero_ticks is not None and not self._is_nonsense

    @property
    def skew_ppm(self) -> float | None:
        """By how much the board's clock is fast, in millionths; None until it can be said."""
        if not self.is_used or self._span_ns < SKEW_KNOWN_NS:
            return None
        return (1 / (1 + self._skew) - 1) * 1e6

    @property
    def offset_ns(self) -> int | None:
        """Session time minus the board's own at the newest reading."""
        if not self.is_used or self._zero_ticks is None:
            return None
        board_ns = round(self._last_ticks * self.tick_ns)
        return self._time_of(round((self._last_ticks - self._zero_ticks) * self.tick_ns)) - board_ns

    @property
    def delay_ns(self) -> int:
        """How late the newest line came, beyond the least delay."""
        return self._delays[-1] if self._delays else 0

    @property
    def longest_delay_ns(self) -> int:
        """The longest such delay of the newest lines."""
        return max(self._delays, default=0)

    @property
    def jitter_ns(self) -> int:
        """Standard deviation of the delays of the newest lines: what was taken out of the time axis."""
        n = len(self._delays)
        if n < 2:
            return 0
        mean = sum(self._delays) / n
        return round(sqrt(sum((one - mean) ** 2 for one in self._delays) / (n - 1)))

    @property
    def words(self) -> str:
        """How the clock stands, for a person."""
        if self._zero_ticks is None:
            return "the board's clock has not been seen yet"
        if self._is_nonsense:
            return "the board's clock does not go with the time: times are those of arrival"
        jitter = f"{self.jitter_ns / 1e6:.1f} ms of jitter taken out"
        if self.longest_delay_ns > LATE_NS:
            jitter += f", newest lines up to {self.longest_delay_ns / 1e9:.1f} s late"
        skew = self.skew_ppm
        if skew is None:
            return f"times by the board's clock, {jitter}"
        sense = "fast" if skew > 0 else "slow"
        return f"times by the board's clock, which is {abs(skew):.0f} ppm {sense}; {jitter}"

    def take(self, ticks: float, at_ns: int) -> int:
        """When the reading was taken, in session time: never later than its arrival, never before the last.

        Args:
            ticks: The clock as printed.
            at_ns: Arrival, not before the last one's.
        """
        self._n_taken += 1
        if not -MOST_TICKS < ticks < MOST_TICKS:
            return self._given(at_ns, at_ns)
        zero = self._zero_ticks
        if zero is None:
            return self._anew(ticks, at_ns)
        if at_ns > self._last_at_ns:
            self._between_chunks(at_ns)
        if self._is_nonsense:
            self._last_ticks, self._last_at_ns = ticks, at_ns
            return self._given(at_ns, at_ns)
        if ticks < self._last_ticks:
            return self._step_back(ticks, at_ns)
        if at_ns == self._zero_ns:  # lines that had waited together: the last of them is the least late
            steps = self._steps
            steps.append(round((ticks - self._last_ticks) * self.tick_ns))
            self._begin(ticks, at_ns)
            self._steps = steps
            return self._add(0, at_ns)
        time = round((ticks - zero) * self.tick_ns)
        if self._is_ahead(time, at_ns):
            return self._look_ahead(ticks, at_ns)
        self._ahead.clear()
        self._last_ticks = ticks
        self._steps.append(time - self._last_time)
        return self._add(time, at_ns)

    def take_many(self, ticks: Sequence[float], at_ns: Sequence[int]) -> list[int]:
        """`take` of each, in order."""
        return list(map(self.take, ticks, at_ns))

    def _begin(self, ticks: float, at_ns: int) -> None:
        """Align anew, from this reading on."""
        self._zero_ticks = self._last_ticks = self._judged_ticks = ticks
        self._zero_ns = self._last_at_ns = self._judged_ns = at_ns
        self._envelope = LowerEnvelope()
        self._at_zero = 0.0
        self._steps = deque(maxlen=KEPT_STEPS)
        self._fit_at_ns = at_ns + FIT_EVERY_NS
        self._last_time = self._n_chunks = self._span_ns = self._n_wrong = self._n_right = 0
        self._ahead.clear()
        self._is_nonsense = False

    def _anew(self, ticks: float, at_ns: int) -> int:
        self._begin(ticks, at_ns)
        return self._add(0, at_ns)

    def _add(self, time: int, at_ns: int) -> int:
        """A reading that goes on from the last one; `time`: of the board, from the alignment's beginning."""
        above = at_ns - self._zero_ns - time
        self._envelope.add(time, above)
        self._last_time, self._last_at_ns = time, at_ns
        height = above - self._skew * time
        if height < self._at_zero:
            self._at_zero = height
        return self._given(self._time_of(time), at_ns)

    def _time_of(self, time: int) -> int:
        return self._zero_ns + time + floor(self._at_zero + self._skew * time)

    def _given(self, time_ns: int, at_ns: int) -> int:
        time_ns = max(self._newest_ns, min(time_ns, at_ns))
        self._newest_ns = time_ns
        self._delays.append(at_ns - time_ns)
        return time_ns

    def _between_chunks(self, at_ns: int) -> None:
        """A chunk ended: draw the line anew beneath all so far, and judge the clock, where it is time."""
        self._n_chunks += 1
        if not self._is_nonsense and (at_ns >= self._fit_at_ns or self._n_chunks <= EARLY_FITS):
            under = self._envelope.under(-MOST_SKEW, MOST_SKEW)
            self._skew, self._at_zero, self._span_ns = under.slope, under.at_zero_ns, under.span_ns
            self._fit_at_ns = at_ns + max(FIT_EVERY_NS, under.span_ns // 64)
        went_by = self._last_at_ns - self._judged_ns
        if went_by >= JUDGED_EVERY_NS:
            went = (self._last_ticks - self._judged_ticks) * self.tick_ns
            self._judged_ns, self._judged_ticks = self._last_at_ns, self._last_ticks
            self._judge(abs(went / went_by - 1) > NONSENSE)

    def _judge(self, is_wrong: bool) -> None:
        """A line may be late and the clock seem slow, then fast: only what stays so counts."""
        self._n_wrong = self._n_wrong + 1 if is_wrong else 0
        self._n_right = 0 if is_wrong else self._n_right + 1
        if self._n_wrong >= IN_A_ROW:
            self._is_nonsense = True
        elif self._is_nonsense and self._n_right >= IN_A_ROW:
            self._zero_ticks = None  # the next line begins anew

    def _is_ahead(self, time: int, at_ns: int) -> bool:
        """Whether the clock leapt further than time went on, and than it usually goes from line to line."""
        if self._time_of(time) <= at_ns + TOLERANCE_NS or len(self._steps) < 2:
            return False
        step = time - self._last_time
        return step > 3 * max(self._steps) + AHEAD_NS + at_ns - self._last_at_ns

    def _look_ahead(self, ticks: float, at_ns: int) -> int:
        """A damaged number, or a clock that was set: only what goes on from there is believed."""
        if self._ahead:
            last_ticks, last_at = self._ahead[-1]
            went, passed = (ticks - last_ticks) * self.tick_ns, at_ns - last_at
            if not 0 <= went <= passed * (1 + NONSENSE) + AHEAD_NS:
                self._ahead.clear()
        self._ahead.append((ticks, at_ns))
        if len(self._ahead) < STEADY_AHEAD:
            return self._given(at_ns, at_ns)
        self._tell("step ahead", ticks, at_ns)
        return self._anew(ticks, at_ns)

    def _step_back(self, ticks: float, at_ns: int) -> int:
        assert self._zero_ticks is not None, "there was a line before"
        for rollover in ROLLOVERS:
            time = round((ticks + rollover - self._zero_ticks) * self.tick_ns)
            if self._goes_on(time, at_ns):
                self._tell("rollover", ticks, at_ns)
                self._zero_ticks -= rollover
                self._judged_ticks -= rollover
                self._last_ticks = ticks
                self._steps.append(time - self._last_time)
                return self._add(time, at_ns)
        is_reset = 0 <= ticks * self.tick_ns <= at_ns - self._newest_ns + 2 * AHEAD_NS
        self._tell("reset" if is_reset else "step back", ticks, at_ns)
        given = self._anew(ticks, at_ns)
        if not is_reset:
            self._steps_back.append(self._n_taken)
            self._is_nonsense = (
                len(self._steps_back) == IN_A_ROW and self._n_taken - self._steps_back[0] < OFTEN_LINES
            )
        return given

    def _goes_on(self, time: int, at_ns: int) -> bool:
        """Whether the clock, so many ticks on, would be where it must be by arrival."""
        late = at_ns - self._time_of(time)
        if late < -TOLERANCE_NS or time < self._last_time:
            return False
        usual = max(self._steps, default=0)
        return late <= self.delay_ns + 5 * TOLERANCE_NS or 0 < time - self._last_time <= 2 * usual

    def _tell(self, kind: StepKind, ticks: float, at_ns: int) -> None:
        before = self._last_ticks
        what = {
            "rollover": "is past its largest number and goes on from the smallest",
            "reset": "went back to its beginning, as after a restart",
            "step back": "stepped back",
            "step ahead": "leapt ahead",
        }[kind]
        words = f"the board's clock {what}, from {before:.15g} to {ticks:.15g}"
        self.newest_step = ClockStep(kind, at_ns, before, ticks, words)
        self.n_steps += 1
