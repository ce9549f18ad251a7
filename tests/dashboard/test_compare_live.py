"""The compare page while the class runs: real boards on pseudo-terminals, the real bridge, the real page."""

from __future__ import annotations

import math
import os
import re
import sys
import threading
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from bridge import Client
from tests.dashboard.kept_class import LESSON, record_class
from tests.dashboard.test_supervising import Running, wait_until

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(sys.platform == "win32", reason="the boards here are pseudo-terminals"),
]
LONG_MS = 120_000
INTERVAL_SECONDS = 0.05
STEP_AFTER = 40  # lines


class Boards:
    """Three boards that print their temperature, each a little later than the one before, until closed."""

    def __init__(self) -> None:
        import tty

        self._pairs = [os.openpty() for _ in range(3)]
        for board_end, _ in self._pairs:
            tty.setraw(board_end)
        self.ports = {k + 1: os.ttyname(port_end) for k, (_, port_end) in enumerate(self._pairs)}
        self._closed = threading.Event()
        self.has_stepped = threading.Event()
        self._thread = threading.Thread(target=self._print, daemon=True)

    def start(self) -> None:
        self._thread.start()

    def _print(self) -> None:
        line = 0
        while not self._closed.wait(INTERVAL_SECONDS):  # as fast as a class prints, until it is over
            for k, (board_end, _) in enumerate(self._pairs):
                since = max(0, line - STEP_AFTER - 5 * k) * INTERVAL_SECONDS
                value = 40 - 20 * math.exp(-since / 1.5) + 0.01 * (line * 7 % 5 - 2)
                os.write(board_end, b"T: %.2f C, R: 20.%d C\r\n" % (value, line % 3))
            line += 1
            if line > STEP_AFTER + 60:
                self.has_stepped.set()

    def close(self) -> None:
        self._closed.set()
        self._thread.join(10)
        for pair in self._pairs:
            for end in pair:
                os.close(end)


@pytest.fixture
def boards() -> Iterator[Boards]:
    one = Boards()
    yield one
    one.close()


@pytest.fixture
def live(tmp_path: Path, boards: Boards) -> Iterator[Running]:
    lesson = tmp_path / "lesson.toml"
    lesson.write_text(LESSON, encoding="utf-8")
    kept = tmp_path / "kept"
    kept.mkdir()
    record_class(kept / "yesterday.benchrow", later=3.0)
    seats = [word for bench, port in boards.ports.items() for word in ("--board", f"{bench}={port}@9600")]
    running = Running(kept, "live", str(lesson), *seats)
    yield running
    running.end()


def up_to(page: Page) -> float:
    """How far the class was compared, in seconds."""
    words = page.locator("[data-part=method]").inner_text()
    found = re.search(r"as far as (\d+):(\d\d)", words)
    assert found, words
    return 60 * int(found[1]) + int(found[2])


def links(running: Running) -> list[str]:
    with Client(f"ws://127.0.0.1:{running.bridge_port}") as client:
        return [one["status"]["link"] for one in client.hello["benches"][:3]]


def test_a_class_is_compared_while_it_runs_with_yesterday_laid_over_it(
    page: Page, live: Running, boards: Boards
) -> None:
    live.told_until("Stop")
    wait_until(lambda: links(live) == ["open"] * 3, "the ports to be open")
    boards.start()
    assert boards.has_stepped.wait(30)
    page.goto(f"http://127.0.0.1:{live.page_port}/compare")
    expect(page.locator("[data-part=method]")).to_contain_text("The class as far as", timeout=LONG_MS)
    rows = page.locator("[data-part=figures] table").first.locator("tbody tr")
    expect(rows).to_have_count(3)

    # on request, and by itself
    page.locator("#compare-follow").click()
    page.get_by_role("option", name="when I ask for it").click()
    before = up_to(page)
    method = page.locator("[data-part=method]")
    page.get_by_role("button", name="Compare up to now").click()
    expect(method).not_to_contain_text(f"as far as {before // 60:.0f}:{before % 60:02.0f}", timeout=LONG_MS)
    asked = up_to(page)
    page.locator("#compare-follow").click()
    page.get_by_role("option", name="every 2 s").click()
    expect(method).not_to_contain_text(f"as far as {asked // 60:.0f}:{asked % 60:02.0f}", timeout=LONG_MS)
    assert before < asked < up_to(page)
    assert page.locator("#compare-status").inner_text() == ""

    # yesterday's class, aligned the same way
    page.get_by_text("the onset at each bench").click()
    page.locator("#compare-ghost").click()
    page.get_by_role("option", name=re.compile("^yesterday")).click()
    expect(page.locator(".compare-found").nth(2)).to_contain_text(
        re.compile(r"onset at \d+\.\d\d s, found"), timeout=LONG_MS
    )
    expect(page.locator("[data-part=two]")).to_contain_text("Against the other recording", timeout=LONG_MS)
    expect(page.locator("[data-picture=overlay] [role=img]")).to_have_attribute(
        "aria-label", re.compile("Dotted: the other recording")
    )
    assert page.locator("[data-part=two] tbody tr").count() >= 3

    # nobody waits for it: the bridge goes on, and the page server answers
    with urllib.request.urlopen(f"http://127.0.0.1:{live.page_port}/", timeout=10) as answer:
        assert answer.status == 200
    assert links(live) == ["open"] * 3
    page.goto("about:blank")
