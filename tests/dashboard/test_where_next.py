"""The line on the wall and the page that say where to go next, fed by a bridge that says what is needed."""

from __future__ import annotations

import json
import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from websockets.sync.server import ServerConnection

from dashboard.shipped import assets_folder
from tests.dashboard.browser import DEADLINE_MS
from tests.dashboard.calls_given import ask, at, call, calls, flood, high, told
from tests.dashboard.remembering_bridge import RememberingBridge
from tests.dashboard.scripted_bridge import PASSCODE, Message, alarm, bench, value

pytestmark = pytest.mark.browser
Open = Callable[..., Page]

expect.set_options(timeout=DEADLINE_MS)

COVERS = ("No cover", "Paper", "Wool", "Foil", "Foam", "Felt", "Cork", "A second cup")
FORMULA = call("finding/wrong formula", at(4, 3, words="It divides by 1023"), at(7), advice="Divide by 1024")
HOSTILE = "<img src=x onerror=alert(1)>"
SIDEWAYS = "document.documentElement.scrollWidth > innerWidth"


def class_of(n: int = 8) -> RememberingBridge:
    benches = [
        bench(i, name=COVERS[i - 1] if n == 8 else f"Bench {i}", row=(i - 1) // 4 + 1, place=(i - 1) % 4 + 1)
        for i in range(1, n + 1)
    ]
    return RememberingBridge(benches, [value(i, 30.0 + i, band=2) for i in range(1, n + 1)])


def opened(open_page: Open, bridge: RememberingBridge, path: str = "/next") -> Page:
    page = open_page(bridge, f"{path}#passcode={PASSCODE}")
    expect(page.locator("[data-role=connection]")).to_have_text("Connected")
    return page


def order(page: Page) -> list[str]:
    found = page.locator(".call").evaluate_all("all => all.map(one => one.dataset.call)")
    return [str(one) for one in found]


# On the wall


def test_the_wall_says_where_to_go_next_and_no_card_moves(open_page: Open) -> None:
    bridge = class_of()
    page = opened(open_page, bridge, "/")
    strip, card = page.locator("#calls"), page.locator("[data-bench='3']")
    expect(strip.locator("[data-role=next-words]")).to_have_text("Nobody waits.")
    before = card.bounding_box()
    bridge.say(told(ask(3, minutes=4), FORMULA, ask(6), done=(1, 2)))
    expect(strip.locator("[data-role=next-call]")).to_have_text("Next:Bench 3, Wool⚑ asks for help4 min")
    expect(strip.locator("[data-role=next-call] .mark")).to_have_attribute(
        "aria-label", re.compile("diamond")
    )
    expect(strip.locator("[data-role=short-call]:visible")).to_have_count(2)
    expect(strip.locator("[data-role=short-call]").first).to_contain_text("4 Foil + 1")
    expect(strip.locator("[data-role=done]")).to_have_text("✓ 2 of 8 are done")
    expect(strip.locator("[data-role=all-calls]")).to_have_attribute("href", "/next")
    expect(card.locator("[data-role=state]")).to_have_text("asks for help")
    expect(page.locator("[data-bench='1'] [data-role=state]")).to_have_text("done")
    expect(page.locator("#announcements")).to_contain_text("Bench 3, Wool: asks for help")
    assert card.bounding_box() == before
    bridge.say(told())
    expect(strip.locator("[data-role=next-words]")).to_have_text("Nobody waits.")
    assert card.bounding_box() == before


FITTED = """async (strip) => {
  for (let i = 0; i < 2; i++) await new Promise(requestAnimationFrame); // the line is fitted after a frame
  const shown = [...strip.querySelectorAll('[data-role=short-call]')].filter((one) => !one.hidden).length;
  const more = strip.querySelector('[data-role=all-calls]').textContent;
  return {shown, more, fits: strip.scrollWidth <= strip.clientWidth};
}"""


def test_as_many_calls_stand_in_the_line_as_fit_and_the_others_are_counted(open_page: Open) -> None:
    bridge = class_of()
    bridge.calls = calls(*[ask(i, minutes=9 - i) for i in range(1, 9)], n_more=3)
    page = opened(open_page, bridge, "/")
    strip = page.locator("#calls")
    shown = strip.locator("[data-role=short-call]:visible")
    expect(shown.first).to_be_visible()
    for width in (1920, 1366, 1024):
        page.set_viewport_size({"width": width, "height": 768})
        found = strip.evaluate(FITTED)
        assert found["more"] == f"+ {10 - found['shown']} more"
        assert found["fits"]
        expect(strip.locator("[data-role=next-bench]")).to_have_text("Bench 1, No cover")
        assert not page.evaluate(SIDEWAYS)


CUT = """async (strip) => {
  for (let i = 0; i < 2; i++) await new Promise(requestAnimationFrame); // the line is fitted after a frame
  const next = strip.querySelector('.calls-next');
  const isCut = (one) => one.scrollWidth > one.clientWidth && getComputedStyle(one).overflow !== 'visible';
  const shown = [next, ...next.children].filter((one) => one.offsetWidth);
  return shown.filter(isCut).map((one) => one.textContent);
}"""


def test_the_first_call_is_told_whole_by_shorter_words_where_room_is_short(open_page: Open) -> None:
    bridge = class_of()
    long = bridge.benches[1]["name"] = "A cover that has a name of many words, and no end"
    words = "raw stands at the lower end of what the pin can read"
    bridge.calls = calls(call("finding/bottom rail", at(2, 5), words=words), ask(3), done=(1,))
    page = opened(open_page, bridge, "/")
    strip = page.locator("#calls")
    expect(strip.locator("[data-role=next-words]")).to_have_text("✕ pin at 0 V")
    for width in (1920, 1024):  # only the name is cut, and the bench's number comes before it
        page.set_viewport_size({"width": width, "height": 768})
        assert strip.evaluate(CUT) == [f"Bench 2, {long}"]
    expect(strip.locator("[data-role=next-sentence]")).to_be_hidden()
    bridge.say(told(call("finding/bottom rail", at(1), words=words)))
    page.set_viewport_size({"width": 1920, "height": 768})
    expect(strip.locator("[data-role=next-sentence]")).to_have_text(words)
    expect(strip.locator("[data-role=next-sentence]")).to_be_visible()
    bridge.say(told(high(1, 2, 4, 3, 5)))
    bridge.say({"kind": "flood", "flood": flood()})
    for width in (1920, 1280):
        page.set_viewport_size({"width": width, "height": 768})
        expect(strip.locator("[data-role=flood]")).to_contain_text("Many alarms")
        assert strip.evaluate(CUT) == []
        expect(strip.locator("[data-role=next-bench]")).to_have_text(re.compile("and [24] more$"))


def test_a_flood_is_told_in_groups_on_the_wall_and_in_full_on_the_page(open_page: Open) -> None:
    bridge = class_of()
    bridge.calls = calls(high(1, 2, 3, 5, 7))
    page = opened(open_page, bridge, "/")
    line = page.locator("#calls [data-role=flood]")
    expect(line).to_be_hidden()
    bridge.say({"kind": "flood", "flood": flood()})
    expect(line).to_have_text("Many alarms: 14 since 9:00: high at 5 benches, 2 alarms at Bench 4, Foil")
    box = line.bounding_box()
    assert box
    assert box["width"] > 300
    bridge.flood = flood()
    page.locator("#calls [data-role=all-calls]").click()
    groups = page.locator(".flood-group")
    expect(groups).to_have_count(2)
    expect(groups.first.get_by_role("link")).to_have_count(5)
    expect(groups.nth(1)).to_contain_text("called 6 times")
    bridge.say({"kind": "flood", "flood": flood() | {"on": False}})
    expect(groups.first).to_be_hidden()


# The page


def test_the_page_tells_what_where_since_when_and_what_to_do(open_page: Open) -> None:
    bridge = class_of()
    bridge.calls = calls(high(2, 5), ask(3, minutes=4), FORMULA, done=(1,), n_more=2)
    page = opened(open_page, bridge)
    expect(page.get_by_role("heading", name="Where next?")).to_be_visible()
    expect(page.locator("[data-role=summary]")).to_have_text("5 calls wait.")
    first = page.locator(".call").first
    expect(first.locator("[data-role=call-words]")).to_have_text("Too warm to hold")
    expect(first.locator("[data-role=call-kind]")).to_have_text("Alarm, high priority")
    expect(first.locator("[data-role=call-advice]")).to_have_text("What to do: Add cold water")
    row = first.locator("[data-bench='2']")
    expect(row.get_by_role("link")).to_have_attribute("href", "/bench/2")
    expect(row.locator("[data-role=call-place]")).to_have_text("row 1, place 2")
    expect(row.locator("[data-role=call-since]")).to_have_text("for 2 min, since 8:00; the first of several")
    expect(row.locator("[data-role=call-own-words]")).to_have_text("Came at 49.0 °C")
    expect(page.locator("[data-role=n-more]")).to_have_text("And 2 more, not listed.")
    expect(page.locator(".next-done")).to_contain_text("✓ 1 of 8 is done")
    named = page.locator("[data-call='finding/wrong formula'] [data-role=call-kind]")
    expect(named).to_have_text("Finding, medium priority: wrong formula")  # as the wall's line calls it
    assert order(page) == ["alarm/temperature/high", "ask/3", "finding/wrong formula"]


def test_calls_are_walked_acknowledged_and_attended_to_by_keyboard(open_page: Open) -> None:
    bridge = class_of()
    bridge.alarms = [alarm(2), alarm(5)]
    bridge.calls = calls(high(2, 5), ask(3), FORMULA)
    page = opened(open_page, bridge)
    focused = page.locator(":focus")
    page.locator(".call").first.focus()
    for key, wanted in (
        ("ArrowDown", "ask/3"), ("End", "finding/wrong formula"), ("ArrowDown", "finding/wrong formula"),
        ("ArrowUp", "ask/3"), ("Home", "alarm/temperature/high"),
    ):  # fmt: skip
        page.keyboard.press(key)
        expect(focused).to_have_attribute("data-call", wanted)
    page.keyboard.press("Tab")
    expect(focused).to_have_text("Bench 2, Paper")
    page.keyboard.press("Tab")
    expect(focused).to_have_attribute("aria-label", "Acknowledge: Bench 2, Paper")
    page.keyboard.press("Enter")
    assert bridge.next_heard("acknowledge")["alarm"] == "2/temperature/high"
    page.keyboard.press("Tab")
    expect(focused).to_have_attribute("aria-label", "I was there: Bench 2, Paper")
    page.keyboard.press("Enter")
    assert bridge.next_heard("attend") == {
        "kind": "attend", "call": "alarm/temperature/high", "bench": 2, "id": 3,
    }  # fmt: skip
    page.locator("[data-call='finding/wrong formula'] [data-does=attend-all]").press("Enter")
    assert bridge.next_heard("attend", bench=None)["call"] == "finding/wrong formula"
    page.locator("[data-does=acknowledge-all]:visible").press("Enter")
    heard = [bridge.next_heard("acknowledge")["alarm"] for _ in range(2)]
    assert heard == ["2/temperature/high", "5/temperature/high"]


class OneIsGone(RememberingBridge):
    """The alarm of bench 2 has gone by itself when it is acknowledged."""

    def _answer(self, page: ServerConnection, message: Message) -> None:
        if message.get("alarm") != "2/temperature/high":
            super()._answer(page, message)
            return
        words = "The high alarm of Paper does not wait to be acknowledged"
        with self._lock:
            page.send(json.dumps({"kind": "reply", "to": message["id"], "ok": False, "words": words}))
        self.heard.put(message)


def test_one_alarm_that_is_refused_keeps_no_other_from_being_acknowledged(open_page: Open) -> None:
    bridge = OneIsGone([bench(i) for i in (2, 5, 7)])
    bridge.calls = calls(high(2, 5, 7))
    page = opened(open_page, bridge)
    page.locator("[data-does=acknowledge-all]").press("Enter")
    heard = [bridge.next_heard("acknowledge")["alarm"] for _ in range(3)]
    assert heard == ["2/temperature/high", "5/temperature/high", "7/temperature/high"]
    expect(page.locator(".next-head [data-role=told]")).to_have_text(re.compile("^✕ .*does not wait"))


def test_the_focus_stays_while_the_list_changes(open_page: Open) -> None:
    bridge = class_of()
    bridge.calls = calls(ask(3), ask(6))
    page = opened(open_page, bridge)
    button = page.get_by_role("button", name="I was there: Bench 3, Wool")
    button.focus()
    bridge.say(told(high(2), ask(6), ask(3)))  # another order
    expect(page.locator(".call")).to_have_count(3)
    assert order(page) == ["alarm/temperature/high", "ask/6", "ask/3"]
    expect(button).to_be_focused()
    bridge.say(
        told(high(2), ask(6))
    )  # taken back by the group: the place of the focus stays until it is left
    expect(page.locator("[data-call='ask/3']")).to_contain_text("This call is over.")
    expect(page.locator("[data-call='ask/3']")).to_be_focused()
    expect(button).to_have_count(0)
    page.keyboard.press("ArrowUp")
    expect(page.locator("[data-call='ask/6']")).to_be_focused()
    expect(page.locator(".call")).to_have_count(2)


def test_a_link_keeps_the_focus_while_more_groups_are_done(open_page: Open) -> None:
    bridge = class_of()
    bridge.calls = calls(ask(3), done=(4, 6))
    page = opened(open_page, bridge)
    link = page.locator(".next-done").get_by_role("link", name="Bench 6, Felt")
    link.focus()
    bridge.say(told(ask(3), done=(1, 4, 6)))
    expect(page.locator(".next-done")).to_contain_text("3 of 8 are done")
    expect(link).to_be_focused()


def test_new_calls_are_announced_once_and_what_was_attended_to_stands_behind(open_page: Open) -> None:
    bridge = class_of()
    bridge.calls = calls(high(2))
    page = opened(open_page, bridge)
    expect(page.locator(".call")).to_have_count(1)
    said = page.locator("#announcements p")
    expect(said).to_have_count(0)  # what stands already is read in the list
    bridge.say(told(high(2), ask(3)))
    expect(said).to_have_text(["New call. Bench 3, Wool: asks for help"])
    seen = call("alarm/temperature/high", at(2, 2, attended=True), words="Too warm to hold", priority="high")
    bridge.say(told(ask(3), seen))
    expect(page.locator("[data-call='alarm/temperature/high']")).to_contain_text("✓ attended to, for 2 min")
    expect(page.locator("[data-role=summary]")).to_have_text("1 call waits. Attended to: 1.")
    expect(page.locator("[data-call='alarm/temperature/high'] button:visible")).to_have_count(0)
    expect(said).to_have_count(1)


@pytest.mark.parametrize("size", [(390, 844), (820, 1180), (1024, 768)], ids=str)
def test_the_page_fits_a_phone_and_a_tablet_and_its_controls_a_finger(
    open_page: Open, size: tuple[int, int]
) -> None:
    bridge = class_of()
    bridge.calls = calls(high(2, 5), ask(3), FORMULA, done=(1, 4))
    bridge.flood = flood()
    page = opened(open_page, bridge)
    page.set_viewport_size({"width": size[0], "height": size[1]})
    expect(page.locator(".call")).to_have_count(3)
    assert not page.evaluate(SIDEWAYS)
    small = """() => [...document.querySelectorAll('.call button, .next-codes')].filter((one) =>
      one.offsetParent && one.getBoundingClientRect().height < 44).map((one) => one.textContent)"""
    assert page.evaluate(small) == []


def test_hostile_words_stay_words(open_page: Open) -> None:
    bridge = class_of()
    hostile = call("finding/stuck", at(3, words=HOSTILE), words=HOSTILE, advice=HOSTILE, channel=HOSTILE)
    bridge.benches[2]["name"] = HOSTILE
    bridge.calls = calls(hostile)
    page = opened(open_page, bridge)
    expect(page.locator("[data-role=call-words]")).to_have_text(HOSTILE)
    assert page.locator("#next img").count() == 0
    page.get_by_role("link", name="The wall").click()
    expect(page.locator("[data-role=next-bench]")).to_have_text(f"Bench 3, {HOSTILE}")
    assert page.locator("#calls img").count() == 0


def test_a_refusal_is_told_beside_the_list(open_page: Open) -> None:
    bridge = class_of()
    bridge.calls = calls(ask(3))
    page = opened(open_page, bridge)
    bridge.stop()
    page.get_by_role("button", name="I was there: Bench 3, Wool").click()
    expect(page.locator(".next-head [data-role=told]")).to_contain_text("The bridge is not connected")


@pytest.mark.parametrize("width", [390, 1024, 1366])
def test_a_crowded_header_leaves_room_for_the_lessons_title(open_page: Open, width: int) -> None:
    bridge = class_of()
    bridge.lesson_phases = [{"name": "cool-down", "note": ""}]
    bridge.boards = [{"board": "x", "port": "COM7", "words": ""}]
    page = opened(open_page, bridge, "/bench/3")
    page.set_viewport_size({"width": width, "height": 768})
    expect(page.locator("#header [data-role=boards]")).to_be_visible()
    ways = page.get_by_role("navigation", name="Pages")
    assert ways.locator(".way").all_text_contents()[:3] == ["The wall", "Where next?", "Set-up"]
    title = page.locator("h1").bounding_box()
    assert title
    assert title["width"] >= 150
    assert not page.evaluate(SIDEWAYS)


# The sound

COUNTING = """
  window.made = {contexts: 0, tones: 0};
  const Real = window.AudioContext;
  window.AudioContext = class extends Real {
    constructor(...given) { super(...given); window.made.contexts += 1; }
    createOscillator() {
      document.documentElement.dataset.tones = window.made.tones += 1;
      return super.createOscillator();
    }
  };
"""


@pytest.mark.parametrize("path", ["/", "/next"])
def test_no_sound_is_made_until_somebody_turns_it_on(open_page: Open, page: Page, path: str) -> None:
    page.add_init_script(COUNTING)
    bridge = class_of()
    opened(open_page, bridge, path)
    told_of = page.locator("#announcements")
    bridge.say(told(ask(3)))
    expect(told_of).to_contain_text("Bench 3, Wool")
    assert page.evaluate("window.made") == {"contexts": 0, "tones": 0}
    page.locator("[data-role=sound]").press("Enter")
    page.locator("[data-role=sound-on]").check()
    page.locator("[data-role=volume]").fill("70")
    expect(page.locator("[data-role=volume-words]")).to_have_text("70 %")
    expect(page.locator("[data-role=sound-words]")).to_contain_text("At most one sound in 5 seconds")
    page.locator("[data-try=high]").click()
    expect(page.locator("html")).to_have_attribute("data-tones", "3")
    page.get_by_role("button", name="Close").click()
    bridge.say(told(ask(3), ask(6)))
    expect(page.locator("html")).to_have_attribute("data-tones", "5")  # medium: two tones
    page.locator("[data-role=silence]").press("Enter")
    expect(page.locator("[data-role=sound]")).to_have_text("♪ Silent for 5 min more")
    expect(page.locator("[data-role=silence]")).to_have_text("Sound again")
    page.reload()  # remembered, and blocked until somebody presses something
    # The browser may or may not let a page that was loaded anew make sounds before anybody has pressed a key.
    expect(page.locator("[data-role=sound]")).to_have_text(
        re.compile("♪ (Sound blocked|Silent for [45] min more)")
    )
    page.keyboard.press("Shift")
    expect(page.locator("[data-role=sound]")).to_have_text(re.compile("♪ Silent for [45] min more"))


def test_nothing_on_the_pages_blinks() -> None:
    for path in assets_folder().rglob("*.css"):
        text = path.read_text(encoding="utf-8")
        assert re.findall(r"@keyframes|animation(?!-)\s*:", text) == [], path.name
