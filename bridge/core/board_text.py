"""Text as boards print it, made up: what the rate of a wire is measured against.

Drawn with `Random.random` alone, the one draw that Python promises to repeat in every version, so that a
measurement gives the same answer on every machine.
"""

from __future__ import annotations

from collections.abc import Sequence
from random import Random
from typing import NamedTuple, TypeVar

_T = TypeVar("_T")
_WORDS = (
    "temp", "temperature", "raw", "adc", "count", "counts", "volts", "voltage", "v", "t", "c", "val", "value",
    "sensor", "a0", "pin", "light", "lux", "humidity", "dist", "cm", "mv", "deg", "time", "ms", "n",
    "reading", "ok", "start", "ready", "hello",
)  # fmt: skip
_UNITS = ("", "", "C", "°C", " C", " V", "V", " mV", "%", " lx", " ohm", " deg", " cm")
_SEPARATORS = (",", ";", "\t", " ", ",", ", ", " | ")
_SIGNS = (":", ": ", "=", "=", " = ")
_LETTERS = "abcdefghijklmnopqrstuvwxyz"


class Printed(NamedTuple):
    """Some lines of one made-up program."""

    data: bytes
    idle_bits: list[int]  # for which the line rests behind each byte


def lines_of_a_program(chance: Random, n_bytes: int) -> Printed:
    """At least so many bytes that one program printed, with its rests: behind lines, bytes or none."""
    line = _Program(chance)
    data = b""
    while len(data) < n_bytes:
        data += line.text().encode()
    manner = chance.random()
    idle_bits = [0] * len(data)
    for i, byte in enumerate(data):
        if manner < 0.7 and byte == 0x0A:
            idle_bits[i] = 20 + int(180 * chance.random())
        if 0.6 < manner < 0.75:
            idle_bits[i] += int(13 * chance.random())
    return Printed(data, idle_bits)


class _Program:
    def __init__(self, chance: Random) -> None:
        self._chance = chance
        self._end = _one(chance, ("\r\n", "\r\n", "\r\n", "\n"))
        self._kind = _one(chance, ("columns", "pairs", "pairs", "lines", "json", "labels after"))
        n = _one(chance, (1, 1, 2, 2, 3, 3, 4))
        self._decimals = [_one(chance, (0, 0, 1, 2, 2, 3)) for _ in range(n)]
        sign = -1 if chance.random() < 0.1 else 1
        self._middles = [sign * 10 ** (4 * chance.random()) for _ in range(n)]
        self._labels = [_word(chance) for _ in range(n)]
        self._units = [_one(chance, _UNITS) for _ in range(n)]
        self._separator = _one(chance, _SEPARATORS)
        self._equals = _one(chance, _SIGNS)

    def text(self) -> str:
        numbers = [
            f"{middle * (0.7 + 0.6 * self._chance.random()):.{decimals}f}"
            for middle, decimals in zip(self._middles, self._decimals, strict=True)
        ]
        named = list(zip(self._labels, numbers, self._units, strict=True))
        if self._kind == "columns":
            return self._separator.join(numbers) + self._end
        if self._kind == "json":
            return "{" + ",".join(f'"{label}":{number}' for label, number, _ in named) + "}" + self._end
        if self._kind == "labels after":
            return (
                self._separator.join(f"{number}{unit} {label}" for label, number, unit in named) + self._end
            )
        between = self._end if self._kind == "lines" else self._separator
        return (
            between.join(f"{label}{self._equals}{number}{unit}" for label, number, unit in named) + self._end
        )


def _word(chance: Random) -> str:
    if chance.random() < 0.5:
        word = _one(chance, _WORDS)
    else:
        word = "".join(_one(chance, _LETTERS) for _ in range(1 + int(7 * chance.random())))
    case = chance.random()
    return word.capitalize() if case < 0.4 else word.upper() if case < 0.55 else word


def _one(chance: Random, among: Sequence[_T]) -> _T:
    return among[int(chance.random() * len(among))]
