"""What a lesson says of a conversion, and the rules that bind its keys together."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, fields
from itertools import pairwise
from typing import Literal, NamedTuple

import numpy as np

Divisor = Literal["2^n", "2^n-1"]
ConversionStart = Literal["count", "volts", "ohms"]
SensorLeg = Literal["upper", "lower"]
SensorKind = Literal[
    "linear", "polynomial", "table", "ratiometric", "ohms", "ntc beta", "ntc steinhart-hart", "platinum",
    "photoresistor", "table of ohms",
]  # fmt: skip
OF_OHMS: frozenset[SensorKind] = frozenset(
    ("ohms", "ntc beta", "ntc steinhart-hart", "platinum", "photoresistor", "table of ohms")
)
OF_TEMPERATURE: frozenset[SensorKind] = frozenset(("ntc beta", "ntc steinhart-hart", "platinum"))
MAX_COEFFICIENTS = 12  # a higher power follows the noise of its own points
MAX_POINTS = 200  # more than a data sheet prints
ABSOLUTE_ZERO = -273.15  # °C

_NEEDED: dict[SensorKind, tuple[str, ...]] = {
    "polynomial": ("coefficients",),
    "table": ("points",),
    "ntc beta": ("ohms_at_25", "beta_kelvin"),
    "ntc steinhart-hart": ("steinhart_hart",),
    "photoresistor": ("ohms_at_10_lux", "gamma"),
    "table of ohms": ("points",),
}
_ALLOWED: dict[SensorKind, tuple[str, ...]] = {
    "linear": ("offset_volts", "volts_per_unit"),
    "polynomial": ("volts_range",),
    "ratiometric": ("offset_fraction", "fraction_per_unit", "supply_volts"),
    "platinum": ("ohms_at_0",),
}
_DIVIDER = ("fixed_ohms", "sensor_leg", "supply_volts", "fixed_ohms_tolerance_percent")
_VOLTS = ("reference_tolerance_volts",)  # nothing that a board which prints ohms could have
_EVERYWHERE = (
    "name", "start", "width_bits", "reference_volts", "divisor", "kind", "valid", "sensor_tolerance",
    "sensor_tolerance_percent",
)  # fmt: skip
_EXAMPLES = {
    "coefficients": "coefficients = [-50.0, 100.0]",
    "points": "points = [[0.5, 0.0], [1.5, 40.0], [2.1, 80.0]]",
    "ohms_at_25": "ohms_at_25 = 10000.0",
    "beta_kelvin": "beta_kelvin = 3950.0",
    "steinhart_hart": "steinhart_hart = [1.0e-3, 2.4e-4, 1.5e-7]",
    "ohms_at_10_lux": "ohms_at_10_lux = 15000.0",
    "gamma": "gamma = 0.7",
    "fixed_ohms": "fixed_ohms = 10000.0",
    "sensor_leg": 'sensor_leg = "lower"',
}


class Broken(NamedTuple):
    """A rule that the keys of a conversion do not keep."""

    key: str
    wrong: str
    write: str | None = None  # None: the key's own example
    is_missing: bool = False  # the key must be there and is not


@dataclass(frozen=True, slots=True, kw_only=True)
class ConversionKeys:
    """The keys of one conversion as the lesson gives them, each right by itself."""

    name: str
    start: ConversionStart
    width_bits: int = 10
    reference_volts: float = 5.0
    divisor: Divisor = "2^n"
    kind: SensorKind = "linear"
    valid: tuple[float, ...] = ()  # least and most that the sensor is good for; empty: the kind's own
    offset_volts: float = 0.0
    volts_per_unit: float = 1.0
    coefficients: tuple[float, ...] = ()  # of volts, from the constant up
    volts_range: tuple[float, ...] = ()  # empty: 0 to the reference
    points: tuple[tuple[float, ...], ...] = ()  # volts or ohms, value
    offset_fraction: float = 0.0
    fraction_per_unit: float = 1.0
    supply_volts: float | None = None  # what feeds the sensor; None: the reference itself
    fixed_ohms: float | None = None
    sensor_leg: SensorLeg | None = None  # lower: between the pin and ground
    ohms_at_25: float | None = None
    beta_kelvin: float | None = None
    steinhart_hart: tuple[float, ...] = ()  # a, b, c
    ohms_at_0: float = 100.0
    ohms_at_10_lux: float | None = None
    gamma: float | None = None
    # Half widths: any value inside is as likely as another.
    reference_tolerance_volts: float = 0.0
    sensor_tolerance: float = 0.0  # in °C, lx or Ω where the kind gives these, else in the channel's unit
    sensor_tolerance_percent: float = 0.0  # of the value, added to sensor_tolerance
    fixed_ohms_tolerance_percent: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Conversion(ConversionKeys):
    """The way from a printed number to the unit. One that exists keeps every rule."""

    def __post_init__(self) -> None:
        if not 8 <= self.width_bits <= 24:
            raise ValueError(f"width_bits must be from 8 to 24, found {self.width_bits}")
        if not 0 < self.reference_volts <= 24:
            raise ValueError(f"reference_volts must be above 0 and at most 24, found {self.reference_volts}")
        for key in (
            "reference_tolerance_volts", "sensor_tolerance", "sensor_tolerance_percent",
            "fixed_ohms_tolerance_percent",
        ):  # fmt: skip
            if not getattr(self, key) >= 0:
                raise ValueError(f"{key} must be 0 or more, found {getattr(self, key)}")
        for key in (
            "supply_volts", "fixed_ohms", "ohms_at_25", "beta_kelvin", "ohms_at_0", "ohms_at_10_lux", "gamma",
        ):  # fmt: skip
            value = getattr(self, key)
            if value is not None and not value > 0:
                raise ValueError(f"{key} must be above 0, found {value}")
        given = [one.name for one in fields(self) if getattr(self, one.name) != one.default]
        for broken in broken_rules(self, given):
            raise ValueError(broken.wrong if "found" in broken.wrong else f"{broken.wrong}, found none")


def broken_rules(keys: ConversionKeys, given: Collection[str]) -> Iterator[Broken]:
    """Every rule that binds keys together and is not kept; `given` are the keys that the lesson has."""
    yield from _start_and_kind(keys)
    yield from _missing(keys, given)
    yield from _idle(keys, given)
    for key in ("volts_per_unit", "fraction_per_unit"):
        if getattr(keys, key) == 0:
            yield Broken(key, f"{key} must not be 0, found 0")
    if keys.kind in ("table", "table of ohms") and "points" in given:
        yield from _points(keys)
    if keys.kind == "polynomial" and "coefficients" in given:
        yield from _polynomial(keys)
    if keys.kind == "ntc steinhart-hart" and "steinhart_hart" in given:
        yield from _steinhart_hart(keys.steinhart_hart)
    if "valid" in given:
        yield from _valid(keys)
    if keys.reference_tolerance_volts >= keys.reference_volts:
        wrong = "reference_tolerance_volts must be below reference_volts"
        yield Broken(
            "reference_tolerance_volts",
            f"{wrong}, {keys.reference_volts:g} here, found {keys.reference_tolerance_volts:g}",
        )


def _start_and_kind(keys: ConversionKeys) -> Iterator[Broken]:
    if keys.start == "ohms" and keys.kind not in OF_OHMS:
        kinds = ", ".join(f'"{kind}"' for kind in sorted(OF_OHMS))
        yield Broken(
            "kind", f'start = "ohms" needs a kind that is made from ohms ({kinds}), found "{keys.kind}"',
            'kind = "platinum"',
        )  # fmt: skip


def _missing(keys: ConversionKeys, given: Collection[str]) -> Iterator[Broken]:
    needed = _NEEDED.get(keys.kind, ())
    if keys.kind in OF_OHMS and keys.start != "ohms":
        needed = (*needed, "fixed_ohms", "sensor_leg")
    for key in needed:
        if key not in given:
            yield Broken(
                key, f'{key} is missing; kind = "{keys.kind}" needs it', _EXAMPLES[key], is_missing=True
            )


def _idle(keys: ConversionKeys, given: Collection[str]) -> Iterator[Broken]:
    """Keys that would do nothing: the instructor surely meant something by them."""
    known = {*_EVERYWHERE, *_NEEDED.get(keys.kind, ()), *_ALLOWED.get(keys.kind, ())}
    if keys.kind in OF_OHMS and keys.start != "ohms":
        known.update(_DIVIDER)
    if keys.start != "ohms":
        known.update(_VOLTS)
    for key in given:
        if key not in known and hasattr(keys, key):
            where = f'kind = "{keys.kind}"'
            if keys.start == "ohms" and key in (*_DIVIDER, *_VOLTS):
                where = 'start = "ohms"'
            yield Broken(key, f"{key} has no meaning with {where}, found it there", f"no {key}")


def _points(keys: ConversionKeys) -> Iterator[Broken]:
    points = keys.points
    if not 2 <= len(points) <= MAX_POINTS:
        yield Broken("points", f"points must be 2 to {MAX_POINTS} pairs, found {len(points)}")
        return
    if wrong := next((one for one in points if len(one) != 2), None):
        yield Broken("points", f"each of the points must be a pair of numbers, found {len(wrong)} in one")
        return
    what = "volts" if keys.kind == "table" else "ohms"
    for (x, _), (after, _) in pairwise(points):
        if not x < after:
            wrong_words = f"the {what} of points must rise from pair to pair, found {after:g} after {x:g}"
            yield Broken("points", wrong_words)
            return
    if what == "ohms" and points[0][0] <= 0:
        yield Broken("points", f"the ohms of points must be above 0, found {points[0][0]:g}")
    rises = points[1][1] > points[0][1]
    for (_, y), (_, after) in pairwise(points):
        if y == after or (after > y) != rises:
            way = "rise" if rises else "fall"
            wrong_words = f"the values of points must {way} all the way, found {after:g} after {y:g}"
            yield Broken("points", wrong_words)
            return


def _polynomial(keys: ConversionKeys) -> Iterator[Broken]:
    coefficients = keys.coefficients
    if not 2 <= len(coefficients) <= MAX_COEFFICIENTS or not any(coefficients[1:]):
        what = f"2 to {MAX_COEFFICIENTS} numbers, one besides the first not 0"
        yield Broken("coefficients", f"coefficients must be {what}, found {list(coefficients)}")
        return
    if keys.volts_range and (len(keys.volts_range) != 2 or not keys.volts_range[0] < keys.volts_range[1]):
        wrong = f"volts_range must be two numbers that rise, found {list(keys.volts_range)}"
        yield Broken("volts_range", wrong)
        return
    low, high = keys.volts_range or (0.0, keys.reference_volts)
    turn = turning_point(coefficients, low, high)
    if turn is not None:
        wrong = (
            f"coefficients must give a value that only rises or only falls from {low:g} V to {high:g} V, "
            f"found a turn at {turn:.3g} V"
        )
        ends = (low, turn) if turn - low > high - turn else (turn, high)
        yield Broken("coefficients", wrong, f"volts_range = [{ends[0]:.3g}, {ends[1]:.3g}]")


def turning_point(coefficients: tuple[float, ...], low: float, high: float) -> float | None:
    """Where a polynomial stops rising or falling inside a range; None when it is strictly monotonic there."""
    slopes = np.polynomial.Polynomial(coefficients).deriv()
    roots = slopes.roots()
    turns = sorted(float(r.real) for r in roots if abs(r.imag) < 1e-9 * max(1.0, float(abs(r))))
    inside = [r for r in turns if low < r < high]
    ends = [low, *inside, high]
    signs = [float(np.sign(slopes((a + b) / 2))) for a, b in pairwise(ends)]
    for root, before, after in zip(inside, signs, signs[1:], strict=False):
        if before != after:
            return root
    return None


def _steinhart_hart(numbers: tuple[float, ...]) -> Iterator[Broken]:
    if len(numbers) != 3:
        yield Broken("steinhart_hart", f"steinhart_hart must be three numbers a, b, c, found {len(numbers)}")
    elif not (numbers[1] > 0 and numbers[2] >= 0):
        wrong = "of steinhart_hart b must be above 0 and c not below 0, so that warmer means fewer ohms"
        yield Broken("steinhart_hart", f"{wrong}, found b = {numbers[1]:g} and c = {numbers[2]:g}")


def _valid(keys: ConversionKeys) -> Iterator[Broken]:
    if len(keys.valid) != 2 or not keys.valid[0] < keys.valid[1]:
        yield Broken("valid", f"valid must be two numbers that rise, found {list(keys.valid)}")
        return
    low, high = keys.valid
    if keys.kind == "platinum" and not -200.0 <= low < high <= 850.0:
        yield Broken("valid", f"valid must lie from -200 to 850 °C for platinum, found {low:g} to {high:g}")
    elif keys.kind in OF_TEMPERATURE and low <= ABSOLUTE_ZERO:
        yield Broken("valid", f"valid must lie above {ABSOLUTE_ZERO} °C, found {low:g}")
    elif keys.kind == "photoresistor" and low <= 0:
        yield Broken("valid", f"valid must lie above 0 lx, found {low:g}")
