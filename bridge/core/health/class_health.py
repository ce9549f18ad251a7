"""A bench whose numbers are unlike those of all others: another unit, another scale, another reference."""

from __future__ import annotations

from bisect import bisect_left
from collections import deque
from collections.abc import Iterable, Sequence
from operator import itemgetter
from typing import NamedTuple

import numpy as np

from bridge.core.findings import Finding, FindingChange

from .signs import SECOND_NS, Book, Signs
from .window import middle

ASSESS_EVERY_NS = 10 * SECOND_NS
NEWEST_NS = 10 * SECOND_NS  # of a bench's readings those of the last ten seconds count
SLOW_NS = 30 * SECOND_NS  # or its newest one, when it is no older
LEAST_BENCHES = 4  # with the one that is judged
_TRIM_FROM = 512  # readings that are over

PATIENCE_NS, LASTS_NS = 10 * SECOND_NS, 20 * SECOND_NS
_POWERS = (10.0, 100.0, 1000.0)
_REFERENCES = ((5.0, 3.3), (3.3, 5.0))  # what a program computes with, and what its converter compares with
_NEAR_POWER = 0.3  # of the others' middle: within it a value divided by ten is one of theirs
_NEAR_SCALE = 0.04  # a tighter match, since smaller factors have other reasons as well
_CALM = 0.05  # the others agree so well, in parts of their middle
_FAR_SPREADS = 8.0
_MARGIN = 0.1  # of the middle, on both sides of the others, to keep what is told
_BEYOND_SPREADS, _BEYOND_PARTS = 12.0, 2.0  # no real difference is so large
_KEPT_PAIRS = 60  # assessments: ten minutes
_MOVED = 0.3  # the others' middle has moved by so much, and the ratio has stayed
_STAYED = 0.04

_when = itemgetter(0)


class Likely(NamedTuple):
    """What would make a bench's numbers like the others'."""

    words: str
    remedy: str
    evidence: str


class _Others(NamedTuple):
    """What the other benches read."""

    middle: float
    spread: float  # standard deviation, from the median deviation
    low: float
    high: float
    n: int


class ClassHealth:
    """Compares the benches at each full ten seconds; the same however the readings were handed over.

    Readings of a bench are to be told in the order of time, and those before an instant before `assess` is
    asked for it. All that was told since the last assessment is kept, before it half a minute.
    """

    def __init__(self) -> None:
        # channel -> bench -> (at_ns, value)
        self._readings: dict[str, dict[int, list[tuple[int, float]]]] = {}
        self._units: dict[tuple[str, int], str] = {}
        self._pairs: dict[tuple[str, int], deque[tuple[float, float]]] = {}  # (others' middle, own value)
        self._books: dict[int, Book] = {}
        self._due_ns = ASSESS_EVERY_NS

    def take(self, bench: int, channel: str, unit: str, values: Sequence[tuple[int, float]]) -> None:
        """Take readings (at_ns, value) of a bench's channel; a missing value is left out by the caller."""
        if not values:
            return
        known = self._readings.setdefault(channel, {})
        known.setdefault(bench, []).extend(values)
        if self._units.setdefault((channel, bench), unit) != unit:
            self._units[channel, bench] = unit
            self._pairs.pop((channel, bench), None)

    def assess(self, until_ns: int) -> list[FindingChange]:
        """Judge at each instant up to that time, with the readings before it."""
        changes: list[FindingChange] = []
        while self._due_ns <= until_ns:
            if any(self._readings.values()) or any(book.findings for book in self._books.values()):
                changes += self._assess(self._due_ns)
            else:
                self._due_ns = until_ns // ASSESS_EVERY_NS * ASSESS_EVERY_NS
            self._due_ns += ASSESS_EVERY_NS
        return changes

    def findings(self, bench: int) -> tuple[Finding, ...]:
        """What stands at a bench."""
        return self._books[bench].findings if bench in self._books else ()

    def forget(self, channels: Iterable[str]) -> None:
        """The lesson has changed how these channels are made: what was read before tells nothing."""
        for channel in channels:
            self._readings.pop(channel, None)
            for key in [key for key in self._pairs if key[0] == channel]:
                del self._pairs[key]

    def _assess(self, at_ns: int) -> list[FindingChange]:
        signs: dict[int, list[Signs]] = {}
        for channel, of_benches in sorted(self._readings.items()):
            for readings in of_benches.values():
                n_over = bisect_left(readings, at_ns - SLOW_NS, key=_when)
                if n_over >= _TRIM_FROM or n_over == len(readings):
                    del readings[:n_over]
            now = {bench: _newest(readings, at_ns) for bench, readings in sorted(of_benches.items())}
            values = {bench: value for bench, value in now.items() if value is not None}
            for bench in values if len(values) >= LEAST_BENCHES else ():
                found = self._unlike(channel, bench, values, at_ns)
                if found is not None:
                    signs.setdefault(bench, []).append(found)
        changes: list[FindingChange] = []
        for bench in sorted(self._books.keys() | signs.keys()):
            book = self._books.setdefault(bench, Book(bench))
            changes += book.take(at_ns, signs.get(bench, []))
        return changes

    def _unlike(self, channel: str, bench: int, values: dict[int, float], at_ns: int) -> Signs | None:
        others = _others([value for other, value in values.items() if other != bench])
        value = values[bench]
        pairs = self._pairs.setdefault((channel, bench), deque(maxlen=_KEPT_PAIRS))
        pairs.append((others.middle, value))
        unit = self._units[channel, bench]
        units = [self._units[channel, other] for other in values if other != bench]
        likely = _other_unit(unit, units)
        if likely is None:
            stands = bench in self._books and self._books[bench].stands("unlike the others", channel)
            likely = _likely(value, others, unit, pairs, stands=stands)
        if likely is None:
            return None
        return Signs(
            "unlike the others", channel, at_ns - NEWEST_NS, f"{channel} {likely.words}",
            f"{value:.4g} {unit} here, {others.middle:.4g} in the middle of {others.n} other benches "
            f"({others.low:.4g} to {others.high:.4g}); {likely.evidence}",
            likely.remedy, weight="hint", patience_ns=PATIENCE_NS, lasts_ns=LASTS_NS,
        )  # fmt: skip


