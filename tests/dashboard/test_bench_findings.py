"""Findings, the uncertainty budget and the check of the program on the page of one bench."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.dashboard.browser import DEADLINE_MS
from tests.dashboard.close_up import check, doubtful, part, text, worth, worth_part
from tests.dashboard.remembering_bridge import RememberingBridge
from tests.dashboard.scripted_bridge import bench, channel, finding, hint, value
from tests.dashboard.test_bench import Open, opened

pytestmark = pytest.mark.browser
HOSTILE = "<img src=x onerror=\"document.title='hit'\">"

expect.set_options(timeout=DEADLINE_MS)


def test_a_finding_says_what_since_when_the_evidence_and_what_to_try(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 31.0)])
    bridge.findings = {1: [finding(words="another bench's")], 2: [hint(), finding()]}
    page = opened(open_page, bridge)
    items = page.locator(".panel-findings .finding")
    expect(items).to_have_count(2)
    for words in (
        "The board prints at another rate", "Fault, since 8:55",
        "Seen: the bytes look like 9600 baud read at 115200", "What to try: Read it at 9600 baud",
    ):  # fmt: skip
        expect(items.nth(0)).to_contain_text(words)
    expect(items.nth(1)).to_contain_text("Hint in temperature, since 8:55")
    expect(items.nth(1).get_by_role("button")).to_have_count(0)
    expect(page.locator("[data-role=state]")).to_have_text("2 findings: The board prints at another rate")
    page.get_by_role("button", name="Try 9600 baud").press("Enter")
    assert bridge.next_heard("try_baud", bench=2)["baud"] == 9600
    expect(page.locator(".panel-findings").get_by_role("status")).to_have_text("✓ done")
    bridge.say({"kind": "findings", "bench": 2, "findings": [hint(words="It hums less")]})
    expect(items).to_have_count(1)
    expect(page.locator(".panel-findings")).to_be_focused()  # what had the focus has gone
    bridge.say({"kind": "findings", "bench": 2, "findings": []})
    expect(page.locator(".panel-findings")).to_contain_text("No finding.")


def test_a_new_fault_is_read_out_and_a_replay_tries_no_rate(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 31.0)])
    bridge.session["source"] = "replay"
    page = opened(open_page, bridge)
    bridge.say({"kind": "findings", "bench": 2, "findings": [hint(), finding()]})
    expect(page.locator(".finding")).to_have_count(2)
    expect(page.locator("#announcements")).to_have_text("Fault: The board prints at another rate")
    expect(page.get_by_role("button", name="Try 9600 baud")).to_be_hidden()


def test_the_budget_shows_each_part_with_its_share(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 31.2)])
    page = opened(open_page, bridge)
    expect(page.locator("[data-role=sure-value]")).to_have_text("–")
    expect(page.locator("[data-role=budget]")).to_be_hidden()
    bridge.say(worth(2))
    expect(page.locator("[data-role=sure-value]")).to_have_text("31.24 ± 0.14 °C")
    rows = page.locator("[data-role=budget] tbody tr")
    expect(rows.nth(0)).to_have_text("resolution0.1497 %B5 V / 1024, 10 mV for one °C")
    expect(rows.nth(1)).to_have_text("noise0.0263 %Athe last 120 readings")
    width = "e => parseFloat(getComputedStyle(e).width)"
    bars = page.locator(".share-bar span")
    assert bars.nth(0).evaluate(width) > 20 * bars.nth(1).evaluate(width)
    bridge.say(worth(2, worth_part(value=None, u=None, deadband=None, parts=[part("noise", 0.02, 1.0)])))
    expect(page.locator("[data-role=sure-value]")).to_have_text("– °C")
    expect(rows).to_have_count(1)
    expect(page.locator("[data-role=deadband]")).to_have_text("–")


def test_the_suggested_deadband_is_taken_over_where_there_are_bands(open_page: Open) -> None:
    plain = channel(name="volts", unit="V", edges=[], edge_names=[""], limits=[], baseline=None)
    bridge = RememberingBridge([bench(2, channels=[channel(), plain])], [value(2, 31.2)])
    page = opened(open_page, bridge)
    bridge.say(worth(2, worth_part(deadband=0.4321), worth_part(channel="volts", unit="V", deadband=0.004)))
    expect(page.locator("[data-role=deadband]")).to_have_text("0.43 °C")
    expect(page.locator(".sure-deadband")).to_contain_text("three times the noise")
    page.get_by_role("button", name="Take over").press("Enter")
    path = ["channel", "temperature", "bands", "deadband"]
    assert bridge.next_heard("revise")["changes"] == [[path, 0.43]]
    page.get_by_label("Channel").select_option("volts")
    expect(page.locator("[data-role=deadband]")).to_have_text("0.0040 V")
    expect(page.get_by_role("button", name="Take over")).to_be_hidden()


@pytest.mark.parametrize(
    ("told", "words", "reads"),
    [
        (check(), "✓The program converts as the lesson expects", "right to 0.00 °C"),
        (check("wrong", reads_wrong_by=1.239), "✕The program converts wrongly", "1.24 °C too high"),
        (check("wrong", reads_wrong_by=-0.5), "✕The program converts wrongly", "0.50 °C too low"),
        (check("undecided", found="", reads_wrong_by=None), "?The readings cannot tell yet", "–"),
        (check("none", found="", reads_wrong_by=None), "The board does not print enough", "–"),
    ],
)
def test_the_check_of_the_program_says_how_it_reads_now(
    open_page: Open, told: Any, words: str, reads: str
) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 31.2)])
    page = opened(open_page, bridge)
    bridge.say(worth(2, worth_part(check=told | {"words": "One sentence", "would_tell": "above 900 counts"})))
    expect(page.locator(".check-head")).to_contain_text(words)
    expect(page.locator(".check-words")).to_have_text("One sentence")
    expect(page.locator("[data-fact=check-wrong]")).to_have_text(reads)
    expect(page.locator("[data-fact=check-tell]")).to_have_text("above 900 counts")
    expect(page.locator("[data-fact=check-found]")).to_have_text(told["found"] or "–")


def test_a_doubt_is_answered_from_the_benchs_page_too(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)])
    page = opened(open_page, bridge)
    bridge.say(doubtful(2))
    ways = page.locator(".panel-understood .way-to-read")
    expect(ways.nth(1).locator("tbody tr").first).to_have_text("125")
    ways.nth(1).get_by_role("button").focus()
    bridge.say(doubtful(2, samples=["14,8"], doubt="Still in doubt"))
    expect(page.locator(".understood-doubt")).to_have_text("Still in doubt")
    expect(ways.nth(1).get_by_role("button")).to_be_focused()  # new lines do not take it away
    page.keyboard.press("Enter")
    assert bridge.next_heard("choose_layout", bench=2)["alternative"] == 1
    bridge.say(text(2))
    expect(ways).to_have_count(0)
    page.locator(".panel-understood").get_by_role("button", name="Learn again").press("Enter")
    bridge.next_heard("relearn", bench=2)


def test_hostile_words_of_every_kind_stay_words(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 31.2)])
    page = opened(open_page, bridge)
    one = finding(words=HOSTILE, evidence=HOSTILE, remedy=HOSTILE, channel=HOSTILE)
    bridge.say({"kind": "findings", "bench": 2, "findings": [one]})
    way = {"words": HOSTILE, "columns": [HOSTILE], "rows": [[HOSTILE]]}
    field = {"name": HOSTILE, "role": "", "unit": HOSTILE, "text": HOSTILE + "\x1b"}
    bridge.say(doubtful(2, words=HOSTILE, doubt=HOSTILE, alternatives=[way], fields=[field]))
    told = check("wrong", words=HOSTILE, expected=HOSTILE, found=HOSTILE, would_tell=HOSTILE)
    parts = [part(HOSTILE, 0.1, 1.0, source=HOSTILE)]
    bridge.say(worth(2, worth_part(parts=parts, check=told, deadband_words=HOSTILE, unit=HOSTILE)))
    expect(page.locator(".finding strong")).to_have_text(HOSTILE)
    expect(page.locator("[data-role=understood-fields]")).to_contain_text(f"{HOSTILE}⟨ESC⟩")
    expect(page.locator("[data-role=budget] tbody th")).to_have_text(HOSTILE)
    expect(page.locator(".check-words")).to_have_text(HOSTILE)
    expect(page.locator("#bench img")).to_have_count(0)
    expect(page).to_have_title(re.compile("Bench 2"))


@pytest.mark.parametrize("size", [(1920, 1080), (1280, 800), (390, 844)], ids=str)
def test_what_is_told_in_full_stays_within_the_screen(open_page: Open, size: tuple[int, int]) -> None:
    long = "w" * 200
    bridge = RememberingBridge([bench(2)], [value(2, 31.2)])
    page = opened(open_page, bridge)
    page.set_viewport_size({"width": size[0], "height": size[1]})
    found = [finding(words=long, evidence=long, remedy=long), hint(long)]
    bridge.say({"kind": "findings", "bench": 2, "findings": found})
    bridge.say(doubtful(2, doubt=long, words=long))
    told = check("wrong", words=long, expected=long, found=long, would_tell=long)
    bridge.say(worth(2, worth_part(parts=[part(long, 0.1, 1.0, source=long)], check=told)))
    expect(page.locator(".check-words")).to_have_text(long)
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    buttons = page.locator("#bench button:visible")
    assert max(buttons.evaluate_all("all => all.map(one => one.getBoundingClientRect().right)")) <= size[0]
