"""Programs that would need luck to print just these numbers, where others need none."""

from __future__ import annotations

import numpy as np

from bridge.core.checking.columns import Columns
from bridge.core.checking.intervals import Interval
from bridge.core.checking.programs import Program, routes, standing, values_of

N_TELLING = 6  # different values: with one decimal, a chance of one in a million


def without_lucky(programs: list[Program], columns: Columns) -> list[Program]:
    """Those that stand without luck; all, where each needs some."""
    return _by_every_digit(_by_constants(without_lucky_wholes(programs, columns), columns), columns)


def without_lucky_wholes(programs: list[Program], columns: Columns) -> list[Program]:
    """Without those that leave it to chance that every value is whole though decimals are printed."""
    value = columns.value
    if not programs or value is None or value.step >= 1 or len(np.unique(value.numbers)) < N_TELLING:
        return programs
    if (value.numbers != np.trunc(value.numbers)).any():
        return programs
    return [one for one in programs if not one.mistakes or makes_whole(one, columns)]


def _by_constants(programs: list[Program], columns: Columns) -> list[Program]:
    """Where a moving count always prints one value a lost fraction says why, or a product that wraps."""
    if not programs or columns.count is None or columns.n_different < N_TELLING:
        return programs
    printed = [one.numbers for one in (columns.volts, columns.value) if one is not None]
    if any(len(np.unique(numbers)) > 1 for numbers in printed):
        return programs
    lost = [one for one in programs if "whole numbers" in [mistake.kind for mistake in one.mistakes]]
    wrapped = [one for one in programs if one.volts.multiplier and one not in lost]
    return [*lost, *wrapped] if lost else programs


def _by_every_digit(programs: list[Program], columns: Columns) -> list[Program]:
    """Those that explain every digit as 64-bit floats have it, where some do."""
    if len(programs) < 2 or not programs[0].mistakes:
        return programs
    tight = columns.tight()
    return [one for one in programs if standing(one, tight)] or programs


def makes_whole(program: Program, columns: Columns) -> bool:
    """Whether the program's own way of computing gives whole values."""
    if program.volts.arithmetic != "exact" or program.value is None or program.value.is_whole:
        return True
    ways = list(routes(program.volts, columns))
    if columns.volts is not None:
        volts = columns.volts.numbers / (program.volts.per_volt * program.volts.factor)
        ways.append(("printed volts", Interval(volts, volts)))
    for _, volts_in in ways:
        computed = values_of(program.value, program.volts, volts_in, columns.closeness)
        near = np.round((computed.low + computed.high) / 2)
        if ((computed.low <= near) & (near <= computed.high)).all():
            return True
    return False
