"""The whole way: eight boards on pseudo-terminals, `benchrow live`, a real browser, and the replay."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect

from bridge import read_recording
from tests.bridge.sources.rig import Terminal
from tests.dashboard.test_supervising import Running, wait_until

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(sys.platform == "win32", reason="the boards here are pseudo-terminals"),
]
DEADLINE_MS = 30_000
VOLTS_PER_COUNT = 5.0 / 1024
LESSON = """\
title = "Cooling cups"

[[channel]]
name = "temperature"
unit = "°C"
field = "raw"
conversion = "sensor"
low = 0.0
high = 60.0
decimals = 1

[channel.bands]
baseline = 20.0
edges = [5.0, 10.0, 20.0]
names = ["room", "warm", "warmer", "warmest"]
deadband = 1.0

[[channel.limit]]
kind = "high"
at = 47.0
deadband = 1.0
message = "warmer than it should be"

[[conversion]]
name = "sensor"
start = "count"
width_bits = 10
reference_volts = 5.0
volts_per_unit = 0.010
"""


class Boards:
    """Eight boards under names that stay when a board comes back on another terminal."""

    def __init__(self, folder: Path) -> None:
        self.names = [folder / f"board{number}" for number in range(1, 9)]
        self.terminals: list[Terminal] = []
        for name in self.names:
            self.terminals.append(Terminal())
            name.symlink_to(self.terminals[-1].port)

    def print_counts(self, *counts: int, bench: int) -> None:
        """Counts as lines; whatever the port has thrown away before, these come after a whole line."""
        text = "".join(f"raw: {count}\r\n" for count in counts)
        self.terminals[bench - 1].prints(text.encode())

    def unplug(self, bench: int) -> None:
        self.terminals[bench - 1].unplug()
        self.names[bench - 1].unlink()

    def plug_in(self, bench: int) -> None:
        self.terminals[bench - 1] = Terminal()
        self.names[bench - 1].symlink_to(self.terminals[bench - 1].port)


@pytest.fixture
def boards(tmp_path: Path) -> Iterator[Boards]:
    made = Boards(tmp_path)
    yield made
    for terminal in made.terminals:
        terminal.unplug()


def shown(count: int) -> str:
    return f"{count * VOLTS_PER_COUNT / 0.010:.1f}"


def on(page: Page, bench: int, role: str) -> Locator:
    return page.locator(f"[data-bench='{bench}'] [data-role={role}]")


def open_wall(page: Page, running: Running) -> None:
    told = running.told_until("Stop")
    address = re.search(r"^Instructor +(\S+)", told, re.MULTILINE)
    assert address
    wait_until(running.page_answers, "no page is served")
    page.goto(address[1])


def test_eight_boards_reach_the_wall_and_their_replay_shows_the_same(
    boards: Boards, page: Page, tmp_path: Path
) -> None:
    lesson = tmp_path / "lesson.toml"
    lesson.write_text(LESSON, encoding="utf-8")
    words = [f"--board={number}={name}@115200" for number, name in enumerate(boards.names, 1)]
    live = Running(tmp_path / "kept", "live", str(lesson), *words)
    try:
        open_wall(page, live)
        for bench in range(1, 9):
            expect(on(page, bench, "state")).to_have_text("waiting for the first line", timeout=DEADLINE_MS)
        for bench in range(1, 9):  # the first line after a cold start is no reading; three teach the layout
            boards.print_counts(1, *[50 + 4 * bench] * 4, bench=bench)
        for bench in range(1, 9):
            expect(on(page, bench, "value")).to_have_text(shown(50 + 4 * bench))
            expect(on(page, bench, "state")).to_have_text("reading")
            expect(on(page, bench, "unit")).to_have_text("°C")

        strip = on(page, 1, "strip")
        expect(strip).to_have_text("warm")  # 26.4 °C: the second band
        expect(strip.locator("[data-filled]")).to_have_count(2)
        boards.print_counts(90, bench=1)
        expect(strip).to_have_text("warmest")
        expect(strip.locator("[data-filled]")).to_have_count(4)

        boards.print_counts(100, bench=2)
        alarm = on(page, 2, "alarm")
        expect(on(page, 2, "state")).to_contain_text("above 47.0")
        expect(alarm).to_have_text("warmer than it should be")
        alarm.press("Enter")
        expect(page.locator("[data-bench='2']")).to_have_attribute("data-level", "seen")
        boards.print_counts(80, bench=2)
        expect(alarm).to_be_hidden()

        boards.unplug(bench=3)
        expect(on(page, 3, "state")).to_contain_text("lost")
        expect(on(page, 3, "value")).to_have_text(shown(62))
        expect(on(page, 3, "age")).to_have_text(re.compile(r"\d+ s old"))
        boards.plug_in(bench=3)
        expect(on(page, 3, "state")).not_to_contain_text("lost", timeout=DEADLINE_MS)
        boards.print_counts(1, 71, bench=3)
        expect(on(page, 3, "value")).to_have_text(shown(71))
        at_the_end = [on(page, bench, "value").text_content() for bench in range(1, 9)]
    finally:
        live.end()

    (recording,) = (tmp_path / "kept").glob("*.benchrow")
    newest = read_recording(recording).groupby("bench")["value"].last()
    assert [f"{value:.1f}" for value in newest] == at_the_end

    replay = Running(tmp_path / "kept", "replay", str(recording), "--speed", "64")
    try:
        open_wall(page, replay)
        for bench, text in enumerate(at_the_end, 1):
            expect(on(page, bench, "value")).to_have_text(str(text), timeout=DEADLINE_MS)
    finally:
        replay.end()
