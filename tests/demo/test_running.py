"""The boards on real ports, much faster than in class."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest

from bridge.inbox import Arrived, Inbox, LinkChanged
from bridge.recorded import Chunk, Recorded
from bridge.sources import stop_all
from demo import make as making
from demo.boards import BOARDS, board_of, steps_of
from demo.faults import KnownFault
from demo.running import PipePlug, RunningBoards

SPEED = 50.0


def test_a_recording_made_through_ports_holds_every_byte_that_the_boards_printed(tmp_path: Path) -> None:
    path = tmp_path / "short.benchrow"
    made = making.make(path, speed=SPEED, until_seconds=30)
    assert made.n_lost_bytes == 0
    with Recorded(path) as recorded:
        chunks = [item for item in recorded.items() if isinstance(item, Chunk)]
        assert recorded.benches == tuple(board.bench for board in BOARDS)
        assert [marker.words for marker in recorded.markers] == ["water poured"]
    for board in BOARDS:
        read = b"".join(chunk.data for chunk in chunks if chunk.bench == board.bench)
        printed = b"".join(one.data for one in steps_of(board, until_seconds=30))
        assert read == printed
    assert [path.name for path in tmp_path.iterdir()] == ["short.benchrow"]


def test_a_recording_is_made_anew_in_place_of_the_old_one(tmp_path: Path) -> None:
    path = tmp_path / "short.benchrow"
    path.write_bytes(b"old")
    making.make(path, speed=SPEED, until_seconds=3)
    with Recorded(path) as recorded:
        assert recorded.title == "Which cover keeps the cup warm?"


@pytest.mark.parametrize("kind", ["terminal", "pipe"])
def test_a_board_that_is_unplugged_comes_back_and_is_read_on(kind: str) -> None:
    if kind == "terminal" and sys.platform == "win32":
        pytest.skip("Windows has no pseudo-terminals; the pipe stands in for them")
    board = board_of(3)
    fault = KnownFault(bench=3, from_seconds=10, to_seconds=12, kind="unplugged", words="")
    clock_ns = making.scaled_clock(SPEED)
    woken = threading.Event()
    inbox = Inbox(clock_ns, woken.set)
    boards = RunningBoards(
        inbox,
        clock_ns,
        speed=SPEED,
        boards=(board,),
        steps=partial(steps_of, faults=(fault,), until_seconds=60),
        plug=(lambda board, inbox: PipePlug(board, inbox)) if kind == "pipe" else None,
    )
    (source,) = boards.sources
    source.start()
    items: list[Arrived | LinkChanged] = []

    def states() -> list[str]:
        return [one.state for one in items if isinstance(one, LinkChanged)]

    take_until(inbox, woken, items, lambda: states() == ["open"])
    boards.start()
    take_until(inbox, woken, items, lambda: states() == ["open", "lost", "open"] and not boards.is_running)
    stop_all([source])
    boards.stop()
    items += inbox.take()[1]
    back = max(i for i, one in enumerate(items) if isinstance(one, LinkChanged) and one.state == "open")
    before = b"".join(one.data for one in items[:back] if isinstance(one, Arrived))
    after = b"".join(one.data for one in items[back:] if isinstance(one, Arrived))
    assert b"temp" in before
    assert b"temp" in after
    broken = [one for one in items if isinstance(one, LinkChanged) and one.breaks]
    assert {one.state for one in broken} == {"lost", "open"}


def test_boards_that_are_stopped_early_print_no_more() -> None:
    clock_ns = making.scaled_clock(1.0)
    inbox = Inbox(clock_ns, lambda: None)
    boards = RunningBoards(inbox, clock_ns, boards=BOARDS[:1])
    boards.start()
    boards.stop()
    assert not boards.is_running


def take_until(
    inbox: Inbox, woken: threading.Event, items: list[Arrived | LinkChanged], is_so: Callable[[], bool]
) -> None:
    """Take what comes until it is so; fails after a generous time."""
    deadline = time.monotonic() + 30
    while not is_so():
        assert time.monotonic() < deadline, items[-5:]
        woken.wait(0.05)
        woken.clear()
        items += inbox.take()[1]
