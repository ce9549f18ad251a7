"""The boards' byte streams, before any port: text, timing, and each fault at its time."""

from __future__ import annotations

import itertools
import json
import statistics
from functools import cache

import pytest

from demo.boards import BOARDS, Board, Step, board_of, steps_of
from demo.faults import FAULTS, LESSON_SECONDS, FaultKind, KnownFault, faults_of

from .signs import SIGNS


@cache
def steps(bench: int) -> tuple[Step, ...]:
    return tuple(steps_of(board_of(bench)))


def text_between(bench: int, start: float, end: float) -> bytes:
    return b"".join(one.data for one in steps(bench) if start <= one.due_seconds < end)


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.cover)
def test_a_board_prints_the_same_each_time(board: Board) -> None:
    assert tuple(steps_of(board, until_seconds=60)) == tuple(steps_of(board, until_seconds=60))


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.cover)
def test_a_boards_steps_come_in_the_order_of_their_times(board: Board) -> None:
    times = [one.due_seconds for one in steps(board.bench)]
    assert times == sorted(times)
    assert LESSON_SECONDS - 1.5 < times[-1] < LESSON_SECONDS + 0.2


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.cover)
def test_a_board_without_faults_keeps_its_rate_with_a_little_jitter(board: Board) -> None:
    end = board.greeting.encode()[-1:] or b"\n"
    ends = [one.due_seconds for one in steps_of(board, faults=(), until_seconds=300) if end in one.data]
    n_lines = sum(one.data.count(b"\n") for one in steps_of(board, faults=(), until_seconds=300))
    lines_a_record = 3 if board.adc is None else 1
    assert n_lines / lines_a_record / 300 == pytest.approx(board.lines_per_second, rel=0.03)
    gaps = [b - a for a, b in itertools.pairwise(ends[20:])]
    assert statistics.pstdev(gaps) > 0.001


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.cover)
def test_text_never_comes_faster_than_the_boards_baud_rate(board: Board) -> None:
    per_second: dict[int, int] = {}
    for one in steps_of(board, faults=(), until_seconds=120):
        per_second[int(one.due_seconds)] = per_second.get(int(one.due_seconds), 0) + len(one.data)
    assert max(per_second.values()) < board.baud / 10


def test_rates_and_baud_rates_differ_from_bench_to_bench() -> None:
    assert {board.lines_per_second for board in BOARDS} == {1, 2, 3, 4, 5}
    assert len({board.baud for board in BOARDS}) >= 5


def test_a_board_greets_after_its_start_except_the_one_that_is_left_running() -> None:
    for board in BOARDS:
        first = text_between(board.bench, 0, 1.6)
        assert first.startswith(board.greeting.encode())
        assert bool(board.greeting) is board.starts_on_opening


def test_a_board_whose_cable_is_pulled_prints_nothing_until_it_is_back() -> None:
    (fault,) = faults_of(3, "unplugged")
    links = [(one.link, one.due_seconds) for one in steps(3) if one.link]
    assert [link for link, _ in links] == ["unplug", "plug"]
    assert [at for _, at in links] == pytest.approx([fault.from_seconds, fault.to_seconds], abs=0.1)
    between = [one for one in steps(3) if links[0][1] < one.due_seconds < links[1][1]]
    assert between == []


def test_the_boards_own_clock_begins_anew_with_each_start() -> None:
    clocks = [
        int(line.split(b"\t")[0])
        for line in text_between(8, 0, 400).split(b"\r\n")
        if line.count(b"\t") == 2 and line[:1].isdigit()
    ]
    n_back = sum(b < a for a, b in itertools.pairwise(clocks))
    assert n_back >= 6


def test_json_numbers_run_on_without_a_hole() -> None:
    objects = [json.loads(line) for line in text_between(5, 0, 600).splitlines()]
    numbers = [one["n"] for one in objects if "n" in one]
    assert numbers == list(range(1, len(numbers) + 1))


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: f"{fault.bench} {fault.kind}")
def test_a_fault_shows_in_the_bytes_at_its_time_and_not_before(fault: KnownFault) -> None:
    shows = SIGNS[fault.kind]
    assert shows(text_between(fault.bench, fault.from_seconds, fault.to_seconds))
    if fault.from_seconds > 60:
        assert not shows(text_between(fault.bench, fault.from_seconds - 30, fault.from_seconds - 0.5))


@pytest.mark.parametrize("kind", SIGNS)
def test_a_board_without_faults_shows_none(kind: FaultKind) -> None:
    (bench,) = {one.bench for one in FAULTS if one.kind == kind}
    fault = faults_of(bench, kind)[0]
    others = tuple(one for one in FAULTS if one.bench == bench and one.kind != kind)
    clean = [one for one in steps_of(board_of(bench), faults=others) if fault.is_on(one.due_seconds)]
    if kind in ("starts mid-line", "topped up too warm"):
        return  # the one is how the board is, the other how its cup is: neither is a fault of the program
    assert not SIGNS[kind](b"".join(one.data for one in clean))


def test_at_any_time_most_benches_are_good() -> None:
    only_printed = {"integer division", "wrong reference"}  # the reading from the count stays right
    for second in range(int(LESSON_SECONDS)):
        ill = {one.bench for one in FAULTS if one.is_on(second) and one.kind not in only_printed}
        assert len(ill) <= 3
