"""How each group's program words its measurements: eight ways, none of them wrong.

Pure text; `demo/lesson.toml` describes the same eight to the bridge.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import NamedTuple


class Sample(NamedTuple):
    """What a program has at hand when it prints."""

    number: int  # running number, from 1 after each start
    clock_ms: int  # milliseconds since the board's start, by its own clock
    raw: int  # the count from the converter
    volts: float  # as the group's formula has it
    celsius: float  # as the group's formula has it
    room_celsius: float


Wording = Callable[[Sample], str]


def raw_count(sample: Sample) -> str:
    """`92`: the raw count only."""
    return f"{sample.raw}\r\n"


def three_columns(sample: Sample) -> str:
    """`92, 0.449, 44.9`: count, volts, unit."""
    return f"{sample.raw}, {sample.volts:.3f}, {sample.celsius:.1f}\r\n"


def names_first(sample: Sample) -> str:
    """`raw: 294, volts: 0.948, temp: 44.82 C`: name, colon, value."""
    return f"raw: {sample.raw}, volts: {sample.volts:.3f}, temp: {sample.celsius:.2f} C\r\n"


def labels_after(sample: Sample) -> str:
    """`558 counts 0.450 V 45.0 degC`: each value followed by its label."""
    return f"{sample.raw} counts {sample.volts:.3f} V {sample.celsius:.1f} degC\r\n"


def json_object(sample: Sample) -> str:
    """`{"n": 12, "raw": 558, "volts": 0.4497, "temp": 44.97}`: a JSON object a line, ended by LF."""
    values = {
        "n": sample.number,
        "raw": sample.raw,
        "volts": round(sample.volts, 4),
        "temp": round(sample.celsius, 2),
    }
    return json.dumps(values) + "\n"


def several_lines(sample: Sample) -> str:
    """`Sample: 12`, `Water: 44.94 C`, `Room: 20.50 C`: three lines are one record."""
    water, room = sample.celsius, sample.room_celsius
    return f"Sample: {sample.number}\r\nWater: {water:.2f} C\r\nRoom: {room:.2f} C\r\n"


def decimal_comma(sample: Sample) -> str:
    """`558;0,4497;44,97`: semicolons between the columns, decimal comma."""
    return f"{sample.raw};{sample.volts:.4f};{sample.celsius:.2f}\r\n".replace(".", ",")


def tabs_with_clock(sample: Sample) -> str:
    """`12345<tab>558<tab>44.97`: the board's own milliseconds first."""
    return f"{sample.clock_ms}\t{sample.raw}\t{sample.celsius:.2f}\r\n"
