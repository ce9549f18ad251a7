"""A group's own page, opened by the code of its bench on a phone, and the page that shows the codes."""

from __future__ import annotations

import base64
import json
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import pytest
import segno
import zxingcpp
from playwright.sync_api import Locator, Page, ViewportSize, expect
from websockets.sync.server import ServerConnection

from tests.dashboard.browser import DEADLINE_MS
from tests.dashboard.calls_given import ask, at, call, calls, high, told
from tests.dashboard.remembering_bridge import RememberingBridge
from tests.dashboard.scripted_bridge import PASSCODE, Message, alarm, bench, finding, value

pytestmark = pytest.mark.browser
Open = Callable[..., Page]

expect.set_options(timeout=DEADLINE_MS)

PHONE: ViewportSize = {"width": 390, "height": 844}
BASE = "http://192.168.1.20:8050"
NOT_REACHABLE = "This session was started for this machine only. Start it again with --host 0.0.0.0"


class CodesBridge(RememberingBridge):
    """Knows the benches' codes; refuses a key that is not "right"."""

    reachable = True

    def _answer(self, page: ServerConnection, message: Message) -> None:
        if message["kind"] == "codes":
            answer = codes(message["id"], message["base"] or BASE, [1, 2, 3], reachable=self.reachable)
        elif message["kind"] == "ask" and message["key"] not in ("", "right/ +"):
            answer = {
                "kind": "reply",
                "to": message["id"],
                "ok": False,
                "words": "That key is not of this bench",
            }
        else:
            super()._answer(page, message)
            return
        with self._lock:
            page.send(json.dumps(answer))
        self.heard.put(message)


def codes(to: int, base: str, benches: Sequence[int], *, reachable: bool) -> Message:
    """What the bridge answers."""
    made = []
    for number in benches:
        url = f"{base}/bench/{number}#k=AbCdEfGhIjKlMnOpQrSt{number:02}"
        rows = ["".join("1" if dark else "0" for dark in row) for row in segno.make_qr(url, error="m").matrix]
        made.append({"bench": number, "url": url, "modules": rows})
    words = "" if reachable else NOT_REACHABLE
    bases = [BASE, "http://10.0.0.5:8050"] if reachable else []
    return {
        "kind": "codes", "to": to, "base": base, "bases": bases, "reachable": reachable, "words": words,
        "codes": made,
    }  # fmt: skip


def group_page(open_page: Open, bridge: RememberingBridge, hash_: str = "#k=right%2F%20%2B") -> Page:
    page = open_page(bridge, f"/bench/3{hash_}")
    page.set_viewport_size(PHONE)
    expect(page.locator("[data-role=connection]")).to_have_text("Connected")
    return page


def three() -> CodesBridge:
    benches = [bench(1, name="Paper"), bench(2), bench(3, name="Wool")]
    return CodesBridge(benches, [value(3, 31.0, band=2)])


def button(page: Page, does: str) -> Locator:
    return page.locator(f".panel-group [data-does={does}]")


def words(page: Page) -> Locator:
    return page.locator("[data-role=group-words]")


def test_a_group_asks_and_is_told_its_place_and_that_it_was_taken(open_page: Open) -> None:
    bridge = three()
    page = group_page(open_page, bridge)
    expect(words(page)).to_have_text("The instructor sees it when you press a button.")
    button(page, "help").press("Enter")
    heard = bridge.next_heard("ask")
    assert {**heard, "id": 0} == {"kind": "ask", "bench": 3, "want": "help", "key": "right/ +", "id": 0}
    bridge.say(told(high(1), ask(3, minutes=1)))
    expect(words(page)).to_have_text("The instructor knows. You are second. You asked at 9:00.")
    expect(button(page, "help")).to_have_attribute("aria-pressed", "true")
    expect(button(page, "help")).to_contain_text("Press to take it back")
    bridge.say(told(ask(3, minutes=1)))
    expect(words(page)).to_contain_text("You are next.")
    bridge.say(told())  # the instructor was there
    expect(words(page)).to_contain_text("Your call is closed: the instructor has taken it")
    expect(button(page, "help")).to_have_attribute("aria-pressed", "false")


def test_a_group_takes_its_call_back_and_says_that_it_is_done(open_page: Open) -> None:
    bridge = three()
    bridge.calls = calls(ask(3))
    page = group_page(open_page, bridge)
    button(page, "help").click()
    assert bridge.next_heard("ask")["want"] == "nothing"
    bridge.say(told())
    expect(words(page)).to_have_text("The instructor sees it when you press a button.")
    button(page, "done").click()
    assert bridge.next_heard("ask")["want"] == "done"
    bridge.say(told(done=(3,)))
    expect(words(page)).to_have_text("The instructor knows that you are done.")
    button(page, "done").click()
    assert bridge.next_heard("ask")["want"] == "nothing"


