"""The wall on a real bridge server: its messages, its passcode, its origin check."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from bridge.controls import Acknowledge
from tests.dashboard.browser import DEADLINE_MS, dashboard_for, free_port
from tests.dashboard.made_up_bridge import PASSCODE, MadeUpBridge

pytestmark = pytest.mark.browser


@pytest.fixture
def wall(page: Page) -> Iterator[tuple[Page, MadeUpBridge]]:
    port = free_port()
    origins = (f"http://127.0.0.1:{port}",)
    with MadeUpBridge(origins=origins) as bridge, dashboard_for(bridge.url, port) as dashboard:
        page.goto(f"{dashboard.url}#passcode={PASSCODE}")
        yield page, bridge
        page.goto("about:blank")


def test_the_wall_shows_what_the_bridge_knows(wall: tuple[Page, MadeUpBridge]) -> None:
    page, _ = wall
    expect(page.locator(".card")).to_have_count(8)
    expect(page.locator("[data-bench='1'] [data-role=value]")).to_have_text(re.compile(r"^\d\d\.\d$"))
    expect(page.locator("[data-bench='1'] [data-role=state]")).to_have_text("reading")
    expect(page.locator("[data-bench='8'] [data-role=state]")).to_have_text("silent")
    expect(page.locator("[data-bench='8'] [data-role=more]")).to_have_text("Look at its cable")
    expect(page.locator("[data-role=recording]")).to_contain_text("Not recording")


def test_the_history_of_before_the_page_was_opened_is_drawn(wall: tuple[Page, MadeUpBridge]) -> None:
    page, _ = wall
    expect(page.locator("[data-bench='1'] [data-role=value]")).to_have_text(re.compile(r"^\d\d\.\d$"))
    inked = """(canvas) => {
      const quarter = Math.floor(canvas.width / 4);
      const left = canvas.getContext('2d').getImageData(0, 0, quarter, canvas.height).data;
      return left.some((part, i) => i % 4 === 3 && part > 0);
    }"""
    canvas = page.locator("[data-bench='1'] canvas")
    for _ in range(DEADLINE_MS // 100):  # the first quarter is older than the page
        if canvas.evaluate(inked):
            return
        page.evaluate("() => new Promise((done) => requestAnimationFrame(() => setTimeout(done, 100)))")
    pytest.fail("nothing was drawn")


def test_an_alarm_is_acknowledged_at_the_bridge(wall: tuple[Page, MadeUpBridge]) -> None:
    page, bridge = wall
    card = page.locator(".card:has([data-role=alarm]:not([hidden]))").first
    expect(card.locator("[data-role=alarm]")).to_be_visible()
    number = card.get_attribute("data-bench")
    page.locator(f"[data-bench='{number}'] [data-role=alarm]").press("Enter")
    control = bridge.heard.get(timeout=DEADLINE_MS / 1000)
    assert isinstance(control, Acknowledge)
    assert control.alarm == f"{number}/temperature/high"
    expect(page.locator(f"[data-bench='{number}'] [data-role=alarm]")).to_be_hidden()
