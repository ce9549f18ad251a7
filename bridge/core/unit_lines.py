"""From one unit to another of the same quantity: a straight line, exact to the last digit of a double.

The units that boards and lessons use every day stand in a table, for pint takes half a second to be imported
and to read its definitions, and no start of the tool shall wait for that. All others are asked of pint, which
computes with fractions here: in floats it gives 31.999999999999936 °F for 0 °C.

Source of the table: BIPM, SI Brochure, 9th edition (2019), 2.3.1, tables 7 and 8; NIST SP 811 (2008), B.8 for
°F. The tests compare it with pint's definitions.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache, lru_cache
from typing import TYPE_CHECKING, NamedTuple

from bridge.core.units import canonical_unit

if TYPE_CHECKING:
    from pint import UnitRegistry

EVERYDAY: tuple[dict[str, tuple[Fraction, Fraction]], ...] = (
    {
        "°C": (Fraction(1), Fraction(0)),
        "K": (Fraction(1), Fraction("273.15")),
        "°F": (Fraction(9, 5), Fraction(32)),
    },
    {"lx": (Fraction(1), Fraction(0)), "klx": (Fraction(1, 1000), Fraction(0))},
    {
        "Ω": (Fraction(1), Fraction(0)),
        "kΩ": (Fraction(1, 10**3), Fraction(0)),
        "MΩ": (Fraction(1, 10**6), Fraction(0)),
    },
    {
        "V": (Fraction(1), Fraction(0)),
        "mV": (Fraction(10**3), Fraction(0)),
        "µV": (Fraction(10**6), Fraction(0)),
    },
    {
        "Hz": (Fraction(1), Fraction(0)),
        "kHz": (Fraction(1, 10**3), Fraction(0)),
        "MHz": (Fraction(1, 10**6), Fraction(0)),
        "rpm": (Fraction(60), Fraction(0)),
    },
    {
        "s": (Fraction(1), Fraction(0)),
        "ms": (Fraction(10**3), Fraction(0)),
        "µs": (Fraction(10**6), Fraction(0)),
    },
)
"""Of each quantity, scale and shift from its first unit to each. A turn a minute is a sixtieth of a hertz."""

_FOR_PINT = {"°C": "degree_Celsius", "°F": "degree_Fahrenheit", "°": "degree"}
# Text of a lesson or a board reaches pint only when it looks like a unit: no sums, no huge powers.
_looks_like_a_unit = re.compile(
    r"[^\W\d_°]{0,9}[°Ω]?[^\W\d_]{0,18}(?:[/·][^\W\d_°]{0,9}Ω?)?[²³23]?"
).fullmatch


class UnitLine(NamedTuple):
    """A value in the wanted unit is scale * value + shift."""

    scale: float
    shift: float


SAME = UnitLine(1.0, 0.0)


@lru_cache(maxsize=512)
def line_between(unit: str, wanted: str) -> UnitLine | None:
    """From a value in one unit to the same in another; None when they measure different things.

    Units are taken in any known spelling: "C" is °C. Numbers without a dimension (%, ppm, counts) go into
    each other only when they are the same. The first that is no everyday unit takes half a second.
    """
    unit, wanted = canonical_unit(unit), canonical_unit(wanted)
    if unit == wanted:
        return SAME
    for quantity in EVERYDAY:
        if unit in quantity and wanted in quantity:
            (scale, shift), (to_scale, to_shift) = quantity[unit], quantity[wanted]
            factor = to_scale / scale
            return UnitLine(float(factor), float(to_shift - shift * factor))
    return _by_pint(unit, wanted)


def _by_pint(unit: str, wanted: str) -> UnitLine | None:
    if not (unit and wanted and _looks_like_a_unit(unit) and _looks_like_a_unit(wanted)):
        return None
    registry = _registry()
    try:
        given = [registry.Quantity(Fraction(i), _named(unit)) for i in range(3)]
        zero, one, two = (quantity.to(_named(wanted)) for quantity in given)
        bases, wanted_bases = (dict(quantity.to_root_units().unit_items()) for quantity in (given[1], one))
    except Exception:  # pint reads a text here, and its parsers raise whatever they do
        return None
    scale = one.magnitude - zero.magnitude
    # Bases, not dimensions: to those an angle is a number, and a turn a second would be 6.28 Hz.
    if not bases or bases != wanted_bases or two.magnitude - one.magnitude != scale:
        return None
    return UnitLine(float(scale), float(zero.magnitude))


def _named(unit: str) -> str:
    """As pint writes it."""
    if unit in _FOR_PINT:
        return _FOR_PINT[unit]
    return re.sub(r"([23])$", r"**\1", unit.replace("Ω", "ohm").replace("·", "*"))


@cache
def _registry() -> UnitRegistry[Fraction]:
    from pint import UnitRegistry  # only here: see above

    return UnitRegistry(non_int_type=Fraction, autoconvert_offset_to_baseunit=False)
