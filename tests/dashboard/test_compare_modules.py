"""The times of the compare page's lanes, run in the browser that runs them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser

from tests.dashboard.browser import dashboard_for

pytestmark = pytest.mark.browser
CLOSE, WHOLE = [10.0, 35.0], [0.0, 1200.0]


@pytest.fixture(scope="module")
def run(browser: Browser) -> Iterator[Callable[..., Any]]:
    with dashboard_for("ws://127.0.0.1:9") as dashboard:
        context = browser.new_context()
        page = context.new_page()
        page.goto(f"{dashboard.url}assets/parts/lane-times.mjs")
        load = f"const m = await import('{dashboard.url}assets/parts/lane-times.mjs')"
        yield lambda expression, x=None: page.evaluate(f"async (x) => {{ {load}; return {expression}; }}", x)
        context.close()


def test_places_and_times_are_each_other_s_way_back(run: Callable[..., Any]) -> None:
    assert run("[m.placeIn(10, x), m.placeIn(22.5, x), m.placeIn(35, x)]", CLOSE) == [0, 0.5, 1]
    assert run("m.secondsIn(m.placeIn(17.3, x), x)", CLOSE) == pytest.approx(17.3)
    assert run("m.placeIn(3, [3, 3])") == 0


def test_keys_move_by_steps_that_a_person_can_say(run: Callable[..., Any]) -> None:
    press = "m.movedByKey({key: x[0], shiftKey: x[1]}, 20, x[2])"
    assert run(press, ["ArrowRight", False, CLOSE]) == 20.1
    assert run(press, ["ArrowLeft", True, CLOSE]) == 19
    assert run(press, ["ArrowUp", False, WHOLE]) == 25
    assert run(press, ["PageDown", False, CLOSE]) == 19
    assert run(press, ["Home", False, CLOSE]) == 10
    assert run(press, ["End", False, CLOSE]) == 35
    assert run(press, ["Tab", False, CLOSE]) is None


def test_a_dragged_time_has_no_more_digits_than_a_hand_can_mean(run: Callable[..., Any]) -> None:
    assert run("[m.roundedFor(19.8761, x[0]), m.roundedFor(19.8761, x[1])]", [CLOSE, WHOLE]) == [19.88, 19.9]


def test_ticks_are_whole_and_few(run: Callable[..., Any]) -> None:
    assert [one["words"] for one in run("m.ticksOf(10, 35)")] == [f"{k} s" for k in range(10, 36, 5)]
    ticks = run("m.ticksOf(0, 1200)")
    assert ticks[1] == {"seconds": 300, "words": "5:00"}
    assert len(ticks) <= 9
    assert run("m.ticksOf(-150, 0)")[0]["words"] == "−2:30"
