"""Good boards of every kind, by the hundred: `python -m tests.bridge.core.health.soak [N] [FIRST]`.

Each is made from its seed: a sensor with its inertia and noise that is dipped and lifted at random times, a
converter, a program with its formula, pace and jitter, portions or bursts; five minutes of it. Prints each
board at which something was found; the exit code tells whether there was one.
"""

from __future__ import annotations

import math
import random
import sys
from collections.abc import Iterator, Sequence

from bridge.core.health import ChannelSeen

from .benches import HealthBench, Step, celsius, columns, count, seen, volts

SECONDS = 300.0
STEP = 0.05  # s: the sensor's temperature is followed this finely
ADAPTER = 0.016  # s: portions are handed over this often


def course(chance: random.Random) -> list[float]:
    """The sensor's temperature every `STEP` seconds, in a cup that cools and in the air, in turn."""
    inertia, cover = chance.choice([0.3, 1.0, 4.0, 10.0]), chance.uniform(300, 3000)
    around = now = chance.uniform(15, 28)
    found = []
    for i in range(round(SECONDS / STEP) + 1):
        if chance.random() < STEP / 60:
            around = chance.choice([chance.uniform(15, 28), chance.uniform(35, 50)])
        outside = 20 + (around - 20) * math.exp(-i * STEP / cover)
        now += (outside - now) * (1 - math.exp(-STEP / inertia))
        found.append(now)
    return found


def beats(rate: float, chance: random.Random) -> Iterator[float]:
    at, jitter = 1.7 + chance.random(), chance.choice([0.0002, 0.0015, 0.02])
    while at < SECONDS:
        yield at
        at += 1 / rate + abs(chance.gauss(0, jitter))


def board(seed: int) -> tuple[str, float, Sequence[ChannelSeen], list[Step]]:
    """What it is, how often it prints, its fields, and what comes from it."""
    chance = random.Random(seed)
    kind = chance.choice(["count", "formula", "digital", "two", "clock", "volts", "thermistor"])
    rate, noise = chance.choice([0.1, 0.5, 1, 2, 4, 5, 10, 20]), chance.choice([0, 0.01, 0.05, 0.2, 1.0])
    bits, reference = chance.choice([(10, 5.0), (10, 3.3), (12, 3.3)])
    sensor, slow = course(chance), 20.0
    fields: Sequence[ChannelSeen] = ()
    steps: list[Step] = []
    for i, at in enumerate(beats(rate, chance)):
        x = sensor[int(at / STEP)] + chance.gauss(0, noise)
        n = max(0, min(2**bits - 1, math.floor(x * 0.01 / reference * 2**bits)))
        v = n * reference / 2**bits
        match kind:
            case "count":
                text, fields = f"{n}", [count(bits=bits)]
            case "formula":
                text = f"{n},{v:.3f},{v * 100:.2f}"
                fields = [count(bits=bits), volts(reference=reference), celsius("t", 2)]
            case "digital":
                room = round((20.5 + chance.gauss(0, 0.01)) * 16) / 16
                text, fields = f"{round(x * 16) / 16:.2f},{room:.2f}", [celsius("t", 0), celsius("room", 1)]
            case "two":
                slow += (x - slow) * 0.3 * min(1.0, 1 / rate)
                second = max(0, math.floor((slow + chance.gauss(0, noise)) * 0.01 / reference * 2**bits))
                text, fields = f"{n},{second}", [count("a", 0, bits=bits), count("b", 1, bits=bits)]
            case "clock":
                text = f"{i},{int(at * 1004)},{x:.2f}"
                fields = [seen("n", 0, "index"), seen("ms", 1, "clock", unit="ms"), celsius("t", 2)]
            case "volts":
                text, fields = f"{v:.3f}", [volts("volts", 0, reference=reference)]
            case _:
                ohms = 10000 * math.exp(3950 * (1 / (273.15 + x) - 1 / 298.15))
                text = f"{int(2**bits * ohms / (ohms + 10000))},{x:.1f}"
                fields = [count(bits=bits), celsius("t", 1, step=0.1)]
        steps.append((math.ceil(at / ADAPTER) * ADAPTER, f"{text}\r\n".encode()))
    if chance.random() < 0.3:
        steps = [(float(math.ceil(at)), data) for at, data in steps]
    return f"{kind}, {rate} lines a second, noise {noise} °C, {bits} bits", rate, fields, steps


def main(n: int = 200, first: int = 0) -> int:
    """Watch so many boards; the answer is how many were told something of."""
    n_told = 0
    for seed in range(first, first + n):
        words, rate, fields, steps = board(seed)
        n_fields = max(one.index for one in fields) + 1
        bench = HealthBench(fields, columns(n_fields), lines_per_second=rate, baud=115200, cold=True)
        bench.open(0.0)
        bench.feed(*steps)
        bench.tick(steps[-1][0] + 1)
        n_told += bool(bench.watched.changes)
        for change in bench.watched.changes[:3]:
            told = f"{change.at_ns / 1e9:.0f} s {change.event} {change.finding.kind}"
            print(f"{seed}: {words}: {told}: {change.finding.evidence}")
    print(f"{n} boards, something told of {n_told}")
    return n_told


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:])) > 0)
