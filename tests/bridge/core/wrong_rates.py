"""Boards that send at one usual rate and are read at another, in many wordings; the table of what is named.

python -m tests.bridge.core.wrong_rates [TIMES]
"""

from __future__ import annotations

import random
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from fractions import Fraction
from typing import NamedTuple

from bridge.core.baud import KEPT_BYTES, MOST_APART, USUAL_RATES, BaudMeter
from bridge.core.wire import RECEIVERS, Receiver, heard

WORDINGS: tuple[Callable[[random.Random, int], str], ...] = (
    lambda r, i: f"{i},{512 + i % 7},{21.5 + 0.1 * (i % 9):.1f}\r\n",
    lambda r, i: f"Temperature: {24 + r.gauss(0, 0.3):.2f} degrees C\r\n",
    lambda r, i: (
        f"raw={300 + r.randrange(40)} volts={1.4 + 0.01 * r.random():.3f} temp={22 + r.random():.1f}\n"
    ),
    lambda r, i: f"Wasserbecher {41 - i * 0.02:.2f} Grad, Zaehler {i}\r\n",
    lambda r, i: f"{45 - i * 0.05:.2f}\r\n",
    lambda r, i: f"{r.randrange(480, 530)}\r\n",
    lambda r, i: f'{{"t":{20 + i * 0.01:.1f},"adc":{700 + r.randrange(9)},"ok":true}}\r\n',
    lambda r, i: "Hello World!\r\n",
    lambda r, i: f"ms {i * 250}\tcount {431 + r.randrange(5)}\tdegC {19.7 + 0.3 * r.random():.2f}\r\n",
    lambda r, i: f"Température : {20 + r.random():.1f} °C\r\n",
)


def text_in(wording: int, chance: random.Random, n_bytes: int) -> bytes:
    """At least so many bytes of whole lines."""
    data, i = b"", chance.randrange(1000)
    while len(data) < n_bytes:
        data += WORDINGS[wording](chance, i).encode()
        i += 1
    return data


class WrongRate(NamedTuple):
    """A board's bytes as they are read at a rate that may not be its own."""

    sent_at: int
    read_at: int
    wording: int
    receiver: Receiver
    data: bytes


def wrong_rate(
    sent_at: int, read_at: int, wording: int, receiver: Receiver, chance: random.Random
) -> WrongRate:
    """With a board's clock that is off by up to 2.5 %, and rests behind the lines of most boards."""
    text = text_in(wording, chance, max(250, 700 * sent_at // read_at))
    off = chance.uniform(-0.025, 0.025)
    rest = chance.randint(5, 500) if chance.random() < 0.7 else 0
    idle_bits = [rest if byte == 0x0A else 0 for byte in text]
    data = heard(text, sent_at=sent_at * (1 + off), read_at=read_at, idle_bits=idle_bits, receiver=receiver)
    return WrongRate(sent_at, read_at, wording, receiver, data[-KEPT_BYTES:])


def all_pairs() -> Iterator[tuple[int, int]]:
    """Every two usual rates that are no more than sixteen times apart, the same twice included."""
    for read_at in USUAL_RATES:
        for sent_at in USUAL_RATES:
            if sent_at <= MOST_APART * read_at and read_at <= MOST_APART * sent_at:
                yield sent_at, read_at


def outcome(one: WrongRate) -> str:
    """What the meter makes of it: "named", "none" or "false"."""
    meter = BaudMeter(baud=one.read_at)
    meter.take(one.data)
    found = meter.likely()
    if found is None:
        return "none"
    return "named" if found.baud == one.sent_at != one.read_at else "false"


def main() -> None:
    """Print the table."""
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 1
    chance = random.Random(99)
    table: Counter[tuple[Fraction, str]] = Counter()
    for sent_at, read_at in all_pairs():
        for wording in range(len(WORDINGS)):
            for receiver in RECEIVERS * times:
                one = wrong_rate(sent_at, read_at, wording, receiver, chance)
                table[Fraction(sent_at, read_at), outcome(one)] += 1
    print("sent/read  named  none  false")
    for ratio in sorted({ratio for ratio, _ in table}):
        print(f"{float(ratio):9.3f}", *(f"{table[ratio, what]:6d}" for what in ("named", "none", "false")))
    for what in ("named", "none", "false"):
        print(what, sum(n for (_, how), n in table.items() if how == what))


if __name__ == "__main__":
    main()
