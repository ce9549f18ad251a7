from __future__ import annotations

import stat
import sys
from pathlib import Path

import pytest

from bridge.core.calibration_given import CalibrationPoint
from bridge.core.lesson import BandsGiven, BenchChannel, CalibrationGiven, FieldSpec, Lesson, mark_of
from bridge.errors import LessonError
from bridge.lesson_file import faults_of, lesson_from_text, lesson_text, read_lesson, save_lesson
from tests.bridge.lessons import FULL, line_of, only_fault, with_line


def test_every_key_of_a_full_lesson_comes_out_as_a_value() -> None:
    lesson = lesson_from_text(FULL)
    (channel,) = lesson.channels
    assert channel.bands == BandsGiven(
        baseline=20.0,
        edges=(2.0, 5.0, 10.0),
        names=("room", "lukewarm", "warm", "start"),
        deadband=0.4,
        phases=("baseline", "run"),
    )
    assert (channel.limits[0].kind, channel.limits[0].at, channel.limits[0].on_delay_seconds) == (
        "high",
        48.0,
        2.0,
    )
    assert lesson.conversions[0].volts_per_unit == 0.010
    assert lesson.layouts[0].fields[2] == FieldSpec(name="temperature", label="Temp", unit="°C")
    assert lesson.benches[0].channels == (
        BenchChannel(
            channel="temperature", field="raw", conversion="sensor", baseline=20.5,
            calibration=CalibrationGiven(
                fit="line", date="2026-03-05", reference="bath thermometer",
                points=(CalibrationPoint(20.1, 20.6, 0.1, 0.05), CalibrationPoint(45.0, 44.7, 0.1, 0.05)),
            ),
        ),
    )  # fmt: skip
    assert (lesson.lines_per_second, lesson.try_baud) == (10.0, "ask")
    assert [bench.lines_per_second for bench in lesson.benches] == [5.0, None]


def test_a_title_alone_is_a_lesson() -> None:
    assert lesson_from_text('title = "Open"') == Lesson(title="Open")


def test_a_bench_of_a_number_alone_has_its_plain_name_and_a_mark_of_its_own() -> None:
    second = lesson_from_text(FULL).benches[1]
    assert (second.name, second.shape, second.colour) == ("Bench 2", mark_of(2).shape, mark_of(2).colour)


def test_a_bench_without_a_mark_takes_none_that_another_bench_was_given() -> None:
    taken = mark_of(2)
    text = with_line('shape = "circle"', f'shape = "{taken.shape}"').replace('"orange"', f'"{taken.colour}"')
    first, second = lesson_from_text(text).benches
    assert (first.shape, first.colour) != (second.shape, second.colour)


def test_sixty_four_benches_of_numbers_alone_have_sixty_four_marks() -> None:
    text = 'title = "All"\n' + "".join(f"[[bench]]\nnumber = {n}\n" for n in range(1, 65))
    assert len({(one.shape, one.colour) for one in lesson_from_text(text).benches}) == 64


def test_a_limit_outside_the_scale_is_no_fault() -> None:
    assert faults_of(with_line("at = 48.0", "at = 480.0")) == []


def test_whole_numbers_stand_for_numbers() -> None:
    assert lesson_from_text(with_line("high = 55.0", "high = 55")).channels[0].high == 55.0


