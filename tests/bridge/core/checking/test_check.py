"""The conversion check on single boards: what it says, and when it says nothing."""

from __future__ import annotations

import random
import tomllib
from collections.abc import Iterable
from pathlib import Path

import pytest

from bridge.core.checking import ConversionCheck, Verdict
from bridge.core.lesson import Conversion
from bridge.core.printed import printed

CASES = Path(__file__).parents[3] / "cases"
TABLE = tomllib.loads((CASES / "cases.toml").read_text(encoding="utf-8"))
TWELVE_BIT = Conversion(
    name="12-bit", start="count", width_bits=12, reference_volts=3.3, divisor="2^n-1", volts_per_unit=0.01
)
TEN_BIT = Conversion(name="10-bit", start="count", width_bits=10, reference_volts=5.0, volts_per_unit=0.01)
MILLIVOLTS = Conversion(name="mV", start="count", width_bits=10, reference_volts=5.0, volts_per_unit=0.001)
Texts = tuple[str | None, str | None, str | None]


def check_on(
    records: Iterable[Texts],
    expected: Conversion | None,
    *,
    unit: str = "°C",
    volts_unit: str = "V",
    value_unit: str = "",
) -> ConversionCheck:
    rows = list(records)
    has = [any(row[i] is not None for row in rows) for i in range(3)]
    check = ConversionCheck(
        has_count=has[0], has_volts=has[1], has_value=has[2], volts_unit=volts_unit, value_unit=value_unit,
        expected=expected, channel="temperature", unit=unit,
    )  # fmt: skip
    for row in rows:
        check.take(*(None if text is None else printed(text) for text in row))
    return check


def verdict_on(records: Iterable[Texts], expected: Conversion | None, **how: str) -> Verdict:
    return check_on(records, expected, **how).verdict()


def case(name: str) -> list[Texts]:
    lines = (CASES / TABLE[name]["file"]).read_text(encoding="ascii").split()
    return [(count, None, value) for count, value in (line.split(",") for line in lines)]


def kinds(verdict: Verdict) -> list[str]:
    return [one.kind for one in verdict.mistakes]


# Streams of tests/cases


def test_a_wrong_reference_is_named() -> None:
    verdict = verdict_on(case("wrong-reference"), TWELVE_BIT)
    assert verdict.state == "wrong"
    assert kinds(verdict) == ["reference"]
    assert verdict.mistakes[0].number == 5.0
    right = TABLE["wrong-reference"]["right_C"][-1]
    assert verdict.reads_wrong_by == pytest.approx(62.8 - right, abs=0.05)
    assert verdict.words == (
        "The program computes with 5 V, but the board's reference is 3.3 V: it reads 21.4 °C too high here"
    )


def test_the_formula_of_another_sensor_is_named_with_its_constant_difference() -> None:
    verdict = verdict_on(case("formula-of-another-sensor"), TWELVE_BIT)
    assert verdict.state == "wrong"
    assert kinds(verdict) == ["other sensor"]
    assert "an offset of 500 mV" in verdict.words
    assert "50.0 °C too low" in verdict.words
    assert verdict.reads_wrong_by == pytest.approx(
        -TABLE["formula-of-another-sensor"]["constant_difference"], abs=0.05
    )


@pytest.mark.parametrize("role", ["value", "volts"])
def test_division_of_whole_numbers_is_named(role: str) -> None:
    records = case("whole-number-division")
    if role == "volts":
        records = [(count, value, None) for count, _, value in records]
    verdict = verdict_on(records, MILLIVOLTS, unit="mV", volts_unit="mV")
    assert verdict.state == "wrong"
    assert kinds(verdict) == ["whole numbers"]
    assert "whole numbers" in verdict.words
    if role == "value":
        wanted = TABLE["whole-number-division"]["right_mV"][-1]
        assert verdict.reads_wrong_by == pytest.approx(-wanted, abs=0.05)


# Right programs


def right_records() -> list[Texts]:
    return [(str(c), f"{c * 5 / 1024:.3f}", f"{c * 500 / 1024:.1f}") for c in range(45, 95)]


@pytest.mark.parametrize("shown", [(0, 2), (0, 1), (1, 2), (0, 1, 2)])
def test_a_right_program_is_right_whatever_two_it_prints(shown: tuple[int, ...]) -> None:
    records = [tuple(text if i in shown else None for i, text in enumerate(row)) for row in right_records()]
    verdict = verdict_on(records, TEN_BIT)  # type: ignore[arg-type]
    assert verdict.state == "right"
    assert verdict.mistakes == ()


def test_one_reading_is_no_verdict() -> None:
    assert verdict_on([("531", None, "64.8")] * 50, TWELVE_BIT).state == "waiting"


