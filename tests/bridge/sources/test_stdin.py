from __future__ import annotations

import io
import os
import subprocess
import sys

import pytest

from bridge.errors import ControlError
from bridge.sources import StdinSource
from tests.bridge.sources.rig import Takings


def test_a_stream_is_read_as_it_comes_and_its_end_is_told(takings: Takings) -> None:
    reading, writing = os.pipe()
    with os.fdopen(reading, "rb", buffering=0) as stream:
        StdinSource(1, stream, inbox=takings.inbox).start()
        takings.until_states("open")
        os.write(writing, b"21.5\n2")
        takings.until_data(b"21.5\n2")
        os.write(writing, b"2.0\n")
        takings.until_data(b"21.5\n22.0\n")
        os.close(writing)
        ended = takings.until_states("open", "ended")
    assert ended.breaks
    assert ended.words == "standard input is at its end"


def test_a_long_stream_comes_whole(takings: Takings) -> None:
    text = b"".join(b"%d\n" % i for i in range(100_000))
    StdinSource(1, io.BytesIO(text), inbox=takings.inbox).start()
    takings.until_states("open", "ended")
    assert takings.data() == text


def test_a_stream_that_is_closed_ends_with_a_reason(takings: Takings) -> None:
    stream = io.BytesIO()
    stream.close()
    StdinSource(1, stream, inbox=takings.inbox).start()
    assert "can't be read any more" in takings.until_states("open", "ended").words


def test_a_stream_has_no_port_to_let_go(takings: Takings) -> None:
    source = StdinSource(1, io.BytesIO(), inbox=takings.inbox)
    with pytest.raises(ControlError):
        source.release()
    with pytest.raises(ControlError):
        source.take_back()
    with pytest.raises(ControlError, match="standard input has no baud rate"):
        source.set_baud(9600)


def test_a_program_ends_while_its_standard_input_stays_open() -> None:
    script = (
        "import time; from bridge.inbox import Inbox; from bridge.sources import source_for\n"
        "import threading; opened = threading.Event()\n"
        "source = source_for(1, '-', inbox=Inbox(time.monotonic_ns, opened.set))\n"
        "source.start(); assert opened.wait(20); source.stop(); print('done')"
    )
    with subprocess.Popen(
        [sys.executable, "-c", script], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as program:
        assert program.stdout is not None
        assert program.stderr is not None
        assert program.stdout.read().split() == [b"done"]
        assert program.stderr.read() == b""
        assert program.wait(20) == 0
