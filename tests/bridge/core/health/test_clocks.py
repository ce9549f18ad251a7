from __future__ import annotations

import pytest

from .benches import celsius, lines, seen, watch


def texts(speed: float, *, ticks_per_second: float = 1000.0, n: int = 120) -> list[str]:
    return [f"{round((2 + i * 0.5) * ticks_per_second * speed)},{44 - i / 900:.2f}" for i in range(n)]


@pytest.mark.parametrize("unit", ["ms", ""])
@pytest.mark.parametrize("speed", [0.5, 0.92, 1.06, 2.0])
def test_a_clock_that_runs_fast_or_slow_is_a_hint(speed: float, unit: str) -> None:
    told = watch(lines(texts(speed), every=0.5), [seen("ms", 0, "clock", unit=unit), celsius("t", 1)])
    assert told.kinds == [("board clock", "ms")]
    assert f"{speed - 1:+.1%}" in told.changes[0].finding.evidence


@pytest.mark.parametrize("ticks_per_second", [1.0, 1e3, 1e6])
@pytest.mark.parametrize("speed", [0.99, 1.0, 1.01])
def test_a_resonator_within_a_percent_is_not_told(speed: float, ticks_per_second: float) -> None:
    steps = lines(texts(speed, ticks_per_second=ticks_per_second), every=0.5)
    if ticks_per_second == 1.0:
        steps = steps[::2]
    assert watch(steps, [seen("time", 0, "clock"), celsius("t", 1)]).events == []
