"""The records that a check keeps: a bounded number of different ones, spread over the range seen."""

from __future__ import annotations

from bridge.core.printed import Printed

MAX_RECORDS = 200  # a 10-bit board's cup from 45 °C to 20 °C gives 50 different ones
N_RECENT = 48  # of the newest different ones: enough to see that a group has corrected its program
_STEPS_PER_UNIT = float(1 << 20)
_MASK = (1 << 64) - 1

Numbers = tuple[float | None, float | None, float | None]
"""Count, volts, value of one record; None where the board has no such field."""


class KeptRecords:
    """Different records, at most 200, whatever their order and however often each comes.

    Beyond 200 the range is cut into cells of 2^k steps, as few as needed, and each cell keeps the one record
    that comes first by a fixed scattering of the numbers: what is kept depends only on which records came.
    The ends of the range are kept besides.
    """

    def __init__(self, *, has_count: bool, has_volts: bool, has_value: bool) -> None:
        self._wanted = (has_count, has_volts, has_value)
        self._at = 0 if has_count else 1  # what the range is counted in
        self.decimals = [0, 0, 0]  # the field's largest: the shortest form leaves zeros out
        self.version = 0  # counts the changes of what is kept
        self.recent_version = 0  # and of which ones are the newest
        self._level = -1  # -1: every different record in a cell of its own
        self._cells: dict[object, Numbers] = {}
        self._lowest: Numbers | None = None
        self._highest: Numbers | None = None
        self._recent: dict[Numbers, None] = {}

    def take(self, count: Printed | None, volts: Printed | None, value: Printed | None) -> Numbers | None:
        """One record; None when it lacks a number that it should have."""
        numbers: list[float | None] = [None, None, None]
        for i, (field, wanted) in enumerate(zip((count, volts, value), self._wanted, strict=True)):
            if not wanted:
                continue
            if field is None or field.value is None:
                return None
            if field.decimals > self.decimals[i]:
                self.decimals[i] = field.decimals
                self.version += 1
            numbers[i] = field.value
        record: Numbers = (numbers[0], numbers[1], numbers[2])
        self._remember(record)
        if self._level >= 0 or record not in self._cells:
            self._keep(record)
        return record

    @property
    def records(self) -> list[Numbers]:
        """What is kept, from the lowest to the highest."""
        kept = {*self._cells.values()}
        kept.update(one for one in (self._lowest, self._highest) if one is not None)
        return sorted(kept, key=self._place)

    @property
    def recent(self) -> list[Numbers]:
        """The newest different records, the newest last."""
        return list(self._recent)

    def _remember(self, record: Numbers) -> None:
        recent = self._recent
        if record in recent:
            del recent[record]
        else:
            self.recent_version += 1
            if len(recent) >= N_RECENT:
                del recent[next(iter(recent))]
        recent[record] = None

    def _keep(self, record: Numbers) -> None:
        before = self._lowest, self._highest
        place = self._place(record)
        if self._lowest is None or place < self._place(self._lowest):
            self._lowest = record
        if self._highest is None or place > self._place(self._highest):
            self._highest = record
        cell = self._cell(record)
        held = self._cells.get(cell)
        is_first = held is None or (held != record and _scattered(record) < _scattered(held))
        if is_first:
            self._cells[cell] = record
            while len(self._cells) > MAX_RECORDS:
                self._widen()
        if is_first or before != (self._lowest, self._highest):
            self.version += 1

    def _widen(self) -> None:
        self._level += 1
        cells: dict[object, Numbers] = {}
        for record in self._cells.values():
            cell = self._cell(record)
            held = cells.get(cell)
            if held is None or _scattered(record) < _scattered(held):
                cells[cell] = record
        self._cells = cells

    def _cell(self, record: Numbers) -> object:
        x = record[self._at]
        assert x is not None
        return record if self._level < 0 else int(x * _STEPS_PER_UNIT) >> self._level

    def _place(self, record: Numbers) -> tuple[float, int]:
        x = record[self._at]
        assert x is not None
        return x, _scattered(record)


def _scattered(record: Numbers) -> int:
    """A whole number without any order of its own, the same on every machine."""
    mixed = 0
    for number in record:
        step = 0 if number is None else int(number * _STEPS_PER_UNIT)
        mixed = ((mixed ^ step) * 0x9E3779B97F4A7C15 + 0x7F4A7C15) & _MASK
        mixed ^= mixed >> 29
    return mixed
