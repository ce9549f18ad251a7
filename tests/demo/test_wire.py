from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demo.wire import ADAPTER_BYTES, ADAPTER_SECONDS, heard_at, portions, with_turned_bits


@given(
    data=st.binary(max_size=300),
    start=st.floats(0, 1200),
    baud=st.sampled_from([9600, 19200, 115200, 1_000_000]),
    phase=st.floats(0, 0.016),
)
def test_portions_are_the_text_in_order_none_before_its_bytes_are_there(
    data: bytes, start: float, baud: int, phase: float
) -> None:
    given = list(portions(data, from_seconds=start, baud=baud, phase_seconds=phase))
    assert b"".join(portion for _, portion in given) == data
    times = [due for due, _ in given]
    assert times == sorted(times)
    n = 0
    for due, portion in given:
        n += len(portion)
        there_at = start + n * 10 / baud
        assert -1e-6 <= due - there_at <= ADAPTER_SECONDS + 1e-6
        assert 0 < len(portion) <= ADAPTER_BYTES


def test_a_line_at_9600_baud_comes_in_several_portions() -> None:
    line = b"raw: 294, volts: 0.948, temp: 44.82 C\r\n"
    assert len(list(portions(line, from_seconds=5, baud=9600, phase_seconds=0.003))) >= 3


@given(data=st.binary(min_size=1, max_size=100), baud=st.sampled_from([4800, 9600, 57600]))
def test_at_the_right_rate_every_byte_is_heard_as_it_was_sent(data: bytes, baud: int) -> None:
    assert heard_at(data, sent_baud=baud, read_baud=baud) == data


def test_a_receiver_at_twice_the_rate_hears_each_bit_twice() -> None:
    # U is 0x55: low for the start, then 1 0 1 0 1 0 1 0 from the lowest bit. The receiver takes the second
    # half of the start for its first bit and sees the others twice: 0 11 00 11 0, from the lowest: 0x66.
    heard = heard_at(b"U", sent_baud=4800, read_baud=9600)
    assert heard[0] == 0x66
    assert heard_at(b"22.5\r\n", sent_baud=4800, read_baud=9600) != b"22.5\r\n"


@pytest.mark.parametrize("read_baud", [9600, 19200, 2400])
def test_at_a_wrong_rate_no_line_of_a_class_survives(read_baud: int) -> None:
    text = b"raw: 294, volts: 0.948, temp: 44.82 C\r\n" * 20
    heard = heard_at(text, sent_baud=4800, read_baud=read_baud)
    assert heard
    assert b"temp" not in heard


def test_so_many_bits_are_turned_over_as_asked_one_a_byte() -> None:
    data = bytes(range(256)) * 100
    turned = with_turned_bits(data, share=0.02, chance=random.Random(1))
    differing = [a ^ b for a, b in zip(data, turned, strict=True) if a != b]
    assert len(differing) / len(data) == pytest.approx(0.02, rel=0.1)
    assert all(one.bit_count() == 1 for one in differing)
