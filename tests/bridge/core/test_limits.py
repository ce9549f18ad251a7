from __future__ import annotations

import csv
from pathlib import Path

import pytest

from bridge.core.lesson import AlarmGiven
from bridge.core.readings import AlarmChange
from bridge.core.watch import ChannelWatch

REFERENCE = Path(__file__).parents[2] / "reference"
SECOND = 1_000_000_000


def watch_of(limit: AlarmGiven) -> ChannelWatch:
    return ChannelWatch(1, "temperature", bands=None, baseline=None, limits=(limit,))


def timing_cases() -> list[dict[str, str]]:
    with (REFERENCE / "alarm_timing.csv").open() as file:
        return list(csv.DictReader(file))


def held_signal(text: str) -> list[tuple[float, float]]:
    return [(float(at), float(value)) for at, value in (one.split(":") for one in text.split(";"))]


@pytest.mark.parametrize("case", timing_cases(), ids=lambda case: case["case"])
@pytest.mark.parametrize("kind", ["high", "low"])
@pytest.mark.parametrize("tick_seconds", [None, 0.25, 7.0])
def test_delays_and_deadbands_act_in_time(
    case: dict[str, str], kind: str, tick_seconds: float | None
) -> None:
    sign = 1.0 if kind == "high" else -1.0
    limit = AlarmGiven(
        kind="high" if kind == "high" else "low",
        at=sign * float(case["limit_high"]),
        deadband=float(case["deadband"]),
        on_delay_seconds=float(case["on_delay_s"]),
        off_delay_seconds=float(case["off_delay_s"]),
    )
    watch = watch_of(limit)
    moments: list[tuple[float, float | None]] = [(at, sign * v) for at, v in held_signal(case["signal"])]
    if tick_seconds is not None:
        moments += [(i * tick_seconds + 0.001, None) for i in range(int(60 / tick_seconds))]
    found: dict[str, float] = {}
    for at, value in [*sorted(moments, key=lambda one: one[0]), (60.0, None)]:
        at_ns = round(at * SECOND)
        changes = watch.tick(at_ns) if value is None else watch.take(value, at_ns)
        for change in changes:
            assert isinstance(change, AlarmChange)
            assert change.event not in found, "an alarm came twice"
            found[change.event] = change.at_ns / SECOND
    for event, name in (("rise", "active"), ("return", "clear")):
        if case[f"{name}_by_s"]:
            assert float(case[f"{name}_not_before_s"]) <= found[event] <= float(case[f"{name}_by_s"])
        else:
            assert event not in found


def test_an_alarm_that_chatters_comes_once_with_a_deadband() -> None:
    values = [40.21, 40.06, 39.98, 40.03, 39.97, 40.02, 39.94, 40.01, 39.88, 39.71, 39.49, 39.4]
    watch = watch_of(AlarmGiven(kind="high", at=40.0, deadband=0.5))
    events = [
        (i + 1, c.event) for i, v in enumerate(values) for c in watch.take(v, i) if isinstance(c, AlarmChange)
    ]
    assert events == [(1, "rise"), (11, "return")]


def test_a_value_on_the_limit_has_not_passed_it() -> None:
    watch = watch_of(AlarmGiven(kind="high", at=40.0))
    assert watch.take(40.0, 0) == []
    assert len(watch.take(40.1, 1)) == 1
    assert len(watch.take(40.0, 2)) == 1


def test_a_lost_value_stops_a_delay_and_leaves_a_raised_alarm() -> None:
    limit = AlarmGiven(kind="high", at=40.0, on_delay_seconds=2.0, off_delay_seconds=2.0)
    watch = watch_of(limit)
    watch.take(41.0, 0)
    assert watch.lose(SECOND) == []
    assert watch.tick(10 * SECOND) == []
    watch.take(41.0, 20 * SECOND)
    assert len(watch.tick(30 * SECOND)) == 1
    watch.lose(31 * SECOND)
    assert watch.alarm("high") == "unacknowledged"


def test_acknowledging_a_standing_alarm_makes_its_return_quiet() -> None:
    watch = watch_of(AlarmGiven(kind="low", at=10.0))
    watch.take(9.0, 0)
    (change,) = watch.acknowledge("low", 5, "instructor")
    assert isinstance(change, AlarmChange)
    assert (change.state, change.who, change.value) == ("acknowledged", "instructor", 9.0)
    watch.take(11.0, 6)
    assert watch.alarm("low") == "normal"
