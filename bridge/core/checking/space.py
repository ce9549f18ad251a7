"""All programs that a check tries, ready for trying many at once on a few records."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from bridge.core.checking.columns import Columns
from bridge.core.checking.curve import FOLLOWS, Curve
from bridge.core.checking.intervals import CLOSENESS, Interval, Numbers
from bridge.core.checking.programs import Program, used_volts
from bridge.core.checking.value_parts import ValuePart, relabelled, value_parts
from bridge.core.checking.volts_parts import WHOLE_STEPS, volts_parts
from bridge.core.conversion_given import Conversion

MAX_MISTAKES = 2
_N_SPACES = 64  # one for each conversion and form of text in the room
_MILLIVOLT = 0.001
_N_ENDS = 2


@dataclass(frozen=True, slots=True)
class Fields:
    """What a board prints of one channel."""

    has_count: bool
    has_volts: bool
    has_value: bool
    volts_unit: str
    value_unit: str
    unit: str  # the channel's own


class Space:
    """Every pair of a volts part and a value part with at most two mistakes, the simplest first."""

    def __init__(self, expected: Conversion | None, fields: Fields) -> None:
        self.has_count = fields.has_count
        self.volts = volts_parts(
            expected, has_count=fields.has_count, has_volts=fields.has_volts, volts_unit=fields.volts_unit
        )
        self.values: list[ValuePart] = []
        if fields.has_value and expected is not None:
            label = relabelled(fields.unit, fields.value_unit)
            assert label is not None, "asked before"
            parts = value_parts(expected, fields.unit, label, fields.value_unit)
            # Without a count there is no reference of the program's own that the supply could follow.
            self.values = [one for one in parts if fields.has_count or one.curve.per != FOLLOWS]
        of_values = np.array([len(one.mistakes) for one in self.values] or [0])
        of_volts = np.array([len(one.mistakes) for one in self.volts])
        n = (of_volts[:, None] + of_values).ravel()
        order = np.flatnonzero(n <= MAX_MISTAKES)
        order = order[np.argsort(n[order], kind="stable")]
        self.n_mistakes = n[order]
        self.of_volts, self.of_values = np.divmod(order, len(of_values))
        self._exact_ratios = np.array([part.reference / part.divisor for part in self.volts])
        self._carried = np.array([part.factor if part.is_carried else 1.0 for part in self.volts])
        self._printed_scale = np.array([part.per_volt * part.factor for part in self.volts])
        self._quotients = [i for i, part in enumerate(self.volts) if part.arithmetic == "quotient first"]
        self._stepped = np.array(
            [i for i, part in enumerate(self.volts) if part.arithmetic in WHOLE_STEPS], dtype=np.intp
        )
        self._step = np.array([WHOLE_STEPS[self.volts[i].arithmetic] for i in self._stepped])[:, None]
        self._product = np.array([i for i, part in enumerate(self.volts) if part.multiplier], dtype=np.intp)
        products = [self.volts[i] for i in self._product]
        self._multiplier = np.array([part.multiplier for part in products])[:, None]
        self._is_signed = np.array([part.arithmetic == "signed 16 bits" for part in products])[:, None]
        self._is_cut = np.array([part.is_cut for part in products])[:, None]
        self._divisor = np.array([part.divisor for part in products])[:, None]
        self._per_product = np.array([part.per_product for part in products])[:, None]
        self._references = np.array([part.reference for part in self.volts])
        if self.values:
            self._of_each_curve()

    def _of_each_curve(self) -> None:
        curves: dict[int, tuple[Curve, list[int]]] = {}
        for j, part in enumerate(self.values):
            curves.setdefault(id(part.curve), (part.curve, []))[1].append(j)
        place = np.empty(len(self.values), dtype=np.intp)
        for k, (_, members) in enumerate(curves.values()):
            place[members] = k
        self._curves = [curve for curve, _ in curves.values()]
        self._curve_of_row = place[self.of_values]
        self._per = np.array([curve.per for curve in self._curves])
        self._magnitude = np.array([curve.magnitude for curve in self._curves])
        self._gain = np.array([part.gain for part in self.values])
        self._offset = np.array([part.offset for part in self.values])
        self._is_whole = np.array([part.is_whole for part in self.values])
        self._after = np.array([part.after for part in self.values])

    def program(self, row: int) -> Program:
        """One of them."""
        value = self.values[self.of_values[row]] if self.values else None
        return Program(self.volts[self.of_volts[row]], value)

    def likely(self, columns: Columns, among: NDArray[np.intp] | None = None) -> NDArray[np.intp]:
        """Rows that a first, generous look at the records does not rule out, the simplest first.

        Args:
            among: The rows to look at; None: all.
        """
        rows, used = self._used(columns, among)
        if columns.value is None or not self.values:
            return rows
        for at in _first_the_ends(len(columns)):  # most rows are ruled out by the first two records
            some = columns.part(at)
            low, high = self._values(rows, Interval(used.low[:, at], used.high[:, at]), some)
            y = columns.value.numbers[at]
            rows = rows[((low <= y) & (high >= y)).all(axis=1)]
        return rows

    def fittable(self, columns: Columns, among: NDArray[np.intp]) -> NDArray[np.intp]:
        """Which of the rows might do with one number of their own behind all else, by a generous look."""
        rows, used = self._used(columns, among)
        if columns.value is None or not self.values or not len(rows):
            return np.empty(0, dtype=np.intp)
        low, high = self._values(rows, used, columns)
        y = columns.value.numbers
        with np.errstate(all="ignore"):
            by_offset = (y - high).max(axis=1) <= (y - low).min(axis=1)
            # A gain stands before what a mistake does behind it.
            scale, shift = (column[:, None] for column in self._after[self.of_values[rows]].T)
            y, low, high = (y - shift) / scale, (low - shift) / scale, (high - shift) / scale
            quotients = np.stack([y / low, y / high])
            spans_zero = low * high <= 0
            least = np.where(spans_zero, -np.inf, quotients.min(axis=0)).max(axis=1)
            most = np.where(spans_zero, np.inf, quotients.max(axis=0)).min(axis=1)
            by_gain = least <= most
        found: NDArray[np.intp] = rows[by_offset | by_gain]
        return found

    def n_near(self, columns: Columns, y: float, *, within: float) -> int:
        """How many programs with two mistakes print about that, at the first of the records."""
        rows, used = self._used(columns, self.with_mistakes(MAX_MISTAKES), with_printed=False)
        low, high = self._values(rows, used, columns)
        with np.errstate(all="ignore"):
            middle = (low[:, 0] + high[:, 0]) / 2
            return int((np.abs(middle / y - 1.0) < within).sum())

    def with_mistakes(self, n: int) -> NDArray[np.intp]:
        """Rows with so many mistakes."""
        first, end = np.searchsorted(self.n_mistakes, (n, n + 1))
        return np.arange(first, end)

    def _used(
        self, columns: Columns, among: NDArray[np.intp] | None, *, with_printed: bool = True
    ) -> tuple[NDArray[np.intp], Interval]:
        """Those of the rows whose volts may be the printed ones, and generous volts of every volts part."""
        rows = np.arange(len(self.of_volts)) if among is None else among
        if columns.count is None:
            assert columns.volts is not None
            scale = self._printed_scale[:, None]
            volts = columns.volts.numbers[None] / scale
            step = columns.volts.step / scale
            return rows, Interval(volts - step, volts + step)
        computed = self._volts(columns.count, columns)
        slack = np.full((len(self.volts), 1), _MILLIVOLT)
        if columns.volts is not None and with_printed:
            rows = rows[self._prints(computed, columns)[self.of_volts[rows]]]
            slack = np.maximum(slack, columns.volts.step / self._printed_scale[:, None])
        elif with_printed:  # no way of computing makes anything else of no volts at all
            slack = np.where((computed.low == 0) & (computed.high == 0), 0.0, slack)
        if len(self._product):
            limit = np.where(self._is_signed, 32767, 65535)
            idle = self._product[(columns.count.high.max() * self._multiplier <= limit)[:, 0]]
            rows = rows[~np.isin(self.of_volts[rows], idle)]
        carried = self._carried[:, None]
        return rows, Interval((computed.low - slack) * carried, (computed.high + slack) * carried)

    def _volts(self, count: Interval, columns: Columns) -> Interval:
        """Volts of every part before any factor, shape (parts, records)."""
        low = self._exact_ratios[:, None] * count.low * (1 - CLOSENESS)
        high = self._exact_ratios[:, None] * count.high * (1 + CLOSENESS)
        for i in self._quotients:
            low[i], high[i] = used_volts(self.volts[i], columns)
        for volts in (low, high):
            volts[self._stepped] = np.floor(volts[self._stepped] / self._step) * self._step
        if len(self._product):
            low[self._product], high[self._product] = (self._wrapped(c) for c in count)
        return Interval(low, high)

    def _wrapped(self, count: Numbers) -> Numbers:
        """Volts by the products that overflow; as `volts_of` does for one part."""
        product = np.mod(np.floor(count) * self._multiplier, 65536.0)
        product = np.where(self._is_signed & (product >= 32768.0), product - 65536.0, product)
        quotient = product / self._divisor
        volts: Numbers = np.where(self._is_cut, np.trunc(quotient), quotient) * self._per_product
        return volts

    def _prints(self, volts: Interval, columns: Columns) -> NDArray[np.bool_]:
        assert columns.volts is not None
        scale = self._printed_scale[:, None]
        step = columns.volts.step + _MILLIVOLT * scale
        printed = columns.volts.numbers
        low, high = volts.low * scale - step, volts.high * scale + step
        near: NDArray[np.bool_] = ((low <= printed) & (high >= printed)).all(axis=1)
        return near

    def _values(self, rows: NDArray[np.intp], used: Interval, columns: Columns) -> Interval:
        """Values of some rows, widened by a step of the print; shape (rows, records)."""
        assert columns.value is not None
        of_curve, parts, of_volts = self._curve_of_row[rows], self.of_values[rows], self.of_volts[rows]
        gain, offset = self._gain[parts][:, None], self._offset[parts][:, None]
        by_curve = np.argsort(of_curve, kind="stable")
        ends = np.searchsorted(of_curve[by_curve], np.arange(len(self._curves) + 1)).tolist()
        per = self._per[of_curve]
        per = np.where(per == FOLLOWS, self._references[of_volts], per)
        x = (np.stack(used)[:, of_volts] / per[:, None])[:, by_curve]
        found = np.empty_like(x)
        with np.errstate(all="ignore"):
            for curve, first, end in zip(self._curves, ends, ends[1:], strict=False):
                if first < end:
                    found[:, first:end] = curve.value(x[:, first:end])
            one, other = found[:, np.argsort(by_curve)] * gain + offset
            # Slack may lead out of a formula's domain at one end: nothing is ruled out there.
            has_one_end = np.isnan(one) != np.isnan(other)
            low = np.where(has_one_end, -np.inf, np.fmin(one, other))
            high = np.where(has_one_end, np.inf, np.fmax(one, other))
            magnitude = np.abs(offset) + self._magnitude[of_curve][:, None] * np.abs(gain)
        slack = columns.value.step + self._is_whole[parts][:, None]
        slack = slack + CLOSENESS * (np.abs(columns.value.numbers) + magnitude)
        return Interval(low - slack, high + slack)


def _first_the_ends(n: int) -> list[NDArray[np.intp]]:
    """The places of n records: the lowest and the highest, then those between."""
    places = np.arange(n)
    return [places[[0, -1]], places[1:-1]] if n > _N_ENDS else [places]


@lru_cache(maxsize=_N_SPACES)
def space_of(expected: Conversion | None, fields: Fields) -> Space:
    """The programs to try; made once for all boards that print alike."""
    return Space(expected, fields)
