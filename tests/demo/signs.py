"""How each known fault shows itself in the bytes of its time: one question for each kind."""

from __future__ import annotations

import re
from collections.abc import Callable

from demo.faults import FaultKind

DIGITAL = rb"Water: ([0-9.]+) C\r\n"
JSON_COUNT = rb'"raw": ([0-9]+)'
COMMA_VOLTS = rb"(?m)^[0-9]+;(0,[0-9]+);"


def _numbers(pattern: bytes, text: bytes) -> list[float]:
    return [float(found.replace(b",", b".")) for found in re.findall(pattern, text)]


def _starts_mid_line(text: bytes) -> bool:
    return text.startswith(b"1\r\n") and b"\n41\r" in text


def _integer_division(text: bytes) -> bool:
    rows = re.findall(rb"(?m)^([0-9]+), ([0-9.]+), ([0-9.-]+)\r", text)
    return any(int(count) > 20 and volts == b"0.000" for count, volts, _ in rows)


def _wrong_reference(text: bytes) -> bool:
    rows = re.findall(rb"([0-9]+) counts ([0-9.]+) V", text)
    ratios = [float(volts) / (int(count) * 3.3 / 4096) for count, volts in rows]
    return bool(ratios) and all(abs(ratio - 5 / 3.3) < 0.01 for ratio in ratios)


def _resetting(text: bytes) -> bool:
    return text.count(b"\0ms\tcount\tdegC\r\n") >= 3


def _lifted_out(text: bytes) -> bool:
    values = _numbers(DIGITAL, text)
    return bool(values) and min(values) < 22 and values[0] - values[-1] > 15


def _unplugged(text: bytes) -> bool:
    return 0 < len(text) < 40 and not text.endswith(b"\n")


def _too_warm(text: bytes) -> bool:
    return any(volts / 0.01 > 46.5 for volts in _numbers(COMMA_VOLTS, text))


def _disconnected(text: bytes) -> bool:
    counts = _numbers(JSON_COUNT, text)
    return max(counts) - min(counts) > 1000


def _quiet(text: bytes) -> bool:
    return len(text) <= 4


def _damaged(text: bytes) -> bool:
    good = rb"[0-9]+;0,[0-9]{4};[0-9]{2},[0-9]{2}"
    return sum(not re.fullmatch(good, line) for line in text.split(b"\r\n")[1:-1]) >= 3


def _wrong_baud(text: bytes) -> bool:
    return len(text) > 500 and b"temp" not in text[60:-60]


def _no_line_end(text: bytes) -> bool:
    return len(text) > 1000 and b"\n" not in text[40:-40]


SIGNS: dict[FaultKind, Callable[[bytes], bool]] = {
    "starts mid-line": _starts_mid_line,
    "integer division": _integer_division,
    "wrong reference": _wrong_reference,
    "resetting": _resetting,
    "sensor lifted out": _lifted_out,
    "unplugged": _unplugged,
    "topped up too warm": _too_warm,
    "pin disconnected": _disconnected,
    "quiet": _quiet,
    "damaged bytes": _damaged,
    "wrong baud": _wrong_baud,
    "no line end": _no_line_end,
}