def test_the_key_leaves_the_address_and_outlives_a_reload_until_the_group_leaves(open_page: Open) -> None:
    bridge = three()
    page = group_page(open_page, bridge)
    expect(button(page, "help")).to_be_visible()
    assert page.evaluate("location.href").endswith("/bench/3")
    page.reload()
    button(page, "help").click()
    assert bridge.next_heard("ask")["key"] == "right/ +"
    button(page, "leave").click()
    page.get_by_role("button", name="Leave it").click()
    expect(page.locator(".panel-settings")).to_be_visible()
    expect(page.locator(".panel-group")).to_have_count(0)


def test_a_wrong_key_is_told_in_words_and_no_passcode_is_asked_for(open_page: Open) -> None:
    page = group_page(open_page, three(), "#k=wrong")
    button(page, "help").click()
    expect(page.locator(".panel-group [data-role=told]")).to_have_text("✕ That key is not of this bench")
    expect(page.locator("dialog")).to_have_count(0)


def test_a_group_sees_none_of_the_instructors_controls(open_page: Open) -> None:
    bridge = three()
    bridge.alarms = [alarm(3)]
    bridge.findings = {3: [finding()]}
    bridge.lesson_phases = [{"name": "run", "note": ""}]
    bridge.boards = [{"board": "x", "port": "COM7", "words": ""}]
    page = group_page(open_page, bridge)
    expect(page.locator(".panel-findings")).to_contain_text("The board prints at another rate")
    controls = page.locator(":is(button, input, select, a[href]):visible")
    found = controls.evaluate_all("all => all.map((one) => one.textContent.trim() || one.id)")
    assert found[0] == "To the benches"
    assert set(found[1:]) == {
        "⚑ We need help", "We are done", "Leave the group’s page", "+", "−", "←", "→", "Whole session",
        "Last 2 minutes", "history-fits", "Hold still",
    }  # fmt: skip
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    for does in ("help", "done"):
        box = button(page, does).bounding_box()
        assert box
        assert box["height"] >= 80
        assert box["y"] + box["height"] < PHONE["height"]  # both without scrolling


def test_a_lost_bridge_is_told_and_nothing_can_be_pressed(open_page: Open) -> None:
    bridge = three()
    page = group_page(open_page, bridge)
    expect(button(page, "help")).to_be_enabled()
    bridge.stop()
    expect(words(page)).to_have_text("Not connected: nothing can be sent now. Raise your hand.")
    expect(button(page, "help")).to_be_disabled()


def test_in_a_replay_a_group_looks_and_is_told_why_it_can_not_ask(open_page: Open) -> None:
    bridge = three()
    bridge.session["source"] = "replay"
    page = group_page(open_page, bridge)
    expect(words(page)).to_contain_text("This is a session that was kept")
    expect(button(page, "help")).to_be_disabled()


def test_the_head_of_the_bench_page_tells_what_the_group_said(open_page: Open) -> None:
    bridge = three()
    bridge.calls = calls(ask(3, minutes=4))
    page = open_page(bridge, "/bench/3")
    state = page.locator(".bench-state")
    expect(state).to_contain_text("⚑asks for help")
    bridge.say(told(call("finding/stuck", at(1)), done=(3,)))
    expect(state).to_contain_text("✓done")


def test_the_instructor_says_it_for_a_group_without_a_phone(open_page: Open) -> None:
    bridge = three()
    page = open_page(bridge, f"/bench/3#passcode={PASSCODE}")
    says = page.locator("[data-role=group-says]")
    expect(says).to_have_text("It has not said anything.")
    page.locator("[data-says=done]").press("Enter")
    heard = bridge.next_heard("ask")
    assert (heard["bench"], heard["want"], heard["key"]) == (3, "done", "")
    bridge.say(told(done=(3,)))
    expect(says).to_have_text("It is done, since 9:00.")
    expect(page.locator("[data-says=done]")).to_have_attribute("aria-pressed", "true")


# The codes


def codes_page(open_page: Open, bridge: CodesBridge) -> Page:
    page = open_page(bridge, f"/codes#passcode={PASSCODE}")
    expect(page.locator("[data-role=connection]")).to_have_text("Connected")
    page.locator("[data-does=show]").press("Enter")
    return page