WRONG = [
    ("low = 15.0", "low = true", "low must be a number"),
    ("low = 15.0", 'low = "15,5"', "low = 15.5"),
    ("low = 15.0", "low = nan", "finite"),
    ("low = 15.0", "low = -inf", "finite"),
    ("low = 15.0", "low = 1e999", "finite"),
    ("low = 15.0", "low = 0x1" + "0" * 400, "finite"),
    ("low = 15.0", "low = 55.0", "below high"),
    ("decimals = 1", "decimals = 7", "from 0 to 6, found 7"),
    ("decimals = 1", "decimals = 1.0", "whole number, found 1.0"),
    ("decimals = 1", "decimals = false", "whole number, found false"),
    ("    5.0,", "    1.5,", "edges must rise, found 1.5 after 2"),
    ("    2.0,  #", "    0.0,  #", "greater than 0, found 0"),
    ('"lukewarm", "warm", "start"]', "]", "one more than edges, 4 here, found 1"),
    ("deadband = 0.4", "deadband = -0.4", "0 or more, found -0.4"),
    ('kind = "high"', 'kind = "hihg"', '(did you mean "high"?)'),
    ('priority = "high"', 'priority = "urgent"', '"high", "medium", "low", found "urgent"'),
    ("on_delay_seconds = 2.0", "on_delay_seconds = -1", "0 or more"),
    ("width_bits = 10", "width_bits = 7", "from 8 to 24, found 7"),
    ("reference_volts = 5.0", "reference_volts = 5000", "looks like millivolts, 5000 mV are 5 V"),
    ("reference_volts = 5.0", "reference_volts = 0", "above 0 and at most 24, found 0"),
    ("volts_per_unit = 0.010", "volts_per_unit = 0", "must not be 0"),
    ('divisor = "2^n"', 'divisor = "1024"', '"2^n", "2^n-1", found "1024"'),
    ('kind = "pairs"', 'kind = "pear"', '(did you mean "pairs"?)'),
    ('separator = ";"', 'separator = ""', "separator must not be empty"),
    ("number = 2", "number = 65", "from 1 to 64, found 65"),
    ("number = 2", "number = 1", "the number 1 is taken"),
    ("number = 2", 'number = 2\nname = "No cover"', 'the name "No cover" is taken by bench 1'),
    ("number = 2", 'number = 2\nboard = "location:1-1.2"', "is taken by bench 1"),
    ("number = 2", 'number = 2\nshape = "circle"\ncolour = "orange"', "bench 1 has the mark circle in"),
    ("number = 2", "number = 2\nrow = 1\nplace = 1", "bench 1 stands at row 1, place 1 already"),
    ("number = 2", "number = 2\nrow = 2", "row is there and place is missing"),
    ("baud = 9600", "baud = 96", "from 300 to 4000000, found 96"),
    ("pulse_dtr = true", 'pulse_dtr = "yes"', "true or false"),
    ("lines_per_second = 5.0", "lines_per_second = 0", "above 0 and at most 10000, found 0"),
    ('try_baud = "ask"', 'try_baud = "self"', '(did you mean "itself"?)'),
    ('fit = "line"', 'fit = "lin"', '(did you mean "line"?)'),
    ('fit = "line"', 'fit = "quadratic"', "needs 3 points with different indications, found 2"),
    ('fit = "line"\npoints = [\n    [20.1, 20.6', 'fit = "line"\npoints = [\n    [20.1, 44.7', "needs 2"),
    ("[20.1, 20.6, 0.1, 0.05]", "[20.1, 20.6, 0.1]", "[reference, indication], found 3 numbers in one"),
    ("[20.1, 20.6, 0.1, 0.05]", "[20.1, 20.6, -0.1, 0.0]", "0 (unknown) or more, found -0.1"),
    ("points = [\n    [20.1, 20.6", "points = [\n    [60.1, 20.6", "falls while the indication rises"),
    ("[45.0, 44.7, 0.1, 0.05]", '[45.0, "44.7", 0.1, 0.05]', "entry 2 of points must be a number"),
    ("[45.0, 44.7, 0.1, 0.05]", "45.0", "entry 2 of points must be a list of numbers"),
    ("date = 2026-03-05", 'date = "5.3.2026"', "date must be a date, year-month-day"),
    ("date = 2026-03-05", "date = 20260305", "date must be a date, year-month-day, found 20260305"),
    ('reference = "bath thermometer"', "reference = 7", "reference must be text"),
    ('layout = "labelled"', 'layout = "labeled"', '(did you mean "labelled"?)'),
    ("[bench.channel.temperature]", "[bench.channel.temprature]", '(did you mean "temperature"?)'),
    ("gain = 1.0", "gain = 0", "gain must not be 0"),
    ("baseline = 20.5", "baselin = 20.5", '(did you mean "baseline"?)'),
    ("baseline = 20.5", 'colour = "blue"', "it belongs to [[bench]]"),
    ('note = "Warm tap water"', "note = 5", "note must be text"),
    ('title = "Which cover keeps the cup warm?"  #', 'title = " "  #', "title must be a text on one line"),
    ("number = 2", "number = 2\n[bench.channel]\ntemperature = 3", "temperature must be a table, found 3"),
    ("    2.0,  # hand-warm", '    "2.0",  # hand-warm', "entry 1 of edges must be a number"),
    ("fields = [", "fields = [7, ", "entry 1 of fields must be a name or a table, found 7"),
    ("fields = [", 'fields = ["volts", ', 'the name "volts" stands twice'),
    ('label = "Temp"', 'label = "raw"', 'the label "raw" stands twice'),
    ('label = "Temp"', 'lable = "Temp"', '(did you mean "label"?)'),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "words"), WRONG)
