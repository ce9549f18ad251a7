"""Boards with nothing wrong: of whatever kind they are, nothing may be found."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator

import pytest

from bridge.core.health import ChannelSeen

from .benches import HealthBench, Step, celsius, columns, count, seen, volts

SECONDS = 140.0
Course = Callable[[float], float]


def cooling(at: float) -> float:
    return 20.5 + 24.5 * math.exp(-at / 900)


def steady(at: float) -> float:
    return 23.4


def dipped_and_lifted(at: float) -> float:
    """Room, into warm water at 30 s, out at 80 s, in again at 110 s: slower in air than in water."""
    if at < 30:
        return 20.5
    if at < 80:
        return 44.8 - 24.3 * math.exp(-(at - 30) / 4)
    if at < 110:
        return 20.5 + 24.3 * math.exp(-(at - 80) / 14)
    return 44.0 - (44.0 - 23.4) * math.exp(-(at - 110) / 4)


def plunged(at: float) -> float:
    """A sensor without inertia: one step."""
    return 20.5 if at < 41.1 else 44.8


def stirred(at: float) -> float:
    """A spoon at about one turn a second, never twice the same."""
    return cooling(at) + 0.4 * math.sin(
        2 * math.pi * (0.9 * at + 0.3 * math.sin(at / 7) + 0.1 * math.sin(at))
    )


def turned(at: float) -> float:
    """Somebody lowers the sensor into the cup and lifts it, again and again."""
    return 45.0 + 30.0 * math.sin(2 * math.pi * at / 15)


COURSES: dict[str, Course] = {
    one.__name__: one for one in (cooling, steady, dipped_and_lifted, plunged, stirred, turned)
}


def beats(rate: float, chance: random.Random) -> Iterator[float]:
    """When a program prints: its pause, some jitter, now and then a slow pass."""
    at = 1.6 + chance.random()
    while at < SECONDS:
        yield at
        at += 1 / rate + abs(chance.gauss(0, 0.0015)) + (0.015 if chance.random() < 0.05 else 0.0)


def check(channels: list[ChannelSeen], steps: list[Step], *, rate: float | None = None) -> None:
    n_fields = max(one.index for one in channels) + 1
    bench = HealthBench(channels, columns(n_fields), lines_per_second=rate, cold=True)
    bench.open(0.0)
    for step in steps:
        bench.feed(step)
    bench.tick(SECONDS + 2)
    assert bench.watched.events == []
    assert bench.health.doubts() == {}


def ten_bits(celsius_: float, noise: float, chance: random.Random) -> int:
    """10 bits, 5 V reference, 10 mV per °C."""
    return max(0, min(1023, math.floor((celsius_ + chance.gauss(0, noise)) * 0.01 * 1024 / 5)))


def twelve_bits(celsius_: float, noise: float, chance: random.Random) -> int:
    return max(0, min(4095, math.floor((celsius_ + chance.gauss(0, noise)) * 0.01 * 4096 / 3.3)))


@pytest.mark.parametrize("course", COURSES)
@pytest.mark.parametrize("rate", [0.5, 1, 4, 10])
def test_a_board_of_ten_bits_that_prints_its_formula(course: str, rate: float) -> None:
    chance = random.Random(f"{course} {rate}")
    steps = []
    for at in beats(rate, chance):
        n = ten_bits(COURSES[course](at), 0.04, chance)
        steps.append((at, f"{n},{n * 5 / 1024:.3f},{n * 500 / 1024:.2f}\r\n".encode()))
    check([count("raw"), volts("volts"), celsius("t", 2)], steps, rate=rate)


@pytest.mark.parametrize("course", COURSES)
@pytest.mark.parametrize("noise", [0.0, 0.08, 1.5])
def test_a_board_of_twelve_bits_quiet_or_noisy(course: str, noise: float) -> None:
    chance = random.Random(f"{course} {noise}")
    steps = []
    for at in beats(5, chance):
        n = twelve_bits(COURSES[course](at), noise, chance)
        steps.append((at, f"{n},{n * 3.3 / 4096:.4f},{n * 330 / 4096:.1f}\r\n".encode()))
    volts_ = volts("volts", reference=3.3, step=0.0001)
    check([count("raw", bits=12), volts_, celsius("t", 2, step=0.1)], steps, rate=5)


@pytest.mark.parametrize("course", COURSES)
@pytest.mark.parametrize(("decimals", "lost"), [(0, False), (1, False), (2, True), (4, True), (4, False)])
def test_a_digital_sensor_and_the_room(course: str, decimals: int, lost: bool) -> None:
    """Steps of a sixteenth, whether zeros at the end are printed or left out."""
    chance = random.Random(f"{course} {decimals}")
    steps = []
    for i, at in enumerate(beats(1, chance)):
        water = round((COURSES[course](at) + chance.gauss(0, 0.02)) * 16) / 16
        room = round((20.5 + chance.gauss(0, 0.005)) * 16) / 16
        texts = [f"{one:.{decimals}f}" for one in (water, room)]
        if lost and decimals > 1:
            texts = [repr(round(one, decimals)) for one in (water, room)]
        steps.append((at, f"{i + 1},{','.join(texts)}\r\n".encode()))
    step = 10.0**-decimals
    check([seen("n", 0, "index"), celsius("water", 1, step=step), celsius("room", 2, step=step)], steps)


@pytest.mark.parametrize("course", COURSES)
@pytest.mark.parametrize("apart", [0.0, 1.3])
def test_two_sensors_in_one_cup(course: str, apart: float) -> None:
    """Even when one of them is slower, or half out of the water."""
    chance = random.Random(f"{course} {apart}")
    steps, slow = [], COURSES[course](1.6)
    for at in beats(4, chance):
        water = COURSES[course](at)
        slow += (water - slow) * 0.25 / 6
        second = slow if apart else water
        a, b = ten_bits(water, 0.1, chance), ten_bits(second + apart, 0.1, chance)
        steps.append((at, f"{a},{b}\r\n".encode()))
    check([count("a", 0), count("b", 1)], steps)


@pytest.mark.parametrize(
    "course", sorted(COURSES.keys() - {"turned"})
)  # of which so slow a board shows nothing
def test_a_board_with_a_line_each_ten_seconds(course: str) -> None:
    steps = [(1.7, b"Good morning\r\n")]
    steps += [(2.0 + 10 * i, f"{COURSES[course](2.0 + 10 * i):.2f}\r\n".encode()) for i in range(15)]
    check([celsius("t")], steps)


@pytest.mark.parametrize("course", COURSES)
def test_a_board_whose_lines_come_in_bursts(course: str) -> None:
    """Four lines a second in one portion, and once a portion that is two seconds late."""
    chance, steps = random.Random(course), list[Step]()
    for second in range(2, 150):
        texts = [f"{COURSES[course](second + i / 4) + chance.gauss(0, 0.03):.2f}\r\n" for i in range(4)]
        late = 2.0 if second == 77 else 1.0 if second == 78 else 0.0
        steps.append((second + 0.3 + late, "".join(texts).encode()))
    check([celsius("t")], steps, rate=4)


@pytest.mark.parametrize("course", COURSES)
def test_a_board_that_starts_anew_when_its_port_is_opened(course: str) -> None:
    """Half a line, a zero byte, silence, a greeting over three lines; then clock and number begin again."""
    chance = random.Random(course)
    steps: list[Step] = [
        (0.1, b"812,44123,44."),
        (0.2, b"\0"),
        (1.6, b"\r\nFoil group\r\n"),
        (1.7, b"ver 2\r\nn,ms,t\r\n"),
    ]
    for i, at in enumerate(beats(5, chance)):
        if at > 1.8:
            steps.append((at, f"{i + 1},{int(at * 1003) - 1500},{COURSES[course](at):.2f}\r\n".encode()))
    check([seen("n", 0, "index"), seen("ms", 1, "clock", unit="ms"), celsius("t", 2)], steps)


def test_a_heading_every_twenty_lines_is_no_start() -> None:
    chance, steps = random.Random(1), list[Step]()
    for i, at in enumerate(beats(5, chance)):
        heading = "-- n, t --\r\n" if i % 20 == 0 else ""
        steps.append((at, f"{heading}{i % 256},{cooling(at):.2f}\r\n".encode()))
    check([seen("n", 0, "index"), celsius("t", 1)], steps)


def test_a_fast_board_that_leaves_room_on_its_wire() -> None:
    chance, steps = random.Random(2), list[Step]()
    for at in beats(80, chance):
        steps.append((at, f"{ten_bits(cooling(at), 0.05, chance)}\r\n".encode()))
    check([count("raw", 0)], steps, rate=80)
