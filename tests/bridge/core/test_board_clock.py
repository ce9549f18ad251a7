from __future__ import annotations

import random
import tomllib
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.board_clock import BoardClock
from tests.bridge.core.clocked_boards import clocked, recovered

MS = 1_000_000
S = 1_000_000_000
CASES = Path(__file__).parents[2] / "cases"
TABLE = tomllib.loads((CASES / "cases.toml").read_text(encoding="utf-8"))


def case_lines(name: str, column: int) -> tuple[list[float], list[int]]:
    """The clock of each line of a case, and when it came."""
    case, data = TABLE[name], (CASES / f"{name}.bytes").read_bytes()
    ticks: list[float] = []
    arrivals: list[int] = []
    rest, at, at_ms = b"", 0, 0
    for size, gap_ms in zip(case["chunk_sizes"], case["gap_ms"], strict=True):
        at_ms += gap_ms
        *lines, rest = (rest + data[at : at + size]).split(b"\r\n")
        at += size
        ticks += [float(line.split(b",")[column]) for line in lines]
        arrivals += [at_ms * MS] * len(lines)
    return ticks, arrivals


def test_the_lines_of_a_reader_that_fell_behind_are_200_ms_apart_as_the_board_printed_them() -> None:
    ticks, arrivals = case_lines("reader-falls-behind", 1)
    clock = BoardClock(tick_ns=MS)
    times = clock.take_many(ticks, arrivals)
    spacing = TABLE["reader-falls-behind"]["spacing_ms_from_board_clock"] * MS
    assert len(times) == TABLE["reader-falls-behind"]["readings_count"]
    assert [b - a for a, b in pairwise(times)] == [spacing] * 49
    assert clock.longest_delay_ns == 6_800 * MS  # the first of the 35 lines; the last of them came at once
    assert clock.delay_ns == 0
    assert clock.newest_step is None


def test_the_delay_of_the_newest_line_is_told() -> None:
    clock = BoardClock(tick_ns=MS)
    for i in range(50):
        clock.take(i * 200, i * 200 * MS)
    clock.take(50 * 200, 50 * 200 * MS + 345 * MS)
    assert clock.delay_ns == pytest.approx(345 * MS, abs=MS)


def test_a_clock_that_wraps_after_49_days_goes_on() -> None:
    ticks, arrivals = case_lines("board-clock-wraps-49-days", 0)
    clock = BoardClock(tick_ns=MS)
    assert clock.take_many(ticks, arrivals) == [
        round(elapsed * S) for elapsed in TABLE["board-clock-wraps-49-days"]["elapsed_s"]
    ]
    assert clock.newest_step is not None
    assert clock.newest_step.kind == "rollover"


def test_a_clock_that_wraps_early_is_told_and_time_goes_on_evenly() -> None:
    ticks, arrivals = case_lines("board-clock-wraps-early", 0)
    clock = BoardClock(tick_ns=MS)
    assert clock.take_many(ticks, arrivals) == [
        round(elapsed * S) for elapsed in TABLE["board-clock-wraps-early"]["elapsed_s"]
    ]
    step = clock.newest_step
    assert step is not None
    assert (step.kind, step.before, step.after, step.at_ns) == ("reset", 35000, 4209, 20 * S)
    assert "from 35000 to 4209" in step.words
    assert clock.n_steps == 1


