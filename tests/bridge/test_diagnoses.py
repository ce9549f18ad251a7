"""Every stream of `tests/cases` through the whole pipeline: what is told of the board, and what is not."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

import pytest

from bridge.core.findings import Finding, FindingChange
from bridge.core.lesson import OPEN_LESSON, Lesson
from bridge.core.pipeline import BenchPipeline, Outcome
from bridge.core.readings import Reading
from bridge.lesson_file import lesson_from_text
from tests.bridge.test_cases import STREAMS, Stream, portions

SECOND = 1_000_000_000

SENSOR_LESSON = """\
title = "Cooling cups"

[[channel]]
name = "temperature"
unit = "°C"
field = "column 2"

[[channel]]
name = "from the count"
unit = "°C"
field = "column 1"
conversion = "sensor"
low = -20.0

[[conversion]]
name = "sensor"
start = "count"
width_bits = {width_bits}
reference_volts = {reference_volts}
divisor = "{divisor}"
volts_per_unit = {volts_per_unit}

[[bench]]
number = 1
name = "No cover"
"""


def sensor_lesson(
    width_bits: int, reference_volts: float, divisor: str, *, volts_per_unit: float = 0.010
) -> Lesson:
    text = SENSOR_LESSON.format(
        width_bits=width_bits, reference_volts=reference_volts, divisor=divisor, volts_per_unit=volts_per_unit
    )
    return lesson_from_text(text)


LESSONS = {
    "formula-of-another-sensor": sensor_lesson(12, 3.3, "2^n-1"),
    "wrong-reference": sensor_lesson(12, 3.3, "2^n-1"),
}
# What must be told, by kind and field; the rest of the streams must have nothing told of them.
TOLD: dict[str, set[tuple[str, str]]] = {
    "no-line-end": {("no line end", "")},
    "degree-sign-one-byte": {("no UTF-8", "")},
    "wrong-rate": {("wrong baud", "")},
    "dropped-zeros": {("lost zeros", "value")},
    "whole-number-division": {("wrong formula", "column 2")},  # and not 'too coarse' beside it
    "formula-of-another-sensor": {("wrong formula", "temperature")},
    "wrong-reference": {("wrong formula", "temperature")},
    "neighbour-leak": {("neighbour", "column 1")},
    "pin-not-connected": {("floating input", "column 2")},
    "placeholder-85": {("placeholder value", "value")},
    "below-zero-as-65535": {("unsigned below zero", "value")},
    "board-clock-wraps-early": {("board clock", "column 1")},
    "unequal-steps": {("no bytes", "")},  # 20 s between lines that came each second: over at once
    "goes-quiet": {("no bytes", "")},
    "gap-then-resume": {("no bytes", "")},
    "unplugged-mid-line": {("board not reached", "")},
}


SLOW = {"dropped-zeros"}  # a line each second: a bare number is understood after five


def timed(stream: Stream) -> Iterator[tuple[bytes, int]]:
    """The reads with their times: as the case gives them, else a line, or 40 bytes, each quarter second."""
    at_ns = SECOND
    if "chunk_sizes" in stream.case:
        for part, gap_ms in zip(portions(stream), stream.case["gap_ms"], strict=True):
            at_ns += gap_ms * 1_000_000
            yield part, at_ns
        return
    for piece in re.findall(rb"[^\r\n]{0,40}(?:\r\n|\r|\n)|[^\r\n]{1,40}", stream.data):
        yield piece, at_ns
        at_ns += SECOND if stream.name in SLOW else SECOND // 4


def run(name: str) -> tuple[list[Outcome], BenchPipeline, int]:
    """Live, as far as the pipeline is concerned: with the time told ten times a second."""
    stream = STREAMS[name]
    pipeline = BenchPipeline(LESSONS.get(name, OPEN_LESSON), 1, cold=stream.case.get("opens") == "cold")
    baud, events = stream.case.get("baud", 9600), stream.case.get("events", [])
    outcomes, at_ns = [pipeline.link("open", 0, baud=baud)], 0
    for i, (part, due_ns) in enumerate(timed(stream), start=1):
        while at_ns + SECOND // 10 < due_ns:  # time passes as it does in a session
            at_ns += SECOND // 10
            outcomes.append(pipeline.tick(at_ns))
        at_ns = due_ns
        if any(event.endswith(f"before chunk {i}") for event in events):
            outcomes += [pipeline.break_off(at_ns), pipeline.link("open", at_ns, baud=baud)]
        outcomes.append(pipeline.feed(part, at_ns))
        if any(event == f"unplug after chunk {i}" for event in events):
            outcomes += [pipeline.link("lost", at_ns, baud=baud), pipeline.break_off(at_ns)]
    for _ in range(49):
        at_ns += SECOND // 10
        outcomes.append(pipeline.tick(at_ns))
    return outcomes, pipeline, at_ns


def told(outcomes: list[Outcome]) -> list[FindingChange]:
    return [one for outcome in outcomes for one in outcome.changes if isinstance(one, FindingChange)]


def found(name: str) -> dict[tuple[str, str], Finding]:
    return {one.finding.key: one.finding for one in told(run(name)[0]) if one.event != "gone"}


def readings(name: str) -> list[Reading]:
    return [reading for outcome in run(name)[0] for reading in outcome.readings]


@pytest.mark.parametrize("name", [name for name in STREAMS if name != "power-cut-tail"])
def test_a_stream_has_told_of_it_what_is_wrong_and_nothing_else(name: str) -> None:
    assert set(found(name)) == TOLD.get(name, set())


@pytest.mark.parametrize("name", TOLD)
def test_every_finding_says_what_why_and_what_to_do_in_sentences(name: str) -> None:
    for finding in found(name).values():
        for words in (finding.words, finding.evidence, finding.remedy):
            assert 10 < len(words) < 400
            assert words[0] == words[0].upper() or words.startswith(("column ", finding.channel or "column "))


def test_the_wrong_rate_is_named_within_five_seconds() -> None:
    (first,) = [one for one in told(run("wrong-rate")[0]) if one.finding.kind == "wrong baud"][:1]
    assert first.finding.try_baud == 9600
    assert first.at_ns <= 6 * SECOND


def test_a_pin_with_nothing_on_it_is_told_within_its_four_seconds_and_its_readings_are_not_trusted() -> None:
    (first,) = [one for one in told(run("pin-not-connected")[0]) if one.finding.kind == "floating input"][:1]
    assert first.at_ns <= 5 * SECOND
    after = [one for one in readings("pin-not-connected") if one.at_ns >= first.at_ns]
    assert {(one.channel, one.quality) for one in after} <= {("column 1", "good"), ("column 2", "uncertain")}


def test_the_sensor_of_another_formula_reads_fifty_degrees_too_low() -> None:
    finding = found("formula-of-another-sensor")["wrong formula", "temperature"]
    assert "50" in finding.words + finding.evidence


def test_a_wrong_reference_is_named_with_both_voltages() -> None:
    finding = found("wrong-reference")["wrong formula", "temperature"]
    said = finding.words + finding.evidence
    assert "5 V" in said.replace("5.0 V", "5 V")
    assert "3.3 V" in said


def test_values_handed_out_before_the_first_measurement_are_kept_but_marked() -> None:
    kept = readings("placeholder-85")
    case = STREAMS["placeholder-85"].case
    marked = [i for i, one in enumerate(kept, start=1) if one.quality == "uncertain"]
    assert marked == case["suspect_lines"]
    good = [one.value for one in kept if one.quality == "good" and one.value is not None]
    assert sum(good) / len(good) == pytest.approx(case["mean_without_suspect"])
    assert all(one.quality == "good" for one in readings("real-85"))


def test_silence_is_told_while_it_lasts_and_clears_with_the_next_line() -> None:
    events = [(one.event, one.at_ns) for one in told(run("goes-quiet")[0])]
    assert [event for event, _ in events] == ["found", "gone"]


def test_lines_that_come_late_bear_the_times_of_the_boards_clock() -> None:
    taken = [one.taken_ns for one in readings("reader-falls-behind") if one.channel == "column 3"]
    steps = [b - a for a, b in pairwise(taken[20:])]
    spacing_ns = STREAMS["reader-falls-behind"].case["spacing_ms_from_board_clock"] * 1_000_000
    assert steps == pytest.approx([spacing_ns] * len(steps), rel=0.01)
