"""The conversions of a lesson: from checked tables to values, with the rules that bind several keys."""

from __future__ import annotations

from dataclasses import asdict, fields
from typing import Any, cast

from bridge.core.chain import UNITS_OF, given_by, stages_of
from bridge.core.conversion_given import Conversion, ConversionKeys, broken_rules
from bridge.core.stages import ends_of
from bridge.lesson_benches import Names
from bridge.lesson_tables import Table


def conversion_of(table: Table, names: Names) -> Conversion | None:
    """The conversion, or None when a fault was noted."""
    name = names.add(table, names.conversions, "conversion")
    start, divisor, kind = table.word("start"), table.word("divisor"), table.word("kind")
    leg = table.word("sensor_leg")
    keys = ConversionKeys(
        name=name or "",
        start=cast("Any", start),  # `word` checked it against the very Literal
        kind=cast("Any", kind),
        divisor=cast("Any", divisor),
        sensor_leg=cast("Any", leg),
        width_bits=table.whole("width_bits"),
        reference_volts=table.number("reference_volts"),
        valid=table.numbers("valid"),
        offset_volts=table.number("offset_volts"),
        volts_per_unit=table.number("volts_per_unit"),
        coefficients=table.numbers("coefficients"),
        volts_range=table.numbers("volts_range"),
        points=table.number_lists("points"),
        offset_fraction=table.number("offset_fraction"),
        fraction_per_unit=table.number("fraction_per_unit"),
        supply_volts=table.number_or_none("supply_volts"),
        fixed_ohms=table.number_or_none("fixed_ohms"),
        ohms_at_25=table.number_or_none("ohms_at_25"),
        beta_kelvin=table.number_or_none("beta_kelvin"),
        steinhart_hart=table.numbers("steinhart_hart"),
        ohms_at_0=table.number("ohms_at_0"),
        ohms_at_10_lux=table.number_or_none("ohms_at_10_lux"),
        gamma=table.number_or_none("gamma"),
        reference_tolerance_volts=table.number("reference_tolerance_volts"),
        sensor_tolerance=table.number("sensor_tolerance"),
        sensor_tolerance_percent=table.number("sensor_tolerance_percent"),
        fixed_ohms_tolerance_percent=table.number("fixed_ohms_tolerance_percent"),
    )
    _check(table, keys)
    if name is None or not table.is_good:
        return None
    conversion = Conversion(**asdict(keys))
    if not _gives_values(conversion):
        low, high = conversion.valid
        wrong = f"no {conversion.start} gives a value within valid, found {low:g} to {high:g}"
        table.wrong("valid", wrong, "no valid, or one that the sensor reaches")
        return None
    names.gives[name] = given_by(conversion)
    return conversion


def _check(table: Table, keys: ConversionKeys) -> None:
    """Note each broken rule, unless one of the keys that it binds is faulty by itself."""
    if not table.are_good("start", "kind", "divisor"):
        return
    given = [one.name for one in fields(keys) if table.has(one.name)]
    for broken in broken_rules(keys, given):
        if broken.is_missing:
            table.lacks(broken.key, broken.wrong, broken.write or "")
        elif table.are_good(broken.key, "reference_volts", "volts_range"):
            table.wrong(broken.key, broken.wrong, broken.write)


def _gives_values(conversion: Conversion) -> bool:
    if not conversion.valid:
        return True
    units = UNITS_OF.get(given_by(conversion), ("",))
    least, most = ends_of(stages_of(conversion, next(iter(units))))
    return least < most
