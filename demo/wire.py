"""The wire between board and computer: when bytes arrive, and what becomes of them on a bad day. Pure."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from itertools import groupby

BITS_A_BYTE = 10  # a start bit, eight data bits, a stop bit
ADAPTER_SECONDS = 0.016  # a USB serial adapter hands over what it has this often
ADAPTER_BYTES = 62  # or at once, when its packet is full


def portions(
    data: bytes, *, from_seconds: float, baud: int, phase_seconds: float
) -> Iterator[tuple[float, bytes]]:
    """Cut text into the portions in which an adapter hands it over, each with its time.

    A byte is there ten bits after the one before; the adapter hands over at its own steady beat, wherever the
    lines end, or as soon as its packet is full.
    """
    byte_seconds = BITS_A_BYTE / baud

    def beat(i: int) -> int:
        return math.ceil((from_seconds + (i + 1) * byte_seconds - phase_seconds) / ADAPTER_SECONDS)

    for ends_at, group in groupby(range(len(data)), key=beat):
        indices = list(group)
        for start in range(0, len(indices), ADAPTER_BYTES):
            packet = indices[start : start + ADAPTER_BYTES]
            is_full = len(packet) == ADAPTER_BYTES
            full_at = from_seconds + (packet[-1] + 1) * byte_seconds
            due = full_at if is_full else phase_seconds + ends_at * ADAPTER_SECONDS
            yield due, data[packet[0] : packet[-1] + 1]


def heard_at(data: bytes, *, sent_baud: int, read_baud: int) -> bytes:
    """What a receiver makes of bytes that were sent at another rate.

    The line is drawn bit by bit (idle high, start bit low, eight data bits from the lowest, stop bit high);
    the receiver waits for a fall and then looks in the middle of each of its own bits.
    """
    levels: list[int] = [1]
    for byte in data:
        levels += [0, *((byte >> i) & 1 for i in range(8)), 1]
    length = len(levels) / sent_baud

    def level(at_seconds: float) -> int:
        i = int(at_seconds * sent_baud)
        return levels[i] if i < len(levels) else 1

    heard = bytearray()
    tick = 1 / (16 * read_baud)  # a receiver looks for the fall sixteen times a bit
    at = 0.0
    while at < length:
        if level(at):
            at += tick
            continue
        bits = [level(at + (i + 1.5) / read_baud) for i in range(8)]
        heard.append(sum(bit << i for i, bit in enumerate(bits)))
        at += 9.5 / read_baud  # the middle of the stop bit: from here on a fall is a new start bit
        while at < length and not level(at):
            at += tick  # a stop bit that is low is no stop bit: wait until the line is high again
    return bytes(heard)


def with_turned_bits(data: bytes, *, share: float, chance: random.Random) -> bytes:
    """Turn one bit over in that share of the bytes."""
    return bytes(byte ^ (1 << chance.randrange(8)) if chance.random() < share else byte for byte in data)