def test_a_wrong_line_is_told_once_with_its_line_and_what_was_found(old: str, new: str, words: str) -> None:
    fault = only_fault(FULL.replace(old, new, 1))
    assert words in str(fault)
    assert fault.write
    first = line_of(FULL, old)
    assert first <= fault.line <= first + new.count("\n")


def test_a_unit_is_needed_where_a_conversion_is_used() -> None:
    assert "unit must say what the conversion" in only_fault(with_line('unit = "°C"\nfield', "field")).wrong


def test_a_decimal_comma_between_commas_is_the_instructors_choice() -> None:
    text = 'title = "x"\n[[layout]]\nname = "l"\nkind = "columns"\nfields = ["a"]\ndecimal_comma = true\n'
    assert lesson_from_text(text).layouts[0].decimal_comma


def test_a_low_limit_above_the_high_one_is_refused() -> None:
    limit = '[[channel.limit]]\nkind = "low"\nat = 50.0\n\n# The sensor'
    assert "the low limit must be below the high one" in only_fault(with_line("# The sensor", limit)).wrong


def test_a_second_high_limit_is_refused() -> None:
    limit = '[[channel.limit]]\nkind = "high"\nat = 50.0\n\n# The sensor'
    assert "a high limit already" in only_fault(with_line("# The sensor", limit)).wrong


def test_a_thirteenth_edge_is_refused() -> None:
    edges = ", ".join(str(n) for n in range(1, 14))
    text = f'title = "x"\n[[channel]]\nname = "t"\n[channel.bands]\nbaseline = 0\nedges = [{edges}]\n'
    assert "found 13" in only_fault(text).wrong


def test_the_sixty_fifth_bench_is_refused_on_its_line() -> None:
    text = 'title = "x"\n' + "".join(f"[[bench]]\nnumber = {n}\n" for n in range(1, 66))
    faults = faults_of(text)
    assert ("at most 64" in faults[0].wrong, faults[0].line) == (True, line_of(text, "number = 65") - 1)


def test_single_brackets_for_a_bench_are_told() -> None:
    assert only_fault('title = "x"\n[bench]\nnumber = 1\n').write == "[[bench]]"


def test_a_missing_key_is_told_at_its_table() -> None:
    fault = only_fault(with_line('name = "sensor"\nstart = "count"', 'name = "sensor"'))
    assert ("start is missing" in fault.wrong, fault.line) == (True, line_of(FULL, "[[conversion]]"))


def test_a_faulty_name_brings_no_second_fault_where_it_is_used() -> None:
    assert only_fault(with_line('name = "sensor"', "name = 5")).line == line_of(FULL, 'name = "sensor"')


