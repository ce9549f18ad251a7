from __future__ import annotations

import string
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.layouts import LayoutReader, reader_for
from bridge.core.lesson import FieldSpec, Layout, LayoutKind
from bridge.core.one_line import ColumnsReader


def reader(kind: LayoutKind, *fields: str | FieldSpec, **options: Any) -> LayoutReader:
    specs = tuple(FieldSpec(name=one) if isinstance(one, str) else one for one in fields)
    return reader_for(Layout(name="a layout", kind=kind, fields=specs, **options))


TEMP = FieldSpec(name="temperature", label="Temp", unit="°C")
LABELLED = ("raw", "volts", TEMP)


@pytest.mark.parametrize(
    ("separator", "text"),
    [
        (",", "512, 2.50,25.1"),
        (";", "512;2.50;25.1"),
        ("\t", "512\t2.50\t25.1"),
        (" ", "  512 2.50   25.1"),
        ("|", "512 | 2.50 | 25.1"),
    ],
)
def test_columns_are_read_with_each_separator(separator: str, text: str) -> None:
    assert reader("columns", "a", "b", "c", separator=separator).values(text) == (512.0, 2.5, 25.1)


@pytest.mark.parametrize(
    "text", ["1,2", "1,2,3,4", "1,x,3", "1,2_0,3", "1,0x2,3", "1,٣,3", "1,2.,3", "", "1,2 m/x,3"]
)
def test_a_line_that_does_not_fit_its_columns_is_none(text: str) -> None:
    assert reader("columns", "a", "b", "c").values(text) is None


def test_words_in_columns_are_missing_and_the_other_columns_count() -> None:
    columns = reader("columns", "a", "b")
    read = [columns.values(text) for text in ["1,2", "nan,2", "1,", "---, inf", "N/A,error"]]
    assert read == [(1.0, 2.0), (None, 2.0), (1.0, None), (None, None), (None, None)]


def test_a_separator_behind_the_last_column_is_no_column() -> None:
    assert reader("columns", "a", "b").values("1,2,") == (1.0, 2.0)


def test_units_behind_numbers_are_read_off() -> None:
    columns = reader("columns", FieldSpec(name="t", unit="°C"), FieldSpec(name="v", unit="mV"))
    assert columns.values("25.1 C, 251mV") == (25.1, 251.0)
    assert columns.values("25.1 °C,251 mV") == (25.1, 251.0)
    assert reader("columns", "t", "v", separator=" ").values("25.1 C 251 mV") == (25.1, 251.0)


def test_a_number_in_another_unit_does_not_fit() -> None:
    assert reader("columns", FieldSpec(name="v", unit="V")).values("251 mV") is None
    assert reader("pairs", TEMP).values("Temp: 77.0 F") is None


def test_decimal_commas_are_read_between_semicolons_and_between_commas() -> None:
    by_semicolon = reader("columns", "a", "b", separator=";", decimal_comma=True)
    assert [by_semicolon.values(text) for text in ["45,00;55,1", "44,88;55,0", "nan;5,5"]] == [
        (45.0, 55.1),
        (44.88, 55.0),
        (None, 5.5),
    ]
    by_comma = reader("columns", "a", "b", decimal_comma=True)
    assert [by_comma.values(text) for text in ["45,00,55,1", "nan,55,0", "45, 55", "45,00,55"]] == [
        (45.0, 55.1),
        (None, 55.0),
        (45.0, 55.0),
        None,
    ]


@pytest.mark.parametrize(
    "text",
    [
        "raw: 512, volts: 2.50, Temp: 25.1 C",
        "raw = 512,volts=2.50,Temp = 25.1 °C",
        "Temp: 25.1 , volts: 2.50, raw: 512",
        "raw: 512, light: 77, volts: 2.50 V, Temp: 25.1",
        "raw 512, volts 2.50, Temp 25.1",
        "raw: 5.12e2, volts: 2.50, Temp: 25.1degC",
    ],
)
def test_pairs_are_read_in_several_wordings(text: str) -> None:
    assert reader("pairs", *LABELLED).values(text) == (512.0, 2.5, 25.1)


