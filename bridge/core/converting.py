"""From the rows of numbers that lines gave to readings, bands and alarms.

Nearly every chunk has numbers that can all be trusted: then each channel is converted as a column, and only
values that may change a band or an alarm are looked at. Otherwise line by line, with the same result.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from itertools import chain, repeat
from math import isfinite
from operator import itemgetter

from bridge.core.framing import Line
from bridge.core.layouts import LayoutReader, Values
from bridge.core.readings import Change, Quality, Reading
from bridge.core.slots import Slot

WORTH_COLUMNS = 4  # fewer lines are converted sooner one by one
_reading = partial(tuple.__new__, Reading)  # half the time of Reading(...)
_row = itemgetter(0)

Found = list[tuple[int, list[Change]]]
"""What changed, with the place of the row that changed it."""


def convert_rows(
    slots: Sequence[Slot],
    bench: int,
    lines: Sequence[Line],
    rows: Sequence[Values],
    taken_ns: Sequence[int],
    reader: LayoutReader,
    changes: list[Change],
) -> list[Reading]:
    """Readings in the order of the lines, each line's channels in the order of the slots; adds to changes."""
    if len(rows) < WORTH_COLUMNS:
        readings: list[Reading] = []
        for line, row, taken in zip(lines, rows, taken_ns, strict=True):
            readings += [
                _reading_of(slot, bench, line, row[slot.index], taken, reader, changes) for slot in slots
            ]
        return readings
    times_ns = [line.at_ns for line in lines]
    numbers = [line.number for line in lines]
    made: list[list[Reading]] = []
    found: Found = []
    for slot in slots:
        column = _good_values(slot, rows)
        if column is not None:
            xs, values = column
            found += _followed(slot, times_ns, values)
            made.append(_column(slot, bench, numbers, xs, values, times_ns, taken_ns))
        else:
            made.append(_one_by_one(slot, bench, lines, rows, taken_ns, reader, found))
    found.sort(key=_row)  # stable: within a line by the order of the slots
    for _, of_row in found:
        changes += of_row
    return made[0] if len(made) == 1 else list(chain.from_iterable(zip(*made, strict=True)))


def _good_values(slot: Slot, rows: Sequence[Values]) -> tuple[list[float], list[float]] | None:
    """The printed numbers of one channel and its values, None when one needs a closer look to be trusted."""
    if slot.doubt:
        return None
    index, converter = slot.index, slot.converter
    xs: list[float] = []
    for row in rows:
        x = row[index]
        if x is None:
            return None
        xs.append(x)
    if not (converter.least <= min(xs) and max(xs) <= converter.most) or slot.is_finer(xs):
        return None
    values = list(map(converter.value, xs))
    if not isfinite(sum(values)) or not slot.trusts_all(values):
        return None
    return xs, values


def _followed(slot: Slot, times_ns: Sequence[int], values: Sequence[float]) -> Found:
    """What good values change, by row: stretches that change nothing are heard at once."""
    if slot.low <= min(values) and max(values) < slot.high and slot.watch.is_quiet(times_ns, values):
        slot.watch.hear_many(times_ns, values)
        return []
    found: Found = []
    start, n = 0, len(values)
    while start < n:
        low, high, end = slot.low, slot.high, start
        while end < n and low <= values[end] < high:
            end += 1
        if end - start >= WORTH_COLUMNS and _hears(slot, times_ns[start:end], values[start:end]):
            start = end
        for i in range(start, min(end + 1, n)):
            value, at_ns = values[i], times_ns[i]
            take = slot.hear if slot.low <= value < slot.high else slot.look
            if of_row := take(value, at_ns, "good"):
                found.append((i, of_row))
        start = end + 1
    return found


def _hears(slot: Slot, times_ns: Sequence[int], values: Sequence[float]) -> bool:
    """Whether a stretch of values within `low` and `high` changes nothing; then it was heard."""
    watch = slot.watch
    if watch.due_ns <= times_ns[-1] or not watch.is_quiet(times_ns, values):
        return False
    watch.hear_many(times_ns, values)
    return True


def _one_by_one(
    slot: Slot,
    bench: int,
    lines: Sequence[Line],
    rows: Sequence[Values],
    taken_ns: Sequence[int],
    reader: LayoutReader,
    found: Found,
) -> list[Reading]:
    """The readings of one channel, each looked at; adds what changed, by row."""
    readings: list[Reading] = []
    for i, (line, row, taken) in enumerate(zip(lines, rows, taken_ns, strict=True)):
        changes: list[Change] = []
        readings.append(_reading_of(slot, bench, line, row[slot.index], taken, reader, changes))
        if changes:
            found.append((i, changes))
    return readings


def _column(
    slot: Slot,
    bench: int,
    numbers: Sequence[int],
    xs: Sequence[float],
    values: Sequence[float],
    times_ns: Sequence[int],
    taken_ns: Sequence[int],
) -> list[Reading]:
    """The readings of one channel."""
    return [
        *map(
            _reading,
            zip(
                times_ns,
                repeat(bench),
                repeat(slot.info.name),
                values,
                repeat(slot.info.unit),
                slot.u_many(xs),
                repeat("good"),
                repeat(""),
                numbers,
                taken_ns,
                strict=False,
            ),
        )
    ]


def _reading_of(
    slot: Slot,
    bench: int,
    line: Line,
    x: float | None,
    taken_ns: int,
    reader: LayoutReader,
    changes: list[Change],
) -> Reading:
    converter = slot.converter
    refused = ""
    if x is None:
        refused = "no number was printed"
    elif not converter.least <= x <= converter.most:
        refused = converter.refusal(x)
    if x is None or refused:
        return _nothing(slot, bench, line, refused, taken_ns, changes)
    if slot.is_finer((x,)):
        slot.take_decimals(reader, line.text, x)
    value = converter.value(x)
    if not isfinite(value):
        return _nothing(slot, bench, line, f"{x:g} is too large to be converted", taken_ns, changes)
    reason = slot.distrust(value)
    if reason:  # shown, but no band, limit or scale follows it
        quality: Quality = "uncertain"
        changes += slot.miss(line.at_ns, quality)
    else:
        reason = slot.caveat(value)
        quality = "uncertain" if reason else "good"
        if slot.low <= value < slot.high:
            changes += slot.hear(value, line.at_ns, quality)
        else:
            changes += slot.look(value, line.at_ns, quality)
    info = slot.info
    u = slot.u_of(x)
    return _reading(
        (line.at_ns, bench, info.name, value, info.unit, u, quality, reason, line.number, taken_ns)
    )


def _nothing(
    slot: Slot, bench: int, line: Line, reason: str, taken_ns: int, changes: list[Change]
) -> Reading:
    """A reading without a value; a delay that is under way can't be said to be stayed through."""
    changes += slot.miss(line.at_ns, "bad")
    info = slot.info
    return _reading(
        (line.at_ns, bench, info.name, None, info.unit, None, "bad", reason, line.number, taken_ns)
    )