def _newest(readings: list[tuple[int, float]], at_ns: int) -> float | None:
    """The middle of the last ten seconds before an instant, else the newest within half a minute."""
    end = bisect_left(readings, at_ns, key=_when)
    first = bisect_left(readings, at_ns - NEWEST_NS, hi=end, key=_when)
    if first < end:
        return middle(np.array([value for _, value in readings[first:end]], np.float64))
    is_recent = end > 0 and readings[end - 1][0] >= at_ns - SLOW_NS
    return readings[end - 1][1] if is_recent else None


def _others(values: list[float]) -> _Others:
    x = np.array(values, np.float64)
    centre = middle(x)
    off = np.abs(x - centre)
    spread = 1.4826 * middle(off)
    usual = x[
        off <= _FAR_SPREADS * max(spread, 0.01 * abs(centre))
    ]  # one that has lost its sensor is no measure
    return _Others(centre, spread, float(usual.min()), float(usual.max()), len(x))


def _other_unit(unit: str, units: list[str]) -> Likely | None:
    """All others agree on a unit, and this bench has another one."""
    if not unit or not units[0] or set(units) != {units[0]} or unit == units[0]:
        return None
    return Likely(
        f"comes in {unit}, at all other benches in {units[0]}",
        "Let the program print the agreed unit, or convert it in the lesson",
        f"the units are {unit} and {units[0]}",
    )


def _likely(
    value: float, others: _Others, unit: str, pairs: Sequence[tuple[float, float]], *, stands: bool
) -> Likely | None:
    """What would make the value one of the others'; to keep what is told it need be no nearer than that."""
    spread = max(others.spread, 0.01 * abs(others.middle))
    if others.low <= value <= others.high:
        return None
    if not stands and abs(value - others.middle) <= _FAR_SPREADS * spread:
        return None
    return (
        _by_power(value, others)
        or _by_fahrenheit(value, others, spread, unit, stands=stands)
        or _by_reference(value, others, pairs, stands=stands)
        or _by_far(value, others, spread)
    )


def _by_power(value: float, others: _Others) -> Likely | None:
    centre = others.middle
    if not centre or value / centre < 0:
        return None
    for power in _POWERS:
        for factor in (power, 1 / power):
            if abs(value / factor - centre) <= _NEAR_POWER * abs(centre):
                words = f"{power:.0f} times as large" if factor > 1 else f"{power:.0f} times as small"
                return Likely(
                    f"is about {words} as at the other benches",
                    "Look for a factor of the kind mV for V, or a decimal point, in the program's formula",
                    f"{'divided' if factor > 1 else 'multiplied'} by {power:.0f} it is {value / factor:.4g}",
                )
    return None


def _is_theirs(value: float, others: _Others) -> bool:
    margin = _MARGIN * abs(others.middle)
    return others.low - margin <= value <= others.high + margin


def _by_fahrenheit(value: float, others: _Others, spread: float, unit: str, *, stands: bool) -> Likely | None:
    if unit not in ("°C", ""):
        return None
    celsius = (value - 32) / 1.8
    near = max(2 * spread, _NEAR_SCALE * abs(others.middle))
    is_near = abs(celsius - others.middle) <= near and others.spread <= 2 * _CALM * abs(others.middle)
    if not (is_near or (stands and _is_theirs(celsius, others))):
        return None
    return Likely(
        "is probably in degrees Fahrenheit, at the other benches in degrees Celsius",
        "Leave 1.8 and 32 out of the program's formula",
        f"as Fahrenheit it would be {celsius:.4g} °C",
    )


def _by_reference(
    value: float, others: _Others, pairs: Sequence[tuple[float, float]], *, stands: bool
) -> Likely | None:
    """A ratio of reference voltages, where the others agree well or have moved while the ratio stayed."""
    centre = others.middle
    if not centre:
        return None
    for computed, real in _REFERENCES:
        factor = computed / real
        is_near = abs(value / factor - centre) <= _NEAR_SCALE * abs(centre)
        is_plain = is_near and (others.spread <= _CALM * abs(centre) or _ratio_stays(pairs))
        if is_plain or (stands and _is_theirs(value / factor, others)):
            return Likely(
                f"is about {factor:.3g} times that of the other benches",
                f"Look whether the program computes with {computed:g} V where the converter compares with "
                f"{real:g} V",
                f"times {real:g}/{computed:g} it is {value / factor:.4g}",
            )
    return None


def _ratio_stays(pairs: Sequence[tuple[float, float]]) -> bool:
    theirs, own = np.array(pairs, np.float64).T
    if len(theirs) < 3 or not theirs.all() or np.ptp(theirs) < _MOVED * abs(middle(theirs)):
        return False
    ratio = own / theirs
    return bool(np.ptp(ratio) <= _STAYED * abs(middle(ratio)))


def _by_far(value: float, others: _Others, spread: float) -> Likely | None:
    far = _BEYOND_SPREADS * spread + _BEYOND_PARTS * max(abs(others.middle), others.high - others.low)
    if abs(value - others.middle) <= far:
        return None
    return Likely(
        "is far from that of all other benches",
        "Compare the program's formula and the wiring with those of a neighbouring bench",
        f"{abs(value - others.middle):.4g} away, where the others differ by {others.high - others.low:.4g}",
    )
