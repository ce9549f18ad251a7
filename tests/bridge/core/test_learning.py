from __future__ import annotations

import pytest

from bridge.core.layouts import Values
from bridge.core.learning import Learner


def learned(*texts: str) -> Learner:
    learner = Learner()
    for text in texts:
        learner.take(text)
    return learner


def rows(learner: Learner, *texts: str) -> list[Values | None]:
    assert learner.reader is not None
    return [learner.reader.values(text) for text in texts]


def test_three_lines_of_one_wording_decide() -> None:
    assert learned("21.5", "21.6").reader is None
    learner = learned("21.5", "21.6", "21.7")
    assert learner.reader is not None
    assert learner.reader.names == ("value",)
    assert "3 lines" in learner.words


def test_the_end_of_the_source_decides_by_fewer_lines() -> None:
    learner = learned("raw: 512, Temp: 25.0 C")
    learner.finish()
    assert learner.reader is not None
    assert (learner.reader.names, learner.reader.units) == (("raw", "Temp"), ("", "°C"))
    assert "1 line only" in learner.words


def test_nothing_is_learned_from_greetings() -> None:
    learner = learned("cup logger ready", "version 2", "sensor error", "")
    learner.finish()
    assert "logger" not in learner.words


@pytest.mark.parametrize(
    ("texts", "names", "units", "first"),
    [
        (("1,42.7", "2,42.6", "3,42.5"), ("column 1", "column 2"), ("", ""), (1.0, 42.7)),
        (("n,temp (C)", "1,42.7", "2,42.6", "3,42.5"), ("n", "temp"), ("", "°C"), (1.0, 42.7)),
        (
            ("raw volts t/°C", "5 2.5 25", "5 2.5 25", "5 2.5 25"),
            ("raw", "volts", "t"),
            ("", "", "°C"),
            (5.0, 2.5, 25.0),
        ),
        (("Temperature", "22.5", "22.5", "22.5"), ("Temperature",), ("",), (22.5,)),
        (("ready", "22.5", "22.5", "22.5"), ("value",), ("",), (22.5,)),
        (("12\t558\t44.9",) * 3, ("column 1", "column 2", "column 3"), ("", "", ""), (12.0, 558.0, 44.9)),
        (("45,00;55,1",) * 3, ("column 1", "column 2"), ("", ""), (45.0, 55.1)),
        (("Temp: 23.5 C",) * 3, ("Temp",), ("°C",), (23.5,)),
        (("Temp = 23.5",) * 3, ("Temp",), ("",), (23.5,)),
        (("Temp = 23,5; Hum = 45,1 %",) * 3, ("Temp", "Hum"), ("", "%"), (23.5, 45.1)),
        (
            ("raw: 5 water temp: 20.5 C volts: 2.5",) * 3,
            ("raw", "water temp", "volts"),
            ("", "°C", "V"),
            (5.0, 20.5, 2.5),
        ),
        (("F 45.00 °C",) * 3, ("F",), ("°C",), (45.0,)),
        (("A: 512, min: 3",) * 3, ("A", "min"), ("", ""), (512.0, 3.0)),
        (("2.50 V 45.0 % 7 raw",) * 3, ("V", "%", "raw"), ("V", "%", ""), (2.5, 45.0, 7.0)),
        (("T 23.5 H 45.0",) * 3, ("T", "H"), ("", ""), (23.5, 45.0)),
        (("512 raw 25.1 temp",) * 3, ("raw", "temp"), ("", ""), (512.0, 25.1)),
        (("23.5 C, 45 %",) * 3, ("column 1", "column 2"), ("°C", "%"), (23.5, 45.0)),
        (('{"n": 1, "t": {"a": 1.5}, "ok": true}',) * 3, ("n", "t.a"), ("", ""), (1.0, 1.5)),
    ],
)
def test_a_wording_is_found_with_its_names_and_units(
    texts: tuple[str, ...], names: tuple[str, ...], units: tuple[str, ...], first: Values
) -> None:
    learner = learned(*texts)
    assert learner.reader is not None
    assert (learner.reader.names, learner.reader.units) == (names, units)
    assert next(row for row in rows(learner, *texts) if row is not None) == first


