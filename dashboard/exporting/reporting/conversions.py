"""How a printed number becomes a value, in words and formulas."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from typing import TYPE_CHECKING

from dashboard.exporting.session import Session

if TYPE_CHECKING:
    from bridge import Lesson

_COUNT_KEYS = ("width_bits", "reference_volts", "divisor")
_TOLD = ("name", "start", "kind", *_COUNT_KEYS)


def steps_of(session: Session, bench: int, channel: str) -> list[str]:
    """From the printed field to the channel's value, step by step; empty for one that no lesson has."""
    lesson = session.lesson
    given = next((one for one in lesson.channels if one.name == channel), None)
    if given is None:
        return []
    own = next((one for one in lesson.bench(bench).channels if one.channel == channel), None)
    field = (own.field if own else None) or given.field or given.name
    steps = [f"printed number: {field}"]
    name = (own.conversion if own else None) or given.conversion
    steps += _conversion(lesson, name, given.unit)
    if own is not None and (own.gain != 1.0 or own.offset != 0.0):
        gain = f"{own.gain:.6g} × " if own.gain != 1.0 else ""
        offset = f" {'−' if own.offset < 0 else '+'} {abs(own.offset):.6g} {given.unit}" if own.offset else ""
        steps.append(f"corrected: {gain}value{offset}".rstrip())
    if own is not None and own.calibration is not None:
        steps.append(f"calibrated: {own.calibration.fit} through {len(own.calibration.points)} points")
    return steps


def _conversion(lesson: Lesson, name: str | None, unit: str) -> Iterator[str]:
    conversion = lesson.conversion(name)
    if conversion is None:
        yield "taken as it is printed"
        return
    if conversion.start == "count":
        top = f"{2**conversion.width_bits - (conversion.divisor == '2^n-1')}"
        yield f"volts = count × {conversion.reference_volts:g} V / {top} ({conversion.width_bits} bits)"
    if conversion.kind == "linear":
        offset = f"(volts − {conversion.offset_volts:g} V)" if conversion.offset_volts else "volts"
        yield f"value = {offset} / {conversion.volts_per_unit:g} V per {unit or 'unit'}"
    else:
        yield f"sensor: {conversion.kind}"
    given = [
        f"{one.name.replace('_', ' ')} {_value(getattr(conversion, one.name))}"
        for one in fields(conversion)
        if one.name
        not in (*_TOLD, *(("offset_volts", "volts_per_unit") if conversion.kind == "linear" else ()))
        and getattr(conversion, one.name) != one.default
    ]
    if given:
        yield "; ".join(given)


def _value(value: object) -> str:
    if isinstance(value, tuple):
        return "(" + ", ".join(_value(one) for one in value) + ")"
    return f"{value:g}" if isinstance(value, float) else str(value)
