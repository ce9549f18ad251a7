"""The kept records as columns of numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bridge.core.checking.intervals import CLOSENESS, TIGHTNESS, Interval, PrintedColumn
from bridge.core.checking.kept import Numbers


@dataclass(frozen=True, slots=True)
class Columns:
    """Records side by side, from the lowest to the highest; None for a field that the board has not."""

    count: Interval | None  # a mean of counts with decimals stands for an interval
    volts: PrintedColumn | None
    value: PrintedColumn | None
    closeness: float = CLOSENESS  # relative, of what is computed to what exact arithmetic would give

    @property
    def x(self) -> NDArray[np.float64]:
        """What the formula starts from: the count, else the printed volts."""
        if self.count is not None:
            return (self.count.low + self.count.high) / 2
        assert self.volts is not None, "a check has two of the three"
        return self.volts.numbers

    @property
    def n_different(self) -> int:
        """How many different numbers the formula starts from."""
        return len(np.unique(self.x))

    def __len__(self) -> int:
        return len(self.x)

    def part(self, at: NDArray[np.intp] | NDArray[np.bool_]) -> Columns:
        """Some of the records."""
        return replace(
            self,
            count=None if self.count is None else self.count.part(at),
            volts=None if self.volts is None else self.volts.part(at),
            value=None if self.value is None else self.value.part(at),
        )

    def tight(self) -> Columns:
        """Where programs are taken to compute with 64-bit floats."""
        return replace(self, closeness=TIGHTNESS)

    def loosened(self, counts: float) -> Columns:
        """With counts that may be off by so much: printed from another look at the pin than the rest."""
        assert self.count is not None
        return replace(self, count=Interval(self.count.low - counts, self.count.high + counts))

    def some(self, n: int) -> Columns:
        """A few records, spread over the range."""
        if len(self) <= n:
            return self
        return self.part(np.unique(np.linspace(0, len(self) - 1, n).round().astype(np.intp)))


def columns_of(records: Sequence[Numbers], decimals: Sequence[int]) -> Columns:
    """The columns; every record has the same fields."""
    steps = [10.0**-d for d in decimals]
    count, volts, value = (
        None if column[0] is None else np.array(column, dtype=np.float64)
        for column in zip(*records, strict=True)
    )
    half = 0.0 if decimals[0] == 0 else steps[0]  # a mean may be rounded or cut: both lie within one step
    return Columns(
        None if count is None else Interval(count - half, count + half),
        None if volts is None else PrintedColumn(volts, steps[1]),
        None if value is None else PrintedColumn(value, steps[2]),
    )
