"""The tolerances that make a conversion's value uncertain, each where it acts."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from bridge.core.calibration import Calibration
from bridge.core.conversion_given import OF_OHMS, Conversion
from bridge.core.resistance import Divider
from bridge.core.stages import Line, Stage, VoltsFromCount
from bridge.core.uncertainty import tolerance_uncertainty


class Influence(NamedTuple):
    """One tolerance of a conversion.

    Its error is taken to be one share of what it may be, the same all along the range: a reference that is
    1 % too high is so at every count.
    """

    words: str
    source: str
    place: int  # the number that it makes err: 0 is the printed one, k what comes out of the k-th stage
    u: Callable[[float], float]  # from the number there: its standard uncertainty, in the unit there
    is_constant: bool  # the same whatever the number


def influences_of(conversion: Conversion, stages: Sequence[Stage]) -> Iterator[Influence]:
    """Every tolerance that the lesson gives and that does not cancel; the conversion's stages come first."""
    if conversion.reference_tolerance_volts and (place := _place_of_volts(conversion, stages)) is not None:
        part = tolerance_uncertainty(conversion.reference_tolerance_volts / conversion.reference_volts)
        yield Influence(
            "reference voltage",
            f"the lesson: {conversion.reference_volts:g} ± {conversion.reference_tolerance_volts:g} V",
            place,
            lambda volts: part * volts,
            is_constant=False,
        )
    if conversion.fixed_ohms_tolerance_percent:
        place = 1 + next(i for i, stage in enumerate(stages) if isinstance(stage, Divider))
        ohms = tolerance_uncertainty(conversion.fixed_ohms_tolerance_percent / 100.0)
        yield Influence(
            "fixed resistor",
            f"the lesson: ± {conversion.fixed_ohms_tolerance_percent:g} %",
            place,
            lambda sensor_ohms: ohms * sensor_ohms,  # by the divider they are in proportion
            is_constant=False,
        )
    if conversion.sensor_tolerance or conversion.sensor_tolerance_percent:
        yield _sensor(conversion, stages)


def _place_of_volts(conversion: Conversion, stages: Sequence[Stage]) -> int | None:
    """Where the volts stand that the reference makes err, None where it cancels.

    A board that prints volts has made them with the reference too.
    """
    if conversion.start == "count":
        return 1 if isinstance(stages[0], VoltsFromCount) else None
    if conversion.start == "ohms":
        return None
    is_part = conversion.kind == "ratiometric" or conversion.kind in OF_OHMS
    return None if is_part and conversion.supply_volts is None else 0


def _sensor(conversion: Conversion, stages: Sequence[Stage]) -> Influence:
    """The sensor's own tolerance, in the unit that its formula gives."""
    after = (i for i, stage in enumerate(stages) if isinstance(stage, Line | Calibration))
    place = next(after, len(stages))
    fixed, percent = conversion.sensor_tolerance, conversion.sensor_tolerance_percent
    constant, part = tolerance_uncertainty(fixed), tolerance_uncertainty(percent / 100.0)
    unit = stages[place - 1].unit
    told = [f"± {fixed:g} {unit}".strip()] * bool(fixed) + [f"± {percent:g} %"] * bool(percent)
    source = f"the lesson: {' and '.join(told)}"
    if not percent:
        return Influence("sensor", source, place, lambda _: constant, is_constant=True)
    return Influence("sensor", source, place, lambda y: constant + part * abs(y), is_constant=False)
