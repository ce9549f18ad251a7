"""From the rows of numbers that lines gave to readings, bands and alarms.

Nearly every chunk changes no band and no alarm: then all its lines are converted column by column. Otherwise
line by line, with the same result.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from itertools import chain, repeat
from math import isfinite

from bridge.core.framing import Line
from bridge.core.layouts import LayoutReader, Values
from bridge.core.readings import Change, Reading
from bridge.core.slots import Slot

WORTH_COLUMNS = 4  # fewer lines are converted sooner one by one
_reading = partial(tuple.__new__, Reading)  # half the time of Reading(...)


def convert_rows(
    slots: Sequence[Slot],
    bench: int,
    lines: Sequence[Line],
    rows: Sequence[Values],
    reader: LayoutReader,
    changes: list[Change],
) -> list[Reading]:
    """Readings in the order of the lines, each line's channels in the order of the slots; adds to changes."""
    if len(rows) >= WORTH_COLUMNS:
        columns = [_quiet_column(slot, bench, lines, rows) for slot in slots]
        quiet = [column for column in columns if column is not None]
        if len(quiet) == len(columns):
            for slot, column in zip(slots, quiet, strict=True):
                slot.watch.value = column[-1].value
            return quiet[0] if len(quiet) == 1 else list(chain.from_iterable(zip(*quiet, strict=True)))
    readings: list[Reading] = []
    for line, row in zip(lines, rows, strict=True):
        readings += [_reading_of(slot, bench, line, row[slot.index], reader, changes) for slot in slots]
    return readings


def _quiet_column(
    slot: Slot, bench: int, lines: Sequence[Line], rows: Sequence[Values]
) -> list[Reading] | None:
    """The readings of one channel, None when one of its numbers must be looked at."""
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
    if not (slot.low <= min(values) and max(values) < slot.high and isfinite(sum(values))):
        return None
    info, sensitivity = slot.info, converter.sensitivity
    return [
        *map(
            _reading,
            zip(
                [line.at_ns for line in lines],
                repeat(bench),
                repeat(info.name),
                values,
                repeat(info.unit),
                repeat(slot.u) if sensitivity is None else [slot.u * sensitivity(x) for x in xs],
                repeat("good"),
                repeat(""),
                [line.number for line in lines],
                strict=False,
            ),
        )
    ]


def _reading_of(
    slot: Slot, bench: int, line: Line, x: float | None, reader: LayoutReader, changes: list[Change]
) -> Reading:
    converter = slot.converter
    if x is None:
        return _nothing(slot, bench, line, "no number was printed", changes)
    if not converter.least <= x <= converter.most:
        return _nothing(slot, bench, line, converter.refusal(x), changes)
    if slot.is_finer((x,)):
        slot.take_decimals(reader, line.text)
    value, u = converter.value(x), slot.u
    if not isfinite(value):
        reason = f"{x:g} is too large to be converted"
        return _nothing(slot, bench, line, reason, changes)
    if converter.sensitivity is not None:
        u *= converter.sensitivity(x)
    if slot.low <= value < slot.high:
        slot.watch.value = value
    else:
        changes += slot.look(value, line.at_ns)
    info = slot.info
    return _reading((line.at_ns, bench, info.name, value, info.unit, u, "good", "", line.number))


def _nothing(slot: Slot, bench: int, line: Line, reason: str, changes: list[Change]) -> Reading:
    """A reading without a value; a delay that is under way can't be said to be stayed through."""
    changes += slot.miss(line.at_ns)
    info = slot.info
    return _reading((line.at_ns, bench, info.name, None, info.unit, None, "bad", reason, line.number))
