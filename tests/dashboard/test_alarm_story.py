"""An alarm from the board to the journal: `benchrow live`, a board on a pseudo-terminal, a real browser."""

from __future__ import annotations

import csv
import io
import re
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from bridge import journal_of_recording
from tests.bridge.sources.rig import Terminal
from tests.dashboard.browser import DEADLINE_MS
from tests.dashboard.test_supervising import Running, wait_until

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(sys.platform == "win32", reason="the board here is a pseudo-terminal"),
]
LESSON = """\
title = "Cooling cups"

[[channel]]
name = "temperature"
unit = "°C"
field = "raw"
conversion = "sensor"
low = 0.0
high = 60.0

[[channel.limit]]
kind = "high"
at = 40.0
priority = "high"
message = "Too warm"

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
"""
REASON = '=being "stirred", a while'  # what a spreadsheet would compute, with what a cell must be quoted for

expect.set_options(timeout=DEADLINE_MS)


@pytest.fixture
def board() -> Iterator[Terminal]:
    one = Terminal()
    yield one
    one.unplug()


def prints(board: Terminal, *counts: int) -> None:
    board.prints(b"".join(f"raw: {count}\n".encode() for count in counts))


def saved(page: Page) -> list[dict[str, str]]:
    """The journal as the page hands it out, read back."""
    with page.expect_download() as download:
        page.get_by_role("button", name="Export").click()
    text = Path(download.value.path()).read_bytes().decode("utf-8")
    assert download.value.suggested_filename.endswith("-journal.csv")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_an_alarm_rises_is_seen_shelved_comes_back_and_stands_in_the_journal(
    page: Page, board: Terminal, tmp_path: Path
) -> None:
    lesson = tmp_path / "lesson.toml"
    lesson.write_text(LESSON, encoding="utf-8")
    live = Running(tmp_path / "kept", "live", str(lesson), f"--board=1={board.port}@115200")
    try:
        told = live.told_until("Stop")
        address = re.search(r"^Instructor +(\S+/)(#\S+)", told, re.MULTILINE)
        assert address
        wait_until(live.page_answers, "no page is served")
        base, passcode = address[1], address[2]

        page.goto(base + passcode)
        card = page.locator("[data-bench='1']")
        expect(card.locator("[data-role=state]")).to_have_text("waiting for the first line")
        prints(board, 1, 70, 85)  # 34.2 and 41.5 °C; after a cold start the first line is no reading
        expect(card.locator("[data-role=state]")).to_contain_text("above 40.0")
        card.locator("[data-role=alarm]").press("Enter")
        expect(card).to_have_attribute("data-level", "seen")

        page.goto(f"{base}bench/1{passcode}")
        alarm = page.locator("[data-role=alarm] .alarm")
        expect(alarm.locator(".alarm-state")).to_contain_text("stands, acknowledged")
        page.get_by_role("button", name="Shelve: ").press("Enter")
        page.get_by_role("textbox", name="Minutes").fill("0.02")  # little more than a second
        page.get_by_role("textbox", name="Why").fill(REASON)
        page.get_by_role("textbox", name="Why").press("Enter")
        expect(page.locator(".panel-alarms [role=status]").first).to_contain_text(
            "✓ shelved for 0.02 minutes"
        )
        expect(alarm.locator(".alarm-state")).to_contain_text("stands, not yet acknowledged")  # by itself

        page.get_by_role("link", name="All transitions").click()
        rows = page.locator("[data-role=journal] tbody tr")
        expect(rows).to_have_count(4)
        expect(rows.first).to_contain_text("off the shelf")
        journal = saved(page)
        assert [(one["event"], one["state"], one["before"], one["who"]) for one in journal] == [
            ("rise", "unacknowledged", "normal", "rule"),
            ("acknowledge", "acknowledged", "unacknowledged", "instructor"),
            ("shelve", "shelved", "acknowledged", "instructor"),
            ("unshelve", "unacknowledged", "shelved", "rule"),
        ]
        assert [one["time"] for one in journal] == sorted(one["time"] for one in journal)
        risen, shelved = journal[0], journal[2]
        assert (risen["bench"], risen["channel"], risen["alarm"], risen["kind"]) == (
            "1",
            "temperature",
            "high",
            "high",
        )
        assert float(risen["value"]) == pytest.approx(41.5, abs=0.05)
        assert (float(risen["limit"]), risen["unit"]) == (40.0, "°C")
        assert (risen["priority"], risen["message"]) == ("high", "Too warm")
        assert shelved["reason"] == "'" + REASON  # no spreadsheet runs it
        assert shelved["until"] == journal[3]["time"]

        page.get_by_label("Words").fill("stirred")
        expect(rows).to_have_count(1)
        assert [one["event"] for one in saved(page)] == ["shelve"]
        page.get_by_label("Words").fill("")
        page.get_by_label("Priority").select_option("low")
        expect(page.locator("[data-role=journal-none]")).to_have_text("No transition fits.")
        page.get_by_label("Priority").select_option("")

        prints(board, *[81, 82] * 6)  # 39.6 and 40.0 °C: to and fro about the limit
        expect(rows).to_have_count(4 + 12)
        page.set_viewport_size({"width": 390, "height": 844})  # a phone
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        page.set_viewport_size({"width": 1920, "height": 1080})
        expect(page.locator("[data-role=chattering]")).to_contain_text("1 Paper: temperature, high")
        page.locator("[data-role=chattering] a").click()
        calming = page.locator("[data-role=calming]")
        expect(calming).to_contain_text(
            "With a deadband of 0.5 °C this alarm would have come once instead of 7."
        )
        calming.get_by_role("button", name="Take it over: with a deadband").press("Enter")
        expect(calming.get_by_role("status")).to_contain_text("✓ saved in")
        assert "deadband = 0.5" in lesson.read_text(encoding="utf-8")
        expect(calming.get_by_role("button")).to_have_count(0)

        prints(board, *[81, 82] * 6)  # the same again
        prints(board, 60)  # 29.3 °C, the only one that counts
        page.get_by_role("link", name="All transitions").click()
        expect(rows).to_have_count(4 + 12 + 1)
        expect(page.locator("[data-role=chattering]")).to_contain_text(
            "7 times, up to 7 in a minute; set otherwise since"
        )
        at_the_end = [(one["event"], one["state"]) for one in saved(page)]
        assert at_the_end[-1] == ("return", "returned unacknowledged")
    finally:
        page.goto("about:blank")
        live.end()

    (recording,) = (tmp_path / "kept").glob("*.benchrow")
    kept = journal_of_recording(recording)
    assert [(one.change.event, one.change.state) for one in kept] == at_the_end
