"""The set-up page and the bench page's certainty on a real bridge server: its survey, its passcode."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from bridge.controls import Capture
from tests.dashboard.browser import DEADLINE_MS, dashboard_for, free_port
from tests.dashboard.made_up_bridge import PASSCODE, MadeUpBridge

pytestmark = pytest.mark.browser

expect.set_options(timeout=DEADLINE_MS)


@pytest.fixture
def class_page(page: Page) -> Iterator[tuple[Page, MadeUpBridge, str]]:
    port = free_port()
    with (
        MadeUpBridge(origins=(f"http://127.0.0.1:{port}",)) as bridge,
        dashboard_for(bridge.url, port) as one,
    ):
        yield page, bridge, one.url.rstrip("/")
        page.goto("about:blank")


def test_who_surveys_is_told_of_all_benches(class_page: tuple[Page, MadeUpBridge, str]) -> None:
    page, bridge, url = class_page
    page.goto(f"{url}/set-up#passcode={PASSCODE}")
    expect(page.locator("[data-role=needs] a")).to_have_text(
        [
            "6: felt: The board prints whole degrees",
            "7: cork: asks how to read its text",
            "8: a second cup: silent",
        ]
    )
    expect(page.locator(".bath-count")).to_have_text("7 of 8 chosen are steady.")
    page.get_by_label("Reference").fill("36.5")
    page.get_by_role("button", name="Capture the 7 steady benches").press("Enter")
    control = bridge.heard.get(timeout=DEADLINE_MS / 1000)
    assert isinstance(control, Capture)
    assert (control.benches, control.reference) == ((1, 2, 4, 5, 6, 7, 8), 36.5)
    expect(page.locator("#bath")).to_contain_text("✓ 7 benches are captured.")


def test_who_follows_a_bench_is_told_what_it_is_worth(class_page: tuple[Page, MadeUpBridge, str]) -> None:
    page, _, url = class_page
    page.goto(f"{url}/bench/1")
    expect(page.locator("[data-role=sure-value]")).to_have_text("31.24 ± 0.14 °C")
    expect(page.locator("[data-role=points] tbody tr")).to_have_count(4)
    expect(page.locator(".panel-understood")).to_contain_text("Learned")
    expect(page.locator(".panel-findings")).to_contain_text("No finding.")
    page.goto(f"{url}/bench/5")
    expect(page.locator(".panel-findings .finding")).to_contain_text("Hint in temperature, since 0:01")
