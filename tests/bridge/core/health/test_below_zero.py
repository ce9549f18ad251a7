from __future__ import annotations

import pytest

from .benches import HealthBench, columns, count, lines, seen, watch


@pytest.mark.parametrize(("bits", "decimals"), [(16, 0), (16, 1), (32, 0), (32, 2)])
def test_a_number_below_zero_printed_as_a_huge_one_is_told_and_clears(bits: int, decimals: int) -> None:
    course = [*range(12, -15, -3), *[-14] * 10, *range(-14, 30, 3), *[30] * 40]
    texts = [f"{(n % 2**bits) / 10**decimals:.{decimals}f}" for n in course]
    told = watch(lines(texts), [seen("t", 0, "value", step=10.0**-decimals)])
    assert told.kinds == [("unsigned below zero", "t")]
    assert told.at("found", "unsigned below zero") == 2.0
    assert told.events[-1][1] == "gone"


@pytest.mark.parametrize(
    "texts", [["12", "5", "1", "30000", "65000"], ["12", "40000", "65535"], ["655.35"] * 9]
)
def test_a_number_that_is_large_for_another_reason_is_not_told(texts: list[str]) -> None:
    kinds = watch(lines(texts + texts[-1:] * 8), [seen("x", 0, "value", step=0.01)]).kinds
    assert ("unsigned below zero", "x") not in kinds


def test_a_count_of_sixteen_bits_that_swings_from_end_to_end_is_not_told() -> None:
    texts = ["3000", "64000", "2500", "63000"] * 10
    kinds = watch(lines(texts), [count("raw", bits=16)]).kinds
    assert ("unsigned below zero", "raw") not in kinds


def test_what_is_below_zero_is_doubted_as_long_as_it_is() -> None:
    bench = HealthBench([seen("t", 0, "value")], columns(1))
    bench.open(0.0)
    bench.feed(*lines(["4", "2", "0", "65534", "65533", "65533"]))
    bench.tick(2.0)
    assert "without its sign" in bench.health.doubts()[0]
    bench.feed(*lines(["1", "2"] * 20, start=2.0))
    assert bench.health.doubts() == {}
