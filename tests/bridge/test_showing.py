"""What those who look closely are told, made from a real pipeline and held against the schemas."""

from __future__ import annotations

import json
from typing import Any

import pytest

from bridge import messages
from bridge.core.lesson import OPEN_LESSON
from bridge.core.pipeline import BenchPipeline
from bridge.lesson_file import lesson_from_text
from bridge.messages import Message
from bridge.showing import bands_message, steady_message, text_message, worth_message
from tests.bridge.made_up import SECOND, checked

LESSON = """\
title = "Cooling cups"

[[channel]]
name = "temperature"
unit = "°C"
field = "raw"
conversion = "sensor"

[[channel]]
name = "printed"
unit = "°C"
field = "temp"

[[conversion]]
name = "sensor"
start = "count"
width_bits = 10
reference_volts = 5.0
reference_tolerance_volts = 0.05
volts_per_unit = 0.010
sensor_tolerance = 0.5

[[bench]]
number = 1
name = "No cover"

[bench.channel.temperature.calibration]
fit = "line"
points = [[20.0, 20.6, 0.05, 0.02], [45.0, 45.2, 0.05, 0.02], [30.0, 30.4, 0.05, 0.02]]
date = 2026-03-02
reference = "the glass thermometer"
"""
HOSTILE = "<script>alert(1)</script>"


