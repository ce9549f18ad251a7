"""The formulas for whole columns agree with the conversion that makes the readings."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from bridge.core.checking.columns import Columns
from bridge.core.checking.intervals import Interval, PrintedColumn
from bridge.core.checking.programs import routes, values_of
from bridge.core.checking.space import Fields, Space
from bridge.core.conversion import Converter
from bridge.core.lesson import BenchChannel, Channel, Conversion
from tests.bridge.core.made_conversions import EVERY_KIND

CHECKED = {name: one for name, one in EVERY_KIND.items() if one[0].start != "ohms"}


def converter_of(conversion: Conversion, unit: str) -> Converter:
    return Converter(Channel(name="x", unit=unit), BenchChannel(channel="x"), conversion)


@pytest.mark.parametrize("name", CHECKED)
@pytest.mark.parametrize("start", ["count", "volts"])
def test_a_right_formula_is_the_lessons_conversion(name: str, start: str) -> None:
    given, unit = CHECKED[name]
    conversion = replace(given, start=start)  # type: ignore[arg-type]
    converter = converter_of(conversion, unit)
    has_count = start == "count"
    most = (1 << conversion.width_bits) - 1 if has_count else conversion.reference_volts
    x = np.linspace(max(converter.least, 0.0), min(converter.most, most), 102)[1:-1]
    x = np.round(x) if has_count else x
    x = x[(x > converter.least) & (x < converter.most)]
    volts = None if has_count else PrintedColumn(x, 1e-9)
    columns = Columns(Interval(x, x) if has_count else None, volts, PrintedColumn(x, 1e-9))
    space = Space(conversion, Fields(has_count, not has_count, True, "V", "", unit))
    wanted = [converter.value(float(one)) for one in x]
    rights = [space.program(i) for i in range(len(space.n_mistakes)) if space.n_mistakes[i] == 0]
    assert rights
    for program in rights:
        assert program.value is not None
        _, volts_used = next(iter(routes(program.volts, columns)))
        middle = Interval(*[(volts_used.low + volts_used.high) / 2] * 2)
        computed = values_of(program.value, program.volts, middle, 0.0)
        assert (computed.low + computed.high) / 2 == pytest.approx(wanted, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("name", CHECKED)
def test_no_two_mistakes_are_one_formula_under_the_same_words(name: str) -> None:
    conversion, unit = CHECKED[name]
    has_count = conversion.start == "count"
    space = Space(conversion, Fields(has_count, not has_count, True, "V", "", unit))
    singles = [space.program(int(i)) for i in np.flatnonzero(space.n_mistakes == 1)]
    assert len(singles) > 10
    for program in singles:
        (mistake,) = program.mistakes
        assert mistake.words[0].islower()
        assert not mistake.words.endswith(".")


@pytest.mark.parametrize("name", CHECKED)
def test_the_quick_look_rules_out_nothing_that_stands(name: str) -> None:
    conversion, unit = CHECKED[name]
    has_count = conversion.start == "count"
    converter = converter_of(conversion, unit)
    most = (1 << conversion.width_bits) - 1 if has_count else conversion.reference_volts
    x = np.linspace(max(converter.least, 0.0), min(converter.most, most), 42)[5:-5]
    x = np.round(x) if has_count else np.round(x, 3)
    space = Space(conversion, Fields(has_count, not has_count, True, "V", "", unit))
    volts = None if has_count else PrintedColumn(x, 0.001)
    columns = Columns(Interval(x, x) if has_count else None, volts, PrintedColumn(x, 0.01))
    for row in range(0, len(space.n_mistakes), 97):
        program = space.program(row)
        assert program.value is not None
        _, used = next(iter(routes(program.volts, columns)))
        computed = values_of(program.value, program.volts, used)
        y = np.round((computed.low + computed.high) / 2, 2)
        if not np.isfinite(y).all():
            continue
        printed = replace(columns, value=PrintedColumn(y, 0.01))
        rows = space.likely(printed)
        overflows = program.volts.multiplier > 0  # left out where nothing overflows
        assert row in rows or overflows, program.mistakes
