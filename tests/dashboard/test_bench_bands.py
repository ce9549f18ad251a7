"""Phases, bands without a deadband and times in bands on the bench page and the wall, from a recording."""

from __future__ import annotations

import csv
import io
import random
import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from bridge.recording import RecordingWriter
from dashboard.command import main
from tests.dashboard.browser import DEADLINE_MS
from tests.dashboard.test_supervising import Running, wait_until

pytestmark = pytest.mark.browser
SECOND = 1_000_000_000
LENGTH_SECONDS = 120
LESSON = """\
title = "Cooling cups"

[[phase]]
name = "set-up"

[[phase]]
name = "run"

[[phase]]
name = "cool-down"

[[channel]]
name = "temperature"
unit = "°C"
low = 15.0
high = 55.0

[channel.bands]
baseline = 20.0
edges = [5.0, 10.0]
names = ["room", "lukewarm", "warm"]
deadband = 1.0

[[channel.phase_bands]]
phases = ["cool-down"]
edges = [8.0]
names = ["cooled", "still warm"]

[[layout]]
name = "one"
kind = "columns"
fields = ["temperature"]

[[bench]]
number = 1
name = "Paper"
layout = "one"
"""

expect.set_options(timeout=DEADLINE_MS)


@pytest.fixture
def recording(tmp_path: Path) -> Path:
    """A cup that rests at a band edge, with noise; two phases, then one with bands of its own."""
    noise, path = random.Random(4), tmp_path / "kept.benchrow"
    writer = RecordingWriter(path, lesson_text=LESSON, start_utc_ns=1_790_000_000 * SECOND, program="test")
    writer.add_event("break", 1, 0, {"cold": False})
    phases = {10: "set-up", 40: "run", 100: "cool-down"}
    for quarter in range(4 * LENGTH_SECONDS):
        at_ns = quarter * SECOND // 4
        if quarter % 4 == 0 and quarter // 4 in phases:
            writer.add_event("phase", None, at_ns, {"phase": phases[quarter // 4], "who": "instructor"})
        writer.add_chunk(1, f"{30.0 + noise.gauss(0, 0.2):.2f}\n".encode(), at_ns)
    writer.close()
    return path


def test_phases_shade_the_history_and_the_deadband_shows_its_worth(
    page: Page, recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    replay = Running(tmp_path / "kept", "replay", str(recording), "--from", str(LENGTH_SECONDS))
    try:
        told = replay.told_until("Stop")
        address = re.search(r"^Instructor +(\S+/)(#\S+)", told, re.MULTILINE)
        assert address
        wait_until(replay.page_answers, "no page is served")
        page.goto(f"{address[1]}bench/1{address[2]}")
        page.get_by_role("button", name="Whole session").click()

        lane = page.locator("[data-role=phases]")
        expect(lane.locator(".phase")).to_have_text(["set-up", "run", "cool-down"])
        expect(lane.locator(".phase[data-odd]")).to_have_text(["run"])  # every other one is hatched
        said = lane.locator("[data-role=phases-words]")
        expect(said).to_have_text(
            "Phases in this stretch: set-up from 0:10, run from 0:40, cool-down from 1:40."
        )
        expect(page.locator(".history-phases .phase")).to_have_count(3)
        ribbon = page.locator("[data-role=ribbon]")
        expect(ribbon.locator(".ribbon-phases .phase")).to_have_count(3)
        expect(ribbon.locator(".ribbon-name").last).to_have_text("still warm")
        expect(ribbon.locator(".ribbon-name", has_text="warm").first).to_have_text("warm")

        plain = page.locator("[data-role=plain-ribbon]")
        expect(plain).to_be_hidden()
        page.get_by_label("Show the bands without a deadband too").press("Space")
        expect(plain.locator("[data-quick]").first).to_be_attached()
        expect(plain.locator(".ribbon-name").last).to_have_text("still warm")

        times = page.locator("[data-role=band-times]")
        expect(times.locator("caption")).to_have_text(
            ["Bands of the phase cool-down, which hold now", "The other bands"]
        )
        assert main(["read", str(recording), "--bands"]) == 0
        rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
        of_run = [one for one in rows if one["phases"] == "cool-down"]
        others = [one for one in rows if one["phases"] == ""]
        avoided = int(others[0]["edge_changes_avoided"])
        assert avoided > 50
        expect(times.locator("[data-role=avoided]").last).to_contain_text(f"Edge changes avoided: {avoided}.")
        for part, kept in zip(times.locator("tbody").all(), (of_run, others), strict=True):
            entered = part.locator("td:last-child").all_text_contents()
            assert entered == [one["entries"] for one in reversed(kept)]
        page.set_viewport_size({"width": 390, "height": 844})  # a phone
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        page.set_viewport_size({"width": 1920, "height": 1080})

        page.goto(f"{address[1]}{address[2]}")  # the wall has the same phases
        expect(page.locator("[data-bench='1'] [data-role=strip]")).to_have_text("still warm")
        shade = """() => {
          const canvas = document.querySelector("[data-bench='1'] canvas");
          const pen = canvas.getContext('2d');
          const at = (share) => pen.getImageData(Math.round(share * canvas.width), 3, 1, 1).data[3];
          return [at(0.2), at(0.5), at(0.95)].map((alpha) => alpha > 0);
        }"""
        page.wait_for_function(f"() => String(({shade})()) === 'false,true,false'")
    finally:
        page.goto("about:blank")
        replay.end()