def pipeline_of(text: str | None = LESSON, *, reference: float = 5.0, n: int = 240) -> BenchPipeline:
    """A board that prints count, volts and degrees four times a second, cooling by a count each second."""
    lesson = OPEN_LESSON if text is None else lesson_from_text(text)
    pipeline = BenchPipeline(lesson, 1, cold=False)
    pipeline.link("open", 0, baud=9600)
    for i in range(n):
        raw = 92 - min(i // 4, 40) if n > 40 else 92
        volts = raw * reference / 1024
        line = f"raw: {raw}, volts: {volts:.3f}, temp: {volts / 0.010:.2f}\r\n"
        pipeline.feed(line.encode(), i * SECOND // 4)
    pipeline.tick(n * SECOND // 4)
    return pipeline


BANDED = LESSON.replace('[[channel]]\nname = "printed"', """\
[channel.bands]
baseline = 20.0
edges = [10.0, 20.0]
names = ["room", "warm", "warmer"]
deadband = 1.0

[[channel.phase_bands]]
phases = ["run"]
edges = [15.0]

[[channel]]
name = "printed\"""") + """
[[phase]]
name = "run"
"""  # fmt: skip


def banded_pipeline() -> BenchPipeline:
    """A board whose count goes to and fro by one about a band edge; then a phase with bands of its own."""
    pipeline = BenchPipeline(lesson_from_text(BANDED), 1, cold=False)
    for i in range(120):
        raw = 82 + i % 2  # 40.0 and 40.5 °C, less what the calibration takes off
        pipeline.feed(
            f"raw: {raw}, volts: {raw * 5 / 1024:.3f}, temp: {raw * 0.4883:.2f}\r\n".encode(), i * SECOND // 4
        )
    pipeline.enter_phase("run", 30 * SECOND, "instructor")
    pipeline.tick(40 * SECOND)
    return pipeline


def told(message: Message) -> dict[str, Any]:
    return checked(messages.encoded(message))


def channels(message: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {one["channel"]: one for one in message["channels"]}


def test_the_text_is_told_with_its_fields_roles_and_newest_lines() -> None:
    text = told(text_message(1, pipeline_of()))
    assert text["sure"] == "sure"
    assert [(one["name"], one["role"]) for one in text["fields"]] == [
        ("raw", "count"),
        ("volts", "volts"),
        ("temp", "value"),
    ]
    assert text["samples"][-1].startswith("raw: ")
    assert (text["doubt"], text["alternatives"]) == ("", [])


def test_a_board_with_a_clock_of_its_own_has_it_told_how_the_clock_goes() -> None:
    pipeline = BenchPipeline(OPEN_LESSON, 1, cold=False)
    for i in range(120):
        late_ns = 7 * SECOND if i == 100 else (i % 7) * 1_000_000
        pipeline.feed(f"ms: {1000 * i}, T: 21.5 C\r\n".encode(), i * 1_000_100_000 + late_ns)
    words = told(text_message(1, pipeline))["words"]
    assert "times by the board's clock, which is 100 ppm slow" in words
    assert "jitter taken out" in words


def test_a_doubt_is_told_with_the_ways_to_read_the_same_lines() -> None:
    pipeline = BenchPipeline(OPEN_LESSON, 1, cold=False)
    for i in range(30):
        pipeline.feed(b"45,04,55,1\r\n44,88,55,0\r\n", i * SECOND)
    text = told(text_message(1, pipeline))
    assert text["sure"] == "doubtful"
    assert "two ways" in text["doubt"]
    assert len(text["alternatives"]) == 2
    assert {len(one["columns"]) for one in text["alternatives"]} == {2, 4}
    for one in text["alternatives"]:
        assert all(len(row) == len(one["columns"]) for row in one["rows"])
        assert len(one["rows"]) == len(text["samples"])


def test_the_budget_adds_up_and_a_calibration_tells_its_points() -> None:
    worth = channels(told(worth_message(1, pipeline_of())))
    one = worth["temperature"]
    assert sum(part["share"] for part in one["parts"]) == pytest.approx(1.0)
    assert sum(part["u"] ** 2 for part in one["parts"]) == pytest.approx(one["u"] ** 2)
    assert any("calibration" in part["words"] for part in one["parts"])
    kept = one["calibration"]
    assert (kept["fit"], kept["date"], kept["reference"]) == ("line", "2026-03-02", "the glass thermometer")
    assert [point["reference"] for point in kept["points"]] == [20.0, 45.0, 30.0]
    for point in kept["points"]:
        assert point["fitted"] + point["residual"] == pytest.approx(point["reference"])
    assert one["deadband"] > 0
    assert worth["printed"]["calibration"] is None


def test_the_check_tells_a_right_program_and_a_wrong_reference() -> None:
    right = channels(told(worth_message(1, pipeline_of())))["printed"]["check"]
    assert right["state"] == "right"
    wrong = channels(told(worth_message(1, pipeline_of(reference=3.3))))["printed"]["check"]
    assert wrong["state"] == "wrong"
    assert wrong["reads_wrong_by"] < 0
    assert "3.3" in wrong["words"]
    assert "5" in wrong["expected"]


def test_a_value_that_stays_is_steady_and_one_that_falls_is_not() -> None:
    steady = channels(told(steady_message(1, pipeline_of(n=40))))["temperature"]
    assert steady["steady"]
    assert steady["n"] >= 10
    falling = channels(told(steady_message(1, pipeline_of())))["temperature"]
    assert not falling["steady"] or falling["seconds"] < 30


def test_nothing_is_known_before_the_first_line_and_everything_is_still_told() -> None:
    pipeline = BenchPipeline(lesson_from_text(LESSON), 1, cold=True)
    for message in (text_message(1, pipeline), steady_message(1, pipeline), worth_message(1, pipeline)):
        told(message)
    assert told(text_message(1, pipeline))["sure"] == "unknown"


def test_text_of_a_board_stays_text() -> None:
    pipeline = BenchPipeline(OPEN_LESSON, 1, cold=False)
    for i in range(30):
        pipeline.feed(f"{HOSTILE}: {20 + i / 10:.1f}\r\n".encode(), i * SECOND)
    for message in (text_message(1, pipeline), steady_message(1, pipeline), worth_message(1, pipeline)):
        assert json.loads(messages.encoded(message)) == told(message)
    assert HOSTILE in told(text_message(1, pipeline))["samples"][-1]


def test_the_times_in_the_bands_are_told_with_what_the_deadband_has_spared() -> None:
    pipeline = banded_pipeline()
    of_run, before = told(bands_message(1, pipeline))["channels"]
    assert (of_run["phases"], of_run["on"], of_run["since_ms"]) == (["run"], True, 30_000)
    assert [(one["name"], one["low"], one["high"]) for one in of_run["bands"]] == [
        ("", None, 35.0),
        ("", 35.0, None),
    ]
    assert [one["seconds"] for one in of_run["bands"]] == [0.0, 10.0]
    assert [one["name"] for one in before["bands"]] == ["room", "warm", "warmer"]
    assert sum(one["seconds"] for one in before["bands"]) == pytest.approx(30.0, abs=1.0)
    assert (before["on"], before["changes"]) == (False, before["edge_changes"])
    assert before["avoided"] == before["plain_edge_changes"] - before["edge_changes"] > 100
