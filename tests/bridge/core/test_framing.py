from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.framing import COLD, CUT, DAMAGED, Framer, Line


def lines(chunks: list[bytes], *, cold: bool = False, max_line_bytes: int = 4096) -> list[Line]:
    framer = Framer(cold=cold, max_line_bytes=max_line_bytes)
    return [line for at_ns, chunk in enumerate(chunks) for line in framer.feed(chunk, at_ns)]


def texts(chunks: list[bytes]) -> list[str]:
    return [line.text for line in lines(chunks)]


def test_a_line_split_over_two_chunks_comes_out_whole() -> None:
    assert texts([b"21", b".5\r\n"]) == ["21.5"]


@pytest.mark.parametrize("end", [b"\n", b"\r", b"\r\n"])
def test_each_kind_of_line_end_ends_a_line(end: bytes) -> None:
    assert texts([end.join([b"1", b"2", b"3", b""])]) == ["1", "2", "3"]


def test_a_line_end_in_two_chunks_is_one_line_end() -> None:
    assert [line.number for line in lines([b"1\r", b"\n2\r", b"\n"])] == [1, 2]


def test_blank_lines_are_not_counted() -> None:
    found = lines([b"1\n\n \t\r\n\0\0\n2\n"])
    assert [(line.number, line.text) for line in found] == [(1, "1"), (2, "2")]


def test_line_separators_of_other_alphabets_end_no_line() -> None:
    assert texts(["1\u20282\n".encode()]) == ["1\u20282"]


def test_a_line_bears_the_time_of_the_chunk_that_ended_it() -> None:
    framer = Framer()
    framer.feed(b"21", 5)
    assert [line.at_ns for line in framer.feed(b".5\n22\n", 9)] == [9, 9]


def test_the_bytes_up_to_the_first_line_end_after_a_cold_start_are_flawed() -> None:
    assert [line.flaws for line in lines([b"5.00\r\n44.75\r\n"], cold=True)] == [COLD, ""]


def test_a_cold_start_at_a_line_end_flaws_no_line() -> None:
    assert [(line.text, line.flaws) for line in lines([b"\r\n44.75\r\n"], cold=True)] == [("44.75", "")]


def test_zero_bytes_at_the_edge_are_ignored_and_inside_they_are_damage() -> None:
    found = lines([b"\x0044.7\x00\n44.6\x005\n"])
    assert [(line.text, line.flaws) for line in found] == [("44.7", ""), ("44.6\x005", DAMAGED)]
    assert found[0].raw == b"\x0044.7\x00"


@pytest.mark.parametrize("damage", [b"\xff", b"\x1b", b"\x7f", b"\xc2\x85", b"\xb0", b"\x80C"])
def test_damaged_bytes_flaw_their_line_only_and_the_raw_bytes_are_kept(damage: bytes) -> None:
    found = lines([b"1\n2" + damage + b"3\n4\n"])
    assert [line.flaws for line in found] == ["", DAMAGED, ""]
    assert found[1].raw == b"2" + damage + b"3"


def test_a_degree_sign_of_one_byte_is_read_and_counted() -> None:
    framer = Framer()
    (one, two) = framer.feed("F 45.0 \N{DEGREE SIGN}C\n".encode("latin-1") + "45 °F\n".encode(), 1)
    assert (one.text, one.flaws, two.text, two.flaws) == ("F 45.0 °C", "", "45 °F", "")
    assert framer.n_degree_signs == 1


def test_an_over_long_line_keeps_its_front_and_counts_the_rest() -> None:
    found = lines([b"12345", b"67890", b"\n1\n"], max_line_bytes=8)
    assert [(line.raw, line.flaws) for line in found] == [(b"12345678", "over-long (10 bytes)"), (b"1", "")]


def test_what_waits_for_a_line_end_is_bounded_and_counted() -> None:
    framer = Framer(max_line_bytes=100)
    for _ in range(50):
        framer.feed(b"45.00", 1)
    assert (len(framer.pending), framer.n_bytes_since_line_end) == (100, 250)


def test_a_break_throws_away_both_half_lines_apart() -> None:
    framer = Framer()
    before = framer.feed(b"40.31\r\n40.2", 1) + framer.break_off(2)
    after = framer.feed(b"3\r\n40.19\r\n", 3)
    assert [(line.text, line.flaws) for line in before] == [("40.31", ""), ("40.2", CUT)]
    assert [(line.text, line.flaws) for line in after] == [("3", COLD), ("40.19", "")]
    assert [line.number for line in before + after] == [1, 2, 3, 4]


def test_a_break_between_lines_gives_no_line() -> None:
    framer = Framer()
    framer.feed(b"40.31\r\n", 1)
    assert framer.break_off(2) == []
    assert framer.n_bytes_since_line_end == 0


def test_numbers_begin_where_the_caller_says() -> None:
    framer = Framer(first_number=7)
    assert [line.number for line in framer.feed(b"1\n\n2\n", 1)] == [7, 8]


noise = st.binary(max_size=40)
pieces = st.sampled_from(
    [
        b"45.00\r\n",
        b"\r",
        b"\n",
        b"\0",
        b"44.9 \xc2\xb0C\n",
        b"44.8 \xb0C\r\n",
        b"\xff",
        b"x" * 30,
        b" ",
        b"\xc2",
    ]
)
streams = st.lists(st.one_of(pieces, noise), max_size=20).map(b"".join)


@settings(deadline=None)
@given(data=streams, cuts=st.sets(st.integers(0, 400), max_size=10), cold=st.booleans())
def test_lines_flaws_and_numbers_do_not_depend_on_how_the_bytes_are_cut(
    data: bytes, cuts: set[int], cold: bool
) -> None:
    edges = [0, *sorted(cut for cut in cuts if cut < len(data)), len(data)]
    whole, parts = Framer(cold=cold, max_line_bytes=24), Framer(cold=cold, max_line_bytes=24)
    at_once = whole.feed(data, 0)
    in_parts = [line for a, b in pairwise(edges) for line in parts.feed(data[a:b], 0)]
    assert in_parts == at_once
    assert parts.break_off(0) == whole.break_off(0)
    assert parts.n_degree_signs == whole.n_degree_signs


@settings(deadline=None)
@given(data=streams)
def test_no_kept_line_is_longer_than_the_bound_and_numbers_have_no_holes(data: bytes) -> None:
    found = lines([data], max_line_bytes=24)
    assert all(len(line.raw) <= 24 for line in found)
    assert [line.number for line in found] == list(range(1, len(found) + 1))