def test_a_label_in_fahrenheit_is_no_mistake() -> None:
    records: list[Texts] = [(str(c), None, f"{c * 500 / 1024 * 1.8 + 32:.1f}") for c in range(45, 95)]
    right = verdict_on(records, TEN_BIT, value_unit="F")
    assert right.state == "right"
    assert right.reads_wrong_by == pytest.approx(0.0, abs=0.06)
    unlabelled = verdict_on(records, TEN_BIT)
    assert kinds(unlabelled) == ["unit"]
    assert "prints °F as °C" in unlabelled.words


def test_where_1023_and_1024_print_the_same_it_says_what_would_tell() -> None:
    verdict = verdict_on([(str(c), f"{c * 5 / 1024:.2f}", None) for c in range(40, 60)], TEN_BIT)
    assert verdict.state == "right"
    assert "1023 and 1024" in verdict.would_tell
    assert verdict.would_tell.endswith("would tell") or "more decimal" in verdict.would_tell


def test_1023_for_1024_is_told_once_the_decimals_show_it() -> None:
    verdict = verdict_on([(str(c), f"{c * 5 / 1023:.4f}", None) for c in range(400, 700, 7)], TEN_BIT)
    assert kinds(verdict) == ["divisor"]
    assert verdict.mistakes[0].number == 1023
    assert verdict.weight == "hint"


# Mistakes


def test_an_unusual_reference_is_found_by_the_numbers() -> None:
    verdict = verdict_on([(str(c), None, f"{c * 472 / 4095:.2f}") for c in range(280, 560)], TWELVE_BIT)
    assert kinds(verdict) == ["own reference"]
    assert "as if the reference were 4.72 V" in verdict.words


def test_a_product_that_overflows_16_bits_is_found() -> None:
    def whole(count: int) -> int:
        product = (count * 500 + 0x8000) % 0x10000 - 0x8000
        return int(product / 1024)

    verdict = verdict_on([(str(c), None, str(whole(c))) for c in range(50, 300, 7)], TEN_BIT)
    assert kinds(verdict) == ["overflow"]
    assert "from count 66 on" in verdict.words


def test_volts_on_a_wrong_scale_leave_the_value_right() -> None:
    records: list[Texts] = [
        (str(c), f"{c * 5000 / 1024:.1f}", f"{c * 500 / 1024:.1f}") for c in range(45, 95)
    ]
    verdict = verdict_on(records, TEN_BIT)
    assert verdict.words == "The program prints millivolts as volts: its value is right"
    assert verdict_on(records, TEN_BIT, volts_unit="").state == "right"
    assert verdict_on(records, TEN_BIT, volts_unit="mV").state == "right"


def test_a_whole_number_division_of_volts_is_named_in_the_value_as_well() -> None:
    records: list[Texts] = [
        (str(c), f"{c * 5 // 1024:.2f}", f"{(c * 5 // 1024) / 0.010:.1f}") for c in range(45, 900, 7)
    ]
    verdict = verdict_on(records, TEN_BIT)
    assert kinds(verdict) == ["whole numbers"]
    assert verdict.rivals == ()


def test_whole_millivolts_on_the_way_are_right_and_told() -> None:
    verdict = verdict_on([(str(c), None, f"{c * 5000 // 1024 / 10:.2f}") for c in range(45, 95)], TEN_BIT)
    assert verdict.state == "right"
    assert "through whole millivolts" in verdict.words


def test_numbers_that_no_formula_explains_are_a_hint_with_the_misfit() -> None:
    records: list[Texts] = [(str(c), None, f"{(c * 7919) % 613 / 10:.1f}") for c in range(40, 90)]
    verdict = verdict_on(records, TEN_BIT)
    assert verdict.state == "none"
    assert verdict.weight == "hint"
    assert "No simple formula" in verdict.words
    assert "by up to" in verdict.words


def test_a_narrow_range_that_only_a_line_of_its_own_explains_is_undecided() -> None:
    records: list[Texts] = [(str(c), None, f"{c * 0.31 - 7.7:.1f}") for c in range(88, 95)]
    verdict = verdict_on(records, TEN_BIT)
    assert verdict.state == "undecided"
    assert "warm water" in verdict.would_tell


def test_two_mistakes_are_both_named() -> None:
    records: list[Texts] = [(str(c), None, f"{c * 500 / 4095 * 1.8 + 32:.2f}") for c in range(250, 560, 3)]
    verdict = verdict_on(records, TWELVE_BIT)
    assert kinds(verdict) == ["reference", "unit"]


def test_mistakes_that_never_print_differently_are_told_together() -> None:
    expected = Conversion(name="2.5 V", start="count", reference_volts=2.5, volts_per_unit=0.01)
    verdict = verdict_on([(str(c), None, f"{c * 500 / 1024:.2f}") for c in range(80, 190)], expected)
    assert verdict.state == "wrong"
    assert kinds(verdict) == ["reference"]
    assert [one.kind for one in verdict.rivals[0]] == ["divisor"]
    assert "no reading can tell them apart" in verdict.would_tell


