from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from bridge.core.alarm_given import AlarmGiven

HIGH = AlarmGiven(kind="high", at=40.0)


@pytest.mark.parametrize(
    ("wrong", "rule"),
    [
        ({"at": math.nan}, "at must be a number"),
        ({"at": math.inf}, "at must be a number"),
        ({"deadband": -0.1}, "deadband must be 0 or more"),
        ({"deadband": math.nan}, "deadband must be 0 or more"),
        ({"on_delay_seconds": -1.0}, "on_delay_seconds must be 0 or more"),
        ({"off_delay_seconds": math.inf}, "off_delay_seconds must be 0 or more"),
        ({"kind": "stale", "at": 0.0}, "at of an alarm for stale must be above 0"),
        ({"kind": "deviation", "at": 1.0, "deadband": 1.0}, "deadband must be less than at"),
        ({"kind": "rate of change", "at": -1.0}, "at of an alarm for rate of change must be above 0"),
        ({"window_seconds": 1.0}, "window_seconds must be from 2 to 3600"),
        ({"least_benches": 2}, "least_benches must be 3 or more"),
    ],
)
def test_what_cannot_be_watched_is_refused(wrong: dict[str, Any], rule: str) -> None:
    with pytest.raises(ValueError, match=rule):
        replace(HIGH, **wrong)


def test_an_alarm_is_called_by_its_name_else_by_its_kind() -> None:
    assert HIGH.key == "high"
    assert replace(HIGH, name="boiling over").key == "boiling over"
