"""A real Chromium and a served dashboard for the tests; imported by conftest.py."""

from __future__ import annotations

import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from dashboard.serving import Dashboard
from tests.chromium import find_chromium
from tests.dashboard.scripted_bridge import ScriptedBridge

FLAGS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip
DEADLINE_MS = 15_000


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One browser for all tests."""
    with sync_playwright() as play:
        one = play.chromium.launch(executable_path=find_chromium(), args=FLAGS)
        yield one
        one.close()


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A fresh page of the big screen's size; a script error on it fails the test."""
    context = browser.new_context(viewport={"width": 1920, "height": 1080})
    one = context.new_page()
    one.set_default_timeout(DEADLINE_MS)
    faults: list[str] = []
    one.on("pageerror", lambda error: faults.append(str(error)))
    yield one
    context.close()
    assert faults == []


@contextmanager
def dashboard_for(bridge_url: str, port: int = 0) -> Iterator[Dashboard]:
    """The dashboard, served in this process."""
    one = Dashboard("127.0.0.1", port, bridge_url)
    thread = threading.Thread(target=one.run, daemon=True)
    thread.start()
    try:
        yield one
    finally:
        one.close()
        thread.join(10)


def free_port() -> int:
    """A port that was free a moment ago: the bridge must know the dashboard's before there is a dashboard."""
    with socket.create_server(("127.0.0.1", 0)) as one:
        return int(one.getsockname()[1])


@pytest.fixture
def open_page(page: Page) -> Iterator[Callable[[ScriptedBridge, str], Page]]:
    """Opens the dashboard of a scripted bridge: `open_page(bridge, "/")`; ends both after the test."""
    ends: list[Callable[[], object]] = []

    def open_(bridge: ScriptedBridge, path: str = "/") -> Page:
        served = dashboard_for(bridge.url)
        one = served.__enter__()
        ends.extend([bridge.close, lambda: served.__exit__(None, None, None)])
        page.goto(one.url.rstrip("/") + path)
        return page

    yield open_
    page.goto("about:blank")  # the page lets go before what it is connected to ends
    for end in ends:
        end()
