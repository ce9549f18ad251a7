"""Boards that print their own time, read through adapters that delay: what happened, and what came.

    python -m tests.bridge.core.clocked_boards

prints how well the times are recovered.
"""

from __future__ import annotations

import random
from math import ceil
from statistics import median
from typing import NamedTuple

from bridge.core.board_clock import BoardClock

LEAST_DELAY_SECONDS = 0.010  # the text on the wire
FRAME_SECONDS = 0.016  # an adapter hands over what it has this often
SCHEDULING_SECONDS = 0.002  # mean of the exponential tail
STALL_SECONDS = 0.100
STALLS = 0.005  # of the lines meet one


class Clocked(NamedTuple):
    """A line: when it was printed in truth, what the board's clock showed, when the line came."""

    true_ns: int
    ticks: int
    at_ns: int


def clocked(
    chance: random.Random, *, skew: float, every_seconds: float, seconds: float, tick_ns: int = 1_000_000
) -> list[Clocked]:
    """A board whose clock is fast by `skew` and began 3.2 s before, behind an adapter on a busy computer."""
    lines: list[Clocked] = []
    at, stalled_until, phase = 0.0, 0.0, chance.random() * FRAME_SECONDS
    true = chance.random()
    while true < seconds:
        sent = true + LEAST_DELAY_SECONDS
        came = ceil((sent - phase) / FRAME_SECONDS) * FRAME_SECONDS + phase
        came += chance.expovariate(1 / SCHEDULING_SECONDS)
        if chance.random() < STALLS:
            stalled_until = came + STALL_SECONDS
        at = max(at, came, stalled_until)
        ticks = int((true + 3.2) * (1 + skew) * 1e9 / tick_ns)
        lines.append(Clocked(round(true * 1e9), ticks, round(at * 1e9)))
        true += every_seconds * (1 + chance.gauss(0, 0.0005))
    return lines


class Recovered(NamedTuple):
    """How far the recovered times are from the true ones, but for a constant delay; all in ms."""

    errors: list[float]
    raw_errors: list[float]  # without the board's clock
    clock: BoardClock

    def worst(self, share: float) -> float:
        """The error that so many of the lines stay below."""
        return sorted(self.errors)[ceil(share * len(self.errors)) - 1]

    def worst_raw(self, share: float) -> float:
        """The same of the times of arrival."""
        return sorted(self.raw_errors)[ceil(share * len(self.raw_errors)) - 1]


def recovered(lines: list[Clocked], *, tick_ns: int = 1_000_000, after_seconds: float = 30.0) -> Recovered:
    """Let a clock align the lines; the errors of those after the first half minute."""
    clock = BoardClock(tick_ns=tick_ns)
    times = clock.take_many([one.ticks for one in lines], [one.at_ns for one in lines])
    settled = [
        (given - one.true_ns, one.at_ns - one.true_ns)
        for given, one in zip(times, lines, strict=True)
        if one.true_ns > after_seconds * 1e9
    ]
    middle, raw_middle = median(a for a, _ in settled), median(b for _, b in settled)
    return Recovered(
        [abs(a - middle) / 1e6 for a, _ in settled], [abs(b - raw_middle) / 1e6 for _, b in settled], clock
    )


def main() -> None:
    """Print the table."""
    print("skew ppm  line every  error p95  max   by arrival p95  max   skew off by")
    chance = random.Random(1)
    for skew in (-200e-6, -50e-6, 0, 50e-6, 200e-6, 0.005, -0.005):
        for every in (0.02, 0.2, 1.0, 10.0):
            lines = clocked(chance, skew=skew, every_seconds=every, seconds=max(600, 200 * every))
            got = recovered(lines)
            assert got.clock.skew_ppm is not None
            off = got.clock.skew_ppm - skew * 1e6
            print(
                f"{skew * 1e6:8.0f} {every:9.2f} s {got.worst(0.95):8.1f} {got.worst(1):6.1f}"
                f" {got.worst_raw(0.95):12.1f} {got.worst_raw(1):8.1f} {off:10.1f} ppm"
            )


if __name__ == "__main__":
    main()
