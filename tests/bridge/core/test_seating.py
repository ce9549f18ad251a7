from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.lesson import Bench, plain_bench
from bridge.core.seating import BoardSeen, Seating, names_a_port, seat_boards


def numbered(port: str, number: str, location: str = "9-9") -> BoardSeen:
    """A board with a serial number of its own."""
    return BoardSeen(port=port, key=number, serial_number=number, location=location)


def plain(port: str, location: str, number: str = "") -> BoardSeen:
    """A board with none, or with one that it shares."""
    return BoardSeen(port=port, key=f"location:{location}", serial_number=number, location=location)


def bench(number: int, board: str | None = None) -> Bench:
    return replace(plain_bench(number), board=board)


def seats(seating: Seating) -> dict[int, str]:
    return {seat.bench: seat.board.port for seat in seating.seats}


def asked(seating: Seating) -> dict[str, tuple[int, ...]]:
    return {question.board.port: question.benches for question in seating.questions}


def test_without_a_lesson_boards_take_the_benches_in_the_order_of_their_ports() -> None:
    boards = [numbered("COM10", "B10"), plain("COM9", "1-1.2"), numbered("COM2", "B2")]
    assert seats(seat_boards(boards)) == {1: "COM2", 2: "COM9", 3: "COM10"}


def test_the_lesson_seats_by_number_by_socket_and_by_port() -> None:
    boards = [numbered("COM2", "B2"), plain("COM3", "1-1.2"), numbered("COM4", "B4")]
    benches = [bench(7, "COM4"), bench(5, "location:1-1.2"), bench(6, "B2")]
    assert seats(seat_boards(boards, benches=benches)) == {5: "COM3", 6: "COM2", 7: "COM4"}


def test_a_bench_is_kept_for_its_board_while_that_is_away() -> None:
    benches = [bench(1, "AWAY"), bench(2), bench(3)]
    seating = seat_boards([numbered("COM2", "B2")], benches=benches, known={"GONE": 2})
    assert seats(seating) == {3: "COM2"}


def test_boards_beyond_the_lessons_free_benches_stay_unseated() -> None:
    boards = [numbered("COM2", "B2"), numbered("COM3", "B3")]
    seating = seat_boards(boards, benches=[bench(1, "AWAY"), bench(4)])
    assert seats(seating) == {4: "COM2"}
    assert [board.port for board in seating.unseated] == ["COM3"]


def test_a_known_board_gets_its_bench_again_under_another_port_name() -> None:
    boards = [numbered("COM1", "NEW"), numbered("COM8", "B2")]
    assert seats(seat_boards(boards, known={"B2": 1})) == {1: "COM8", 2: "COM1"}


def test_the_lesson_comes_before_what_was_before() -> None:
    seating = seat_boards(
        [numbered("COM2", "B2"), numbered("COM3", "B3")], benches=[bench(1, "B3"), bench(2)], known={"B2": 1}
    )
    assert seats(seating) == {1: "COM3", 2: "COM2"}


def test_a_port_that_is_built_in_is_seated_only_where_the_lesson_says_so() -> None:
    built_in = BoardSeen(port="COM1", key="COM1")
    assert seat_boards([built_in]).unseated == (built_in,)
    assert seats(seat_boards([built_in], benches=[bench(3, "COM1")])) == {3: "COM1"}


@pytest.mark.parametrize(
    ("benches", "known"),
    [([], {"location:1-1.2": 3}), ([bench(3, "location:1-1.2"), bench(4)], {})],
    ids=["before", "lesson"],
)
def test_a_board_without_a_number_at_another_socket_is_asked_about(
    benches: list[Bench], known: dict[str, int]
) -> None:
    moved = plain("COM5", "1-1.4")
    seating = seat_boards([moved], benches=benches, known=known)
    assert seats(seating) == {}
    assert asked(seating) == {"COM5": (3,)}
    assert "bench 3" in seating.questions[0].words
    assert "COM5" in seating.questions[0].words


def test_a_board_with_a_number_is_not_asked_about_while_another_is_away() -> None:
    seating = seat_boards([numbered("COM5", "B5")], known={"location:1-1.2": 1})
    assert seats(seating) == {2: "COM5"}
    assert not seating.questions


def test_a_board_without_a_number_is_new_when_none_is_away() -> None:
    boards = [plain("COM4", "1-1.2"), plain("COM5", "1-1.4")]
    assert seats(seat_boards(boards, known={"location:1-1.2": 1})) == {1: "COM4", 2: "COM5"}


def test_the_answer_to_a_question_seats_the_board() -> None:
    moved = plain("COM5", "1-1.4")
    benches = [bench(3, "location:1-1.2"), bench(4)]
    answered = seat_boards([moved], benches=benches, answers={"location:1-1.4": 3})
    assert seats(answered) == {3: "COM5"}
    assert not answered.questions


def test_of_two_boards_with_the_lessons_number_none_is_taken_silently() -> None:
    boards = [plain("COM4", "1-1.2", "0001"), plain("COM5", "1-1.4", "0001")]
    benches = [bench(1, "0001"), bench(2)]
    assert asked(seat_boards(boards, benches=benches)) == {"COM4": (1,), "COM5": (1,)}
    answered = seat_boards(boards, benches=benches, answers={"location:1-1.2": 1})
    assert seats(answered) == {1: "COM4", 2: "COM5"}


@st.composite
def rooms(draw: st.DrawFn) -> tuple[list[BoardSeen], list[Bench], dict[str, int]]:
    names = [f"B{i}" for i in range(6)] + [f"location:1-{i}" for i in range(6)]
    numbers = draw(st.lists(st.integers(0, 5), unique=True))
    sockets = draw(st.lists(st.integers(0, 5), unique=True))
    boards = [numbered(f"COM{i + 10}", f"B{i}", f"2-{i}") for i in numbers]
    boards += [plain(f"COM{i + 20}", f"1-{i}") for i in sockets]
    named = draw(st.lists(st.sampled_from(names), unique=True, max_size=4))
    benches = [bench(i + 1, name) for i, name in enumerate(named)] + [bench(9), bench(10)]
    known = draw(st.dictionaries(st.sampled_from(names), st.integers(1, 12), max_size=4))
    return draw(st.permutations(boards)), draw(st.sampled_from([benches, []])), known


@given(rooms())
def test_each_board_comes_out_once_and_no_bench_gets_two(
    room: tuple[Sequence[BoardSeen], list[Bench], dict[str, int]],
) -> None:
    boards, benches, known = room
    seating = seat_boards(boards, benches=benches, known=known)
    out = [seat.board for seat in seating.seats]
    out += [question.board for question in seating.questions] + list(seating.unseated)
    assert sorted(board.port for board in out) == sorted(board.port for board in boards)
    assert len(seats(seating)) == len(seating.seats)
    for seat in seating.seats:
        belongs = {one.board: one.number for one in benches if one.board}
        assert belongs.get(seat.board.key, seat.bench) == seat.bench


@pytest.mark.parametrize("port", ["COM3", "com12", "\\\\.\\COM10", "/dev/ttyACM0", "socket://h:1", "-"])
def test_ports_are_told_from_keys(port: str) -> None:
    assert names_a_port(port)


@pytest.mark.parametrize("key", ["5A3F01", "location:1-1.2", "COMET1", "COM"])
def test_keys_are_told_from_ports(key: str) -> None:
    assert not names_a_port(key)