def seen(page: Page, png: bytes) -> list[str]:
    """What a camera reads in a picture of the screen."""
    grey = """async (text) => {
      const image = new Image();
      image.src = `data:image/png;base64,${text}`;
      await image.decode();
      const {width, height} = image;
      const canvas = Object.assign(document.createElement('canvas'), {width, height});
      const context = canvas.getContext('2d');
      context.drawImage(image, 0, 0);
      const {data} = context.getImageData(0, 0, width, height);
      return {height, rows: [...data.filter((_, i) => i % 4 === 1)]};
    }"""
    found: dict[str, Any] = page.evaluate(grey, base64.b64encode(png).decode())
    picture = np.array(found["rows"], dtype=np.uint8).reshape(found["height"], -1)
    return [one.text for one in zxingcpp.read_barcodes(picture)]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_each_bench_has_a_code_that_a_camera_reads_from_the_screen(
    open_page: Open, page: Page, scheme: Any
) -> None:
    page.emulate_media(color_scheme=scheme)
    codes_page(open_page, three())
    cards = page.locator(".code-card")
    expect(cards).to_have_count(3)
    for i, name in enumerate(("Bench 1, Paper", "Bench 2", "Bench 3, Wool")):
        card = cards.nth(i)
        expect(card.locator("[data-role=name]")).to_have_text(name)
        expect(card.locator(".mark")).to_be_visible()
        url = f"{BASE}/bench/{i + 1}#k=AbCdEfGhIjKlMnOpQrSt{i + 1:02}"
        expect(card.locator("[data-role=url]")).to_have_text(url)
        assert seen(page, card.screenshot()) == [url]


def test_codes_need_the_passcode(open_page: Open) -> None:
    bridge = three()
    page = open_page(bridge, "/codes")
    page.locator("[data-does=show]").click()
    page.locator("#passcode").fill(PASSCODE)
    page.locator("#passcode").press("Enter")
    expect(page.locator(".code-card")).to_have_count(3)
    assert bridge.next_heard("codes")["base"] is None
    expect(page.locator("[data-does=print]")).to_be_focused()


def test_another_address_is_chosen_or_typed(open_page: Open) -> None:
    bridge = three()
    page = codes_page(open_page, bridge)
    bridge.next_heard("codes", base=None)
    page.locator("[data-role=base]").select_option("http://10.0.0.5:8050")
    bridge.next_heard("codes", base="http://10.0.0.5:8050")
    expect(page.locator("[data-role=url]").first).to_contain_text("http://10.0.0.5:8050/bench/1")
    page.locator("[data-role=base]").select_option("another address")
    typed = page.locator("[data-role=base-typed]")
    expect(typed).to_be_focused()
    typed.fill("no address")
    typed.press("Enter")
    expect(page.locator(".codes-head [data-role=told]")).to_contain_text(
        "Write for example 192.168.1.20:8050"
    )
    typed.fill("room-pc:8050")
    typed.press("Enter")
    bridge.next_heard("codes", base="http://room-pc:8050")
    expect(page.locator("[data-role=url]").first).to_contain_text("http://room-pc:8050/bench/1")


def test_a_session_that_no_phone_reaches_says_how_to_start_it(open_page: Open) -> None:
    bridge = three()
    bridge.reachable = False
    page = codes_page(open_page, bridge)
    expect(page.locator("[data-role=unreachable]")).to_have_text(f"✕ {NOT_REACHABLE}")


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_six_codes_stand_on_a_sheet_whole(open_page: Open, page: Page, paper: str) -> None:
    codes_page(open_page, three())
    expect(page.locator(".code-card")).to_have_count(3)
    page.emulate_media(media="print")
    height_mm = {"A4": 297, "Letter": 279.4}[paper] - 20  # the margins of usual printers
    page.set_viewport_size({"width": 720, "height": 1000})
    boxes = page.locator(".code-card").evaluate_all(
        "all => all.map((one) => one.getBoundingClientRect().toJSON())"
    )
    assert [box["y"] for box in boxes[:2]] == [boxes[0]["y"]] * 2  # two beside each other
    assert 3 * boxes[0]["height"] / 96 * 25.4 <= height_mm
    expect(page.locator("#header")).to_be_hidden()
    expect(page.locator(".codes-head")).to_be_hidden()
    style = page.locator(".code-card").first.evaluate("(one) => getComputedStyle(one).breakInside")
    assert style == "avoid"
