from __future__ import annotations

import pytest

from bridge.errors import ControlError
from bridge.sources import PipeSource
from tests.bridge.sources.rig import Takings


@pytest.fixture
def pipe(takings: Takings) -> PipeSource:
    return PipeSource(1, inbox=takings.inbox)


def test_what_is_written_arrives_once_it_is_open(takings: Takings, pipe: PipeSource) -> None:
    assert pipe.write(b"to nobody\n") == 10
    pipe.start()
    assert pipe.write(b"21.5\n") == 5
    takings.take()
    assert takings.data() == b"21.5\n"
    assert [link.breaks for link in takings.links()] == [False]


def test_a_released_pipe_lets_nothing_through_until_it_is_taken_back(
    takings: Takings, pipe: PipeSource
) -> None:
    pipe.start()
    pipe.write(b"1")
    pipe.release()
    pipe.release()
    pipe.write(b"2")
    pipe.take_back()
    pipe.write(b"3")
    takings.take()
    assert takings.data() == b"13"
    assert [(link.state, link.breaks) for link in takings.links()] == [
        ("open", False),
        ("released", True),
        ("open", True),
    ]


def test_a_simulated_board_can_be_unplugged_also_while_it_is_let_go(
    takings: Takings, pipe: PipeSource
) -> None:
    pipe.start()
    pipe.unplug()
    pipe.write(b"1")
    pipe.release()
    pipe.plug_in()
    pipe.write(b"2")
    pipe.take_back()
    pipe.write(b"3")
    takings.take()
    assert takings.data() == b"3"
    assert takings.states() == ["open", "lost", "released", "open"]


def test_a_stopped_pipe_lets_nothing_through(takings: Takings, pipe: PipeSource) -> None:
    pipe.start()
    pipe.stop()
    pipe.write(b"1")
    takings.take()
    assert takings.data() == b""


def test_a_pipe_has_no_rate(pipe: PipeSource) -> None:
    with pytest.raises(ControlError, match="a pipe has no baud rate"):
        pipe.set_baud(9600)
