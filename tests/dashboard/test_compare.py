"""The compare page in a real browser: choices, tables, sentences and pictures of a recorded class."""

from __future__ import annotations

import re
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from dashboard.recordings import CURRENT, Recordings
from dashboard.serving import Dashboard
from dashboard.shipped import demo_folder
from tests.dashboard.browser import DEADLINE_MS
from tests.dashboard.kept_class import record_class
from tests.dashboard.scripted_bridge import ScriptedBridge, bench
from tests.dashboard.test_supervising import Running, wait_until

LONG_MS = (
    120_000  # the demo is twenty minutes of eight benches: some ten seconds of a processor that is shared
)
expect.set_options(timeout=DEADLINE_MS)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("kept")
    record_class(path / "today.benchrow")
    record_class(path / "yesterday.benchrow", later=3.0)
    return path


@pytest.fixture(scope="module")
def served(folder: Path) -> Iterator[Dashboard]:
    bridge = ScriptedBridge([bench(1)])
    recordings = Recordings(data_dir=folder, replayed=folder / "today.benchrow")
    one = Dashboard("127.0.0.1", 0, bridge.url, recordings)
    thread = threading.Thread(target=one.run, daemon=True)
    thread.start()
    yield one
    one.close()
    thread.join(10)
    bridge.close()


@pytest.fixture
def compare(page: Page, served: Dashboard) -> Iterator[Page]:
    page.set_viewport_size({"width": 1280, "height": 800})
    page.goto(f"{served.url}compare")
    expect(page.locator("[data-part=figures]")).to_be_visible(timeout=LONG_MS)
    yield page
    page.goto("about:blank")


def idle(page: Page) -> None:
    expect(page.locator("#compare-result")).to_have_attribute("data-busy", "", timeout=LONG_MS)
    expect(page.locator("#compare-status")).to_have_text("", timeout=LONG_MS)


@pytest.mark.browser
def test_a_class_is_compared_with_its_tables_sentences_and_pictures(compare: Page) -> None:
    rows = compare.locator("[data-part=figures] table").first.locator("tbody tr")
    expect(rows).to_have_count(4)
    expect(rows.nth(3)).to_contain_text("⚠ <b>In wax</b>")
    expect(rows.first.get_by_role("cell").first).to_have_text(re.compile(r"^\d+\.\d+ ± 0\.\d+$"))
    expect(compare.locator("[data-part=rankings]")).to_contain_text("cannot be told apart")
    expect(compare.locator("[data-part=remarks]")).to_contain_text("silent for 10 s in 1 gap")
    for key in ("overlay", "difference", "dots", "multiples", "responses", "consistency", "ribbons"):
        expect(compare.locator(f"[data-picture={key}] .main-svg").first).to_be_visible()
    expect(compare.locator("[data-picture=overlay] [role=img]")).to_have_attribute(
        "aria-label", re.compile("95 % confidence")
    )
    expect(compare.locator("#header .way")).to_have_text(
        ["The wall", "Where next?", "Set-up", "Compare", "What if"]
    )


@pytest.mark.browser
def test_a_bench_that_is_left_out_is_told_and_an_event_is_moved_by_hand(compare: Page) -> None:
    compare.get_by_text("the onset at each bench").click()
    expect(compare.locator(".compare-found").first).to_contain_text(
        re.compile(r"onset at 20\.0\d s, found"), timeout=LONG_MS
    )
    compare.get_by_label("Event of Bare", exact=True).fill("0:25")
    compare.get_by_label("Event of Bare", exact=True).press("Enter")
    expect(compare.locator(".compare-found").first).to_have_text(
        "onset at 25.00 s, set by hand", timeout=LONG_MS
    )
    compare.get_by_role("checkbox", name="In glass").uncheck()
    expect(compare.locator("[data-part=method]")).to_contain_text(
        "In glass is left out: left out by choice.", timeout=LONG_MS
    )
    compare.get_by_label("Reason to leave In glass out").fill("its sensor fell out")
    compare.get_by_label("Reason to leave In glass out").press("Enter")
    expect(compare.locator("[data-part=method]")).to_contain_text(
        "In glass is left out: its sensor fell out.", timeout=LONG_MS
    )
    compare.get_by_role("button", name="Leave out all with ⚠").click()
    expect(compare.locator("[data-part=method]")).to_contain_text(
        re.compile("<b>In wax</b> is left out: found from .* the board has gone silent"), timeout=LONG_MS
    )
    idle(compare)
    expect(compare.locator("[data-part=figures] table").first.locator("tbody tr")).to_have_count(2)