# Counts that are not those of the value


def test_a_mean_of_counts_is_as_good_as_a_count() -> None:
    records: list[Texts] = [(f"{c / 7:.2f}", None, f"{c / 7 * 500 / 1024:.2f}") for c in range(320, 640, 9)]
    assert verdict_on(records, TEN_BIT).state == "right"


@pytest.mark.parametrize("apart", [1, 2])
def test_a_value_from_another_look_at_the_pin_is_no_mistake(apart: int) -> None:
    chance = random.Random(4)
    records: list[Texts] = [
        (str(c + chance.randint(-apart, apart)), None, f"{c * 500 / 1024:.2f}") for c in range(45, 95)
    ]
    verdict = verdict_on(records, TEN_BIT)
    assert verdict.state == "right"
    assert "to within" in verdict.words


def test_a_value_smoothed_by_the_program_is_no_mistake() -> None:
    chance = random.Random(5)
    smooth, records = 560.0, list[Texts]()
    for i in range(300):
        count = round(560 - i / 2 + chance.gauss(0, 1.5))
        smooth += 0.3 * (count - smooth)
        records.append((str(count), None, f"{smooth * 330 / 4095:.2f}"))
    assert verdict_on(records, TWELVE_BIT).state == "right"


# What changes, repeats, lacks


def test_a_corrected_program_is_right_again_after_some_readings() -> None:
    wrong: list[Texts] = [(str(c), None, f"{c * 330 / 1024:.1f}") for c in range(95, 60, -1)]
    right: list[Texts] = [(str(c), None, f"{c * 500 / 1024:.1f}") for c in range(75, 55, -1)]
    check = check_on(wrong, TEN_BIT)
    assert kinds(check.verdict()) == ["reference"]
    for count, _, value in right:
        check.take(printed(str(count)), None, printed(str(value)))
    verdict = check.verdict()
    assert verdict.state == "right"
    assert "since it last changed" in verdict.words


def test_a_damaged_number_does_not_hide_what_the_program_does() -> None:
    wrong: list[Texts] = [(str(c), None, f"{c * 500 / 4095:.1f}") for c in range(560, 300, -3)]
    check = check_on([*wrong[:30], ("471", None, "7.5"), *wrong[30:]], TWELVE_BIT)
    assert kinds(check.verdict()) == ["reference"]
    assert check.verdict() == check.verdict()


def test_repeated_records_change_nothing() -> None:
    once = verdict_on(right_records(), TEN_BIT)
    assert verdict_on([row for row in right_records() for _ in range(5)], TEN_BIT) == once


def test_the_error_is_that_of_the_newest_record() -> None:
    check = check_on([(str(c), None, f"{c * 500 / 4095:.1f}") for c in range(520, 500, -1)], TWELVE_BIT)
    before = check.verdict().reads_wrong_by
    check.take(printed("520"), None, printed("63.5"))
    after = check.verdict().reads_wrong_by
    assert before is not None
    assert after is not None
    assert after == pytest.approx(63.5 - 520 * 330 / 4095)
    assert after > before


def test_a_missing_number_leaves_its_record_out() -> None:
    records: list[Texts] = [*right_records(), ("93", "nan", "nan"), ("94", "", "12.0")]
    assert verdict_on(records, TEN_BIT).state == "right"


def test_one_printed_number_alone_can_not_be_checked() -> None:
    verdict = verdict_on([(None, None, "21.5")], TEN_BIT)
    assert verdict.state == "none"
    assert "two of count, volts and value" in verdict.words


# Without a lesson


def test_without_a_lesson_the_formula_is_told_and_nothing_judged() -> None:
    verdict = verdict_on([(str(c), f"{c * 3.3 / 4095:.4f}", None) for c in range(2000, 4000, 37)], None)
    assert verdict.state == "none"
    assert verdict.found == "volts = count × 3.3 V / 4095"


def test_without_a_lesson_volts_that_stay_zero_contradict_themselves() -> None:
    verdict = verdict_on([(str(c), "0.00", None) for c in range(300, 340)], None)
    assert verdict.state == "wrong"
    assert kinds(verdict) == ["whole numbers"]


def test_without_a_lesson_small_counts_may_well_print_no_volts() -> None:
    assert verdict_on([(str(c), "0.0", None) for c in range(1, 9)], None).state == "none"


def test_without_a_lesson_a_line_from_volts_to_value_is_told() -> None:
    records: list[Texts] = [(None, f"{v / 1000:.3f}", f"{v / 10 - 50:.1f}") for v in range(600, 1000, 9)]
    verdict = verdict_on(records, None)
    assert verdict.state == "none"
    assert "100 × volts − 50" in verdict.found