@pytest.mark.parametrize(
    "text",
    [
        "raw: 512, volts: 2.5",
        "raw: 512, volts: 2.5, Tmp: 25",
        "raw: 512, raw: 511, volts: 2.5, Temp: 25",
        "raw: 5_1, volts: 2, Temp: 2",
    ],
)
def test_pairs_that_lack_a_field_or_have_it_twice_do_not_fit(text: str) -> None:
    assert reader("pairs", *LABELLED).values(text) is None


def test_a_label_never_takes_the_front_of_another_label_or_number() -> None:
    assert reader("pairs", "T1", "T", separator=" ").values("T1: 5 T: 7") == (5.0, 7.0)
    assert reader("pairs", "T1").values("T12.5") is None


def test_a_missing_word_among_pairs_is_missing() -> None:
    assert reader("pairs", *LABELLED).values("raw: 512, volts: ---, Temp: nan C") == (512.0, None, None)


def test_pairs_between_blanks_and_with_decimal_comma_are_read() -> None:
    assert reader("pairs", "raw", TEMP, separator=" ").values("raw: 5 Temp: 7.5 C") == (5.0, 7.5)
    assert reader("pairs", "raw", TEMP, decimal_comma=True).values("raw: 5, Temp: 7,5 C") == (5.0, 7.5)


@pytest.mark.parametrize("kind", ["columns", "pairs"])
def test_thousands_are_read_in_the_notation_of_the_layout(kind: LayoutKind) -> None:
    texts = {(",", False): "1,234.5", (".", True): "1.234,5", (" ", True): "1 234,5", ("'", False): "1'234.5"}
    for (mark, comma), text in texts.items():
        one = reader(kind, "p", thousands=mark, decimal_comma=comma)
        shown = text if kind == "columns" else f"p: {text}"
        below = shown.replace(text, "998,5" if comma else "998.5")
        assert [one.values(shown), one.values(below)] == [(1234.5,), (998.5,)]
        assert one.values(shown.replace("234", "23")) is None
        printed = one.newest()
        assert printed is not None
        assert printed[0].decimals == 1


def test_what_stands_around_the_fields_is_left_out_and_must_be_there() -> None:
    clock = reader("pairs", "T", lead="12:30:05")
    assert [clock.values(t) for t in ("08:01:59 T: 5", " 8:1:9  T: 6", "T: 7")] == [(5.0,), (6.0,), None]
    brackets = reader("columns", "a", "b", lead="(", tail=")")
    assert [brackets.values(t) for t in ("(1, 2.5)", "(3,4)", "1, 2.5", "(1, 2")] == [
        (1.0, 2.5), (3.0, 4.0), None, None,
    ]  # fmt: skip
    assert reader("json", "t", lead="data:").values('data: {"t": 5}') == (5.0,)
    record = reader("record", "a", "b", lead="[1]")
    assert [record.values(t) for t in ("[7] a: 1", "[8] b: 2")] == [None, (1.0, 2.0)]


def test_a_number_without_a_label_may_stand_before_the_labelled_ones() -> None:
    bare = FieldSpec(name="time", label="")
    assert reader("pairs", bare, "T", separator=" ").values("12345 T: 5.5") == (12345.0, 5.5)
    assert reader("pairs", bare, "T", "H").values("12345, T: 5.5, H: 40") == (12345.0, 5.5, 40.0)
    assert reader("pairs", bare, "T").values("T: 5.5") is None


def test_labels_that_touch_the_number_before_are_read() -> None:
    assert reader("pairs", "T", "H", separator=" ").values("T:23.5H:45") == (23.5, 45.0)


TURNS = (
    FieldSpec(name="raw", label="", decimals=0),
    FieldSpec(name="volts", label="", decimals=2),
    FieldSpec(name="t", label="", decimals=1),
)


def test_numbers_in_turn_are_told_apart_by_their_decimals() -> None:
    turns = reader("record", *TURNS)
    texts = ["25.0", "512", "2.50", "25.0", "512", "25.1", "513", "2.51", "nan", "514"]
    found = [turns.values(text) for text in texts]
    assert [row for row in found if row is not None] == [(512.0, 2.5, 25.0), (513.0, 2.51, None)]
    assert found[3] is not None
    assert turns.partial


