from __future__ import annotations

import math

import pytest

from .benches import HealthBench, Step, celsius, columns, lines, watch

ONE = [celsius("t")]


def numbers(n: int, *, every: float, start: float = 0.0) -> list[Step]:
    return lines([f"{45 - i * every / 60 + (i % 3) / 100:.2f}" for i in range(n)], every=every, start=start)


def test_an_open_port_without_a_byte_is_told_after_five_seconds() -> None:
    told = watch([], ONE, until=30.0)
    assert told.events[0] == (5.0, "found", "no bytes", "")
    assert told.changes[0].finding.since_ns == 0


def test_a_board_that_takes_four_seconds_to_start_is_not_told() -> None:
    assert watch(numbers(30, every=1.0, start=4.2), ONE).events == []


def test_silence_ends_with_the_first_byte() -> None:
    told = watch(numbers(10, every=1.0, start=7.5), ONE)
    assert [(at, event) for at, event, *_ in told.events] == [(5.0, "found"), (8.0, "gone")]


def test_what_is_slow_by_the_lesson_is_no_silence() -> None:
    steps = numbers(5, every=20.0, start=18.0)
    assert watch(steps, ONE, lines_per_second=0.05).events == []
    assert watch(steps, ONE).kinds[0] == ("no bytes", "")


def test_a_closed_port_is_not_silent() -> None:
    bench = HealthBench(ONE, columns(1))
    bench.open(0.0)
    bench.feed(*numbers(4, every=1.0))
    bench.close(4.0)
    bench.tick(60.0)
    assert bench.watched.events == []


def test_silence_goes_when_the_port_is_closed() -> None:
    bench = HealthBench(ONE, columns(1))
    bench.open(0.0)
    bench.tick(6.0)
    bench.close(6.5)
    assert [event for _, event, *_ in bench.watched.events] == ["found", "gone"]


@pytest.mark.parametrize("rate", [0.8, 2.0, 8.0, 16.0])
def test_a_board_that_prints_at_another_rate_than_the_lesson_says(rate: float) -> None:
    steps = numbers(round(40 * rate), every=1 / rate)
    told = watch(steps, ONE, lines_per_second=4.0)
    assert told.kinds == [("line rate", "")]
    assert told.changes[0].finding.weight == "hint"


@pytest.mark.parametrize("rate", [3.0, 3.6, 4.4, 5.6])
def test_a_rate_within_half_of_the_lessons_is_not_told(rate: float) -> None:
    assert watch(numbers(round(40 * rate), every=1 / rate), ONE, lines_per_second=4.0).events == []


def test_a_rate_that_was_put_right_clears() -> None:
    slow, right = numbers(30, every=1.0), numbers(160, every=0.25, start=30.0)
    told = watch(slow + right, ONE, lines_per_second=4.0)
    assert [event for _, event, *_ in told.events if event != "changed"] == ["found", "gone"]
    assert told.at("gone", "line rate") < 50.0


def flood(share: float, *, seconds: int, baud: int = 9600, start: float = 0.0) -> list[Step]:
    """Portions every 16 ms that fill such a share of the wire."""
    steps, sent, i = [], 0, 0
    for k in range(round(seconds / 0.016)):
        until = round((k + 1) * 0.016 * baud / 10 * share)
        data = b""
        while len(data) < until - sent:
            i += 1
            data += f"{44 + math.sin(i / 300):.3f}\r\n".encode()
        sent += len(data)
        steps.append((start + k * 0.016, data))
    return steps


def test_a_board_that_fills_its_wire_is_told() -> None:
    told = watch(flood(0.98, seconds=20), ONE)
    assert told.kinds == [("too fast for its baud", "")]
    assert told.at("found", "too fast for its baud") <= 8.0


def test_a_board_that_leaves_a_sixth_of_its_wire_is_not_told() -> None:
    assert watch(flood(0.84, seconds=20), ONE).events == []


def test_a_port_without_a_wire_behind_it_is_not_told() -> None:
    """A board that talks USB itself keeps to no baud rate."""
    assert watch(flood(2.5, seconds=20), ONE).events == []


def test_a_wire_with_room_again_clears() -> None:
    told = watch(flood(0.98, seconds=15) + flood(0.3, seconds=20, start=15.0), ONE)
    assert [event for _, event, *_ in told.events] == ["found", "gone"]
