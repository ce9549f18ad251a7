"""Figures as a person reads them: no more digits than their uncertainty allows.

The uncertainty is written with two digits, the value to the same place (GUM, 7.2.6). What stands behind ±
is half of the interval that holds the value with 95 % confidence; a lopsided interval is written with its
two ends.
"""

from __future__ import annotations

import math

from dashboard.comparing import Figure

NO_VALUE = "–"
SIGNIFICANT_DIGITS = 2
SCORE_DECIMALS = 2
"""Of z-scores and En numbers, which are looked at beside 1, 2 and 3."""
_LOPSIDED = 0.1  # of half the interval, that its ends may differ before both are written
_DIGITS_WITHOUT = 4  # of a value whose uncertainty is unknown
_MOST_DECIMALS = 9
_EXACT = 1e-6  # of the value: half an interval below it is the rounding of the arithmetic


def figure_text(figure: Figure, *, with_unit: bool = False) -> str:
    """ "32.94 ± 0.29", "20.7 (11.1 to 38.5)", "0.4883", or "–" without a value."""
    if figure.value is None:
        return NO_VALUE
    if figure.unit == "1" and figure.low is None:
        return number_text(figure.value, 0 if figure.name == "benches" else SCORE_DECIMALS)
    unit = f" {figure.unit}" if with_unit and figure.unit not in ("", "1") else ""
    ends = _ends(figure)
    if ends is None:
        return f"{plain_number(figure.value)}{unit}"
    low, high = ends
    half = (high - low) / 2
    if half <= _EXACT * abs(figure.value):
        return f"{plain_number(figure.value)}{unit}"
    decimals = decimals_for(half)
    if abs((high - figure.value) - (figure.value - low)) > 2 * _LOPSIDED * half:
        numbers = [number_text(one, decimals) for one in (figure.value, low, high)]
        return f"{numbers[0]} ({numbers[1]} to {numbers[2]}){unit}"
    return f"{number_text(figure.value, decimals)} ± {number_text(half, decimals)}{unit}"


def decimals_for(uncertainty: float) -> int:
    """Decimals to which an uncertainty has two significant digits, negative for tens; 0.0995 is 0.10."""
    exponent = math.floor(math.log10(uncertainty))
    decimals = SIGNIFICANT_DIGITS - 1 - exponent
    if round(uncertainty * 10.0**decimals) >= 10**SIGNIFICANT_DIGITS:
        decimals -= 1
    return min(_MOST_DECIMALS, decimals)


def number_text(value: float, decimals: int) -> str:
    """Rounded to so many decimals; tens and hundreds with negative ones. Never "-0"."""
    rounded = round(value, decimals) + 0.0
    return f"{rounded:.{max(0, decimals)}f}".replace("-", "−") if rounded else f"{0:.{max(0, decimals)}f}"


def plain_number(value: float) -> str:
    """With at most four significant digits, whole numbers as they are: "0.4883", "0.001"."""
    if value == round(value) and abs(value) < 1e6:
        return number_text(value, 0)
    decimals = min(_MOST_DECIMALS, _DIGITS_WITHOUT - 1 - math.floor(math.log10(abs(value))))
    text = number_text(value, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def _ends(figure: Figure) -> tuple[float, float] | None:
    return None if figure.low is None or figure.high is None else (figure.low, figure.high)
