from __future__ import annotations

import pytest

from .benches import celsius, count, lines, seen, watch

T = [celsius("t")]


def cup(n: int) -> list[str]:
    return [f"{41.2 - i / 90:.2f}" for i in range(n)]


@pytest.mark.parametrize("number", ["85.00", "-127.00"])
def test_a_placeholder_among_the_readings_is_told_and_clears(number: str) -> None:
    texts = cup(240)
    texts[0] = texts[20] = texts[41] = number
    told = watch(lines(texts), T)
    assert told.kinds == [("placeholder value", "t")]
    assert told.events[-1][1] == "gone"


def test_water_that_cools_through_85_is_not_told() -> None:
    assert watch(lines([f"{87 - i / 16:.2f}" for i in range(80)]), T).events == []


def test_a_kettle_held_at_85_is_not_told() -> None:
    texts = [f"{min(85.0, 20 + i):.1f}" for i in range(90)] + ["85.0"] * 200
    assert watch(lines(texts), [celsius("t", step=0.1)]).events == []


def test_a_sensor_that_never_gives_anything_else_is_told() -> None:
    assert watch(lines(["85.00"] * 80), T).kinds == [("placeholder value", "t")]


def test_any_number_that_breaks_in_again_and_again_is_told() -> None:
    texts = cup(200)
    for i in (20, 33, 52, 70):
        texts[i] = "-999.00"
    assert watch(lines(texts), T).kinds == [("placeholder value", "t")]


def test_two_equal_outliers_or_three_different_ones_are_not_told() -> None:
    texts = cup(200)
    texts[20] = texts[60] = "140.00"
    texts[90], texts[120], texts[150] = "3.00", "130.00", "91.10"
    assert watch(lines(texts), T).events == []


def test_what_is_computed_from_a_count_has_no_placeholder() -> None:
    texts = [f"{n},{n / 10:.2f}" for n in [412] * 30 + [850] + [412] * 30]
    assert watch(lines(texts), [count("raw", bits=12), celsius("t", 1)]).events == []


def test_without_a_unit_it_takes_two() -> None:
    texts = cup(100)
    texts[30] = "85.00"
    assert watch(lines(texts), [seen("x", 0, "", step=0.01)]).events == []
    texts[60] = "85.00"
    assert watch(lines(texts), [seen("x", 0, "", step=0.01)]).kinds == [("placeholder value", "x")]
