"""The mistakes of real firmware are found by name, and right programs are left in peace."""

from __future__ import annotations

import sys

import pytest

from bridge.core.findings import Finding, FindingKind
from bridge.lesson_file import lesson_from_text
from tests.firmware.building import Built
from tests.firmware.followed import SUPPLY_MILLIVOLTS, FollowedBoard
from tests.firmware.lessons import lesson_text

pytestmark = [
    pytest.mark.firmware,
    pytest.mark.skipif(sys.platform == "win32", reason="the boards here are pseudo-terminals"),
]
COOL, WARM, HIGH = 207, 450, 4800  # millivolts
PATIENCE = 15  # of the board's seconds


def followed(built: Built, program: str, *, reference: str = "5.0") -> FollowedBoard:
    text = lesson_text(program).replace("reference_volts = 5.0", f"reference_volts = {reference}")
    return FollowedBoard(built, program, lesson_from_text(text))


def wait_for(board: FollowedBoard, kind: FindingKind, channel: str = "") -> Finding:
    board.pass_until(lambda: (kind, channel) in board.findings, seconds=PATIENCE)
    return board.findings[kind, channel]


def wait_until_gone(board: FollowedBoard, kind: FindingKind, channel: str = "") -> None:
    board.pass_until(lambda: (kind, channel) not in board.findings, seconds=PATIENCE)


@pytest.mark.parametrize("program", ["counts", "labels_after", "labels_before_lines"])
def test_nothing_is_found_of_a_right_program_over_the_whole_range(built: Built, program: str) -> None:
    with followed(built, program) as board:
        board.sweep(COOL, HIGH, seconds=10)
        board.hold(HIGH, seconds=6)
        board.sweep(HIGH, COOL, seconds=4)
        assert board.changes == []
        assert board.found_again() == []
        verdicts = {one.channel: one.verdict for one in board.pipeline.worth()}
        if program == "counts":  # beside a count alone there is nothing to check
            assert verdicts == {"temperature": None}
        else:
            verdict = verdicts["printed"]
            assert verdict is not None
            assert (verdict.state, verdict.would_tell) == ("right", "")
            assert verdict.found == verdict.expected == "°C = count × 5 V / 1024 / 0.01 V per °C"


def test_a_division_of_whole_numbers_is_named(built: Built) -> None:
    with followed(built, "integer_division") as board:
        board.sweep(COOL, HIGH, seconds=20)
        one = board.findings["wrong formula", "printed"]
        assert one.weight == "fault"
        assert one.words.startswith(
            "The program divides in whole numbers (count × 5 / 1024), which loses the"
        )
        assert "too low here" in one.words
        assert "decimal point" in one.remedy
        # The same mistake seen from its other side: numbers that stand still, or come in whole volts.
        assert {kind for kind, _ in board.found} <= {"wrong formula", "too coarse", "stuck"}
        assert board.found_again() == board.changes


def test_a_product_that_overflows_16_bits_is_named(built: Built) -> None:
    with followed(built, "overflow") as board:
        board.sweep(
            COOL, 310, seconds=5
        )  # counts up to 63: as yet the product fits, and the program is right
        assert board.changes == []
        board.sweep(310, 1000, seconds=5)
        one = wait_for(board, "wrong formula", "printed")
        assert one.weight == "fault"
        assert one.words.startswith(
            "The program multiplies count × 500 in 16 bits, which overflows from count 66 on"
        )
        assert "larger type" in one.remedy
        assert board.found == [("wrong formula", "printed")]
        assert board.found_again() == board.changes


def test_a_formula_with_another_reference_is_named_with_both_voltages(built: Built) -> None:
    with followed(built, "labels_after", reference="3.3") as board:
        board.sweep(COOL, WARM, seconds=5)
        one = wait_for(board, "wrong formula", "printed")
        assert one.words.startswith(
            "The program computes with 5 V, but the board's reference is 3.3 V: it reads"
        )
        assert "too high here" in one.words
        assert "3.3 V belongs there" in one.remedy
        assert board.found == [("wrong formula", "printed")]
        assert board.found_again() == board.changes


def test_a_board_that_its_watchdog_starts_again_and_again_is_told_as_resetting(built: Built) -> None:
    with followed(built, "watchdog") as board:
        board.hold(WARM, seconds=PATIENCE)  # the first seconds after the port was opened say nothing
        wait_for(board, "board resetting")
        board.pass_until(lambda: board.findings["board resetting", ""].weight == "fault", seconds=PATIENCE)
        one = board.findings["board resetting", ""]
        assert one.words == "The board starts anew again and again"
        assert "its greeting came again" in one.evidence
        assert board.found == [("board resetting", "")]  # half lines are not told beside it
        assert board.found_again() == board.changes


@pytest.mark.parametrize("program", ["counts", "labels_after"])
def test_a_pin_at_a_rail_is_told_until_it_has_left_it(built: Built, program: str) -> None:
    ends: list[tuple[int, FindingKind, str]] = [
        (0, "bottom rail", "0 V"),
        (SUPPLY_MILLIVOLTS, "top rail", "the reference voltage"),
    ]
    with followed(built, program) as board:
        board.sweep(COOL, WARM, seconds=5)
        for millivolts, kind, at in ends:
            board.hold(millivolts, seconds=1)
            one = wait_for(board, kind, "temperature")
            assert one.weight == "fault"
            assert f"which is {at} at the pin" in one.evidence
            board.hold(WARM, seconds=1)
            wait_until_gone(board, kind, "temperature")
        assert board.found == [("bottom rail", "temperature"), ("top rail", "temperature")]
        assert board.findings == {}
        assert board.found_again() == board.changes