@pytest.mark.parametrize(("tick_ns", "bits"), [(1000, 32), (MS, 32), (MS, 16), (1000, 16)])
def test_a_rollover_at_32_or_16_bits_is_no_reset_whatever_the_jitter(tick_ns: int, bits: int) -> None:
    chance = random.Random(bits)
    wrap = 1 << bits
    every = min(200 * MS, wrap * tick_ns // 9)
    start = wrap * tick_ns - 60 * every
    clock, at = BoardClock(tick_ns=tick_ns), 0
    for i in range(68):
        true = i * every
        ticks = ((start + true) // tick_ns) % wrap
        at = max(at, true + chance.randrange(10 * MS))
        given = clock.take(ticks, at)
        assert abs(given - true) <= 20 * MS
    assert clock.newest_step is not None
    assert clock.newest_step.kind == "rollover"
    first, last = start // tick_ns, (start + 67 * every) // tick_ns
    assert clock.n_steps == last // wrap - first // wrap >= 1


def test_a_signed_clock_that_turns_negative_goes_on() -> None:
    clock = BoardClock(tick_ns=MS)
    times = [clock.take((31_000 + i * 250 + 32_768) % 65_536 - 32_768, i * 250 * MS) for i in range(40)]
    assert [b - a for a, b in pairwise(times)] == [250 * MS] * 39
    assert clock.newest_step is not None
    assert clock.newest_step.kind == "rollover"


def test_after_a_reset_the_alignment_begins_anew() -> None:
    chance = random.Random(2)
    clock = BoardClock(tick_ns=MS)
    for i in range(200):
        clock.take(50_000 + i * 100, i * 100 * MS + chance.randrange(15 * MS))
    began = 21_500 * MS
    errors = []
    for i in range(200):
        true = began + i * 100 * MS
        errors.append(abs(clock.take(40 + i * 100, true + chance.randrange(15 * MS)) - true))
    assert clock.newest_step is not None
    assert clock.newest_step.kind == "reset"
    assert clock.n_steps == 1
    assert max(errors[20:]) < 8 * MS


def test_one_damaged_number_spoils_no_later_time() -> None:
    clock = BoardClock(tick_ns=MS)
    for i in range(100):
        at = i * 200 * MS
        assert clock.take(999_999_999 if i == 50 else i * 200, at) == at
    assert clock.newest_step is None


def test_a_clock_that_was_set_ahead_is_followed_from_there() -> None:
    clock = BoardClock(tick_ns=MS)
    for i in range(100):
        at = i * 200 * MS
        given = clock.take(i * 200 + (3_600_000 if i >= 50 else 0), at + 5 * MS * (i % 3))
        assert abs(given - at) <= 10 * MS
    assert clock.newest_step is not None
    assert clock.newest_step.kind == "step ahead"
    assert clock.is_used


@pytest.mark.parametrize(
    "name", ["constant", "a thousand times too fast", "half as fast", "random", "no number"]
)
def test_what_is_no_clock_is_told_and_not_used(name: str) -> None:
    chance = random.Random(3)
    clock = BoardClock(tick_ns=MS)
    for i in range(200):
        ticks = {
            "constant": 500.0, "a thousand times too fast": i * 200_000.0, "half as fast": i * 100.0,
            "random": chance.randrange(1_000_000), "no number": float("nan"),
        }[name]  # fmt: skip
        given = clock.take(ticks, i * 200 * MS)
        if i > 60:
            assert given == i * 200 * MS
    assert not clock.is_used
    assert clock.skew_ppm is None
    if name != "no number":
        assert "does not go with the time" in clock.words


def test_lines_that_waited_before_the_port_was_opened_do_not_bend_the_clock() -> None:
    clock = BoardClock(tick_ns=MS)
    for i in range(50):
        clock.take(i * 200, 10 * S)
    for i in range(50, 200):
        at = 10 * S + (i - 49) * 200 * MS
        assert clock.take(i * 200, at) == pytest.approx(at, abs=2)
    assert clock.is_used
    assert clock.newest_step is None


def test_a_clock_in_seconds_with_decimals_is_read_as_well() -> None:
    clock = BoardClock(tick_ns=S)
    times = clock.take_many([i * 0.25 for i in range(100)], [i * 250 * MS + (i % 4) * MS for i in range(100)])
    assert max(abs(time - i * 250 * MS) for i, time in enumerate(times)) <= 3 * MS


def test_skew_offset_and_jitter_are_told_in_words() -> None:
    clock = BoardClock(tick_ns=MS)
    assert "not been seen" in clock.words
    for i in range(1000):
        clock.take(7000 + i * 1001, i * S + (i % 5) * 10 * MS)
    assert clock.skew_ppm == pytest.approx(1000, abs=5)
    assert clock.offset_ns == pytest.approx(-7 * S - 999 * MS, abs=20 * MS)
    assert clock.jitter_ns == pytest.approx(14.14 * MS, rel=0.1)
    assert "1000 ppm fast" in clock.words or "999 ppm fast" in clock.words
    assert "14." in clock.words


# Lines from a simulated adapter (16 ms frames, exponential tail, stalls of 100 ms), ten minutes each; what
# `python -m tests.bridge.core.clocked_boards` prints, rounded up.
@pytest.mark.parametrize("skew", [-200e-6, -50e-6, 0.0, 50e-6, 200e-6, 0.005, -0.005])
@pytest.mark.parametrize("every_seconds", [0.05, 0.2, 1.0])
def test_the_times_are_recovered_within_12_ms_and_the_skew_within_50_ppm(
    skew: float, every_seconds: float
) -> None:
    chance = random.Random(f"{skew} {every_seconds}")
    got = recovered(clocked(chance, skew=skew, every_seconds=every_seconds, seconds=600))
    assert got.worst(0.95) < 9
    assert got.worst(1) < 12 < got.worst_raw(1)
    assert got.clock.skew_ppm == pytest.approx(skew * 1e6, abs=50)


ticks_and_arrivals = st.lists(
    st.tuples(
        st.one_of(st.integers(-5000, 5000), st.integers(0, 1 << 33), st.floats(allow_nan=True)),
        st.integers(0, 3 * S),
    ),
    max_size=80,
)


@settings(deadline=None)
@given(lines=ticks_and_arrivals, tick_ns=st.sampled_from([1000, MS, S]))
def test_no_time_is_later_than_its_arrival_or_before_the_last_whatever_is_printed(
    lines: list[tuple[float, int]], tick_ns: int
) -> None:
    at, arrivals = 0, []
    for _, gap in lines:
        at += gap
        arrivals.append(at)
    ticks = [tick for tick, _ in lines]
    times = BoardClock(tick_ns=tick_ns).take_many(ticks, arrivals)
    assert all(time <= at for time, at in zip(times, arrivals, strict=True))
    assert all(a <= b for a, b in pairwise(times))
    assert all(type(time) is int for time in times)


@settings(deadline=None, max_examples=50)
@given(seed=st.integers(0, 1000), cuts=st.lists(st.integers(1, 40), max_size=20))
def test_many_at_once_are_the_same_as_one_by_one(seed: int, cuts: list[int]) -> None:
    lines = clocked(random.Random(seed), skew=2e-4, every_seconds=0.2, seconds=60)
    ticks, arrivals = [one.ticks for one in lines], [one.at_ns for one in lines]
    one_by_one = BoardClock(tick_ns=MS)
    single = [one_by_one.take(tick, at) for tick, at in zip(ticks, arrivals, strict=True)]
    many, at, times = BoardClock(tick_ns=MS), 0, []
    for n in [*cuts, len(lines)]:
        times += many.take_many(ticks[at : at + n], arrivals[at : at + n])
        at += n
    assert times == single
    assert (many.skew_ppm, many.jitter_ns, many.words) == (
        one_by_one.skew_ppm, one_by_one.jitter_ns, one_by_one.words,
    )  # fmt: skip
