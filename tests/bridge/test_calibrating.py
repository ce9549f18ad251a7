"""From a control to the lesson's own text: what is captured stands there as points with a date."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest

from bridge.calibrating import SteadyOf, calibration_changes
from bridge.controls import Calibrating, Capture, Fit, Point, Uncalibrate
from bridge.core.class_calibration import SteadyBench
from bridge.errors import ControlError
from bridge.lesson_file import lesson_from_text, revised

TODAY = "2026-03-02"
TEXT = """\
title = "Cooling cups"  # a remark that stays

[[channel]]
name = "temperature"
unit = "°C"

[[bench]]
number = 1
name = "No cover"

[[bench]]
number = 2
name = "Paper"
"""


def steady_at(values: dict[int, float]) -> SteadyOf:
    def steady(bench: int, channel: str) -> SteadyBench | None:
        assert channel == "temperature"
        value = values.get(bench)
        return None if value is None else SteadyBench(bench, value, value, 0.02)

    return steady


def after(text: str, control: Calibrating, values: dict[int, float] | None = None) -> tuple[str, str]:
    """The lesson's text after the control, and what was said."""
    changed = calibration_changes(control, lesson_from_text(text), steady_at(values or {}), today=TODAY)
    return revised(text, changed.changes), changed.words


def calibration_of(text: str, bench: int) -> dict[str, Any]:
    benches = tomllib.loads(text)["bench"]
    found = next(one for one in benches if one["number"] == bench)
    kept: dict[str, Any] = found["channel"]["temperature"]["calibration"]
    return kept


def capture(*benches: int, reference: float | None = 20.0, u: float | None = 0.1, words: str = "") -> Capture:
    return Capture(None, benches, "temperature", reference, u, words)


def test_a_captured_point_stands_in_the_lesson_with_its_date_and_reference() -> None:
    text, words = after(TEXT, capture(1, words="the glass thermometer"), {1: 20.6})
    kept = calibration_of(text, 1)
    assert kept["points"] == [[20.0, 20.6, 0.1, 0.02]]
    assert (str(kept["date"]), kept["reference"]) == (TODAY, "the glass thermometer")
    assert "a remark that stays" in text
    assert "No cover" in words
    given = lesson_from_text(text).bench(1).channels[0].calibration
    assert given is not None
    assert given.fit == "offset"


def test_a_second_point_comes_behind_the_first_and_a_line_can_be_chosen() -> None:
    text, _ = after(TEXT, capture(1), {1: 20.6})
    text, _ = after(text, capture(1, reference=45.0), {1: 45.2})
    text, words = after(text, Fit(None, (1, 2), "temperature", "line"))
    kept = calibration_of(text, 1)
    assert [point[:2] for point in kept["points"]] == [[20.0, 20.6], [45.0, 45.2]]
    assert kept["fit"] == "line"
    assert words == "No cover: line"  # bench 2 has no point to fit


def test_benches_that_are_not_steady_are_left_out_and_named() -> None:
    text, words = after(TEXT, capture(1, 2), {2: 21.0})
    assert "not steady: No cover" in words
    assert calibration_of(text, 2)["points"] == [[20.0, 21.0, 0.1, 0.02]]
    assert all("channel" not in one for one in tomllib.loads(text)["bench"] if one["number"] == 1)


def test_without_a_reference_the_class_is_brought_to_its_median() -> None:
    values = {1: 20.0, 2: 20.4, 3: 21.4}
    text, _ = after(TEXT, capture(1, 2, 3, reference=None, u=None), values)
    for bench, value in values.items():
        (point,) = calibration_of(text, bench)["points"]
        assert point[:2] == [pytest.approx(20.4), value]
        assert point[2] > 0  # the median of three is not certain


def test_a_point_can_be_typed_in() -> None:
    text, _ = after(TEXT, Point(None, 2, "temperature", 0.0, 0.4, None, 0.05, "melting ice"))
    assert calibration_of(text, 2)["points"] == [[0.0, 0.4, 0.0, 0.05]]


def test_a_calibration_can_be_taken_away_and_leaves_nothing_behind() -> None:
    text, _ = after(TEXT, capture(1), {1: 20.6})
    text, words = after(text, Uncalibrate(None, 1, "temperature"))
    assert "calibration" not in text
    assert "taken away" in words


@pytest.mark.parametrize(
    "control",
    [
        capture(1),
        capture(1, reference=None),
        Capture(None, (1,), "pressure", 20.0, None, ""),
        Fit(None, (1,), "temperature", "line"),
        Uncalibrate(None, 1, "temperature"),
    ],
)
def test_what_can_not_be_done_is_refused_with_what_to_do(control: Calibrating) -> None:
    with pytest.raises(ControlError) as told:
        after(TEXT, control)
    assert len(told.value.remedy) > 10


def test_two_benches_are_no_class() -> None:
    with pytest.raises(ControlError, match="median"):
        after(TEXT, capture(1, 2, reference=None), {1: 20.0, 2: 21.0})
