"""Which readings would tell two programs apart: where their printed texts differ, if they do anywhere."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bridge.core.checking.columns import Columns
from bridge.core.checking.intervals import Interval, Numbers, PrintedColumn
from bridge.core.checking.programs import Program, used_volts, values_of
from bridge.core.checking.volts_parts import volts_of

MAX_READINGS = 4096
MAX_MORE_DECIMALS = 4
_SURE = (
    1.02  # of a step: farther apart than that, two numbers are printed differently however they are rounded
)


@dataclass(frozen=True, slots=True)
class Readings:
    """What the formula may start from: counts or volts from the least to the most that the sensor gives."""

    numbers: Numbers
    is_count: bool

    def from_on(self, at: int) -> str:
        """In words."""
        return (
            f"a count of {self.numbers[at]:.0f} or more"
            if self.is_count
            else f"{self.numbers[at]:.4g} V or more"
        )

    def up_to(self, at: int) -> str:
        """In words."""
        return (
            f"a count of {self.numbers[at]:.0f} or less"
            if self.is_count
            else f"{self.numbers[at]:.4g} V or less"
        )

    def some(self, at: Sequence[int]) -> str:
        """In words."""
        unit = "" if self.is_count else " V"
        numbers = " or ".join(f"{self.numbers[i]:.4g}{unit}" for i in at)
        return f"a count such as {numbers}" if self.is_count else f"such as {numbers}"


def readings_between(least: float, most: float, *, is_count: bool) -> Readings:
    """Evenly, at most 4096 of them."""
    if is_count:
        low, high = np.ceil(least), np.floor(most)
        n = int(min(high - low + 1, MAX_READINGS))
        return Readings(np.unique(np.round(np.linspace(low, high, n))), is_count=True)
    return Readings(np.linspace(least, most, MAX_READINGS), is_count=False)


def would_tell(one: Program, other: Program, readings: Readings, columns: Columns) -> str:
    """What to read so that the two print different texts; that nothing does, where it is so."""
    columns_at = _columns(readings, columns)
    found = _where(one, other, readings, columns_at, 0)
    if found:
        return f"{found} would tell"
    for more in range(1, MAX_MORE_DECIMALS + 1):
        if found := _where(one, other, readings, columns_at, more):
            decimals = "one more decimal" if more == 1 else f"{more} more decimals"
            return (
                f"no reading can tell them apart at this number of decimals; with {decimals}, {found} would"
            )
    return "no reading can tell them apart: look into the program"


def _columns(readings: Readings, columns: Columns) -> Columns:
    """The readings in the place of the records, with the steps of the print."""
    x = readings.numbers
    volts = value = None
    if columns.volts is not None:
        volts = PrintedColumn(x, columns.volts.step)
    if columns.value is not None:
        value = PrintedColumn(np.zeros_like(x), columns.value.step)
    return Columns(Interval(x, x) if readings.is_count else None, volts, value)


def _where(one: Program, other: Program, readings: Readings, columns: Columns, more_decimals: int) -> str:
    apart = np.zeros(len(readings.numbers))
    for column, step in _printed(one, other, columns):
        with np.errstate(invalid="ignore"):
            steps = np.abs(column) / (step / 10.0**more_decimals)
        apart = np.maximum(apart, np.where(np.isnan(steps), 0.0, steps))
    sure = apart >= _SURE
    if sure.any():
        return _range(sure, readings)
    sometimes = np.flatnonzero(apart > 0.5)  # there, roundings fall apart more often than not
    return readings.some([int(i) for i in sometimes[[0, -1]]][: len(sometimes)]) if len(sometimes) else ""


def _range(sure: NDArray[np.bool_], readings: Readings) -> str:
    places = np.flatnonzero(sure)
    first, last = int(places[0]), int(places[-1])
    if sure[first:].all():
        return "any reading" if first == 0 else readings.from_on(first)
    return readings.up_to(last) if sure[: last + 1].all() else readings.some([first])


def _printed(one: Program, other: Program, columns: Columns) -> list[tuple[Numbers, float]]:
    """By how much the two differ in each printed column, with the column's step."""
    found: list[tuple[Numbers, float]] = []
    if columns.count is not None and columns.volts is not None:
        volts = [
            _middle(volts_of(p.volts, columns.count)) * p.volts.factor * p.volts.per_volt
            for p in (one, other)
        ]
        found.append((volts[0] - volts[1], columns.volts.step))
    if columns.value is not None and one.value is not None and other.value is not None:
        values = []
        for program in (one, other):
            assert program.value is not None
            if columns.count is not None:
                volts_in = used_volts(program.volts, columns)
            else:
                volts_in = Interval(columns.x, columns.x)
            values.append(_middle(values_of(program.value, program.volts, volts_in)))
        with np.errstate(invalid="ignore"):
            found.append((values[0] - values[1], columns.value.step))
    return found


def _middle(interval: Interval) -> Numbers:
    return (interval.low + interval.high) / 2
