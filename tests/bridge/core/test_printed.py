from __future__ import annotations

from math import isclose

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.printed import is_missing, printed, printed_number


@pytest.mark.parametrize(
    ("text", "value", "decimals"),
    [
        ("21.50", 21.5, 2),
        ("-0.5", -0.5, 1),
        ("+7", 7.0, 0),
        (".25", 0.25, 2),
        ("007", 7.0, 0),
        ("4.50e-3", 0.0045, 5),
        ("4.5E2", 450.0, 0),
        ("-0", -0.0, 0),
    ],
)
def test_decimal_notation_is_read(text: str, value: float, decimals: int) -> None:
    assert printed_number(text) == (text, value, decimals)


@pytest.mark.parametrize(
    "text",
    [
        "1_000",
        "0x1F",
        "٣٤",
        "²",
        "40.",
        "1.2.3",
        "--5",
        "5-",
        "1e",
        "e5",
        ".",
        "",
        "1 2",
        "1,5",
        "1e999",
        "−5",
        "+-5",
    ],
)
def test_anything_else_is_no_number(text: str) -> None:
    assert printed_number(text) is None


def test_a_decimal_comma_is_read_where_the_layout_has_one() -> None:
    assert printed_number("44,88", decimal_comma=True) == ("44,88", 44.88, 2)
    assert printed_number("1.234,5", decimal_comma=True) is None


@pytest.mark.parametrize(
    "word",
    [
        "nan",
        "NaN",
        "-nan",
        "inf",
        "-INF",
        "ovf",
        "---",
        "-",
        "N/A",
        "error",
        "disconnected",
        "null",
        "",
        "??",
        "nan(ind)",
    ],
)
def test_words_for_a_missing_value_are_missing_and_never_zero(word: str) -> None:
    assert is_missing(word)
    assert printed(f" {word} ") == (word, None, 0)


@pytest.mark.parametrize("text", ["nancy", "ready", "25.0", "C", "information", "nullable"])
def test_other_words_are_not_missing(text: str) -> None:
    assert not is_missing(text)


@given(st.floats(allow_nan=False, allow_infinity=False, width=32))
def test_every_float_that_a_program_prints_is_read_back(value: float) -> None:
    number = printed(repr(value))
    assert number is not None
    assert number.value == value


@given(st.floats(-1e6, 1e6), st.integers(0, 6))
def test_the_decimals_are_those_that_were_printed(value: float, decimals: int) -> None:
    number = printed(f"{value:.{decimals}f}")
    assert number is not None
    assert number.decimals == decimals
    assert number.value is not None
    assert isclose(number.value, value, abs_tol=0.51 * 10.0**-decimals)


@given(st.text(max_size=8))
def test_what_is_read_as_a_number_is_plain_ascii(text: str) -> None:
    if printed_number(text) is not None:
        assert text.strip("0123456789.+-eE") == ""
