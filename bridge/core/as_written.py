"""Sums of numbers that a person wrote in decimal: 22.1 and 1.1 make 23.2, not 23.200000000000003."""

from __future__ import annotations

from decimal import Decimal


def sum_as_written(a: float, b: float) -> float:
    """The double nearest to the decimal sum of the two as they are written.

    Band edges and limits are compared with printed numbers: a value of 23.2 stands on the edge 1.1 above a
    baseline of 22.1, which the sum of the two doubles would miss.
    """
    return float(Decimal(repr(a)) + Decimal(repr(b)))
