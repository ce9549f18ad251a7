from __future__ import annotations

import random
from collections.abc import Callable
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.findings import FindingChange
from bridge.core.wire import heard

from .benches import HealthBench, Step, celsius, columns, count, lines, seen, volts, watch

FIELDS = [seen("ms", 0, "clock", unit="ms"), count("raw", 1), volts("volts", 2), celsius("t", 3)]


def eventful(seed: int) -> list[Step]:
    """Two minutes of a board with which much goes wrong."""
    chance = random.Random(seed)
    steps: list[Step] = [(1.3, b"Wool\r\nms,raw,volts,t\r\n")]
    at, boot = 1.5, 0.0
    while at < 120:
        kind = chance.choice(
            ["good", "good", "loose", "rail", "cut", "garbage", "reset", "quiet", "no end", "held"]
        )
        for _ in range(chance.randrange(4, 70)):
            at += 0.2 + chance.random() / 500
            n = {"loose": chance.randrange(1024), "rail": 1023, "held": 92}.get(
                kind, round(92 + chance.gauss(0, 1))
            )
            v = float(n * 5 // 1024) if kind == "cut" else n * 5 / 1024
            end = "" if kind == "no end" else "\r\n"
            data = f"{round((at - boot) * 1000)},{n},{v:.3f},{v * 100:.2f}{end}".encode()
            steps.append((at, heard(data, sent_at=4800, read_at=9600) if kind == "garbage" else data))
        if kind == "reset":
            boot, at = at, at + 1.7
            steps.append((at, b"\0Wool\r\nms,raw,volts,t\r\n"))
        if kind == "quiet":
            at += 9.0
    return steps


def told(
    steps: list[Step], feed: Callable[[HealthBench, list[Step]], None]
) -> tuple[list[FindingChange], list[tuple[int, dict[int, str]]]]:
    bench = HealthBench(FIELDS, columns(4), lines_per_second=5.0)
    bench.open(0.2)
    doubts: list[tuple[int, dict[int, str]]] = []
    original = bench.told

    def keep(changes: list[FindingChange]) -> None:
        doubts.extend(bench.health.doubt_steps)
        original(changes)

    bench.told = keep  # type: ignore[method-assign, assignment]
    feed(bench, steps)
    bench.tick(150.0)
    return bench.watched.changes, doubts


def one_by_one(bench: HealthBench, steps: list[Step]) -> None:
    for step in steps:
        bench.feed(step)


@settings(max_examples=8, deadline=None)
@given(seed=st.integers(0, 2**32))
def test_what_is_told_does_not_depend_on_how_it_was_handed_over(seed: int) -> None:
    """One chunk a call, all in one call, cut within chunks, with ticks between: the same at the same time."""
    steps = eventful(seed)
    chance = random.Random(seed)

    def at_once(bench: HealthBench, steps: list[Step]) -> None:
        bench.feed(*steps)

    def in_runs_with_ticks(bench: HealthBench, steps: list[Step]) -> None:
        rest = list(steps)
        while rest:
            n = chance.randrange(1, 40)
            bench.feed(*rest[:n])
            bench.tick(rest[:n][-1][0] + 1e-6)
            del rest[:n]

    def in_pieces(bench: HealthBench, steps: list[Step]) -> None:
        for at, data in steps:
            cut = chance.randrange(len(data) + 1)
            bench.feed((at, data[:cut]), (at, data[cut:]))

    expected = told(steps, one_by_one)
    assert expected[0]
    for feed in (at_once, in_runs_with_ticks, in_pieces):
        assert told(steps, feed) == expected


def test_an_assessment_bears_the_instant_at_which_it_fell_due() -> None:
    bench = HealthBench([count("raw")], columns(1))
    bench.open(0.0)
    bench.feed(*lines(["1023"] * 41))  # up to 10.0 s
    bench.tick(37.2)
    assert {one.at_ns % 1_000_000_000 for one in bench.watched.changes} == {0}
    assert bench.watched.at("found", "top rail") == 4.0
    assert bench.watched.at("found", "no bytes") == 15.0


def test_what_comes_at_the_instant_itself_is_judged_at_the_next() -> None:
    bench = HealthBench([count("raw")], columns(1))
    bench.open(0.0)
    bench.feed(*lines(["0"] * 4, every=1.0))
    bench.feed((5.0, b"0\r\n"), (5.5, b"0\r\n"))
    assert bench.watched.events == []
    bench.tick(6.0)
    assert bench.watched.events == [(6.0, "found", "bottom rail", "raw")]


def test_a_bench_without_a_port_costs_nothing_and_finds_nothing() -> None:
    bench = HealthBench([count("raw")], columns(1))
    bench.tick(1e6)
    assert bench.watched.events == []


def test_all_but_the_starts_go_when_the_port_is_closed() -> None:
    bench = HealthBench([count("raw")], columns(1))
    bench.open(0.0)
    bench.feed(*lines(["1023"] * 40))
    assert bench.health.doubts() == {0: "raw stands at the upper end of its range"}
    bench.close(10.3)
    assert bench.health.doubt_steps == [(10_300_000_000, {})]
    assert bench.health.findings == ()
    assert bench.health.doubts() == {}
    assert bench.watched.changes[-1].at_ns == 10_300_000_000


def test_faults_stand_before_hints_and_older_ones_first() -> None:
    bench = HealthBench([seen("n", 0, "index"), count("raw", 1), celsius("t", 2)], columns(3))
    bench.open(0.0)
    texts = [f"{i},92,{'85.00' if i == 30 else '41.10'}" for i in range(60)]
    bench.feed(*lines(texts))
    bench.feed(*lines([f"{i},1023,41.10" for i in range(60, 100)], start=15.0))
    bench.feed(*lines([f"{i},1023,41.10" for i in range(40)], start=27.0))
    bench.tick(38.0)
    assert [(one.kind, one.weight) for one in bench.health.findings] == [
        ("top rail", "fault"), ("board resetting", "hint"),
    ]  # fmt: skip


def test_a_standing_finding_gets_newer_words_seldom_and_only_when_they_matter() -> None:
    quiet = watch(lines(["92"] * 20), [count("raw")], until=200.0)
    times = [one.at_ns / 1e9 for one in quiet.changes]
    assert len(times) < 10  # silence grows all the time: 10 s, 15 s, 23 s, ...
    assert all(b - a >= 10.0 for a, b in pairwise(times))
    assert watch(lines(["1023"] * 400), [count("raw")]).events == [(4.0, "found", "top rail", "raw")]


def test_fields_of_another_layout_are_judged_anew() -> None:
    bench = HealthBench([count("raw")], columns(1))
    bench.open(0.0)
    bench.feed(*lines(["1023"] * 40))
    assert bench.health.doubts()
    bench.reader = HealthBench(FIELDS, columns(4)).reader
    bench.health.describe(FIELDS, names=bench.reader.names)
    steps = lines(
        [f"{10000 + i * 250},{92 - i // 40},{(92 - i // 40) * 5 / 1024:.3f},44.90" for i in range(60)],
        start=10.0,
    )
    bench.feed(*steps)
    bench.tick(26.0)
    assert bench.health.findings == ()


@pytest.mark.parametrize("kind", ["no bytes", "line rate", "too fast for its baud"])
def test_bytes_without_times_say_nothing_of_time(kind: str) -> None:
    from bridge.core.health import BenchHealth

    health = BenchHealth(bench=1, baud=9600, lines_per_second=100.0, is_timed=False)
    changes = health.opened(0) + health.take([(b"92\r\n" * 3000, 5)], [], [], []) + health.tick(10**11)
    assert kind not in {one.finding.kind for one in changes}
