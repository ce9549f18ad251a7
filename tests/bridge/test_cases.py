"""Every stream of `tests/cases`: from its bytes to the numbers that must come out, whatever the portions."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.framing import Framer, Line
from bridge.core.layouts import LayoutReader, Values, reader_for
from bridge.core.learning import Learner
from bridge.lesson_file import read_lesson

CASES = Path(__file__).parents[1] / "cases"
TABLE: dict[str, dict[str, Any]] = tomllib.loads((CASES / "cases.toml").read_text(encoding="utf-8"))


class Stream(NamedTuple):
    """One byte stream and what is wanted of it."""

    name: str
    data: bytes
    case: dict[str, Any]
    rows: list[list[float | str]] | None  # None: only their number, the first and the last are given


class Result(NamedTuple):
    """What came out of a stream."""

    lines: list[Line]
    rows: list[Values]
    n_unread: int
    learner: Learner
    framer: Framer


def streams() -> Iterator[Stream]:
    for case in TABLE.values():
        for file in case.get("files", [case.get("file")]):
            letter = file.removesuffix(".bytes")[-1]
            rows = next(
                (case[k] for k in ("readings", "readings_unset", "rows", f"readings_{letter}") if k in case),
                None,
            )
            yield Stream(file.removesuffix(".bytes"), (CASES / file).read_bytes(), case, rows)


STREAMS = {stream.name: stream for stream in streams()}
ANY_CUT = [name for name, stream in STREAMS.items() if stream.case.get("any_cut")]


def portions(stream: Stream) -> list[bytes]:
    """The reads as the case gives them; the whole stream when it gives none."""
    at, parts = 0, []
    for size in stream.case.get("chunk_sizes", [len(stream.data)]):
        parts.append(stream.data[at : at + size])
        at += size
    assert at == len(stream.data)
    return parts


def lines_of(stream: Stream, parts: Sequence[bytes], framer: Framer) -> list[Line]:
    """The lines, with the breaks that the case names; what is left at the end stays pending."""
    breaks = {
        int(word) for event in stream.case.get("events", []) for word in event.split() if word.isdigit()
    }
    lines: list[Line] = []
    for i, part in enumerate(parts, start=1):
        is_reopened = any(e.endswith(f"before chunk {i}") for e in stream.case.get("events", []))
        if is_reopened and i in breaks:
            lines += framer.break_off(i)
        lines += framer.feed(part, i)
    return lines


def run(stream: Stream, parts: Sequence[bytes] | None = None, lesson: str | None = None) -> Result:
    framer, learner = Framer(cold=stream.case.get("opens") == "cold"), Learner()
    lines = lines_of(stream, portions(stream) if parts is None else parts, framer)
    reader: LayoutReader | None
    if lesson is None:
        for line in lines:
            if not line.flaws:
                learner.take(line.text)
        learner.finish()
        reader = learner.reader
    else:
        given_by_hand = read_lesson(CASES / f"{lesson}.lesson.toml")
        layout = given_by_hand.layout_of(given_by_hand.bench(1))
        assert layout is not None
        reader = reader_for(layout)
    rows, n_unread = [], 0
    for line in lines:
        row = reader.values(line.text) if reader is not None and not line.flaws else None
        if row is None:
            n_unread += 1
        else:
            rows.append(row)
    return Result(lines, rows, n_unread, learner, framer)


def wanted_rows(rows: Sequence[Sequence[float | str]]) -> list[Values]:
    """Labels left out, missing values as None."""
    wanted: list[Values] = []
    for row in rows:
        cells = [
            None if cell == "missing" else cell
            for cell in row
            if cell == "missing" or not isinstance(cell, str)
        ]
        wanted.append(tuple(None if cell is None else float(cell) for cell in cells))
    return wanted


@pytest.mark.parametrize("name", [name for name, stream in STREAMS.items() if stream.rows is not None])
def test_a_stream_gives_its_readings_without_a_lesson(name: str) -> None:
    stream = STREAMS[name]
    result = run(stream)
    assert stream.rows is not None
    assert result.rows == wanted_rows(stream.rows)
    for value in stream.case.get("never", []):
        assert all(value not in row for row in result.rows)


@pytest.mark.parametrize("name", [name for name, stream in STREAMS.items() if "rejected" in stream.case])
def test_as_many_lines_are_set_aside_as_the_case_says(name: str) -> None:
    result = run(STREAMS[name])
    assert result.n_unread == STREAMS[name].case["rejected"]


@pytest.mark.parametrize("name", ANY_CUT)
@settings(max_examples=25, deadline=None)
@given(data=st.data())
def test_a_stream_gives_the_same_however_it_is_cut(name: str, data: st.DataObject) -> None:
    stream = STREAMS[name]
    cuts = sorted(data.draw(st.sets(st.integers(0, len(stream.data)), max_size=12)))
    edges = [0, *cuts, len(stream.data)]
    parts = [stream.data[a:b] for a, b in pairwise(edges)]
    whole, cut = run(stream, [stream.data]), run(stream, parts)
    assert [line._replace(at_ns=0) for line in cut.lines] == [line._replace(at_ns=0) for line in whole.lines]
    assert (cut.rows, cut.framer.pending) == (whole.rows, whole.framer.pending)


@pytest.mark.parametrize("name", ANY_CUT)
def test_a_stream_gives_the_same_byte_by_byte(name: str) -> None:
    stream = STREAMS[name]
    assert run(stream, [bytes([one]) for one in stream.data]).rows == run(stream, [stream.data]).rows


@pytest.mark.parametrize("name", ["comma-twice", "decimal-comma", "degree-sign-one-byte"])
def test_a_layout_given_by_hand_reads_the_stream(name: str) -> None:
    stream = STREAMS[name]
    rows = stream.rows or stream.case["readings_if_two_columns_decimal_comma"]
    assert run(stream, lesson=name).rows == wanted_rows(rows)


def test_a_comma_that_is_decimal_sign_and_separator_is_asked_about_and_not_read() -> None:
    result = run(STREAMS["comma-twice"])
    assert result.rows == []
    assert result.learner.doubt is not None
    assert "two ways" in result.learner.doubt.words
    stream = STREAMS["comma-twice"]
    ways = [
        [reader_for(layout).values(line.text) for line in result.lines]
        for layout in result.learner.doubt.alternatives
    ]
    assert ways[0] == wanted_rows(stream.case["readings_if_two_columns_decimal_comma"])
    assert ways[1] == wanted_rows(stream.case["readings_if_four_columns"])


def test_the_other_reading_of_the_doubtful_comma_can_be_given_by_hand() -> None:
    stream = STREAMS["comma-twice"]
    rows = run(stream, lesson="comma-twice-as-four").rows
    assert rows == wanted_rows(stream.case["readings_if_four_columns"])


def test_lines_that_nobody_read_for_a_while_all_come_out() -> None:
    stream = STREAMS["reader-falls-behind"]
    rows = run(stream).rows
    assert len(rows) == stream.case["readings_count"]
    assert [list(rows[0] or ()), list(rows[-1] or ())] == [stream.case["first"], stream.case["last"]]
    assert [row[0] for row in rows] == list(range(50))


def test_a_line_without_its_end_waits_and_is_no_reading() -> None:
    stream = STREAMS["cr-only"]
    assert run(stream).framer.pending == stream.case["pending"].encode()


def test_bytes_without_a_line_end_are_counted_and_bounded() -> None:
    stream = STREAMS["no-line-end"]
    framer = Framer(max_line_bytes=1000)
    assert framer.feed(stream.data, 1) == []
    assert (framer.n_bytes_since_line_end, len(framer.pending)) == (stream.case["total_bytes"], 1000)
    assert framer.feed(b"\n", 2)[0].flaws == "over-long (3000 bytes)"


def test_a_degree_sign_of_one_byte_gives_the_unit_and_is_counted() -> None:
    result = run(STREAMS["degree-sign-one-byte"])
    assert result.learner.reader is not None
    assert result.learner.reader.units == (STREAMS["degree-sign-one-byte"].case["unit"],)
    assert result.framer.n_degree_signs == 4


def test_half_a_row_at_the_end_is_no_row() -> None:
    result = run(STREAMS["power-cut-tail"])
    (cut,) = result.framer.break_off(9)
    assert (cut.text, cut.flaws) == ("14.0,40.", "cut")


def test_a_greeting_and_a_heading_after_a_restart_are_text() -> None:
    result = run(STREAMS["board-restarts-on-open"])
    assert result.n_unread == STREAMS["board-restarts-on-open"].case["text_lines"]


def test_bytes_at_a_wrong_rate_give_no_line_to_read() -> None:
    result = run(STREAMS["wrong-rate"])
    assert all(line.flaws for line in result.lines) or result.lines == []
    assert result.learner.reader is None