def test_a_missing_word_does_not_hide_the_wording() -> None:
    texts = ("raw: 5, Temp: nan", "raw: 5, Temp: 25.0 C", "raw: nan, Temp: 25.0 C", "raw: 5, Temp: 24.0 C")
    assert rows(learned(*texts), *texts) == [(5.0, None), (5.0, 25.0), (None, 25.0), (5.0, 24.0)]


def test_lines_of_words_only_for_missing_values_teach_nothing() -> None:
    assert learned("error", "nan", "---", "error").reader is None


def test_lines_with_a_label_each_in_turn_make_a_record() -> None:
    texts = ("Sample: 1", "Water: 44.9 C", "Sample: 2", "Water: 44.8 C", "Sample: 3")
    learner = learned(*texts)
    assert learner.reader is not None
    assert learner.reader.layout.kind == "record"
    assert rows(learner, *texts[:4]) == [None, (1.0, 44.9), None, (2.0, 44.8)]


def test_two_fields_of_one_name_get_names_of_their_own() -> None:
    learner = learned("t,t", "1.0,2.0", "1.0,2.0", "1.0,2.0")
    assert learner.reader is not None
    assert learner.reader.names == ("t", "t 2")


@pytest.mark.parametrize(
    "texts", [("45,00,55,1",) * 3, ("23,05", "23,10", "23,15"), ("23,5", "23,6", "24,0")]
)
def test_a_comma_that_may_be_a_decimal_sign_is_a_doubt_with_both_ways(texts: tuple[str, ...]) -> None:
    learner = learned(*texts)
    assert (learner.reader, learner.doubt) == (None, None)
    learner.finish()
    assert learner.reader is None
    assert learner.doubt is not None
    assert "two ways" in learner.doubt.words
    assert [layout.decimal_comma for layout in learner.doubt.alternatives] == [True, False]
    learner.take(texts[0])
    learner.finish()
    assert learner.reader is None


LEAK = [
    f"{a},{b}" for a, b in zip([46] * 4 + [45] * 4 + [41] * 3, [*range(92, 76, -2), 41, 41, 40], strict=True)
]
LOOSE = ["84,341", "84,388", "83,297", "84,410", "83,512", "83,466", "83,231", "82,198", "83,377"]
LOOSE += ["82,604", "82,559", "82,283", "82,150"]


@pytest.mark.parametrize("texts", [LEAK, LOOSE, ["1,2", "2,4", "3,6"], ["46,92", "46,101", "45,110"]])
def test_whole_numbers_with_a_comma_between_are_columns(texts: list[str]) -> None:
    learner = learned(*texts)
    learner.finish()
    assert rows(learner, *texts) == [tuple(map(float, text.split(","))) for text in texts]


@pytest.mark.parametrize("texts", [LEAK[:3], LOOSE[:3], ["1,2", "3,4", "5,6"], ["21,5", "23,7", "26,1"]])
def test_a_few_lines_do_not_show_what_a_comma_between_whole_numbers_is(texts: list[str]) -> None:
    learner = learned(*texts)
    learner.finish()
    assert learner.doubt is not None
    assert (learner.reader, " ways" in learner.doubt.words) == (None, True)


def test_what_is_kept_while_nothing_is_known_is_bounded() -> None:
    learner = learned(*(f"label{i}: {i}" for i in range(1000)), *(f"a{i}b {i}c{i}" for i in range(1000)))
    assert learner.reader is None
    assert rows(learned("x", *(f"label{i}: {i}" for i in range(100)), "21.5", "21.6", "21.7"), "21.5") == [
        (21.5,)
    ]
