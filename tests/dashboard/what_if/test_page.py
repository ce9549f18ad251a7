"""The what-if page in a real browser: a form, both results, and the ways to keep what was changed."""

from __future__ import annotations

import re
import shutil
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import flask
import pytest
from playwright.sync_api import Page, expect

from bridge import kept_revisions, read_lesson
from dashboard.pages.what_if import kept_lessons
from dashboard.recordings import CURRENT, Recordings
from dashboard.serving import Dashboard
from dashboard.shipped import demo_folder
from tests.dashboard.browser import DEADLINE_MS
from tests.dashboard.scripted_bridge import PASSCODE, ScriptedBridge, bench
from tests.dashboard.test_supervising import Running, wait_until
from tests.dashboard.what_if.recorded import LESSON, record_cups

pytestmark = pytest.mark.browser
expect.set_options(timeout=DEADLINE_MS)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("kept")
    record_cups(path / "cups.benchrow")
    shutil.copy(demo_folder() / "recording.benchrow", path / "long.benchrow")
    (path / "cups, revision 1.toml").write_text(LESSON.replace("at = 50.0", "at = 45.0"), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def served(folder: Path) -> Iterator[tuple[Dashboard, ScriptedBridge]]:
    bridge = ScriptedBridge([bench(1)])
    bridge.session["source"] = "replay"
    recordings = Recordings(data_dir=folder, replayed=folder / "cups.benchrow")
    one = Dashboard("127.0.0.1", 0, bridge.url, recordings)
    thread = threading.Thread(target=one.run, daemon=True)
    thread.start()
    yield one, bridge
    one.close()
    thread.join(10)
    bridge.close()


@pytest.fixture
def what_if(page: Page, served: tuple[Dashboard, ScriptedBridge]) -> Iterator[Page]:
    page.set_viewport_size({"width": 1280, "height": 800})
    page.goto(f"{served[0].url}what-if#passcode={PASSCODE}")
    expect(page.locator(".what-if-group").first).to_be_visible()
    yield page
    page.goto("about:blank")


def type_in(page: Page, group: str, label: str, text: str) -> None:
    opened = page.locator("details.what-if-group", has=page.get_by_text(group, exact=True))
    if opened.get_attribute("open") is None:
        opened.locator("summary").press("Enter")
    field = opened.get_by_label(re.compile(f"^{label}"))
    field.fill(text)
    field.press("Enter")


def show_both(page: Page) -> None:
    expect(page.get_by_role("button", name="Show both")).to_be_enabled()
    page.get_by_role("button", name="Show both").press("Enter")
    expect(page.locator("#what-if-status")).to_have_text(re.compile(r"^Computed in \d+\.\d s\.$"))


def test_a_changed_reference_is_shown_beside_what_was(what_if: Page) -> None:
    expect(what_if.locator("#header [aria-current=page]")).to_have_text("What if")
    expect(what_if.get_by_role("button", name="Show both")).to_be_disabled()
    type_in(what_if, "Conversion “sensor”", "reference voltage", "3,3")
    expect(what_if.locator(".what-if-says.changed")).to_have_text("from 5.0 V to 3.3 V")
    show_both(what_if)
    expect(what_if.locator("[data-part=answer]")).to_contain_text(
        "Something differs at 2 of 3 benches; nothing differs at the other 1."
    )
    expect(what_if.locator("[data-part=answer]")).to_contain_text(
        re.compile(
            r"Bench 1, Bare: temperature 48\.\d °C becomes 3\d\.\d °C on average; its alarm “high” would not"
        )
    )
    expect(what_if.locator("[data-part=answer]")).to_contain_text("Bench 2, <b>Foil</b>:")
    for key in ("before", "after", "ribbons"):
        expect(what_if.locator(f"[data-picture={key}] .main-svg").first).to_be_visible()
    rows = what_if.locator("[data-part=table] tbody tr")
    expect(rows.filter(has_text="alarm “high” came").first).to_have_text(re.compile(r"once, at 0:10never−1$"))
    what_if.get_by_role("radio", name="over each other").check()
    expect(what_if.locator("[data-picture=over] [role=img]")).to_have_attribute(
        "aria-label", re.compile("Dashed: before. Solid, with the bench's mark: with the change")
    )
    type_in(what_if, "Conversion “sensor”", "reference voltage", "2.5")
    expect(what_if.locator("#what-if-status")).to_have_text(
        re.compile("^What is shown is of the changes before")
    )
    show_both(what_if)
    expect(what_if.locator("[data-part=answer]")).to_contain_text("from 5.0 V to 2.5 V.")
    expect(rows.filter(has_text="temperature, mean").first).to_contain_text(
        re.compile(r"48\.\d °C2\d\.\d °C")
    )
    what_if.get_by_role("checkbox", name="Bare").uncheck()
    expect(what_if.locator("[data-part=table]")).not_to_contain_text("Bare")
    what_if.get_by_role("button", name="Undo all changes").click()
    expect(what_if.locator("#what-if-nothing")).to_be_visible()
    expect(what_if.locator("#what-if-recording")).to_be_focused()
    expect(what_if.get_by_label(re.compile("^reference voltage"))).to_have_value("5.0")


def test_faults_are_told_beside_their_field_in_the_words_of_the_check(what_if: Page) -> None:
    type_in(what_if, "Conversion “sensor”", "reference voltage", "3300")
    expect(what_if.locator(".what-if-says.wrong")).to_contain_text("3300 mV are 3.3 V")
    type_in(what_if, "Limit “high” of temperature", "limit", "warm")
    expect(what_if.locator(".what-if-says.wrong").nth(1)).to_contain_text("“warm” is no number")
    expect(what_if.get_by_role("button", name="Show both")).to_be_disabled()
    type_in(what_if, "Conversion “sensor”", "reference voltage", "5")
    type_in(what_if, "Limit “high” of temperature", "limit", "200")
    expect(what_if.locator(".what-if-says.wrong")).to_have_count(0)
    type_in(what_if, "Temperature: bands", "band edges", "5 15 25 30")
    expect(what_if.locator(".what-if-says.wrong")).to_contain_text("names must be")
    type_in(what_if, "Temperature: bands", "bands' names", "a; b; c; d; e")
    expect(what_if.locator(".what-if-says.wrong")).to_have_count(0)
    expect(what_if.locator("#what-if-changes li")).to_have_count(3)


def test_that_nothing_differs_is_told(what_if: Page) -> None:
    what_if.locator("#what-if-base").click()
    what_if.get_by_role("option", name="cups, revision 1").click()
    expect(what_if.locator("#what-if-source")).to_contain_text("cups, revision 1.toml")
    what_if.get_by_text("Single benches, and what is not there yet").press("Enter")
    type_in(what_if, "Temperature: a limit that is not there", "new limit, high-high", "200")
    show_both(what_if)
    expect(what_if.locator("[data-part=answer]")).to_contain_text("Nothing differs: every reading")
    expect(what_if.get_by_role("button", name="Keep it in this replay")).to_be_hidden()


def test_it_is_kept_in_the_replay_and_saved_with_its_remarks(
    what_if: Page, served: tuple[Dashboard, ScriptedBridge], tmp_path: Path
) -> None:
    type_in(what_if, "Conversion “sensor”", "reference voltage", "3.3")
    what_if.get_by_text("Keep the changed lesson").click()
    what_if.get_by_label("Why").fill("measured")
    what_if.get_by_role("button", name="Keep it in this replay").press("Enter")
    expect(what_if.locator("[data-role=told]")).to_contain_text("✓")
    heard = []
    while not served[1].heard.empty():
        heard.append(served[1].heard.get())
    (sent,) = (one for one in heard if one["kind"] == "revise")
    assert sent["changes"] == [[["conversion", "sensor", "reference_volts"], 3.3]]
    assert (sent["from_recorded"], sent["keep"]) == (True, "measured")
    with what_if.expect_download() as saved:
        what_if.get_by_role("button", name="Save as a lesson file").press("Enter")
    assert saved.value.suggested_filename == "cups, changed.toml"
    saved.value.save_as(tmp_path / "saved.toml")
    assert (tmp_path / "saved.toml").read_text(encoding="utf-8") == LESSON.replace(
        "reference_volts = 5.0", "reference_volts = 3.3"
    )


def test_its_progress_is_shown_and_it_can_be_stopped(what_if: Page) -> None:
    what_if.locator("#what-if-recording").click()
    what_if.get_by_role("option", name=re.compile("^long")).click()
    type_in(what_if, "Conversion “12-bit 3.3 V”", "reference voltage", "3.0")
    expect(what_if.locator("#what-if-changes")).to_contain_text("12-bit 3.3 V")
    what_if.get_by_role("button", name="Show both").press("Enter")
    expect(what_if.get_by_role("progressbar", name="How far it is")).to_be_visible()
    expect(what_if.locator("#what-if-status")).to_have_text(re.compile(r"^Computing both … \d+%"))
    what_if.get_by_role("button", name="Stop").press("Enter")
    expect(what_if.locator("#what-if-status")).to_have_text("Stopped.")
    expect(what_if.get_by_role("button", name="Show both")).to_be_focused()
    expect(what_if.get_by_role("progressbar", name="How far it is")).to_be_hidden()
    expect(what_if.locator("[data-part=answer]")).to_have_count(0)


def test_nothing_stands_beyond_the_page(what_if: Page) -> None:
    type_in(what_if, "Conversion “sensor”", "reference voltage", "3.3")
    show_both(what_if)
    expect(what_if.locator("[data-picture=ribbons] .main-svg").first).to_be_visible()
    beyond = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    for width, height in ((390, 844), (768, 1024), (1280, 800), (1920, 1080)):
        what_if.set_viewport_size({"width": width, "height": height})
        what_if.wait_for_function(f"innerWidth === {width} && {beyond} === 0")


@pytest.mark.parametrize(("address", "n"), [("127.0.0.1", 1), ("192.168.1.9", 0)])
def test_others_than_this_machine_see_no_kept_lesson(folder: Path, address: str, n: int) -> None:
    recordings = Recordings(data_dir=folder, replayed=folder / "cups.benchrow")
    with flask.Flask("asked").test_request_context(environ_base={"REMOTE_ADDR": address}):
        assert len(kept_lessons(recordings, CURRENT)) == n


@pytest.mark.skipif(sys.platform == "win32", reason="the rig of this test is for POSIX")
def test_a_replay_shows_on_the_wall_what_was_kept(page: Page, tmp_path: Path) -> None:
    recording = record_cups(tmp_path / "cups.benchrow")
    before = recording.read_bytes()
    running = Running(tmp_path, "replay", str(recording), "--from", "0:20", "--speed", "0.25")
    try:
        passcode = re.search(r"^Passcode +(\S+)", running.told_until("Stop"), re.MULTILINE)
        assert passcode
        wait_until(running.page_answers, "no page is served")
        wall = f"http://127.0.0.1:{running.page_port}/#passcode={passcode[1]}"
        page.goto(wall)
        value = page.locator("[data-bench='1'] [data-role=value]")
        expect(value).to_have_text(re.compile(r"^5\d\.\d"))
        page.locator("#replay-bar").get_by_role("link", name="What if").click()
        expect(page.locator(".what-if-group").first).to_be_visible()
        type_in(page, "Conversion “sensor”", "reference voltage", "3.3")
        page.get_by_text("Keep the changed lesson").click()
        page.get_by_role("button", name="Keep it in this replay").click()
        expect(page.locator("[data-role=told]").first).to_contain_text("the recording stays as it was")
        page.locator("#what-if-base").click()
        expect(page.get_by_role("option", name="cups, revision 1")).to_be_visible()
        page.goto(wall)
        expect(value).to_have_text(re.compile(r"^3\d\.\d"))
    finally:
        page.goto("about:blank")
        running.end()
    (kept,) = kept_revisions(tmp_path, recording)
    assert read_lesson(kept).conversions[0].reference_volts == 3.3
    assert recording.read_bytes() == before
