"""Formulas and errors in words."""

from __future__ import annotations

from bridge.core.checking.curve import FOLLOWS
from bridge.core.checking.programs import Program
from bridge.core.conversion_given import Conversion


def formula_of(program: Program, *, unit: str, channel: str, has_count: bool) -> str:
    """What the program computes, with its numbers: "°C = count × 5 V / 1024 / 0.01 V per °C"."""
    volts = program.volts.text if has_count else "volts"
    if program.value is None:
        return f"volts = {volts}"
    curve = program.value.curve
    supply = "the reference" if curve.per == FOLLOWS else f"{curve.per:g} V"
    text = program.value.text.replace("{x}", volts).replace("{supply}", supply)
    if has_count and curve.per == FOLLOWS and program.volts.arithmetic == "exact":
        part = f"{volts} / {supply}"
        text = text.replace(part, f"count / {program.volts.divisor}")
    return f"{unit or channel} = {text}"


def amount(number: float, unit: str, decimals: int) -> str:
    """A number without its sign, to the printed decimals but never less than two digits of it."""
    size = abs(number)
    shown = f"{size:.{min(max(decimals, 0), 3)}f}"
    if float(shown) == 0 and size > 0:
        shown = f"{size:.2g}"
    return f"{shown} {unit}".rstrip()


def reads_wrong(by: float | None, unit: str, decimals: int) -> str:
    """How a board reads at this moment: "it reads 22.0 °C too high here"."""
    if by is None:
        return ""
    if abs(by) < 0.5 * 10.0**-decimals:
        return "at this moment the number is right by chance"
    return f"it reads {amount(by, unit, decimals)} too {'high' if by > 0 else 'low'} here"


_VOLTS_LINE = "Ask for the line of the program that makes volts of the count:"
_DECIMAL_POINT = "so that the division keeps its fraction"

REMEDIES = {
    "reference": f"{_VOLTS_LINE} {{reference:g}} V belongs there",
    "own reference": f"{_VOLTS_LINE} {{reference:g}} V belongs there",
    "divisor": f"{_VOLTS_LINE} {{divisor}} belongs under it",
    "whole numbers": f"Ask for a decimal point in the formula, 1024.0 instead of 1024, {_DECIMAL_POINT}",
    "whole value": f"Ask for a decimal point in the formula, 10.0 instead of 10, {_DECIMAL_POINT}",
    "overflow": "Ask for a larger type: a long or a float in the product",
    "unit": "Ask what unit the last line of the formula gives",
}
"""What to try, by kind of mistake."""

ANY_REMEDY = "Compare the program's formula with the lesson's, line by line"


def remedy_for(program: Program, expected: Conversion | None, divisor: int) -> str:
    """One sentence."""
    kind = program.mistakes[0].kind if program.mistakes else ""
    text = REMEDIES.get(kind, ANY_REMEDY)
    reference = expected.reference_volts if expected is not None else 0.0
    return text.format(reference=reference, divisor=divisor)