def event_at(page: Page, nth: int) -> float:
    """Where a bench's line stands, as it is told to those who do not see it."""
    return float(page.locator(".lane-line").nth(nth).get_attribute("aria-valuenow") or "nan")


@pytest.mark.browser
def test_an_event_is_moved_by_pointer_and_keys_and_the_comparison_follows_until_it_goes_back(
    compare: Page,
) -> None:
    expect(compare.locator("#compare-lanes")).to_be_hidden()
    compare.get_by_text("the onset at each bench").click()
    line, lane = compare.locator(".lane-line").first, compare.locator(".lane").first
    expect(lane).to_contain_text(re.compile(r"20\.0\d s, found"), timeout=LONG_MS)
    found, others = event_at(compare, 0), [event_at(compare, k) for k in (1, 2, 3)]
    box = line.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    compare.mouse.move(x, y)
    compare.mouse.down()
    compare.mouse.move(x + 150, y + 5, steps=4)
    compare.mouse.up()
    dragged = event_at(compare, 0)
    assert dragged > found + 1
    expect(compare.locator(".compare-found").first).to_have_text(
        f"onset at {dragged:.2f} s, set by hand", timeout=LONG_MS
    )
    expect(compare.locator("[data-part=remarks]")).to_contain_text("Bare: its event was set by hand")
    expect(lane.locator(".lane-found")).to_be_visible()
    assert [event_at(compare, k) for k in (1, 2, 3)] == others
    lane.get_by_role("button", name="Back to what was found").click()
    expect(lane.locator(".lane-found")).to_be_hidden()

    line = compare.get_by_role("slider", name="onset at In glass")
    line.focus()
    for key in ("ArrowRight", "ArrowRight", "Shift+ArrowRight", "ArrowLeft"):
        compare.keyboard.press(key)
    moved = event_at(compare, 2)
    assert moved == pytest.approx(others[1] + 11 * 0.1, abs=0.011)
    expect(compare.locator(".lanes-said")).to_contain_text(f"In glass: {moved:.2f} s, set by hand; found at")
    expect(compare.locator(".compare-found").nth(2)).to_have_text(
        f"onset at {moved:.2f} s, set by hand", timeout=LONG_MS
    )
    expect(compare.locator(".compare-found").first).to_have_text(f"onset at {found:.2f} s, found")
    expect(line).to_be_focused()
    compare.keyboard.press("Delete")
    expect(line).to_have_attribute("aria-valuetext", f"{others[1]:.2f} s, found")
    expect(compare.locator(".compare-found").nth(2)).to_have_text(
        f"onset at {others[1]:.2f} s, found", timeout=LONG_MS
    )


@pytest.mark.browser
def test_another_unit_is_chosen_with_bands_and_a_bench_has_an_ambient_of_its_own(compare: Page) -> None:
    compare.locator("#compare-unit").click()
    compare.get_by_role("option", name="°F", exact=True).click()
    expect(compare.locator("[data-part=method]")).to_contain_text("in °F", timeout=LONG_MS)
    idle(compare)
    level = compare.locator("[data-part=figures] td").first.inner_text()
    assert 95 < float(level.split()[0]) < 104  # 35 to 40 °C
    expect(compare.get_by_label("Ambient at Bare", exact=True)).to_be_hidden()
    compare.get_by_text("towards ambient").click()
    compare.get_by_label("Ambient at Bare", exact=True).fill("104")
    compare.get_by_label("Ambient at Bare", exact=True).press("Enter")
    expect(compare.locator("[data-part=figures]")).to_contain_text("ambient, °F", timeout=LONG_MS)
    expect(compare.locator("[data-part=method]")).to_contain_text(
        "Ambient given: 104 °F at Bare, taken as exact"
    )


