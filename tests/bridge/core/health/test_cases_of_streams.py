"""The streams of `tests/cases`: what the health of the board says of each, and of which it says nothing."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from bridge.core.health import ChannelSeen
from bridge.core.lesson import FieldSpec, Layout

from .benches import HealthBench, Step, Watched, celsius, columns, count, seen

CASES = Path(__file__).parents[3] / "cases"
TABLE: dict[str, dict[str, Any]] = tomllib.loads((CASES / "cases.toml").read_text(encoding="utf-8"))
EVERY = 0.25  # s: the lines of a case without times

ONE = [celsius("t")]
COUNTS = [count("a", 0), count("b", 1)]
COMMA = columns(2)
FIELDS: dict[str, tuple[list[ChannelSeen], Layout]] = {
    "degree-sign-one-byte": (
        [celsius("t", 0)],
        Layout(name="t", kind="pairs", separator=" ", fields=(FieldSpec(name="t", label="F", unit="°C"),)),
    ),
    "not-a-number-words": ([celsius("t", 0, step=0.1), seen("h", 1, "value", unit="%", step=0.1)], COMMA),
    "whole-number-division": ([count("raw", 0), seen("mV", 1, "", step=0.01)], COMMA),
    "formula-of-another-sensor": ([count("raw", 0, bits=12), celsius("t", 1, step=0.1)], COMMA),
    "wrong-reference": ([count("raw", 0, bits=12), celsius("t", 1, step=0.1)], COMMA),
    "neighbour-leak": (COUNTS, COMMA),
    "pin-not-connected": (COUNTS, COMMA),
    "below-zero-as-65535": ([seen("t", 0, "value", step=1.0)], columns(1)),
    "board-clock-wraps-early": ([seen("ms", 0, "clock", unit="ms"), celsius("t", 1)], COMMA),
    "board-clock-wraps-49-days": ([seen("ms", 0, "clock", unit="ms"), celsius("t", 1)], COMMA),
    "board-restarts-on-open": ([seen("n", 0, "index"), celsius("t", 1)], COMMA),
    "reader-falls-behind": (
        [seen("n", 0, "index"), seen("ms", 1, "clock", unit="ms"), celsius("t", 2)], columns(3),
    ),
}  # fmt: skip
TOLD: dict[str, list[tuple[str, str]]] = {
    "no-line-end": [("no line end", "")],
    "degree-sign-one-byte": [("no UTF-8", "")],
    "wrong-rate": [("wrong baud", "")],
    "dropped-zeros": [("lost zeros", "t")],
    "whole-number-division": [("too coarse", "mV")],
    "neighbour-leak": [("neighbour", "a")],
    "pin-not-connected": [("floating input", "b")],
    "placeholder-85": [("placeholder value", "t")],
    "below-zero-as-65535": [("unsigned below zero", "t")],
    "board-clock-wraps-early": [("board clock", "ms")],
    "board-clock-wraps-49-days": [("board clock", "ms")],
    "gap-then-resume": [("no bytes", "")],
    "goes-quiet": [("no bytes", "")],
}
OTHERWISE = {"power-cut-tail", "comma-twice", "decimal-comma", "unequal-steps"}
"""No board's stream, a layout that is not given here, or a program that changes its pace."""


def steps_of(case: dict[str, Any], data: bytes) -> list[Step]:
    """The reads with their times; without such, a line, or 40 bytes of one, each quarter of a second."""
    if "gap_ms" in case:
        at, place, steps = 0.0, 0, []
        for size, gap in zip(case["chunk_sizes"], case["gap_ms"], strict=True):
            at += gap / 1000
            steps.append((at, data[place : place + size]))
            place += size
        return steps
    pieces = re.findall(rb"[^\r\n]{0,40}(?:\r\n|\r|\n)|[^\r\n]{1,40}", data)
    return [(i * EVERY, piece) for i, piece in enumerate(pieces)]


def watched(name: str) -> Watched:
    case = TABLE[name]
    channels, layout = FIELDS.get(name, (ONE, columns(1)))
    steps = steps_of(case, (CASES / case.get("file", case.get("files", [""])[0])).read_bytes())
    bench = HealthBench(channels, layout, baud=case["baud"], cold=case["opens"] == "cold")
    bench.open(steps[0][0])
    for step in steps:
        if "port reopened before chunk 2" in case.get("events", ()) and step == steps[1]:
            bench.close(step[0] - 1.9)
            bench.open(step[0] - 1.9)
        if "replug before chunk 2" in case.get("events", ()) and step == steps[1]:
            bench.close(steps[0][0] + 0.1)
            bench.open(step[0] - 0.1)
        bench.feed(step)
    bench.tick(steps[-1][0] + 4.9)
    return bench.watched


@pytest.mark.parametrize("name", sorted(TABLE.keys() - OTHERWISE))
def test_the_case_is_told_as_its_diagnosis_says(name: str) -> None:
    assert watched(name).kinds == TOLD.get(name, [])


def test_a_wrong_rate_is_named_within_five_seconds() -> None:
    told = watched("wrong-rate")
    assert told.at("found", "wrong baud") <= 5.0
    assert told.changes[0].finding.try_baud == TABLE["wrong-rate"]["sent_at"]


def test_a_pin_with_nothing_on_it_is_told_within_four_seconds() -> None:
    assert watched("pin-not-connected").at("found", "floating input") <= 4.0


def test_silence_is_told_and_over_with_the_next_line() -> None:
    told = watched("goes-quiet")
    assert [(at, event) for at, event, *_ in told.events] == [(9.0, "found"), (16.0, "gone")]