def test_all_faults_are_told_at_once_by_their_lines() -> None:
    text = (
        FULL.replace("15.0", "15,0").replace("width_bits = 10", "width_bits = 99").replace("= true", "= True")
    )
    assert [fault.line for fault in faults_of(text)] == [
        line_of(FULL, "low = "), line_of(FULL, "width_bits"), line_of(FULL, "pulse_dtr"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("line", "write"),
    [
        ("low = 15,0", "low = 15.0"),
        ("low = 15 °C", "low = 15"),
        ("low = .5", "low = 0.5"),
        ("low = 5.", "low = 5.0"),
        ("unit = °C", 'unit = "°C"'),
        ("unit = „°C“", 'unit = "°C"'),
        ("unit = 'C", 'unit = "C"'),
        ("unit =", 'unit = "text"'),
        ("unit: C", 'unit = "C"'),
        ("pulse_dtr = True", "pulse_dtr = true"),
        ("pulse_dtr = no", "pulse_dtr = false"),
        ("[[channel]", "[[channel]]"),
        ("[channel.bands", "[channel.bands]"),
    ],
)
def test_a_line_that_is_no_toml_gets_what_was_meant(line: str, write: str) -> None:
    told = [(one.line, one.write) for one in faults_of(f'title = "x"\n{line}\n')]
    assert (2, write) in told


def test_a_key_that_stands_twice_is_told_on_its_second_line() -> None:
    fault = only_fault('title = "x"\ntitle = "y"\n')
    assert (fault.line, "second time" in fault.wrong) == (2, True)


def test_a_file_that_ends_inside_a_list_is_told() -> None:
    assert faults_of('title = "x"\nnote = [1,\n')[0].line == 2


def test_a_file_that_is_no_utf_8_is_told_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "lesson.toml"
    path.write_bytes('title = "x"\nnote = "°C"\n'.encode("latin-1"))
    with pytest.raises(LessonError) as caught:
        read_lesson(path)
    assert (caught.value.faults[0].line, "not UTF-8" in caught.value.faults[0].wrong) == (2, True)


def test_a_file_that_is_not_there_is_told_as_such(tmp_path: Path) -> None:
    with pytest.raises(LessonError, match="can't be read") as caught:
        read_lesson(tmp_path / "none.toml")
    assert caught.value.remedy.startswith("Check the name")


def test_a_byte_order_mark_and_windows_line_ends_are_read(tmp_path: Path) -> None:
    path = tmp_path / "lesson.toml"
    path.write_bytes(b"\xef\xbb\xbf" + FULL.replace("\n", "\r\n").encode())
    assert read_lesson(path) == lesson_from_text(FULL)


def test_a_bad_line_of_a_windows_file_has_its_own_number(tmp_path: Path) -> None:
    assert only_fault(FULL.replace("baud = 9600", "baud = 1").replace("\n", "\r\n")).line == line_of(
        FULL, "baud = 9600"
    )


def test_saving_keeps_line_ends_mark_and_mode(tmp_path: Path) -> None:
    path = tmp_path / "lesson.toml"
    path.write_bytes(b'\xef\xbb\xbftitle = "x"\r\nnote = "y"\r\n')
    path.chmod(0o640)
    save_lesson(path, FULL)
    assert path.read_bytes() == b"\xef\xbb\xbf" + FULL.replace("\n", "\r\n").encode()
    if sys.platform != "win32":
        assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert list(tmp_path.iterdir()) == [path]


def test_saving_writes_through_a_link(tmp_path: Path) -> None:
    path, link = tmp_path / "lesson.toml", tmp_path / "link.toml"
    path.write_text('title = "x"\n')
    link.symlink_to(path)
    save_lesson(link, FULL)
    assert (link.is_symlink(), lesson_text(path)) == (True, FULL)


def test_a_faulty_text_is_not_saved(tmp_path: Path) -> None:
    path = tmp_path / "lesson.toml"
    path.write_text('title = "x"\n')
    with pytest.raises(LessonError):
        save_lesson(path, "title = 5\n")
    assert path.read_text() == 'title = "x"\n'
    assert list(tmp_path.iterdir()) == [path]
