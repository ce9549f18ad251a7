"""The readings that are said to tell two programs apart do so."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.checking.columns import Columns
from bridge.core.checking.intervals import Interval, PrintedColumn
from bridge.core.checking.programs import Program
from bridge.core.checking.telling_apart import readings_between, would_tell
from bridge.core.checking.volts_parts import VoltsPart


def columns_with(decimals: int) -> Columns:
    count = np.array([1.0, 2.0, 3.0])
    return Columns(Interval(count, count), PrintedColumn(count, 10.0**-decimals), None)


def told(one: VoltsPart, other: VoltsPart, decimals: int, bits: int = 10) -> str:
    readings = readings_between(0, 2**bits - 1, is_count=True)
    return would_tell(Program(one, None), Program(other, None), readings, columns_with(decimals))


def text(part: VoltsPart, count: int, decimals: int) -> str:
    return f"{count * part.reference / part.divisor:.{decimals}f}"


@given(
    reference=st.sampled_from([1.1, 2.5, 3.3, 5.0]), other=st.sampled_from([3.0, 4.096, 5.5]),
    decimals=st.integers(1, 4),
)  # fmt: skip
def test_from_the_told_count_on_every_text_differs(reference: float, other: float, decimals: int) -> None:
    parts = VoltsPart(reference, 1024), VoltsPart(other, 1024)
    found = re.fullmatch(r"a count of (\d+) or more would tell", told(*parts, decimals))
    assert found
    for count in range(int(found[1]), 1024):
        assert text(parts[0], count, decimals) != text(parts[1], count, decimals)


def test_1023_and_1024_at_two_decimals_need_one_more() -> None:
    parts = VoltsPart(5.0, 1023), VoltsPart(5.0, 1024)
    words = told(*parts, 2)
    assert words.startswith(
        "no reading can tell them apart at this number of decimals; with one more decimal"
    )
    found = re.search(r"a count of (\d+) or more", words)
    assert found
    for count in range(int(found[1]), 1024):
        assert text(parts[0], count, 3) != text(parts[1], count, 3)


@pytest.mark.parametrize("decimals", [1, 3, 6])
def test_what_compensates_is_never_told_apart(decimals: int) -> None:
    words = told(VoltsPart(5.0, 1024), VoltsPart(2.5, 512), decimals)
    assert words == "no reading can tell them apart: look into the program"
