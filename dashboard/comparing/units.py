"""Units brought to one: °F to °C, mV to V. Differences and uncertainties scale without the offset."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from dashboard.comparing.series import Series

if TYPE_CHECKING:
    import pint

Registry = "pint.UnitRegistry[float]"
_KIN = (
    ("°C", "°F", "K"),
    ("V", "mV", "µV"),
    ("A", "mA", "µA"),
    ("Ω", "kΩ"),
    ("W", "mW"),
    ("hPa", "mbar", "kPa", "Pa"),
    ("m", "cm", "mm"),
    ("kg", "g"),
    ("Hz", "kHz"),
    ("s", "ms"),
)


class Rescaling(NamedTuple):
    """value in the wanted unit = factor * value + offset."""

    factor: float
    offset: float


def kin_of(unit: str) -> tuple[str, ...]:
    """Everyday units of the same kind, the unit among them; none for one that has no such kin."""
    return next((kin for kin in _KIN if unit in kin), ())


@cache
def _registry() -> pint.UnitRegistry[float]:
    import pint  # takes half a second, which a class with one unit need not wait

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@cache
def rescaling(found: str, wanted: str) -> Rescaling:
    """From one unit to another.

    Raises:
        ValueError: One is unknown, they measure different things, or one is no linear scale (dB).
    """
    if found == wanted:
        return Rescaling(1.0, 0.0)
    import pint

    registry = _registry()
    try:
        at_0, at_1, at_2 = (
            float(registry.Quantity(at, found).to(wanted).magnitude) for at in (0.0, 1.0, 2.0)
        )
    except (pint.PintError, AttributeError, ZeroDivisionError, AssertionError) as error:
        raise ValueError(f"{found or 'no unit'!r} can't be brought to {wanted or 'no unit'!r}") from error
    factor = at_1 - at_0
    if abs(at_2 - at_1 - factor) > 1e-9 * abs(factor):
        raise ValueError(f"{found!r} to {wanted!r} is no straight line")
    return Rescaling(_factor(registry, found, wanted, factor), at_0)


def _factor(registry: pint.UnitRegistry[float], found: str, wanted: str, rough: float) -> float:
    """The factor without the digits that the difference of two offset values loses."""
    a, b = registry.Unit(found), registry.Unit(wanted)
    per_a = float(
        registry.Quantity(1.0, f"delta_{a}" if _has_offset(registry, found) else a).to_base_units().m
    )
    per_b = float(
        registry.Quantity(1.0, f"delta_{b}" if _has_offset(registry, wanted) else b).to_base_units().m
    )
    exact = per_a / per_b
    return exact if abs(exact - rough) <= 1e-9 * abs(rough) else rough


def _has_offset(registry: pint.UnitRegistry[float], unit: str) -> bool:
    return abs(float(registry.Quantity(0.0, unit).to_base_units().magnitude)) > 0


def in_unit(
    series: Mapping[int, Series], wanted: str | None = None
) -> tuple[dict[int, Series], dict[int, str]]:
    """Every bench's readings in one unit; and which benches can't be brought to it, with the words why.

    Args:
        series: By bench.
        wanted: None: the unit that most benches have, of several the first by bench.
    """
    units = [one.unit for one in series.values()]
    unit = wanted if wanted is not None else max(units, key=units.count, default="")
    brought: dict[int, Series] = {}
    faults: dict[int, str] = {}
    for bench, one in series.items():
        try:
            factor, offset = rescaling(one.unit, unit)
        except ValueError as fault:
            faults[bench] = str(fault)
        else:
            brought[bench] = (
                one
                if one.unit == unit
                else replace(one, unit=unit, values=one.values * factor + offset, u=one.u * abs(factor))
            )
    return brought, faults
