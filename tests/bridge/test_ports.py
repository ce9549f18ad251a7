from __future__ import annotations

import os
import sys
import threading
from dataclasses import dataclass

import pytest

from bridge.core.seating import BoardSeen
from bridge.ports import Listing, boards_from, list_boards, programs_with_open

DEADLINE_SECONDS = 20.0


@dataclass
class Port:
    """What the operating system may tell of a port."""

    device: str
    serial_number: str | None = None
    location: str | None = None
    description: str = "n/a"


def keys(*ports: Port) -> list[str]:
    return [board.key for board in boards_from(ports)]


def test_a_board_is_known_by_its_serial_number_else_by_its_socket_else_by_its_port() -> None:
    assert keys(
        Port("COM3", serial_number="5A3F01", location="1-1.2"), Port("COM4", location="1-1.3"), Port("COM1")
    ) == ["5A3F01", "location:1-1.3", "COM1"]


def test_a_serial_number_that_two_boards_tell_is_nobodys_own() -> None:
    first, second, third = boards_from(
        [Port("COM3", "0001", "1-1.2"), Port("COM4", "0001", "1-1.3"), Port("COM5", "0002", "1-1.4")]
    )
    assert (first.key, second.key, third.key) == ("location:1-1.2", "location:1-1.3", "0002")
    assert [board.has_own_number for board in (first, second, third)] == [False, False, True]
    assert first.serial_number == "0001"


@pytest.mark.parametrize("number", ["", "  ", "0", "0000", "FFFF", "5&2F5D8F4C&0&2"])
def test_a_serial_number_that_says_nothing_is_none(number: str) -> None:
    assert keys(Port("COM3", number, "1-1.2")) == ["location:1-1.2"]


def test_a_board_says_what_it_is_where_the_system_knows() -> None:
    boards = boards_from([Port("COM3", "5A3F01", description="USB Serial Device (COM3)"), Port("COM4")])
    assert [board.words for board in boards] == ["USB Serial Device (COM3)", ""]


def test_the_ports_of_this_computer_can_be_listed() -> None:
    boards = list_boards(with_programs=True)
    assert len({board.port for board in boards}) == len(boards)
    assert all(board.key for board in boards)


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="can be known on Linux only")
def test_the_program_that_has_a_port_open_is_named() -> None:
    board_end, port_end = os.openpty()
    port = os.ttyname(port_end)
    try:
        assert programs_with_open([port, "/dev/null/none"])[port].endswith(f"(pid {os.getpid()})")
    finally:
        os.close(port_end)
        os.close(board_end)
    assert port not in programs_with_open([port])


def seen(port: str, number: str = "", location: str = "", *, own: bool = True) -> BoardSeen:
    key = number if number and own else f"location:{location}"
    return BoardSeen(port=port, key=key, serial_number=number, location=location)


def test_a_board_is_found_by_number_or_socket_under_whatever_port() -> None:
    listing = Listing(lambda: [seen("COM3", "5A3F01", "1-1.2"), seen("COM4", location="1-1.3")])
    assert listing.port_of("5A3F01") == "COM3"
    assert listing.port_of("location:1-1.2") == "COM3"
    assert listing.port_of("location:1-1.3") == "COM4"
    assert listing.port_of("5A3F02") is None
    assert listing.port_of("") is None
    assert listing.port_of("location:") is None


def test_of_two_boards_with_one_number_only_the_one_at_its_socket_is_found() -> None:
    listing = Listing(
        lambda: [seen("COM3", "0001", "1-1.2", own=False), seen("COM4", "0001", "1-1.3", own=False)]
    )
    assert listing.port_of("0001") is None
    assert listing.port_of("0001", location="1-1.3") == "COM4"
    assert listing.port_of("0001", location="1-1.4") is None


def test_a_listing_is_kept_for_a_moment_and_then_made_anew() -> None:
    now = 0.0
    n_looks = 0

    def look() -> list[BoardSeen]:
        nonlocal n_looks
        n_looks += 1
        return []

    listing = Listing(look, clock_seconds=lambda: now, keep_seconds=1.0)
    for moment in (0.0, 0.5, 0.9):
        now = moment
        listing.boards()
    assert n_looks == 1
    now = 1.0
    listing.boards()
    assert n_looks == 2


def test_many_threads_that_search_at_once_cause_one_look() -> None:
    all_here = threading.Barrier(8)
    n_looks = 0

    def look() -> list[BoardSeen]:
        nonlocal n_looks
        n_looks += 1
        return [seen("COM3", "5A3F01")]

    listing = Listing(look, clock_seconds=lambda: 0.0)
    found: list[str | None] = []

    def search() -> None:
        all_here.wait(DEADLINE_SECONDS)
        found.append(listing.port_of("5A3F01"))

    threads = [threading.Thread(target=search) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(DEADLINE_SECONDS)
    assert found == ["COM3"] * 8
    assert n_looks == 1
