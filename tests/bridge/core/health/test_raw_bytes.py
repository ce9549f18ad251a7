from __future__ import annotations

import random

import pytest

from bridge.core.wire import heard

from .benches import HealthBench, Step, celsius, columns, lines, watch

ONE = [celsius("t")]


def texts(n: int, *, seed: int = 1) -> list[str]:
    chance = random.Random(seed)
    return [f"{45 - i / 40 + chance.gauss(0, 0.03):.2f}" for i in range(n)]


def heard_lines(sent_at: int, read_at: int, n: int, *, start: float = 0.0) -> list[Step]:
    return [
        (at, heard(data, sent_at=sent_at, read_at=read_at))
        for at, data in lines(texts(n), every=0.25, start=start)
    ]


@pytest.mark.parametrize(
    ("sent_at", "read_at"), [(9600, 19200), (4800, 9600), (9600, 38400), (57600, 115200)]
)
def test_a_wrong_rate_is_named_and_can_be_tried(sent_at: int, read_at: int) -> None:
    told = watch(heard_lines(sent_at, read_at, 80), ONE, baud=read_at)
    assert told.kinds == [("wrong baud", "")]
    assert told.changes[0].finding.try_baud == sent_at


def test_a_wrong_rate_goes_when_lines_can_be_read() -> None:
    right = lines(texts(40), every=0.25, start=10.0)
    told = watch(heard_lines(4800, 9600, 40) + right, ONE)
    assert [event for _, event, *_ in told.events] == ["found", "gone"]
    assert told.at("gone", "wrong baud") <= 12.0


def test_a_wrong_rate_goes_when_the_port_is_read_at_the_right_one() -> None:
    bench = HealthBench(ONE, columns(1), baud=9600)
    bench.open(0.0)
    bench.feed(*heard_lines(4800, 9600, 30))
    bench.health.set_expectation(baud=4800, lines_per_second=None)
    bench.feed(*lines(texts(40), every=0.25, start=8.0))
    assert [event for _, event, *_ in bench.watched.events] == ["found", "gone"]


def test_start_up_text_at_another_rate_is_not_told_when_good_lines_follow() -> None:
    garbage = heard(
        b"boot: rom v1, mode 3, load 0x4010, len 1184, room 16 tail 0 chksum 0x2d\r\n" * 3,
        sent_at=4800,
        read_at=9600,
    )
    assert watch([(0.3, garbage), *lines(texts(60), start=1.5)], ONE).events == []


def test_raw_bytes_are_no_text() -> None:
    chance = random.Random(5)
    packets = [(i * 0.1, bytes([0xAA, 0x55, *chance.randbytes(6)])) for i in range(150)]
    told = watch(packets, ONE)
    assert told.kinds == [("no text", "")]


def test_text_of_another_script_is_text() -> None:
    words = ["Температура воды", "Ждём датчик", "температура 45,2"]
    told = watch(lines([words[i % 3] for i in range(60)], every=0.5), ONE)
    assert told.kinds == [("unreadable lines", "")]


def test_a_bad_cable_is_no_wrong_rate() -> None:
    chance = random.Random(6)
    steps = []
    for at, data in lines(texts(200), every=0.25):
        damaged = bytes(
            byte ^ (1 << chance.randrange(8)) if chance.random() < 0.04 else byte for byte in data
        )
        steps.append((at, damaged))
    assert watch(steps, ONE).kinds == [("unreadable lines", "")]


@pytest.mark.parametrize("every", [0.05, 0.5, 2.0])
def test_text_without_line_ends_is_told(every: float) -> None:
    steps = lines(texts(round(60 / every)), every=every, end=" ")
    told = watch(steps, ONE)
    assert told.kinds == [("no line end", "")]
    assert "without a line end: '…" in told.changes[0].finding.evidence


def test_line_ends_put_right_clear_at_once() -> None:
    steps = lines(texts(60), every=0.25, end=" ") + lines(texts(40), every=0.25, start=15.0)
    told = watch(steps, ONE)
    assert [event for _, event, *_ in told.events if event != "changed"] == ["found", "gone"]
    assert told.at("gone", "no line end") <= 16.0


def test_dots_while_a_program_waits_are_no_missing_line_end() -> None:
    steps = [(i * 1.0, b".") for i in range(25)] + lines(["", *texts(20)], start=25.0)
    assert watch(steps, ONE).events == []


def test_a_line_that_is_printed_in_pieces_is_no_missing_line_end() -> None:
    pieces = [b"4", b"5", b".", b"1", b"2", b"\r\n"]
    assert watch([(i * 0.7, pieces[i % 6]) for i in range(120)], ONE).events == []
