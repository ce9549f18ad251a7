from __future__ import annotations

import pytest

from .benches import HealthBench, Step, celsius, columns, count, lines, seen, watch

CLOCK = [seen("ms", 0, "clock", unit="ms"), celsius("t", 1)]
NUMBER = [seen("n", 0, "index"), celsius("t", 1)]


def run(start: float, n: int, *, every: float = 0.5, greeting: str = "", boot: float = 1.5) -> list[Step]:
    """From power on: silence, a greeting if there is one, then readings with the time since power on."""
    steps = [(start + boot - 0.1, f"\0{greeting}\r\n".encode())] if greeting else []
    texts = [f"{round(boot * 1000 + i * every * 1000)},{44.5 - i / 100:.2f}" for i in range(n)]
    return steps + lines(texts, every=every, start=start + boot)


def resets(n: int, *, every: float, **kind: object) -> list[Step]:
    return [step for k in range(n) for step in run(20 + k * every, round((every - 1.5) / 0.5), **kind)]  # type: ignore[arg-type]


@pytest.mark.parametrize("greeting", ["", "Hello from the wool bench", "rst:0x1 (POWERON)"])
def test_a_board_that_starts_anew_again_and_again_is_a_fault(greeting: str) -> None:
    steps = run(0.0, 37, greeting=greeting) + resets(8, every=4.0, greeting=greeting)
    told = watch([*steps, *run(52.0, 150, greeting=greeting)], CLOCK)
    faults = [one for one in told.changes if one.event == "changed" and one.finding.weight == "fault"]
    assert told.kinds == [("board resetting", "")]
    assert faults[0].at_ns / 1e9 <= 33.0
    assert "every 4.0 s" in faults[0].finding.evidence
    assert told.events[-1][1] == "gone"


def test_greeting_alone_shows_the_starts_of_a_board_that_prints_no_time() -> None:
    def once(start: float) -> list[Step]:
        return [
            (start + 1.4, b"\0Bubble wrap, 10 bits\r\n"),
            *lines(["92", "92", "91"], start=start + 1.5, every=0.5),
        ]

    steps = lines(["Bubble wrap, 10 bits", *["92", "93"] * 20], every=0.5)
    told = watch(steps + [step for k in range(6) for step in once(22.0 + 4 * k)], [count("raw")])
    assert ("board resetting", "") in told.kinds
    assert any(one.finding.weight == "fault" for one in told.changes)


def test_one_start_is_a_hint_that_goes() -> None:
    told = watch(run(0.0, 57) + run(30.0, 100), CLOCK)
    assert [(event, kind) for _, event, kind, _ in told.events] == [
        ("found", "board resetting"), ("gone", "board resetting"),
    ]  # fmt: skip
    assert told.changes[0].finding.weight == "hint"


def test_the_start_that_opening_the_port_makes_is_not_told() -> None:
    steps = lines([f"{800000 + i * 500},44.20" for i in range(2)], every=0.5) + run(
        1.2, 100, greeting="Hello"
    )
    assert watch(steps, CLOCK).events == []


def test_a_number_of_eight_bits_begins_again_without_a_start() -> None:
    texts = [f"{i % 256},{44 - i / 900:.2f}" for i in range(900)]
    assert watch(lines(texts, every=0.1), NUMBER).events == []


def test_a_damaged_digit_of_the_clock_is_no_start() -> None:
    texts = [f"{1500 + i * 500},{44 - i / 900:.2f}" for i in range(120)]
    texts[60] = "1" + texts[60][1:]
    assert watch(lines(texts, every=0.5), CLOCK).events == []


def test_a_clock_that_is_set_back_while_lines_go_on_is_a_hint_that_goes() -> None:
    texts = [f"{(1500 + i * 500) % 35791},{44 - i / 900:.2f}" for i in range(240)]
    told = watch(lines(texts, every=0.5), CLOCK)
    assert {kind for kind, _ in told.kinds} == {"board clock"}
    assert [event for _, event, *_ in told.events][:2] == ["found", "gone"]


def test_a_pause_of_the_program_is_no_start() -> None:
    steps = lines([f"{i},44.20" for i in range(60)], every=0.5)
    later = lines([f"{60 + i},44.10" for i in range(60)], every=0.5, start=33.0)
    assert watch(steps + later, NUMBER).events == []


def test_a_port_that_comes_and_goes_is_told_while_it_is_away() -> None:
    bench = HealthBench(NUMBER, columns(2))
    for k in range(4):
        bench.open(10.0 * k)
        bench.feed(*lines([f"{i},44.20" for i in range(10)], every=0.5, start=10.0 * k + 1))
        bench.close(10.0 * k + 8)
    bench.tick(39.0)
    assert bench.watched.kinds == [("board resetting", "")]
    bench.tick(90.0)
    assert bench.health.findings == ()


def test_a_greeting_that_cuts_a_line_is_a_start_however_short_the_silence() -> None:
    steps: list[Step] = []
    at = 0.0
    for _ in range(16):
        steps += [(at, b"Cup watch\r\n"), (at + 0.03, b"started by the watchdog\r\n")]
        steps += [(at + 0.06 + 0.142 * i, b"92, 0.449, 44.9\r\n") for i in range(8)]
        steps.append((at + 0.06 + 0.142 * 8, b"92, 0.4"))
        at += 0.06 + 0.142 * 8 + 0.374
    fields = [count("raw"), seen("volts", 1, "volts", step=0.001), celsius("temp", 2, step=0.1)]
    assert ("board resetting", "") in watch(steps, fields, layout=columns(3)).kinds
