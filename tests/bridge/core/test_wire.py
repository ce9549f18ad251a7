from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.wire import RECEIVERS, Receiver, heard
from demo.wire import heard_at


@given(
    data=st.binary(max_size=200),
    off=st.floats(-0.04, 0.04),
    rest=st.integers(0, 30),
    receiver=st.sampled_from(RECEIVERS),
)
def test_at_about_its_own_rate_every_byte_is_heard_as_it_was_sent(
    data: bytes, off: float, rest: int, receiver: Receiver
) -> None:
    idle_bits = [rest] * len(data)
    assert heard(data, sent_at=9600 * (1 + off), read_at=9600, idle_bits=idle_bits, receiver=receiver) == data


def test_a_receiver_at_twice_the_rate_sees_each_bit_twice() -> None:
    # U is 0x55: low for the start, then 1 0 1 0 1 0 1 0 from the lowest bit. The receiver takes the second
    # half of the start for its first bit and sees the others twice: 0 11 00 11 0, from the lowest: 0x66.
    assert heard(b"U", sent_at=4800, read_at=9600)[0] == 0x66


def test_far_above_the_senders_rate_each_low_stretch_is_one_zero_byte() -> None:
    # 0x55 has five low bits that stand alone, each twelve bits long for the receiver.
    assert heard(b"U", sent_at=9600, read_at=115200) == b"\0" * 5
    # One that goes on makes two frames of twelve low bits: one of ten, one of the two that are left.
    goes_on = heard(b"U", sent_at=9600, read_at=115200, receiver="goes on in a break")
    assert len(goes_on) == 10
    assert set(goes_on[::2]) == {0}
    assert set(goes_on[1::2]) <= {0xFC, 0xFE}


def test_a_receiver_that_goes_on_takes_a_low_stop_bit_for_the_next_start() -> None:
    # 0x01 at half the rate: 00 11 00 00 00 00 ... : a frame that ends within the low bits, as 0 11 00000 0.
    assert heard(b"\x01", sent_at=4800, read_at=9600) == b"\x06"
    assert heard(b"\x01", sent_at=4800, read_at=9600, receiver="goes on") == b"\x06\x00"


@given(
    data=st.lists(st.integers(0, 127), min_size=1, max_size=60).map(bytes),
    sent_at=st.sampled_from([300, 1200, 4800, 9600]),
    read_at=st.sampled_from([9600, 19200, 28800]),
)
def test_the_simulated_boards_of_the_demo_are_heard_the_same_way(
    data: bytes, sent_at: int, read_at: int
) -> None:
    assert heard(data, sent_at=sent_at, read_at=read_at) == heard_at(
        data, sent_baud=sent_at, read_baud=read_at
    )


@pytest.mark.parametrize("receiver", RECEIVERS)
def test_nothing_sent_is_nothing_heard(receiver: Receiver) -> None:
    assert heard(b"", sent_at=9600, read_at=19200, receiver=receiver) == b""
