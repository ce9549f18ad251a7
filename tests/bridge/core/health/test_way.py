from __future__ import annotations

import pytest

from bridge.core.health.bench_health import BenchHealth

SECOND = 1_000_000_000


def told(
    health: BenchHealth, *links: tuple[float, str], until: float, every: float = 60.0
) -> list[tuple[float, str, str]]:
    """What is told of the way to the board: when, and what."""
    changes = []
    events = [*links, (until, "")]
    at = 0.0
    for due, state in events:
        while at + every < due:
            at += every
            changes += health.tick(round(at * SECOND))
        at = due
        at_ns = round(at * SECOND)
        if state == "open":
            changes += health.opened(at_ns)
        elif state:
            changes += health.closed(at_ns, state=state)
        else:
            changes += health.tick(at_ns)
    kinds = [(one.at_ns / SECOND, one.event, one.finding.words) for one in changes
             if one.finding.kind == "board not reached"]  # fmt: skip
    return [(at, event, words) for at, event, words in kinds if event != "changed"]


def health() -> BenchHealth:
    return BenchHealth(bench=3, baud=9600, lines_per_second=None)


@pytest.mark.parametrize("every", [0.1, 7.0, 1000.0])
def test_a_board_whose_plug_was_pulled_is_told_until_it_is_back(every: float) -> None:
    links = ((0.0, "open"), (10.4, "lost"), (10.9, "searching"), (31.5, "open"))
    assert told(health(), *links, until=40, every=every) == [
        (16.0, "found", "The board is gone: its port was lost"),
        (31.5, "gone", "The board is gone: its port was lost"),
    ]


def test_a_board_that_is_plugged_over_quickly_is_not_told() -> None:
    assert told(health(), (0.0, "open"), (10.0, "lost"), (13.0, "open"), until=40) == []


def test_a_port_that_another_program_holds_is_told_though_it_was_never_open() -> None:
    assert told(health(), (2.0, "in use"), until=60) == [
        (8.0, "found", "Another program has the board's port open")
    ]


def test_a_bench_whose_board_was_never_there_is_no_trouble() -> None:
    assert told(health(), (0.0, "searching"), until=100) == []


def test_a_port_that_was_let_go_for_an_upload_is_no_trouble() -> None:
    assert told(health(), (0.0, "open"), (20.0, "released"), until=100) == []
    links = ((0.0, "open"), (10.0, "lost"), (20.0, "released"))
    assert [one[:2] for one in told(health(), *links, until=100)] == [(16.0, "found"), (20.0, "gone")]


def test_bytes_show_that_the_board_is_reached() -> None:
    bench = health()
    assert len(told(bench, (0.0, "open"), (10.0, "lost"), until=30)) == 1
    changes = bench.take([(b"92\n", 30 * SECOND + 1)], [], [], [])
    assert [(one.event, one.finding.kind) for one in changes] == [("gone", "board not reached")]