def test_numbers_in_turn_are_told_apart_by_a_divider_line() -> None:
    turns = reader("record", FieldSpec(name="a", label=""), FieldSpec(name="b", label=""))
    texts = ["---", "1", "2", "---", "3", "----", "5", "6", "7", "---", "8", "9"]
    found = [turns.values(text) for text in texts]
    assert [row for row in found if row is not None] == [(1.0, 2.0), (5.0, 6.0), (8.0, 9.0)]
    turns.break_off()
    assert [turns.values(text) for text in ("1", "2", "---", "3", "4")][-1] == (3.0, 4.0)


def test_columns_with_the_decimals_of_each_other_do_not_fit() -> None:
    columns = reader("columns", "raw", "volts")
    assert isinstance(columns, ColumnsReader)
    columns.expect_points((False, True))
    texts = ["512,2.50", "2.50,512", "513,2.51", "514,2", "5.5,2.5", "nan,2.50"]
    wanted = [(512.0, 2.5), None, (513.0, 2.51), (514.0, 2.0), (5.5, 2.5), (None, 2.5)]
    assert [columns.values(text) for text in texts] == wanted
    assert columns.values_of(texts * 3) == wanted * 3
    assert columns.values_of(["512,2.50"] * 9) == [(512.0, 2.5)] * 9


@pytest.mark.parametrize(
    "text", ["512 raw 2.50 volts 25.1 Temp", "512 raw, 2.50 volts, 25.1 C Temp", "512raw 2.50volts 25.1Temp"]
)
def test_labels_behind_the_numbers_are_read(text: str) -> None:
    assert reader("labels-after", *LABELLED, separator=" ").values(text) == (512.0, 2.5, 25.1)


def test_a_json_object_is_read_with_inner_names_and_missing_values() -> None:
    by_json = reader("json", "t", FieldSpec(name="h", label="air.h"))
    assert by_json.values('{"t": 21.50, "air": {"h": 45}}') == (21.5, 45.0)
    assert by_json.values('{"t": nan, "air": {"h": null}}') == (None, None)
    assert by_json.values('{"t": NaN, "air": {"h": "4.5"}}') == (None, 4.5)
    printed = by_json.read('{"t": 21.50, "air": {"h": 45}}')
    assert printed is not None
    assert printed[0] == ("21.50", 21.5, 2)


@pytest.mark.parametrize(
    "text",
    ['{"t": true}', '{"t": [1]}', '{"x": 1}', "[1]", '{"t": 1', "{" * 3000, '{"t": "0x1"}', '{"t": 1e999}'],
)
def test_a_json_line_without_the_number_does_not_fit(text: str) -> None:
    assert reader("json", "t").values(text) is None


def test_a_record_over_several_lines_is_given_with_its_last_line() -> None:
    record = reader("record", "number", FieldSpec(name="t", label="Water", unit="°C"))
    found = [(record.values(text), record.partial) for text in ["number: 12", "Water: 44.9 C", "hello"]]
    assert found == [(None, True), ((12.0, 44.9), False), (None, False)]
    newest = record.newest()
    assert newest is not None
    assert newest[1].text == "44.9"


def test_a_record_with_a_lost_line_is_dropped_whole() -> None:
    record = reader("record", "a", "b", "c")
    texts = ["b: 2", "c: 3", "a: 1", "c: 3", "a: 4", "b: 5", "c: 6"]
    assert [record.values(text) for text in texts][-1] == (4.0, 5.0, 6.0)
    assert [record.values(text) for text in ["a: 1", "b: 2"]] == [None, None]
    record.break_off()
    assert (record.values("c: 3"), record.partial) == (None, False)


def test_a_label_on_a_line_of_its_own_names_the_value_on_the_next() -> None:
    record = reader("record", "raw", "t")
    assert [record.values(text) for text in ["raw:", "5", "t", "7"]] == [None, None, None, (5.0, 7.0)]


def test_the_newest_record_is_told_as_printed() -> None:
    pairs = reader("pairs", *LABELLED)
    assert pairs.newest() is None
    for raw in range(4):
        pairs.values(f"raw: {raw}, volts: 2.50, Temp: 25.0 C")
    newest = pairs.newest()
    assert newest is not None
    assert [one.text for one in newest] == ["3", "2.50", "25.0"]


# --- the short way gives what the careful way gives

