"""The calibration of a channel on the page of one bench."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.dashboard.browser import DEADLINE_MS
from tests.dashboard.close_up import calibration, point, steady_part, worth, worth_part
from tests.dashboard.remembering_bridge import RememberingBridge
from tests.dashboard.scripted_bridge import bench, value
from tests.dashboard.test_bench import Open, opened

pytestmark = pytest.mark.browser

expect.set_options(timeout=DEADLINE_MS)


def test_it_says_when_the_channel_is_steady(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 31.2)])
    page = opened(open_page, bridge)
    steady = page.locator("[data-role=steady]")
    expect(steady).to_have_text("… not known yet whether it is steady")
    moving = steady_part(steady=False, words="rises by 0.4 °C in 10 s", mean=None, u=None)
    bridge.say(worth(2, worth_part(steady=moving)))
    expect(steady).to_have_text("… rises by 0.4 °C in 10 s")
    bridge.say(worth(2))
    expect(steady).to_have_text("✓ steady for 12 sMean of 120 readings: 36.624 ± 0.031 °C")


def test_a_steady_reading_is_captured_against_a_typed_reference(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 31.2)])
    page = opened(open_page, bridge)
    bridge.say(worth(2))
    expect(page.locator(".steady[data-steady]")).to_be_visible()
    capture = page.locator("form", has=page.locator("#capture-reference"))
    page.get_by_role("button", name="Capture this steady reading").press("Enter")
    expect(capture.get_by_role("status")).to_have_text("✕ Reference: write a number first")
    expect(page.locator("#capture-reference")).to_be_focused()
    page.locator("#capture-reference").fill("36,5")
    page.locator("#capture-u").fill("0")
    page.keyboard.press("Enter")
    expect(capture.get_by_role("status")).to_contain_text("Its u: write a number above 0")
    page.locator("#capture-u").fill("0.1")
    page.locator("#capture-words").fill("glass thermometer")
    page.keyboard.press("Enter")
    heard = bridge.next_heard("capture")
    assert (heard["benches"], heard["channel"], heard["words"]) == (
        [2],
        "temperature",
        "glass thermometer",
    )
    assert (heard["reference"], heard["u_reference"]) == (36.5, 0.1)
    expect(page.locator("#capture-reference")).to_have_value("")  # the next point has another
    expect(page.locator("#capture-words")).to_have_value("glass thermometer")


def test_a_point_is_typed_in_by_hand(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 31.2)])
    page = opened(open_page, bridge)
    bridge.say(worth(2))
    page.get_by_text("Type a point in").click()
    page.locator("#point-reference").fill("0")
    page.locator("#point-indication").fill("−0.4")
    page.locator("#point-words").fill("ice water")
    page.get_by_role("button", name="Add the point").press("Enter")
    heard = bridge.next_heard("point", bench=2, channel="temperature", words="ice water")
    assert (heard["reference"], heard["indication"]) == (0.0, -0.4)
    assert (heard["u_reference"], heard["u_indication"]) == (None, None)


def test_the_fit_its_points_and_its_residuals_are_shown(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 31.2)])
    page = opened(open_page, bridge)
    panel = page.locator(".panel-calibration")
    bridge.say(worth(2))
    expect(panel).to_contain_text("Not calibrated.")
    expect(page.locator("[data-role=calibration-plot]")).to_be_hidden()
    bridge.say(worth(2, worth_part(calibration=calibration(lack_of_fit="The points bend: try a quadratic"))))
    for words in (
        "value = 0.58 + 0.988 × reading", "0.5821 ± 0.11; 0.98832 ± 0.0042", "0.081 °C",
        "The points bend", "glass thermometer in the bath", "2026-11-25",
    ):  # fmt: skip
        expect(page.locator("[data-role=calibration]")).to_contain_text(words)
    rows = page.locator("[data-role=points] tbody tr")
    expect(rows).to_have_count(4)
    expect(rows.nth(1)).to_have_text("20 ± 0.1019.7 ± 0.03020.060−0.060")
    plot = page.locator("[data-role=calibration-plot]")
    expect(plot.locator(".scatterlayer .point")).to_have_count(8)  # each point above, its residual below
    expect(plot.locator(".yerror")).to_have_count(8)
    expect(plot).to_have_attribute("aria-label", "4 points, reference over indication with the fit; below, "
                                   "the residuals. The table holds the same numbers.")  # fmt: skip
    expect(page.get_by_role("button", name="Line")).to_have_attribute("aria-pressed", "true")
    page.get_by_role("button", name="Quadratic").press("Enter")
    assert bridge.next_heard("fit")["fit"] == "quadratic"


def test_the_picture_is_drawn_anew_only_when_the_calibration_changed(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 31.2)])
    page = opened(open_page, bridge)
    points = page.locator("[data-role=calibration-plot] .scatterlayer .point")
    bridge.say(worth(2, worth_part(calibration=calibration())))
    expect(points).to_have_count(8)
    points.first.evaluate("e => { e.dataset.drawn = 'before'; }")
    bridge.say(worth(2, worth_part(calibration=calibration(), value=31.9)))
    expect(page.locator("[data-role=sure-value]")).to_have_text("31.90 ± 0.14 °C")
    assert page.locator("[data-drawn=before]").count() == 1
    one = calibration(fit="offset", points=[point(20.0, 19.7, 20.0)])
    bridge.say(worth(2, worth_part(calibration=one)))
    expect(points).to_have_count(2)


def test_a_calibration_is_removed_only_after_a_second_thought(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 31.2)])
    page = opened(open_page, bridge)
    bridge.say(worth(2, worth_part(calibration=calibration())))
    remove = page.get_by_role("button", name="Remove the calibration")
    remove.click()
    page.get_by_role("button", name="Keep it").click()
    expect(page.locator("dialog")).to_have_count(0)
    remove.click()
    page.get_by_role("button", name="Remove it").click()
    assert bridge.next_heard("uncalibrate", bench=2)["channel"] == "temperature"
    remove.focus()
    bridge.say(worth(2))
    expect(remove).to_be_hidden()
    expect(page.locator(".panel-calibration")).to_be_focused()
