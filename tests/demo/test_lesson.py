"""The lesson reads every wording of the eight boards to the true value."""

from __future__ import annotations

import pytest

from bridge.core.conversion import Converter
from bridge.core.layouts import reader_for
from bridge.core.lesson import BenchChannel, Lesson
from bridge.lesson_file import read_lesson
from demo.boards import BOARDS, Board, steps_of
from demo.make import LESSON
from demo.wording import Sample

NO_CHANNEL = BenchChannel(channel="temperature")


@pytest.fixture(scope="module")
def lesson() -> Lesson:
    return read_lesson(LESSON)


def channel_of(lesson: Lesson, bench: int) -> BenchChannel:
    own = [one for one in lesson.bench(bench).channels if one.channel == "temperature"]
    return own[0] if own else NO_CHANNEL


def converter_of(lesson: Lesson, bench: int) -> Converter:
    own = channel_of(lesson, bench)
    return Converter(lesson.channels[0], own, lesson.conversion(own.conversion))


def sample_at(board: Board, celsius: float) -> Sample:
    """A measurement of exactly that temperature, by a right program."""
    if board.adc is None:
        return Sample(7, 123456, 0, 0.0, round(celsius * 16) / 16, 20.5)
    pin = board.sensor.offset_volts + (celsius + board.sensor.error_celsius) * 0.010
    count = board.adc.count(pin)
    volts = count * board.adc.step_volts
    return Sample(7, 123456, count, volts, (volts - board.sensor.offset_volts) / 0.010, 20.5)


def resolution_celsius(board: Board) -> float:
    return 1 / 16 if board.adc is None else board.adc.step_volts / 0.010


def test_every_bench_of_the_boards_stands_in_the_lesson(lesson: Lesson) -> None:
    assert [one.number for one in lesson.benches] == [board.bench for board in BOARDS]
    for board in BOARDS:
        bench = lesson.bench(board.bench)
        assert (bench.name, bench.baud) == (board.cover, board.baud)
        assert bench.pulse_dtr is board.starts_on_opening
        assert bench.layout is not None


def test_the_lesson_shows_every_kind_of_layout_and_both_starts_of_a_conversion(lesson: Lesson) -> None:
    assert {one.kind for one in lesson.layouts} == {"columns", "pairs", "labels-after", "json", "record"}
    assert {one.start for one in lesson.conversions} == {"count", "volts"}
    assert any(one.decimal_comma for one in lesson.layouts)


def test_marks_and_places_are_each_used_once(lesson: Lesson) -> None:
    assert len({(one.shape, one.colour) for one in lesson.benches}) == 8
    assert len({(one.row, one.place) for one in lesson.benches}) == 8


@pytest.mark.parametrize("celsius", [19.9, 20.5, 31.27, 44.94, 47.6])
@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.cover)
def test_each_wording_gives_the_true_value_within_its_resolution(
    lesson: Lesson, board: Board, celsius: float
) -> None:
    layout = lesson.layout_of(lesson.bench(board.bench))
    assert layout is not None
    reader = reader_for(layout)
    printed = [reader.read(line) for line in board.words(sample_at(board, celsius)).splitlines()]
    assert printed[-1] is not None
    field = channel_of(lesson, board.bench).field or lesson.channels[0].field
    assert field is not None
    number = printed[-1][reader.names.index(field)].value
    assert number is not None
    value = converter_of(lesson, board.bench).value(number)
    assert value == pytest.approx(celsius, abs=resolution_celsius(board) + 0.011)


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.cover)
def test_every_line_of_a_faultless_board_fits_its_layout_but_the_greeting(
    lesson: Lesson, board: Board
) -> None:
    layout = lesson.layout_of(lesson.bench(board.bench))
    assert layout is not None
    reader = reader_for(layout)
    text = b"".join(one.data for one in steps_of(board, faults=(), until_seconds=60)).decode()
    lines = text.removeprefix(board.greeting).splitlines()
    unread = [line for line in lines if reader.values(line) is None and not reader.partial]
    assert unread == []


def test_what_a_group_computes_is_right_where_its_program_is(lesson: Lesson) -> None:
    for board in BOARDS:
        layout = lesson.layout_of(lesson.bench(board.bench))
        assert layout is not None
        reader = reader_for(layout)
        if "celsius" not in reader.names:
            continue
        for line in board.words(sample_at(board, 40.0)).splitlines():
            read = reader.read(line)
        assert read is not None
        printed = read[reader.names.index("celsius")].value
        error = board.sensor.error_celsius
        assert printed == pytest.approx(40.0 + error, abs=resolution_celsius(board) + 0.051)
