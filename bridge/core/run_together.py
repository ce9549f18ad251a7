"""Numbers that a program prints without anything between them: `51225.1` for 512 and 25.1."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from .printed import Printed

N_ROWS = 12  # fewer prove nothing
_MIN_HIGHS = 5
_NARROW = 0.08  # of the range that the rear digits would fill in one number
_MAX_REAR_DIGITS = 4


def look_run_together(numbers: Sequence[Printed]) -> bool:
    """Whether one field's numbers behave as two.

    In one number the rear digits run through all values while the front ones change. Where the front changes
    again and again and the rear stays nearly the same, they are two numbers: for one it would be a chance of
    less than one in a million million.
    """
    texts = [one.text for one in numbers if one.value is not None]
    values = [one.value for one in numbers if one.value is not None]
    if len(values) < N_ROWS or min(values) < 0 or any("e" in text.casefold() for text in texts):
        return False
    steps = [b - a for a, b in pairwise(values)]
    if all(step >= 0 for step in steps) or all(step <= 0 for step in steps):
        return False  # a clock, a sweep
    return any(_are_two(values, 10**n) for n in range(2, _MAX_REAR_DIGITS + 1))


def _are_two(values: Sequence[float], place: int) -> bool:
    highs = [int(value // place) for value in values]
    rears = [value % place for value in values]
    steps = {abs(b - a) for a, b in pairwise(highs)} - {0}
    is_front_alive = len(set(highs)) >= _MIN_HIGHS and min(highs) >= 10 and len(steps) > 1
    # Rear digits that are always zero are a number that is rounded.
    return is_front_alive and min(rears) >= place / 100 and max(rears) - min(rears) <= _NARROW * place
