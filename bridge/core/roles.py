"""What a field is, judged by how its numbers behave over the first lines: a count, volts, a clock.

The unit and the name that a board prints count first, where they say something; then the behaviour.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise
from typing import Literal, NamedTuple

Role = Literal["", "count", "volts", "value", "clock", "index"]

N_NUMBERS = 3  # of fewer nothing is said but what the unit says
MAX_COUNT = (1 << 16) - 1
MAX_VOLTS = 5.5  # a board's supply, with what it may be off

_TICKS_NS = {"s": 1_000_000_000, "ms": 1_000_000, "µs": 1_000}
_VOLTS_UNITS = ("V", "mV", "µV")
_MIN_CLOCK_NS = 1_000_000_000  # a shorter stretch is too short beside the delays of its lines
_CLOCK_TOLERANCE = 0.1  # of the stretch; the units lie a thousand times apart
_CLOCK_SLACK_NS = 300_000_000  # lines of a second may come in one portion

_word = re.compile(r"[^\W\d_]+").findall
_COUNT_WORDS = frozenset(("raw", "adc", "count", "counts", "cnt", "code", "analog"))
_VOLTS_WORDS = frozenset(("v", "u", "volt", "volts", "voltage", "spannung"))
_CLOCK_WORDS = frozenset(
    ("time", "millis", "micros", "uptime", "clock", "timestamp", "zeit", "ms", "us", "sec", "secs", "seconds")
)
_VALUE_WORDS = frozenset(
    (
        *("t", "temp", "temperature", "temperatur", "h", "hum", "humidity", "rh", "light", "lux", "press"),
        *("pressure", "dist", "distance", "level", "weight", "moisture", "ph", "co", "heat"),
    )
)


class RoleFound(NamedTuple):
    """What one field is."""

    role: Role = ""  # "": not known
    clock_ns: int = 0  # of a clock: ns in one of its ticks
    width_bits: int = 0  # of a count: the least n with 2**n above every number seen, from 8 on


class _Column(NamedTuple):
    words: frozenset[str]  # of the name
    unit: str
    values: list[float]
    at_ns: list[int]
    decimals: int  # as printed; of numbers alone 0 for whole ones

    @property
    def is_whole(self) -> bool:
        return not self.decimals and all(value.is_integer() for value in self.values)

    def is_within(self, most: float) -> bool:
        """Whether all lie from 0 to `most`."""
        return min(self.values) >= 0 and max(self.values) <= most


def roles_of(
    names: Sequence[str],
    units: Sequence[str],
    columns: Sequence[Sequence[float | None]],
    at_ns: Sequence[int],
    *,
    decimals: Sequence[int] | None = None,
) -> tuple[RoleFound, ...]:
    """What each field is.

    Args:
        names: As printed, or made up.
        units: As printed, "" for none.
        columns: For each field its numbers, line by line; None for a missing one.
        at_ns: When each line came.
        decimals: How many of them each field is printed with, where that is known.
    """
    seen = []
    for i, (name, unit, column) in enumerate(zip(names, units, columns, strict=True)):
        known = [(float(value), at) for value, at in zip(column, at_ns, strict=True) if value is not None]
        values = [value for value, _ in known]
        printed = decimals[i] if decimals is not None else int(any(not v.is_integer() for v in values))
        words = frozenset(_word(name.casefold()))
        seen.append(_Column(words, unit, values, [at for _, at in known], printed))
    found = [_role(one) for one in seen]
    counts = [one for one, role in zip(seen, found, strict=True) if role.role == "count"]
    return tuple(_beside(one, role, counts) for one, role in zip(seen, found, strict=True))


def refined(
    before: Sequence[RoleFound], after: Sequence[RoleFound], most: Sequence[float]
) -> tuple[RoleFound, ...]:
    """What is known with more lines: what was not known before, wider counts, volts among the values.

    Args:
        before: What was known.
        after: What the newest lines show.
        most: The greatest number of each field so far.
    """
    every = zip(before, after, most, strict=True)
    return tuple(new if _is_finer(old, new, high) else old for old, new, high in every)


def _is_finer(old: RoleFound, new: RoleFound, most: float) -> bool:
    match old.role:
        case "":
            return True
        case "count":
            return new.role == "count" and new.width_bits > old.width_bits
        case "value":  # while nothing moved, nobody could tell
            return new.role == "volts" and most <= MAX_VOLTS
        case _:
            return False


def _role(one: _Column) -> RoleFound:
    if one.unit in _VOLTS_UNITS:
        return RoleFound("volts")
    if one.unit and one.unit not in (*_TICKS_NS, "counts"):
        return RoleFound("value")
    if len(one.values) < N_NUMBERS:
        return RoleFound()
    is_called_clock = one.unit in _TICKS_NS or bool(one.words & _CLOCK_WORDS)
    if _is_index(one) and not is_called_clock:
        return RoleFound("index")
    if clock_ns := _clock_ns(one, is_called_clock=is_called_clock):
        return RoleFound("clock", clock_ns)
    if one.unit in _TICKS_NS:
        return RoleFound("value")  # a span of time that was measured
    if one.is_whole and not one.words & _VALUE_WORDS and one.is_within(MAX_COUNT):
        return RoleFound("count", 0, max(8, int(max(one.values)).bit_length()))
    if one.words & _VOLTS_WORDS and one.is_within(MAX_VOLTS):
        return RoleFound("volts")
    return RoleFound("value")


def _beside(one: _Column, role: RoleFound, counts: Sequence[_Column]) -> RoleFound:
    """What a field is beside the counts of its line."""
    may_be_volts = role.role == "value" and not one.unit and one.decimals and not one.words & _VALUE_WORDS
    if may_be_volts and one.is_within(MAX_VOLTS) and _follows_one(one, counts):
        return RoleFound("volts")
    if role.role == "count" and not one.words & _COUNT_WORDS and not one.unit:
        narrower = [other for other in counts if max(other.values) < max(one.values)]
        if _follows_one(one, narrower):
            return RoleFound("value")  # millivolts, most likely; its unit is not printed
    return role


def _follows_one(one: _Column, counts: Sequence[_Column]) -> bool:
    """Whether the numbers are a multiple of a count, as far as their decimals can tell."""
    step = 10.0**-one.decimals
    for other in counts:
        if other is one or other.at_ns != one.at_ns:
            continue
        squares = sum(x * x for x in other.values)
        if squares == 0 or len(set(other.values)) < 2:
            continue
        gain = sum(x * y for x, y in zip(other.values, one.values, strict=True)) / squares
        slack = 1.1 * step + 0.005 * max(map(abs, one.values))
        if all(abs(y - gain * x) <= slack for x, y in zip(other.values, one.values, strict=True)):
            return True
    return False


def _is_index(one: _Column) -> bool:
    """Rising by one with each line; once it may begin anew, once lines may be lost."""
    steps = [b - a for a, b in pairwise(one.values)]
    return one.is_whole and len(steps) - steps.count(1.0) <= len(steps) // 5


def _clock_ns(one: _Column, *, is_called_clock: bool) -> int:
    """What a tick of the board's own clock is, judged against the times of arrival; 0 when it is no clock."""
    steps = [(b - a, t - s) for (a, b), (s, t) in zip(pairwise(one.values), pairwise(one.at_ns), strict=True)]
    onward = [(ticks, ns) for ticks, ns in steps if ticks >= 0]
    total, total_ns = sum(ticks for ticks, _ in onward), sum(ns for _, ns in onward)
    drops = [(a, b) for a, b in pairwise(one.values) if b < a]
    starts_anew = len(drops) <= 1 + (len(steps) > 12) and all(b < a / 2 for a, b in drops)
    if not starts_anew or total <= 0 or min(one.values) < 0:
        return 0
    if one.unit in _TICKS_NS:
        return _TICKS_NS[one.unit]
    if total_ns < _MIN_CLOCK_NS:
        return _tick_by_name(one.words) if is_called_clock else 0
    if len(steps) < 4 and not is_called_clock:
        return 0
    slack = _CLOCK_TOLERANCE * total_ns + (_CLOCK_SLACK_NS if total_ns > 4 * _CLOCK_SLACK_NS else 0)
    # A count that rises by one a second is no clock in seconds, unless it is called one.
    may_be_seconds = is_called_clock or not one.is_whole
    ticks = [tick for unit, tick in _TICKS_NS.items() if unit != "s" or may_be_seconds]
    return next((tick for tick in ticks if abs(total * tick - total_ns) <= slack), 0)


def _tick_by_name(words: frozenset[str]) -> int:
    if words & {"ms", "millis"}:
        return _TICKS_NS["ms"]
    if words & {"us", "micros"}:
        return _TICKS_NS["µs"]
    return _TICKS_NS["s"] if words & {"sec", "secs", "seconds"} else 0
