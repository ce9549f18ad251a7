"""Help, the whole way: boards on pseudo-terminals, `benchrow live`, an instructor and a phone of a group."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.bridge.sources.rig import Terminal
from tests.dashboard.test_end_to_end import LESSON
from tests.dashboard.test_supervising import Running, wait_until

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(sys.platform == "win32", reason="the boards here are pseudo-terminals"),
]
DEADLINE_MS = 30_000


@pytest.fixture
def live(tmp_path: Path) -> Iterator[tuple[Running, list[Terminal]]]:
    lesson = tmp_path / "lesson.toml"
    lesson.write_text(LESSON, encoding="utf-8")
    terminals = [Terminal(), Terminal()]
    boards = [f"--board={number}={one.port}@115200" for number, one in enumerate(terminals, 1)]
    running = Running(tmp_path / "kept", "live", str(lesson), *boards)
    yield running, terminals
    running.end()
    for terminal in terminals:
        terminal.unplug()


@pytest.fixture
def phone(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True)
    page = context.new_page()
    page.set_default_timeout(DEADLINE_MS)
    yield page
    context.close()


def test_a_group_asks_on_its_phone_and_hears_that_the_instructor_took_it(
    live: tuple[Running, list[Terminal]], page: Page, phone: Page
) -> None:
    running, terminals = live
    address = re.search(r"^Instructor +(\S+)/#(\S+)", running.told_until("Stop"), re.MULTILINE)
    assert address
    wait_until(running.page_answers, "no page is served")
    page.goto(f"{address[1]}/codes#{address[2]}")
    page.locator("[data-does=show]").click()
    expect(page.locator(".code-card")).to_have_count(2, timeout=DEADLINE_MS)
    expect(page.locator("[data-role=unreachable]")).to_contain_text("--host 0.0.0.0")
    phone.goto(page.locator("[data-bench='2'] [data-role=url]").text_content() or "")
    phone.locator(".panel-group [data-does=help]").tap()
    words = phone.locator("[data-role=group-words]")
    expect(words).to_contain_text("The instructor knows. You are next.", timeout=DEADLINE_MS)

    page.goto(address[1])
    expect(page.locator("[data-role=next-bench]")).to_have_text("Bench 2", timeout=DEADLINE_MS)
    expect(page.locator("[data-role=next-words]")).to_have_text("⚑ asks for help")
    expect(page.locator(".card[data-bench='2'] [data-role=state]")).to_have_text("asks for help")
    terminals[0].prints(b"raw: 100\r\n" * 6)  # 48.8 °C, above the limit, of the same priority and younger
    expect(page.locator(".card[data-bench='1'] [data-role=state]")).to_contain_text("above 47.0")
    page.locator("#calls [data-role=all-calls]").press("Enter")
    expect(page.locator("[data-call='alarm/temperature/high']")).to_be_visible(timeout=DEADLINE_MS)
    assert page.locator(".call").first.get_attribute("data-call") == "ask/2"
    call = page.locator("[data-call='ask/2']")
    expect(call).to_be_visible(timeout=DEADLINE_MS)
    call.focus()
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    expect(page.locator(":focus")).to_have_attribute("aria-label", "I was there: Bench 2")
    page.keyboard.press("Enter")
    expect(words).to_contain_text("Your call is closed: the instructor has taken it", timeout=DEADLINE_MS)
    expect(call).to_contain_text("This call is over.")

    phone.locator(".panel-group [data-does=done]").tap()
    expect(words).to_have_text("The instructor knows that you are done.", timeout=DEADLINE_MS)
    expect(page.locator(".next-done")).to_contain_text("✓ 1 of 2 is done")
