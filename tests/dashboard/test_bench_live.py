"""The bench page on a real session: a board on a pseudo-terminal, `benchrow live`, then its replay."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.bridge.sources.rig import Terminal
from tests.dashboard.browser import DEADLINE_MS
from tests.dashboard.test_supervising import Running, wait_until

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(sys.platform == "win32", reason="the board here is a pseudo-terminal"),
]
LESSON = """\
title = "Cooling cups"  # this remark stays

[[channel]]
name = "temperature"
unit = "°C"
field = "raw"
conversion = "sensor"
low = 0.0
high = 60.0

[[conversion]]
name = "sensor"
start = "count"
width_bits = 10
reference_volts = 5.0
volts_per_unit = 0.010

[[layout]]
name = "labelled"
kind = "pairs"
fields = ["raw"]

[[bench]]
number = 1
name = "Paper"
layout = "labelled"
pulse_dtr = false  # so does this one
"""

expect.set_options(timeout=DEADLINE_MS)


@contextmanager
def session(page: Page, folder: Path, *words: str) -> Iterator[Page]:
    """Bench 1's page on a session of its own."""
    running = Running(folder, *words)
    try:
        told = running.told_until("Stop")
        address = re.search(r"^Instructor +(\S+/)(#\S+)", told, re.MULTILINE)
        assert address
        wait_until(running.page_answers, "no page is served")
        page.goto(f"{address[1]}bench/1{address[2]}")
        expect(page.locator("[data-role=connection]")).to_have_text("Connected")
        yield page
    finally:
        page.goto("about:blank")
        running.end()


def shown(count: int, gain: float = 1.0) -> str:
    return f"{gain * count * 5.0 / 1024 / 0.010:.1f}"


@pytest.fixture
def board() -> Iterator[Terminal]:
    one = Terminal()
    yield one
    one.unplug()


def test_a_bench_is_followed_corrected_let_go_taken_back_and_replayed(
    page: Page, board: Terminal, tmp_path: Path
) -> None:
    lesson = tmp_path / "lesson.toml"
    lesson.write_text(LESSON, encoding="utf-8")
    value, state = page.locator("[data-role=value]"), page.locator("[data-role=state]")
    printed = page.locator(".line").last

    with session(page, tmp_path / "kept", "live", str(lesson), f"--board=1={board.port}@115200"):
        expect(state).to_have_text("waiting for the first line")
        board.prints(b"raw: 1\nraw: 70\n")  # after a cold start the first line is no reading
        expect(value).to_have_text(shown(70))
        expect(printed).to_contain_text("raw: 70")
        expect(page.locator("[data-role=fields] tbody tr")).to_have_text("raw7070")
        expect(page.locator("[data-role=steps]")).to_contain_text("70 × 5 V / 1024")

        page.get_by_label("What happens now").fill("first")
        page.get_by_label("What happens now").press("Enter")
        expect(page.locator("[data-role=markers]")).to_contain_text("first")

        page.get_by_label("Gain").fill("1,1")
        page.get_by_label("Gain").press("Enter")
        form = page.locator("form", has=page.get_by_label("Gain"))
        expect(form.get_by_role("status")).to_contain_text("✓ saved in")
        board.prints(b"raw: 80\n")
        expect(value).to_have_text(shown(80, 1.1))
        kept = lesson.read_text(encoding="utf-8")
        assert "gain = 1.1" in kept
        assert "# this remark stays" in kept and "# so does this one" in kept  # noqa: PT018
        page.get_by_label("Gain").fill("0")
        page.get_by_label("Gain").press("Enter")
        expect(form.get_by_role("status")).to_contain_text("✕ the lesson would be wrong")
        assert lesson.read_text(encoding="utf-8") == kept

        page.get_by_role("button", name="Let the port go").click()
        expect(page.locator("[data-fact=link]")).to_contain_text("released")
        expect(page.locator("#bench")).to_have_attribute("data-old", "")
        page.get_by_role("button", name="Take the port back").click()
        expect(page.locator("[data-fact=link]")).to_contain_text("open")
        board.prints(b"raw: 2\nraw: 90\n")
        expect(value).to_have_text(shown(90, 1.1))
        expect(page.locator("#bench")).not_to_have_attribute("data-old", "")
        page.get_by_label("What happens now").fill("second")
        page.get_by_label("What happens now").press("Enter")
        expect(page.locator("[data-role=markers]")).to_contain_text("second")

    (recording,) = (tmp_path / "kept").glob("*.benchrow")
    with session(page, tmp_path / "kept", "replay", str(recording), "--speed", "64"):
        expect(page.get_by_role("button", name="Play")).to_be_visible()  # it has come to its end
        expect(value).to_have_text(shown(90, 1.1))
        page.get_by_label("Speed").select_option("0.25")  # what is sought is seen before it has gone by
        page.get_by_text("2 markers").click()
        page.locator(".replay-markers").get_by_role("button", name="first").click()
        expect(value).to_have_text(shown(70))
        page.get_by_role("button", name="To the next marker").click()
        expect(value).to_have_text(shown(90, 1.1))
        page.locator("[data-role=position]").press("Home")
        expect(value).to_have_text("–")
        page.locator("[data-role=position]").press("End")
        expect(value).to_have_text(shown(90, 1.1))
