"""Which board belongs to which bench. Pure: boards that were seen go in, seats and questions come out."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count

from bridge.core.lesson import Bench

LOCATION = "location:"


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardSeen:
    """A port that the operating system lists, with what it knows of the board on it."""

    port: str  # as it is opened: "COM3", "/dev/ttyACM0"
    key: str  # its own USB serial number, else "location:..." (where it is plugged in), else the port
    serial_number: str = ""  # as the board tells it; two boards may tell the same
    location: str = ""  # "1-1.2": the way through the hubs
    words: str = ""  # what the board calls itself
    open_in: str = ""  # the program that has it open, where that can be known

    @property
    def is_usb(self) -> bool:
        """False for a port that is built in, which may have nothing on it."""
        return self.key != self.port

    @property
    def has_own_number(self) -> bool:
        """True when it is known again wherever it is plugged in."""
        return self.key == self.serial_number != ""

    def is_called(self, name: str) -> bool:
        """Whether a lesson or the instructor may mean this board by that name."""
        by_number = self.serial_number != "" and name == self.serial_number
        by_location = self.location != "" and name == LOCATION + self.location
        return by_number or by_location or name in (self.key, self.port)


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """A board's place."""

    bench: int
    board: BoardSeen


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Only a person can tell where this board belongs."""

    board: BoardSeen
    benches: tuple[int, ...]  # where it may belong
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Seating:
    """What is to be done with the boards that were seen: each is in one of the three."""

    seats: tuple[Seat, ...] = ()
    questions: tuple[Question, ...] = ()
    unseated: tuple[BoardSeen, ...] = ()


def seat_boards(
    boards: Sequence[BoardSeen],
    *,
    benches: Sequence[Bench] = (),
    known: Mapping[str, int] | None = None,
    answers: Mapping[str, int] | None = None,
) -> Seating:
    """Seat what can be seated without a doubt.

    What the instructor answered comes first, then the lesson, then what is known from before; a bench of
    these is kept for its board while that is away. New USB boards take the free benches in the order of their
    ports: the benches for which the lesson names no board or, when it has no benches, the next numbers.
    A board without a serial number of its own is never taken for one that was plugged in elsewhere: while
    such a board is away, a new one is asked about.

    Args:
        boards: All boards of one listing.
        benches: The lesson's benches; `Bench.board` names a board by key or port.
        known: Bench by board key, from before.
        answers: Bench by board key, as the instructor said to a question.
    """
    kept = _kept(benches, known or {}, answers or {})
    left = sorted(boards, key=lambda board: _in_order(board.port))
    seats, questions = _seat_kept(kept, left)
    away = tuple(sorted({n for name, n in kept.items() if name.startswith(LOCATION) and n not in seats}))
    free = _free_numbers(benches, set(kept.values()))
    unseated: list[BoardSeen] = []
    for board in left:
        if board.is_usb and not board.has_own_number and away:
            questions.append(_moved(board, away))
        elif board.is_usb and (number := next(free, 0)):
            seats[number] = board
        else:
            unseated.append(board)
    return Seating(
        seats=tuple(Seat(bench=number, board=seats[number]) for number in sorted(seats)),
        questions=tuple(questions),
        unseated=tuple(unseated),
    )


def names_a_port(board: str) -> bool:
    """Whether a board is named by port or URL ('COM3', '/dev/ttyACM0', 'socket://...'), not by its key."""
    return (
        "://" in board or board.startswith(("/", "\\\\.\\", "-")) or bool(re.fullmatch(r"(?i)com\d+", board))
    )


def _kept(benches: Sequence[Bench], known: Mapping[str, int], answers: Mapping[str, int]) -> dict[str, int]:
    """Bench by the board that it is kept for; a bench has one board."""
    kept = dict(answers)
    by_lesson = {bench.board: bench.number for bench in benches if bench.board}
    for source in (by_lesson, known):
        taken = set(kept.values())
        kept |= {name: n for name, n in source.items() if name not in kept and n not in taken}
    return kept


def _seat_kept(kept: Mapping[str, int], left: list[BoardSeen]) -> tuple[dict[int, BoardSeen], list[Question]]:
    """Seat the boards that have a bench, and take them and the doubtful ones out of `left`."""
    seats: dict[int, BoardSeen] = {}
    questions: list[Question] = []
    for name, number in kept.items():
        called = [board for board in left if board.is_called(name)]
        if not called or number in seats:
            continue
        if len(called) > 1:
            questions += [_same_number(board, name, number) for board in called]
        else:
            seats[number] = called[0]
        for board in called:
            left.remove(board)
    return seats, questions


def _free_numbers(benches: Sequence[Bench], kept: set[int]) -> Iterator[int]:
    numbers = (bench.number for bench in benches if bench.board is None) if benches else count(1)
    return (number for number in numbers if number not in kept)


def _in_order(port: str) -> list[tuple[int, str]]:
    """COM9 before COM10."""
    return [(int(part), "") if part.isdecimal() else (0, part) for part in re.split(r"(\d+)", port)]


def _same_number(board: BoardSeen, name: str, bench: int) -> Question:
    return Question(
        board=board,
        benches=(bench,),
        words=f"two boards call themselves {name}: is the one on {board.port} that of bench {bench}?",
    )


def _moved(board: BoardSeen, away: tuple[int, ...]) -> Question:
    which = " or ".join(str(number) for number in away)
    return Question(
        board=board,
        benches=away,
        words=f"a board without a serial number of its own is on {board.port}: "
        f"is it the one of bench {which}, plugged in elsewhere, or a new one?",
    )
