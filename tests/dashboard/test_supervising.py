"""Both processes under the supervisor: started together, ended in good order, in words when one fails."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path

import psutil
import pytest

from bridge import Client, RecordingError, read_recording

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="the boards here are pseudo-terminals")
PATIENCE_SECONDS = 30.0


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as one:
        return int(one.getsockname()[1])


def wait_until(is_so: Callable[[], bool], what: str) -> None:
    give_up = time.monotonic() + PATIENCE_SECONDS
    while not is_so():
        assert time.monotonic() < give_up, what
        time.sleep(0.02)  # between two looks, not in place of one


def values_in(recording: Path) -> list[float]:
    """None while the writer, which works beside the session, has not made the file yet."""
    try:
        return list(read_recording(recording)["value"])
    except RecordingError:
        return []


class Running:
    """`benchrow ...` as a process, with what it has printed so far."""

    def __init__(self, folder: Path, *words: str) -> None:
        self.page_port, self.bridge_port = free_port(), free_port()
        command = [sys.executable, "-m", "dashboard", *words, "--no-browser", "--data-dir", str(folder)]
        command += ["--port", str(self.page_port), "--bridge-port", str(self.bridge_port)]
        self.process = psutil.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)

    def told_until(self, start: str) -> str:
        """Standard output up to the line that begins so."""
        told = ""
        for line in self.process.stdout:
            told += str(line)
            if line.startswith(start):
                return told
        pytest.fail(f"it ended before {start!r}: {told}{self.process.stderr.read()}")

    def child(self, module: str) -> psutil.Process:
        (found,) = (one for one in self.process.children() if module in one.cmdline())
        return found

    def page_answers(self) -> bool:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{self.page_port}/", timeout=5) as answer:
                return bool(answer.status == 200)
        except OSError:
            return False

    def link_of_bench_1(self) -> str:
        with Client(f"ws://127.0.0.1:{self.bridge_port}") as client:
            return str(client.hello["benches"][0]["status"]["link"])

    def end(self) -> None:
        if self.process.is_running():
            self.process.terminate()
        self.process.communicate(timeout=PATIENCE_SECONDS)


@pytest.fixture
def board() -> Iterator[tuple[int, str]]:
    """A pseudo-terminal: the board's end, and the name of the port."""
    import tty

    board_end, port_end = os.openpty()
    tty.setraw(port_end)
    yield board_end, os.ttyname(port_end)
    os.close(board_end)
    os.close(port_end)


@pytest.fixture
def live(tmp_path: Path, board: tuple[int, str]) -> Iterator[Running]:
    running = Running(tmp_path, "live", "--board", f"1={board[1]}@9600")
    yield running
    running.end()


def test_a_session_is_announced_and_closed_with_all_that_the_board_printed(
    live: Running, board: tuple[int, str]
) -> None:
    told = live.told_until("Stop")
    passcode = re.search(r"^Passcode +(\S+)", told, re.MULTILINE)
    recording = re.search(r"^Recording +(.+)", told, re.MULTILINE)
    assert passcode
    assert recording
    assert f"http://127.0.0.1:{live.page_port}/#passcode={passcode[1]}" in told
    path = Path(recording[1])
    # Opening a port throws away what was printed before.
    wait_until(lambda: live.link_of_bench_1() == "open", "the port to be open")
    os.write(board[0], b"cold start\r\n" + b"".join(b"Temp: %d C\r\n" % k for k in range(20, 30)))
    wait_until(lambda: 29.0 in values_in(path), "the last line in the recording")
    live.process.send_signal(signal.SIGINT)
    assert live.process.wait(PATIENCE_SECONDS) == 0
    assert list(read_recording(path)["value"]) == [float(k) for k in range(20, 30)]
    assert not path.with_name(path.name + "-wal").exists()


def test_a_page_server_that_crashed_is_started_again_and_the_bridge_goes_on(live: Running) -> None:
    live.told_until("Stop")
    wait_until(live.page_answers, "the page")
    bridge, pages = live.child("bridge"), live.child("dashboard.page_server")
    pages.kill()
    pages.wait(PATIENCE_SECONDS)
    wait_until(live.page_answers, "the page again")
    assert live.child("bridge").pid == bridge.pid
    assert bridge.is_running()


def test_when_the_bridge_ends_the_whole_ends_with_words(live: Running) -> None:
    live.told_until("Stop")
    pages = live.child("dashboard.page_server")
    live.child("bridge").kill()
    assert live.process.wait(PATIENCE_SECONDS) == 1
    told = live.process.stderr.read()
    assert "the bridge ended by itself" in told
    assert "Traceback" not in told
    assert not pages.is_running()


def test_both_children_end_when_the_supervisor_is_killed(live: Running) -> None:
    live.told_until("Stop")
    wait_until(live.page_answers, "the page")
    children = live.process.children()
    live.process.kill()
    _, alive = psutil.wait_procs(children, timeout=PATIENCE_SECONDS)
    assert alive == []


@pytest.mark.parametrize("option", ["--port", "--bridge-port"])
def test_a_taken_port_is_told_in_one_line_that_names_the_option(option: str, tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as other:
        taken = other.getsockname()[1]
        command = [sys.executable, "-m", "dashboard", "live", "--no-browser", "--data-dir", str(tmp_path)]
        rest = "--port" if option == "--bridge-port" else "--bridge-port"
        ended = subprocess.run(
            [*command, option, str(taken), rest, str(free_port())],
            capture_output=True, text=True, timeout=PATIENCE_SECONDS, check=False,
        )  # fmt: skip
    assert ended.returncode == 1
    assert ended.stderr.count("\n") == 1
    assert str(taken) in ended.stderr
    assert f"{option} " in ended.stderr


def test_a_file_that_is_no_recording_is_refused_in_the_bridges_own_words(tmp_path: Path) -> None:
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear class")
    running = Running(tmp_path, "replay", str(letter))
    _, told = running.process.communicate(timeout=PATIENCE_SECONDS)
    assert running.process.returncode == 1
    assert told.startswith("benchrow: ")
    assert told.count("\n") == 1
    assert "letter.txt" in told
