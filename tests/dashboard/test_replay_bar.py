"""The replay bar in a real browser, fed by a bridge that says what each test needs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.dashboard.browser import DEADLINE_MS
from tests.dashboard.scripted_bridge import PASSCODE, START_MS, Message, ScriptedBridge, bench, value

pytestmark = pytest.mark.browser
Open = Callable[..., Page]
LENGTH_MS = 1_200_000

expect.set_options(timeout=DEADLINE_MS)


def replay(**changes: Any) -> Message:
    markers = [{"t_ms": ms, "words": words, "who": "x"} for ms, words in
               ((60_000, "poured"), (700_000, "<b>lid</b> off"), (900_000, "end"))]  # fmt: skip
    return {
        "playing": False, "speed": 1.0, "position_ms": START_MS, "length_ms": LENGTH_MS, "loop": False,
        "markers": markers,
    } | changes  # fmt: skip


@pytest.fixture
def bridge() -> ScriptedBridge:
    """A replay that stands at 10 of 20 minutes."""
    one = ScriptedBridge([bench(1)], [value(1, 30.0)])
    one.session["source"] = "replay"
    one.replay = replay()
    return one


def opened(open_page: Open, bridge: ScriptedBridge) -> Page:
    page = open_page(bridge, f"/#passcode={PASSCODE}")
    expect(page.locator("[data-role=connection]")).to_have_text("Connected")
    return page


def next_asked(bridge: ScriptedBridge) -> tuple[str, Any]:
    while True:
        message = bridge.heard.get(timeout=DEADLINE_MS / 1000)
        if message["kind"] == "replay":
            return message["action"], message.get("value")


def test_there_is_no_bar_while_the_source_is_live(open_page: Open) -> None:
    page = opened(open_page, ScriptedBridge([bench(1)]))
    expect(page.locator("#replay-bar")).to_be_hidden()


def test_position_and_length_are_told_in_session_time(open_page: Open, bridge: ScriptedBridge) -> None:
    page = opened(open_page, bridge)
    expect(page.locator("[data-role=replay-clock]")).to_contain_text("of 20:00")
    expect(page.locator("[data-role=replay-clock]")).to_contain_text("10:0")
    slider = page.get_by_role("slider", name="Place in the recording")
    assert float(slider.input_value()) >= START_MS


def test_the_space_bar_plays_and_pauses_but_not_while_something_is_pressed_or_written(
    open_page: Open, bridge: ScriptedBridge
) -> None:
    page = opened(open_page, bridge)
    expect(page.get_by_role("button", name="Play")).to_be_visible()
    page.keyboard.press("Space")
    assert next_asked(bridge) == ("play", None)
    bridge.say({"kind": "replay", "replay": replay(playing=True)})
    expect(page.get_by_role("button", name="Pause")).to_be_visible()
    page.keyboard.press("Space")
    assert next_asked(bridge) == ("pause", None)
    page.get_by_role("button", name="To the next marker").press(" ")
    assert next_asked(bridge) == ("seek", 700_000)  # and no "pause"
    assert bridge.heard.empty()


def test_speed_and_loop_are_chosen(open_page: Open, bridge: ScriptedBridge) -> None:
    page = opened(open_page, bridge)
    speed = page.get_by_label("Speed")
    assert speed.locator("option").all_text_contents() == [
        f"× {one}" for one in ("0.25", "0.5", "1", "2", "4", "8", "16", "32", "64")
    ]
    speed.select_option("16")
    assert next_asked(bridge) == ("speed", 16)
    page.get_by_label("Loop").check()
    assert next_asked(bridge) == ("loop", True)
    bridge.say({"kind": "replay", "replay": replay(speed=3.0, loop=False)})
    expect(page.get_by_label("Loop")).not_to_be_checked()
    expect(speed).to_have_value("3")  # begun with a speed of the command's own


def test_markers_are_gone_to_from_buttons_ticks_and_a_list(open_page: Open, bridge: ScriptedBridge) -> None:
    page = opened(open_page, bridge)
    page.get_by_role("button", name="To the next marker").click()
    assert next_asked(bridge) == ("seek", 700_000)
    expect(page.locator("[data-role=replay-told]")).to_be_empty()
    page.locator(".replay-tick").first.click()
    assert next_asked(bridge) == ("seek", 60_000)
    page.get_by_text("3 markers").press("Enter")
    page.get_by_role("button", name="11:40 <b>lid</b> off").press("Enter")
    assert next_asked(bridge) == ("seek", 700_000)
    page.keyboard.press("Escape")
    expect(page.locator(".replay-markers")).to_be_hidden()


def test_a_drag_asks_now_and_then_and_at_its_end_for_sure(open_page: Open, bridge: ScriptedBridge) -> None:
    page = opened(open_page, bridge)
    box = page.locator("[data-role=position]").bounding_box()
    assert box
    y = box["y"] + box["height"] / 2
    page.mouse.move(box["x"] + box["width"] * 0.5, y)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.9, y, steps=100)
    end = float(page.locator("[data-role=position]").input_value())
    page.mouse.up()
    asked = [next_asked(bridge)]
    while asked[-1] != ("seek", end):
        asked.append(next_asked(bridge))
    assert len(asked) < 50


def test_the_slider_is_moved_by_keys(open_page: Open, bridge: ScriptedBridge) -> None:
    page = opened(open_page, bridge)
    page.locator("[data-role=position]").press("End")
    assert next_asked(bridge) == ("seek", LENGTH_MS)


def test_after_a_fresh_hello_the_page_stands_at_the_new_place(
    open_page: Open, bridge: ScriptedBridge
) -> None:
    page = opened(open_page, bridge)
    expect(page.locator("[data-bench='1'] [data-role=value]")).to_have_text("30.0")
    bridge.values = [value(1, 44.0, at_ms=0)]
    bridge.replay = replay(playing=True, position_ms=0)
    hello = bridge.hello()
    hello["session"]["now_ms"] = 0
    bridge.hushed.set()
    bridge.say(hello)
    expect(page.locator("[data-role=replay-clock]")).to_contain_text("0:0")
    expect(page.locator("[data-bench='1'] [data-role=value]")).to_have_text("44.0")
    expect(page.get_by_role("button", name="Pause")).to_be_visible()


def test_who_has_no_passcode_is_asked_and_changes_nothing(open_page: Open, bridge: ScriptedBridge) -> None:
    page = open_page(bridge)
    page.get_by_role("button", name="Play").click()
    page.get_by_role("button", name="Cancel").click()
    expect(page.locator("[data-role=replay-told]")).to_contain_text("no passcode was given")
    assert "replay" not in {message["kind"] for message in bridge.heard.queue}


@pytest.mark.parametrize("size", [(1920, 1080), (390, 844)], ids=str)
def test_the_bar_leaves_the_wall_its_room(
    open_page: Open, bridge: ScriptedBridge, size: tuple[int, int]
) -> None:
    page = opened(open_page, bridge)
    page.set_viewport_size({"width": size[0], "height": size[1]})
    expect(page.get_by_role("button", name="Play")).to_be_visible()
    card, bar = page.locator(".card").bounding_box(), page.locator("#replay-bar").bounding_box()
    assert card and bar  # noqa: PT018
    assert card["y"] + card["height"] <= bar["y"] + 1
    assert bar["y"] + bar["height"] <= size[1] + 1
    assert bar["height"] < 0.22 * size[1]
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
