from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterator
from itertools import repeat
from pathlib import Path

import pytest
import serial

from bridge.errors import ControlError, PortError, PortProblem
from bridge.inbox import Arrived
from bridge.sources import PortSource, opening, stop_all
from bridge.sources.port import growing_waits
from tests.bridge.sources.rig import DEADLINE_SECONDS, Takings, Terminal

pytestmark = pytest.mark.skipif(not hasattr(os, "openpty"), reason="Windows has no pseudo-terminals")

Reads = Callable[..., PortSource]


def test_what_a_board_prints_arrives_byte_by_byte_as_it_is(
    takings: Takings, plug: Callable[[], Terminal], reads: Reads
) -> None:
    board = plug()
    reads(board.port)
    opened = takings.until_states("open")
    assert (opened.port, opened.baud, opened.breaks) == (board.port, 9600, False)
    every_byte = bytes(range(256))
    board.prints(b"raw 512 Temp: 21.5 \xc2\xb0C\r\n" + every_byte)
    takings.until_data(b"raw 512 Temp: 21.5 \xc2\xb0C\r\n" + every_byte)


def test_the_port_runs_at_the_baud_rate_that_was_asked_for(
    takings: Takings, plug: Callable[[], Terminal], reads: Reads
) -> None:
    import termios

    board = plug()
    reads(board.port, baud=115200)
    takings.until_states("open")
    assert termios.tcgetattr(board.board_end)[4:6] == [termios.B115200, termios.B115200]


def test_a_board_that_was_unplugged_is_found_again_under_another_port_name(
    takings: Takings, plug: Callable[[], Terminal], reads: Reads
) -> None:
    first = plug()
    second = plug()
    plugged_in: list[str] = [first.port]
    reads("5A3F01", find=lambda: plugged_in[0] if plugged_in else None)
    takings.until_states("open")
    first.prints(b"21.5\n21.")
    takings.until_data(b"21.5\n21.")
    plugged_in.clear()
    first.unplug()
    lost = takings.until_states("open", "lost")
    assert lost.breaks
    assert lost.port == first.port
    assert "lost" in lost.words
    assert "Plug the board in" in lost.remedy
    plugged_in.append(second.port)
    again = takings.until_states("open", "lost", "open")
    assert again.breaks
    assert again.port == second.port
    second.prints(b"6\n")
    takings.until_data(b"21.5\n21.6\n")
    assert takings.items.index(again) < len(takings.items) - 1  # the break is told before the new bytes


def test_a_board_that_is_not_plugged_in_is_searched_for_by_name_and_told_once(
    takings: Takings, plug: Callable[[], Terminal], reads: Reads
) -> None:
    board = plug()
    answers = iter([None, None, None, board.port])
    reads("5A3F01", find=lambda: next(answers))
    takings.until_states("searching", "open")
    searching = takings.links()[0]
    assert searching.words == "board 5A3F01 is not plugged in"
    assert searching.port == ""


def test_a_listing_that_fails_while_a_board_goes_is_asked_again(
    takings: Takings, plug: Callable[[], Terminal], reads: Reads
) -> None:
    board = plug()
    n_asked = 0

    def find() -> str:
        nonlocal n_asked
        n_asked += 1
        if n_asked == 1:
            raise TypeError
        return board.port

    reads("5A3F01", find=find)
    takings.until_states("searching", "open")


def test_a_board_that_is_found_after_it_was_let_go_is_not_opened(
    takings: Takings, plug: Callable[[], Terminal], reads: Reads
) -> None:
    board = plug()
    searching, go_on = threading.Event(), threading.Event()

    def find() -> str:
        searching.set()
        assert go_on.wait(DEADLINE_SECONDS)
        return board.port

    source = reads("5A3F01", find=find)
    assert searching.wait(DEADLINE_SECONDS)
    source.release()
    go_on.set()
    takings.until_states("released")
    source.take_back()
    takings.until_states("released", "open")


