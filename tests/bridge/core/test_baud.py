from __future__ import annotations

import random
import struct
import zlib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.baud import KEPT_BYTES, LEAST_BYTES, BaudFound, BaudMeter
from bridge.core.wire import RECEIVERS, heard
from tests.bridge.core.wrong_rates import WORDINGS, all_pairs, outcome, text_in, wrong_rate

CASES = Path(__file__).parents[2] / "cases"


def likely(data: bytes, *, baud: int) -> BaudFound | None:
    meter = BaudMeter(baud=baud)
    meter.take(data)
    return meter.likely()


def test_the_case_that_was_sent_at_9600_and_read_at_19200_is_named() -> None:
    found = likely((CASES / "wrong-rate.bytes").read_bytes(), baud=19200)
    assert found is not None
    assert found.baud == 9600
    assert found.share > 0.95
    assert "9600 baud" in found.words
    assert "19200" in found.words


def test_a_greeting_at_another_rate_before_good_lines_is_no_wrong_rate() -> None:
    assert likely((CASES / "startup-text-other-rate.bytes").read_bytes(), baud=115200) is None


@pytest.mark.parametrize(
    ("sent_at", "read_at"),
    [(9600, 19200), (9600, 38400), (9600, 57600), (9600, 14400), (19200, 57600), (38400, 57600),
     (19200, 115200), (57600, 115200), (74880, 115200), (2400, 9600), (1200, 9600)],
)  # fmt: skip
def test_a_board_up_to_eight_times_slower_is_named_in_nearly_every_wording(
    sent_at: int, read_at: int
) -> None:
    chance = random.Random(f"{sent_at} {read_at}")
    outcomes = [
        outcome(wrong_rate(sent_at, read_at, i, chance.choice(RECEIVERS), chance))
        for i in range(len(WORDINGS))
    ]
    assert outcomes.count("false") == 0
    assert outcomes.count("named") >= len(WORDINGS) - 2


@pytest.mark.parametrize(("sent_at", "read_at"), [(14400, 9600), (74880, 57600), (28800, 19200)])
def test_a_board_that_is_somewhat_faster_is_named_in_most_wordings(sent_at: int, read_at: int) -> None:
    chance = random.Random(f"{sent_at} {read_at}")
    outcomes = [
        outcome(wrong_rate(sent_at, read_at, i, "waits for a fall", chance)) for i in range(len(WORDINGS))
    ]
    assert outcomes.count("false") == 0
    assert outcomes.count("named") >= len(WORDINGS) // 2


@pytest.mark.parametrize("read_at", [9600, 57600, 115200])
def test_no_rate_gives_a_false_name(read_at: int) -> None:
    chance = random.Random(read_at)
    outcomes = [
        outcome(wrong_rate(sent_at, read_at, i, chance.choice(RECEIVERS), chance))
        for sent_at, other in all_pairs()
        if other == read_at
        for i in range(len(WORDINGS))
    ]
    assert outcomes.count("false") == 0
    assert outcomes.count("named") > 0.3 * len(outcomes)


@pytest.mark.parametrize("wording", range(len(WORDINGS)))
def test_right_text_at_the_right_rate_gives_no_rate(wording: int) -> None:
    data = text_in(wording, random.Random(wording), 600)
    assert likely(data, baud=9600) is None
    assert likely(data[7:], baud=115200) is None


@pytest.mark.parametrize("text", ["Температура: 21.5 °C\r\n", "温度: 21.5 °C\r\n", "ΘΕΡΜΟΚΡΑΣΙΑ 21,5\r\n"])
def test_text_in_any_script_is_text(text: str) -> None:
    assert likely((text * 30).encode()[1:], baud=9600) is None


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**9), n=st.integers(LEAST_BYTES, KEPT_BYTES))
def test_binary_noise_gives_no_rate(seed: int, n: int) -> None:
    assert likely(random.Random(seed).randbytes(n), baud=[9600, 57600, 115200][seed % 3]) is None


BINARY = {
    "zeros": bytes(KEPT_BYTES),
    "ones": b"\xff" * KEPT_BYTES,
    "zeros and ones": bytes(random.Random(1).choice([0, 255]) for _ in range(KEPT_BYTES)),
    "packed records": b"".join(struct.pack("<BBHf", 0xAA, 0x55, i * 3, 21.5 + i / 100) for i in range(64)),
    "a rising count": b"".join(struct.pack("<H", i % 1024) for i in range(0, 768, 3)),
    "text of two bytes a letter": "21.50\r\n".encode("utf-16-le") * 30,
    "text with a parity bit": bytes(
        byte | (0x80 if byte.bit_count() % 2 else 0) for byte in b"t=21.50\r\nt=21.56\r\n" * 20
    ),
    "text turned over": bytes(byte ^ 0xFF for byte in b"t=21.50\r\nt=21.56\r\n" * 20),
    "packed text": zlib.compress(b"".join(b"%d,%d\r\n" % (i, i * i * 7919 % 1024) for i in range(400))),
}


@pytest.mark.parametrize("name", BINARY)
@pytest.mark.parametrize("baud", [9600, 57600, 115200])
def test_bytes_that_are_no_text_at_any_rate_give_no_rate(name: str, baud: int) -> None:
    assert likely(BINARY[name], baud=baud) is None


def test_few_bytes_give_no_rate() -> None:
    data = heard(b"21.50\r\n" * 40, sent_at=9600, read_at=19200)
    assert likely(data[: LEAST_BYTES - 1], baud=19200) is None
    assert likely(data, baud=19200) is not None


@settings(max_examples=10, deadline=None)
@given(cuts=st.lists(st.integers(1, 300), min_size=1, max_size=20))
def test_the_answer_does_not_depend_on_the_portions_and_only_the_newest_bytes_count(cuts: list[int]) -> None:
    data = b"21.50\r\n" * 60 + heard(b"ms 2500 degC 21.50\r\n" * 40, sent_at=9600, read_at=38400)
    meter, at = BaudMeter(baud=38400), 0
    for n in [*cuts, len(data)]:
        meter.take(data[at : at + n])
        at += n
    assert meter.likely() == likely(data[-KEPT_BYTES:], baud=38400)


@pytest.mark.parametrize(
    ("sent_at", "read_at"), [(115200, 9600), (57600, 9600), (9600, 115200), (1200, 57600)]
)
def test_where_no_rate_can_be_told_others_are_named_until_the_board_shows_its_own(
    sent_at: int, read_at: int
) -> None:
    text = b"count 512 volts 2.50 degC 21.5\r\n" * 300
    tried = []
    for _ in range(3):
        meter = BaudMeter(baud=read_at)
        meter.take(heard(text, sent_at=sent_at * 1.002, read_at=read_at))
        other = meter.worth_trying()
        if other is None:
            break
        assert meter.likely() is None
        read_at = other
        tried.append(other)
    found = meter.likely()
    assert tried
    assert read_at == sent_at or (found is not None and found.baud == sent_at)


def test_text_is_worth_no_trial() -> None:
    meter = BaudMeter(baud=9600)
    meter.take(b"count 512 volts 2.50 degC 21.5\r\n" * 10)
    assert meter.worth_trying() is None