@pytest.mark.browser
def test_another_recording_lies_over_this_one_as_a_ghost(compare: Page) -> None:
    dotted = compare.locator("[data-picture=overlay] .js-line[style*=dasharray]")
    expect(dotted).to_have_count(0)
    compare.locator("#compare-ghost").click()
    compare.get_by_role("option", name=re.compile("^yesterday")).click()
    expect(compare.locator("[data-picture=overlay] [role=img]")).to_have_attribute(
        "aria-label", re.compile("Dotted: the other recording"), timeout=LONG_MS
    )
    idle(compare)
    expect(dotted).to_have_count(5)  # four benches, one of them in two pieces for its gap


@pytest.mark.browser
def test_what_is_no_number_is_told_and_a_window_that_ends_before_it_begins_too(compare: Page) -> None:
    compare.locator("#compare-from").fill("soon")
    compare.locator("#compare-from").press("Enter")
    expect(compare.locator("#compare-status")).to_have_text(re.compile("^Window from: “soon” is no number"))
    compare.locator("#compare-from").fill("1:00")
    compare.locator("#compare-from").press("Enter")
    compare.locator("#compare-to").fill("30")
    compare.locator("#compare-to").press("Enter")
    expect(compare.locator(".compare-failed")).to_contain_text("before it begins", timeout=LONG_MS)


@pytest.mark.browser
def test_nothing_stands_beyond_the_page(compare: Page) -> None:
    idle(compare)
    beyond = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    for width, height in ((390, 844), (768, 1024), (1280, 800), (1920, 1080)):
        compare.set_viewport_size({"width": width, "height": height})
        compare.wait_for_function(f"innerWidth === {width} && {beyond} === 0")
        box = compare.locator("[data-part=figures]").bounding_box()
        assert box is not None
        assert box["x"] + box["width"] <= width


@pytest.mark.browser
def test_pictures_are_drawn_for_a_dark_screen(browser: Browser, served: Dashboard) -> None:
    context = browser.new_context(color_scheme="dark", viewport={"width": 1280, "height": 800})
    page = context.new_page()
    page.goto(f"{served.url}compare")
    paper = page.locator("[data-picture=overlay] .main-svg").first
    expect(paper).to_have_css("background-color", "rgb(23, 27, 30)", timeout=LONG_MS)
    context.close()


@pytest.mark.browser
@pytest.mark.skipif(sys.platform == "win32", reason="the rig of this test is for POSIX")
def test_the_demo_is_compared_while_it_is_replayed(page: Page, tmp_path: Path) -> None:
    running = Running(tmp_path, "replay", str(demo_folder() / "recording.benchrow"))
    try:
        running.told_until("Stop")
        wait_until(running.page_answers, "no page is served")
        page.goto(f"http://127.0.0.1:{running.page_port}/")
        page.locator("#header").get_by_role("link", name="Compare").click()
        expect(page.locator("#compare-reading")).to_contain_text(
            re.compile(r"Reading recording\.benchrow … \d+%")
        )
        expect(page.locator("[data-part=figures]")).to_be_visible(timeout=LONG_MS)
        expect(page.locator("[data-role=connection]")).to_have_text("Connected")
        expect(page.locator("[data-part=figures] tbody").first.locator("tr")).to_have_count(8)
        expect(page.locator("[data-part=remarks]")).to_contain_text("swings about as a pin does")
        expect(page.locator("[data-picture=ribbons] .main-svg").first).to_be_visible()
    finally:
        page.goto("about:blank")
        running.end()


# ---- without a browser ----


def test_others_than_this_machine_see_this_session_alone(folder: Path) -> None:
    recordings = Recordings(data_dir=folder, replayed=folder / "today.benchrow")
    assert recordings.found("yesterday.benchrow", from_here=True) == folder / "yesterday.benchrow"
    assert recordings.found("yesterday.benchrow", from_here=False) is None
    assert recordings.found(CURRENT, from_here=False) == folder / "today.benchrow"


@pytest.mark.parametrize("name", ["../kept/today.benchrow", "/etc/passwd", "today", ""])
def test_only_a_file_of_the_folder_is_found(folder: Path, name: str) -> None:
    assert Recordings(data_dir=folder).found(name, from_here=True) is None


def test_a_live_session_is_compared_by_the_name_that_the_bridge_tells(folder: Path) -> None:
    assert (
        Recordings(data_dir=folder, live_name=lambda: "today.benchrow").current() == folder / "today.benchrow"
    )
    assert Recordings(data_dir=folder, live_name=lambda: "../x.benchrow").current() == folder / "x.benchrow"
    assert Recordings(data_dir=folder).current() is None