def test_waits_double_up_to_five_seconds() -> None:
    waits = growing_waits()
    assert [next(waits) for _ in range(7)] == [0.25, 0.5, 1.0, 2.0, 4.0, 5.0, 5.0]


def test_waits_begin_anew_once_bytes_have_come(
    takings: Takings, plug: Callable[[], Terminal], reads: Reads
) -> None:
    n_begun = 0

    def waits() -> Iterator[float]:
        nonlocal n_begun
        n_begun += 1
        return repeat(0.01)

    board = plug()
    reads(board.port, waits=waits)
    takings.until_states("open")
    assert n_begun == 1
    board.prints(b"x")
    takings.until_data(b"x")
    board.unplug()
    takings.until_states("open", "lost")
    assert n_begun == 2


def test_a_port_that_is_open_already_is_told_as_such_and_opened_once_it_is_free(
    takings: Takings, plug: Callable[[], Terminal], reads: Reads
) -> None:
    board = plug()
    with serial.Serial(board.port, exclusive=True):
        reads(board.port)
        in_use = takings.until_states("in use")
        assert board.port in in_use.words
        assert in_use.remedy
    takings.until_states("in use", "open")


def test_another_program_that_has_the_port_open_is_named(
    takings: Takings, plug: Callable[[], Terminal], reads: Reads
) -> None:
    import subprocess
    import sys

    board = plug()
    script = (
        "import serial, sys; port = serial.Serial(sys.argv[1], exclusive=True); "
        "print('open', flush=True); sys.stdin.read()"
    )
    with subprocess.Popen(
        [sys.executable, "-c", script, board.port], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as program:
        assert program.stdout is not None
        assert program.stdin is not None
        assert program.stdout.readline() == b"open\n"
        reads(board.port)
        in_use = takings.until_states("in use")
        program.stdin.close()
    assert "open in another program" in in_use.words
    if Path("/proc/self/fd").exists():
        assert f"(pid {program.pid})" in in_use.words
    assert "Close that program" in in_use.remedy
    takings.until(lambda: takings.states()[-1] == "open")
    # While the program ends its port may still be shut to others when its name is gone: told once more.
    assert set(takings.states()[:-1]) == {"in use"}


def test_a_port_that_this_account_may_not_open_is_told_as_such(
    takings: Takings, plug: Callable[[], Terminal], reads: Reads
) -> None:
    path = Path(plug().port)
    path.chmod(0)
    if os.access(
        path, os.R_OK | os.W_OK
    ):  # the administrator may open all but what the kernel keeps read-only
        path = Path("/sys/kernel/uevent_seqnum")
    reads(str(path))
    refused = takings.until_states("no permission")
    assert str(path) in refused.words
    assert "group" in refused.remedy or "Settings" in refused.remedy


def test_a_port_that_is_not_there_is_searched_for(takings: Takings, reads: Reads, tmp_path: Path) -> None:
    reads(str(tmp_path / "ttyACM0"))
    searching = takings.until_states("searching")
    assert "is not there" in searching.words
    assert "benchrow ports" in searching.remedy


def test_a_file_is_told_to_be_no_serial_port(takings: Takings, reads: Reads, tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("21.5\n")
    reads(str(tmp_path / "notes.txt"))
    assert "is not a serial port" in takings.until_states("searching").words
    assert (tmp_path / "notes.txt").read_text() == "21.5\n"


@pytest.mark.parametrize("url", ["nosuch://x", "socket://127.0.0.1", "socket://:5000", "rfc2217://h:port"])
def test_a_url_that_can_never_be_opened_is_refused_at_once(takings: Takings, url: str) -> None:
    with pytest.raises(PortError) as refused:
        PortSource(1, url, inbox=takings.inbox)
    assert refused.value.reason is PortProblem.BAD_URL
    assert url in str(refused.value)


def test_a_released_port_is_free_for_another_program_until_it_is_taken_back(
    takings: Takings, plug: Callable[[], Terminal], reads: Reads
) -> None:
    board = plug()
    source = reads(board.port)
    takings.until_states("open")
    board.prints(b"21.")
    takings.until_data(b"21.")
    source.release()
    source.release()
    assert takings.until_states("open", "released").breaks
    with serial.Serial(board.port, exclusive=True, timeout=DEADLINE_SECONDS) as uploading:
        board.prints(b"answer")
        assert uploading.read(6) == b"answer"
    source.take_back()
    assert takings.until_states("open", "released", "open").breaks
    board.prints(b"22.0\n")
    takings.until_data(b"21.22.0\n")


def test_a_port_can_be_released_while_it_is_searched_for(
    takings: Takings, reads: Reads, tmp_path: Path
) -> None:
    source = reads(str(tmp_path / "ttyACM0"), waits=lambda: repeat(3600.0))
    takings.until_states("searching")
    source.release()
    takings.until_states("searching", "released")
    source.take_back()
    takings.until_states("searching", "released", "searching")


def test_stopping_cuts_a_read_and_a_wait_short(
    takings: Takings, plug: Callable[[], Terminal], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(opening, "READ_SECONDS", 3600.0)  # no read comes back by itself
    quiet = PortSource(1, plug().port, inbox=takings.inbox)
    missing = PortSource(2, str(tmp_path / "no"), inbox=takings.inbox, waits=lambda: repeat(3600.0))
    never_started = PortSource(3, str(tmp_path / "no"), inbox=takings.inbox)
    before = threading.active_count()
    quiet.start()
    missing.start()
    takings.until_states("open", bench=1)
    takings.until_states("searching", bench=2)
    stop_all([quiet, missing, never_started], DEADLINE_SECONDS)
    assert threading.active_count() == before


def test_a_port_is_read_on_at_another_rate_without_being_opened_anew(
    takings: Takings, plug: Callable[[], Terminal], reads: Reads, monkeypatch: pytest.MonkeyPatch
) -> None:
    import termios

    monkeypatch.setattr(opening, "READ_SECONDS", 3600.0)  # the change must cut the read short
    board = plug()
    n_opened = 0
    really_open = serial.Serial.open

    def counted(port: serial.Serial) -> None:
        nonlocal n_opened
        n_opened += 1
        really_open(port)

    monkeypatch.setattr(serial.Serial, "open", counted)
    source = reads(board.port)
    takings.until_states("open")
    board.prints(b"21.")
    takings.until_data(b"21.")
    source.set_baud(115200)
    again = takings.until_states("open", "open")
    assert (again.breaks, again.baud, again.port) == (True, 115200, board.port)
    assert "115200 baud" in again.words
    assert termios.tcgetattr(board.board_end)[4:6] == [termios.B115200, termios.B115200]
    board.prints(b"5\n")
    takings.until_data(b"21.5\n")
    assert takings.items.index(again) == len(takings.items) - 2  # after the old bytes, before the new ones
    assert n_opened == 1
    source.set_baud(57600)
    source.set_baud(9600)
    takings.until(lambda: takings.links()[-1].baud == 9600)
    assert termios.tcgetattr(board.board_end)[4:6] == [termios.B9600, termios.B9600]


def test_the_rate_that_is_set_already_changes_nothing(
    takings: Takings, plug: Callable[[], Terminal], reads: Reads
) -> None:
    board = plug()
    source = reads(board.port)
    takings.until_states("open")
    source.set_baud(9600)
    board.prints(b"21.5\n")
    takings.until_data(b"21.5\n")
    takings.until_states("open")


def test_a_rate_may_be_set_before_the_port_is_open_and_while_it_is_let_go(
    takings: Takings, plug: Callable[[], Terminal], reads: Reads
) -> None:
    board = plug()
    plugged_in: list[str] = []
    source = reads("5A3F01", find=lambda: plugged_in[0] if plugged_in else None, waits=lambda: repeat(3600.0))
    takings.until_states("searching")
    plugged_in.append(board.port)
    source.set_baud(19200)  # looks again at once
    assert takings.until_states("searching", "open").baud == 19200
    source.release()
    takings.until_states("searching", "open", "released")
    source.set_baud(38400)
    source.take_back()
    assert takings.until_states("searching", "open", "released", "open").baud == 38400


def test_a_rate_that_the_port_does_not_take_is_told_and_the_next_one_is_tried(
    takings: Takings, plug: Callable[[], Terminal], reads: Reads, monkeypatch: pytest.MonkeyPatch
) -> None:
    board = plug()
    source = reads(board.port)
    takings.until_states("open")
    source.set_baud(2**31 - 1)
    takings.until(lambda: "does not take" in takings.links()[-1].words or takings.links()[-1].baud > 9600)
    source.set_baud(19200)
    takings.until(lambda: takings.links()[-1].baud == 19200 and takings.states()[-1] == "open")
    board.prints(b"21.5\n")
    takings.until_data(b"21.5\n")


@pytest.mark.parametrize("baud", [0, -9600, 2**31])
def test_a_number_that_is_no_rate_is_refused(
    takings: Takings, plug: Callable[[], Terminal], reads: Reads, baud: int
) -> None:
    source = reads(plug().port)
    with pytest.raises(ControlError, match="no port reads at"):
        source.set_baud(baud)
    assert source.baud == 9600


def test_a_stopped_port_is_closed(takings: Takings, plug: Callable[[], Terminal]) -> None:
    board = plug()
    source = PortSource(1, board.port, inbox=takings.inbox)
    source.start()
    takings.until_states("open")
    source.stop(DEADLINE_SECONDS)
    serial.Serial(board.port, exclusive=True).close()


def test_no_byte_is_lost_when_a_board_prints_flat_out(
    plug: Callable[[], Terminal],
) -> None:
    takings = Takings(max_bytes_waiting=100_000)  # so that the reader is held up as well
    board = plug()
    source = PortSource(1, board.port, inbox=takings.inbox)
    source.start()
    takings.until_states("open")
    text = b"".join(b"%d,%.2f\r\n" % (i, i * 0.01) for i in range(200_000))
    writer = threading.Thread(target=board.prints, args=(text,))
    writer.start()
    n_taken = 0

    def is_all_there() -> bool:
        nonlocal n_taken
        n_taken = sum(len(one.data) for one in takings.items if isinstance(one, Arrived))
        return n_taken >= len(text)

    takings.until(is_all_there)
    writer.join(DEADLINE_SECONDS)
    source.stop(DEADLINE_SECONDS)
    assert takings.data() == text


def test_thirty_two_boards_at_once_keep_their_bytes_apart(
    takings: Takings, plug: Callable[[], Terminal], reads: Reads
) -> None:
    boards = {bench: plug() for bench in range(1, 33)}
    for bench, board in boards.items():
        reads(board.port, bench=bench)
    for bench in boards:
        takings.until_states("open", bench=bench)
    for i in range(20):
        for bench, board in boards.items():
            board.prints(b"bench %d line %d\n" % (bench, i))
    for bench in boards:
        takings.until_data(b"".join(b"bench %d line %d\n" % (bench, i) for i in range(20)), bench=bench)


@pytest.mark.parametrize(("pulse", "said"), [(True, b"DTR 1 RTS 1\n"), (False, b"DTR 0 RTS 0\n")])
def test_a_handler_of_our_own_is_read_and_its_control_lines_stand_as_asked_from_the_start(
    takings: Takings, reads: Reads, monkeypatch: pytest.MonkeyPatch, pulse: bool, said: bytes
) -> None:
    monkeypatch.setattr(serial, "protocol_handler_packages", ["tests.bridge.sources.urls"])
    reads("greeting://", pulse_dtr=pulse)
    takings.until_data(said)


def test_pyserials_own_loop_is_opened_as_any_port(takings: Takings, reads: Reads) -> None:
    reads("loop://")
    takings.until_states("open")
