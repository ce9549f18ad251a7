"""Real firmware in an emulated 8-bit microcontroller with a 10-bit converter and a 5 V reference."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from functools import partial
from pathlib import Path

import pytest

from bridge import Client
from bridge.core.lesson import OPEN_LESSON
from bridge.lesson_file import lesson_from_text
from tests.dashboard.test_supervising import PATIENCE_SECONDS, Running, wait_until
from tests.firmware.building import BAUD, CLOCK_HZ, MCU, Built, program_names
from tests.firmware.emulated import EmulatedBoard, ReadBoard
from tests.firmware.lessons import LAYOUTS, lesson_text

pytestmark = [
    pytest.mark.firmware,
    pytest.mark.skipif(sys.platform == "win32", reason="the boards here are pseudo-terminals"),
]
N_RECORDS = 8  # in a row must say the same of a pin
LSB_VOLTS = 5.0 / 1024
LSB_DEGREES = LSB_VOLTS / 0.010
ROUNDING = 1e-9
WARM, LUKEWARM, COOL = 450, 318, 201  # millivolts: tap water at 45 °C, 31.8 °C, a room at 20.1 °C


def read_at(board: EmulatedBoard, read: ReadBoard, millivolts: int) -> list[dict[str, float]]:
    """What is read once a pin has that voltage: the temperature from the count must get there and stay."""
    board.set_pin(millivolts)
    return read.records_after(lambda record: is_within_one_lsb(record["temperature"], millivolts), N_RECORDS)


def is_within_one_lsb(degrees: float, millivolts: int) -> bool:
    return abs(degrees - millivolts / 10) <= LSB_DEGREES + ROUNDING


def count_of(degrees: float) -> int:
    """The count from which the lesson made that temperature."""
    count = round(degrees / LSB_DEGREES)
    assert count * LSB_DEGREES == pytest.approx(degrees)
    return count


def test_every_program_is_tested() -> None:
    assert sorted(LAYOUTS) == program_names()


@pytest.mark.parametrize("program", ["counts", "labels_after", "labels_before_lines", "watchdog"])
def test_a_right_board_follows_its_pin_within_one_lsb(built: Built, program: str) -> None:
    lesson = lesson_from_text(lesson_text(program))
    with EmulatedBoard(built, program) as board, ReadBoard(board, lesson) as read:
        for millivolts in (WARM, LUKEWARM, COOL, 0, 5000):
            for record in read_at(board, read, millivolts):
                assert is_within_one_lsb(record["temperature"], millivolts)
                # The board makes the same of its count, down to the last digit that it prints.
                assert record.get("printed", record["temperature"]) == pytest.approx(
                    record["temperature"], abs=0.05 + 1e-3
                )
                volts = count_of(record["temperature"]) * LSB_VOLTS
                assert record.get("volts", volts) == pytest.approx(volts, abs=0.0005 + 1e-5)


@pytest.mark.parametrize("program", ["counts", "labels_after", "labels_before_lines"])
def test_without_a_lesson_what_a_right_board_prints_follows_its_pin_as_well(
    built: Built, program: str
) -> None:
    with EmulatedBoard(built, program) as board, ReadBoard(board, OPEN_LESSON) as read:
        board.set_pin(COOL)
        read.until(lambda: len(read.readings) > 0)
        for millivolts in (WARM, LUKEWARM):
            board.set_pin(millivolts)
            volts = millivolts / 1000
            records = read.records_after(partial(follows, volts=volts), N_RECORDS)
            assert [record for record in records if not follows(record, volts)] == []


def follows(record: dict[str, float], volts: float) -> bool:
    """Whether each number, by its label, says these volts at the pin; one without a label is a count."""
    if len(record) == 1:
        return abs(next(iter(record.values())) - volts / LSB_VOLTS) <= 1
    assert {name.casefold() for name in record} == {"raw", "volts", "temp"}
    steps = {"raw": LSB_VOLTS, "volts": 1.0, "temp": 0.010}  # volts per printed unit
    digits = {"raw": 0.0, "volts": 0.0005, "temp": 0.0005}  # half the last digit, in volts
    return all(
        abs(value * steps[name] - volts) <= LSB_VOLTS + digits[name] + ROUNDING
        for name, value in ((name.casefold(), value) for name, value in record.items())
    )


def test_a_division_of_whole_numbers_loses_the_fraction_that_the_count_still_has(built: Built) -> None:
    lesson = lesson_from_text(lesson_text("integer_division"))
    with EmulatedBoard(built, "integer_division") as board, ReadBoard(board, lesson) as read:
        for millivolts, whole_volts in ((WARM, 0), (1700, 1), (4990, 4)):
            for record in read_at(board, read, millivolts):
                assert is_within_one_lsb(record["temperature"], millivolts)
                assert record["volts"] == whole_volts == count_of(record["temperature"]) * 5 // 1024
                assert record["printed"] == whole_volts * 100
                assert record["temperature"] - record["printed"] > 40


def test_a_product_beyond_16_bits_prints_too_little_by_what_an_int_can_not_hold(built: Built) -> None:
    lesson = lesson_from_text(lesson_text("overflow"))
    with EmulatedBoard(built, "overflow") as board, ReadBoard(board, lesson) as read:
        for millivolts in (COOL, LUKEWARM):  # counts up to 65: 65 * 500 fits
            for record in read_at(board, read, millivolts):
                assert record["printed"] == int(record["temperature"])
        for record in read_at(board, read, WARM):
            count = count_of(record["temperature"])
            assert is_within_one_lsb(record["temperature"], WARM)
            assert count * 500 > 0x7FFF
            assert record["printed"] == int((count * 500 - 0x10000) / 1024) < 0


def test_a_board_that_its_watchdog_starts_anew_gives_no_reading_of_the_half_line(built: Built) -> None:
    lesson = lesson_from_text(lesson_text("watchdog"))
    with EmulatedBoard(built, "watchdog") as board, ReadBoard(board, lesson) as read:
        read_at(board, read, LUKEWARM)
        n_lines = len(read.lines)

        def greetings() -> list[int]:
            return [number for number, text, _ in read.lines[n_lines:] if "by the watchdog" in text]

        read.until(lambda: len(greetings()) >= 2 and read.lines[-1][2] == "read")
        fates = {number: (text, fate) for number, text, fate in read.lines}
        with_reading = {one.line for one in read.readings}
        for number in greetings():
            half = fates.get(number - 1, ("", ""))
            assert half == ("raw: 65, volts: 0.317, teCup watch 3", "set aside")
            assert fates[number] == ("started by the watchdog", "text")
            assert not {number - 1, number} & with_reading
        later = read.records()[-N_RECORDS:]
        assert [one for one in later if not is_within_one_lsb(one["temperature"], LUKEWARM)] == []


def test_a_board_that_is_unplugged_ends_in_good_order(built: Built) -> None:
    board = EmulatedBoard(built, "counts")
    assert Path(board.port).exists()
    assert board.unplug() == 0


def test_an_emulator_that_nobody_ends_stops_by_itself(built: Built) -> None:
    words = [str(built.emulator), str(built.program("counts")), MCU, str(CLOCK_HZ), "1", "0.05"]
    never_ends, writing_end = os.pipe()
    try:
        ended = subprocess.run(words, stdin=never_ends, capture_output=True, timeout=20, check=False)
    finally:
        os.close(never_ends)
        os.close(writing_end)
    assert ended.returncode == 0
    assert b"\nport " in ended.stdout


def test_a_whole_session_reads_an_emulated_board_and_gives_its_values_to_a_program(
    built: Built, tmp_path: Path
) -> None:
    lesson = tmp_path / "lesson.toml"
    lesson.write_text(lesson_text("labels_after"), encoding="utf-8")
    with EmulatedBoard(built, "labels_after", speed=1.0) as board:
        board.set_pin(WARM)
        live = Running(tmp_path / "kept", "live", str(lesson), f"--board=1={board.port}@{BAUD}")
        # Where no reading came, the loop below would wait for ever.
        too_long = threading.Timer(2 * PATIENCE_SECONDS, live.process.terminate)
        too_long.start()
        try:
            live.told_until("Stop")
            wait_until(lambda: live.link_of_bench_1() == "open", "the port to be open")
            with Client(f"ws://127.0.0.1:{live.bridge_port}", patience_seconds=0) as client:
                assert first_within(client, WARM) == "°C"
                board.set_pin(COOL)
                assert first_within(client, COOL) == "°C"
        finally:
            too_long.cancel()
            live.end()


def first_within(client: Client, millivolts: int) -> str:
    """Wait for a temperature that fits the pin; gives its unit."""
    for reading in client:
        if reading.channel == "temperature" and reading.value is not None:
            assert reading.quality == "good"
            if is_within_one_lsb(reading.value, millivolts):
                return reading.unit
    raise AssertionError("the readings ended")