number_texts = st.one_of(
    st.floats(-1e4, 1e4).map(lambda x: f"{x:.2f}"),
    st.integers(-70000, 70000).map(str),
    st.sampled_from(
        ["nan", "", "1e3", "4.", ".5", "1_0", "+5", "05", "--1", "1.2.3", "9" * 400, "1,5", "٣", " 7", "7 "]
    ),
    st.text(string.digits + ".+-eE,", max_size=5),
)


def _expecting(columns: LayoutReader, points: tuple[bool, ...]) -> LayoutReader:
    assert isinstance(columns, ColumnsReader)
    columns.expect_points(points)
    return columns


def _anew(one: LayoutReader) -> LayoutReader:
    """The same reader as it was before its first line."""
    made = reader_for(one.layout)
    if isinstance(one, ColumnsReader) and isinstance(made, ColumnsReader):
        made.expect_points(one._points)
    return made


FORMS: list[tuple[LayoutReader, str]] = [
    (reader("columns", "a", "b", "c"), "{},{},{}"),
    (reader("columns", "a", "b", "c", separator=" "), "{} {}  {}"),
    (reader("columns", "a", "b", "c", separator=";", decimal_comma=True), "{};{};{}"),
    (reader("columns", "a", "b", "c", decimal_comma=True), "{},{},{}"),
    (reader("pairs", *LABELLED), "raw: {}, volts: {}, Temp: {} C"),
    (reader("pairs", *LABELLED, decimal_comma=True), "raw: {}, volts: {}, Temp: {} C"),
    (reader("pairs", *LABELLED, separator=" "), "raw={} volts={} Temp={} °C"),
    (reader("labels-after", *LABELLED, separator=" "), "{} raw {} volts {} Temp"),
    (reader("json", "a", "b", "c"), '{{"a": {}, "b": {}, "c": {}}}'),
    (reader("pairs", *LABELLED, lead="[12]"), "[41] raw: {}, volts: {}, Temp: {} C"),
    (reader("columns", "a", "b", "c", separator=";", lead="12:30:05"), "12:30:06 {};{};{}"),
    (reader("columns", "a", "b", "c", lead="(", tail=")"), "({}, {}, {})"),
    (reader("columns", "a", "b", "c", separator=";", thousands=","), "{};{};{}"),
    (reader("pairs", FieldSpec(name="n", label=""), "T", "H", separator=" "), "{} T:{}H: {}"),
    (_expecting(reader("columns", "a", "b", "c"), (False, True, False)), "{},{},{}"),
]


@pytest.mark.parametrize(("fast", "form"), FORMS, ids=lambda one: one if isinstance(one, str) else "")
@settings(deadline=None, max_examples=60)
@given(rows=st.lists(st.tuples(number_texts, number_texts, number_texts), min_size=1, max_size=8))
def test_the_short_way_gives_what_the_careful_way_gives(
    fast: LayoutReader, form: str, rows: list[tuple[str, str, str]]
) -> None:
    # A line of plain numbers first, so that the reader has an exact form to go by.
    first = form.format("7", "8.5", "9").replace(".", "," if fast.layout.decimal_comma else ".")
    texts = [first, *(form.format(*row) for row in rows)]
    read = [_anew(fast).read(text) for text in texts]
    careful = [None if one is None else tuple(field.value for field in one) for one in read]
    assert [fast.values(text) for text in texts] == careful
    assert fast.values_of(texts) == careful
    fitting = [text for text, one in zip(texts, careful, strict=True) if one is not None]
    assert fast.values_of(fitting) == [one for one in careful if one is not None]
    for text, one in zip(texts, read, strict=True):
        assert fast.read(text) == one


@pytest.mark.parametrize(("fast", "form"), FORMS, ids=lambda one: one if isinstance(one, str) else "")
@settings(deadline=None, max_examples=40)
@given(junk=st.text(st.characters(blacklist_categories=["Cs"]), max_size=20))
def test_no_text_makes_a_reader_fail(fast: LayoutReader, form: str, junk: str) -> None:
    at = len(junk) // 2
    for text in (junk, junk[:at] + form.format(1, 2, 3) + junk[at:]):
        values = fast.values(text)
        read = _anew(fast).read(text)
        assert values == (None if read is None else tuple(one.value for one in read))
