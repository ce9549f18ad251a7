"""The set-up page in a real browser: all benches at the beginning of a session."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.dashboard.browser import DEADLINE_MS
from tests.dashboard.close_up import calibration, check, doubtful, steady, text, worth, worth_part
from tests.dashboard.remembering_bridge import RememberingBridge
from tests.dashboard.scripted_bridge import PASSCODE, Message, bench, channel, finding, hint, status, value
from tests.dashboard.test_bench import Open
from tests.dashboard.test_bench_findings import HOSTILE
from tests.dashboard.test_wall import CONTRASTS

pytestmark = pytest.mark.browser

expect.set_options(timeout=DEADLINE_MS)


def opened(open_page: Open, bridge: RememberingBridge, hash_: str = f"#passcode={PASSCODE}") -> Page:
    page = open_page(bridge, f"/set-up{hash_}")
    expect(page.locator("[data-role=connection]")).to_have_text("Connected")
    bridge.next_heard("survey", on=True)
    return page


def row(page: Page, number: int) -> Locator:
    return page.locator(f".set-up-bench[data-bench='{number}']")


def told(bridge: RememberingBridge, *messages: Message) -> None:
    for message in messages:
        bridge.say(message)


def test_each_bench_shows_its_lines_how_they_are_understood_and_what_is_wrong(open_page: Open) -> None:
    port = status(port="COM7", baud=9600, lines_per_second=9.9)
    bridge = RememberingBridge([bench(2, name="Wool"), bench(1, status=port)], [value(1, 31.24)])
    bridge.findings = {1: [finding()]}
    page = opened(open_page, bridge)
    told(bridge, text(1), text(2, sure="lesson", words="pairs"))
    first = row(page, 1)
    expect(first.locator("[data-role=value]")).to_have_text("31.2")
    expect(first.locator("[data-role=port]")).to_have_text("COM7, 9600 baud, 9.9 lines per second")
    expect(first.locator("[data-role=samples] li")).to_have_text(
        ["64 raw 0.313 V 31.3 °C", "65 raw 0.317 V 31.7 °C"]
    )
    expect(first.locator("[data-role=understood]")).to_contain_text("Learned")
    expect(first.locator("[data-role=understood]")).to_contain_text("three numbers, each before its label")
    expect(first.locator("[data-role=understood-fields] tbody tr")).to_have_text(
        ["rawcount–64", "UvoltsV0.313", "Tvalue in its unit°C31.3"]
    )
    expect(first.locator(".finding")).to_contain_text("The board prints at another rate")
    expect(row(page, 2).locator("[data-role=understood]")).to_contain_text("The lesson names the layout")
    expect(row(page, 2).locator("[data-role=value]")).to_have_text("–")
    in_order = page.locator(".set-up-bench").evaluate_all("all => all.map(one => one.dataset.bench)")
    assert in_order == ["1", "2"]
    expect(page.get_by_role("link", name="2: Wool", exact=True)).to_have_attribute("href", "/bench/2")


def test_the_overview_counts_the_benches_and_leads_to_those_that_need_a_person(open_page: Open) -> None:
    benches = [bench(n) for n in range(1, 6)]
    benches[4]["status"] = status(link="searching", words="no board yet", remedy="Plug the board in", port="")
    bridge = RememberingBridge(benches, [value(n, 31.0) for n in range(1, 5)])
    bridge.findings = {2: [hint()], 3: [finding()]}
    page = opened(open_page, bridge)
    told(bridge, text(1), text(2), text(3), doubtful(4))
    expect(page.locator("[data-role=summary]")).to_have_text(
        "5 benches: 2 ready, 1 asks how to read its text, 1 with a fault, 1 without readings."
    )
    links = page.locator("[data-role=needs] a")
    expect(links).to_have_text(
        [
            "Bench 3: The board prints at another rate",
            "Bench 4: asks how to read its text",
            "Bench 5: no board yet",
        ]
    )
    expect(page.locator("#announcements")).to_contain_text("Bench 4, Bench 4, asks how to read its text.")
    expect(row(page, 5)).to_contain_text("Plug the board in")
    links.nth(2).press("Enter")
    expect(row(page, 5)).to_be_in_viewport()
    page.get_by_label("Show only benches that are not ready").check()
    expect(page.locator(".set-up-bench:visible")).to_have_count(3)
    told(bridge, {"kind": "findings", "bench": 3, "findings": []})
    expect(page.locator(".set-up-bench:visible")).to_have_count(2)


def test_a_doubt_is_asked_with_its_alternatives_side_by_side_and_answered_by_keyboard(
    open_page: Open,
) -> None:
    bridge = RememberingBridge([bench(1), bench(2)])
    page = opened(open_page, bridge)
    told(bridge, doubtful(2))
    ways = row(page, 2).locator(".way-to-read")
    expect(ways).to_have_count(2)
    expect(ways.nth(0)).to_contain_text("one number with a decimal comma")
    expect(ways.nth(0).locator("tbody tr").nth(2)).to_have_text("13,1")
    expect(ways.nth(1).locator("tbody tr").nth(2)).to_have_text("131")
    one, other = ways.nth(0).bounding_box(), ways.nth(1).bounding_box()
    assert one and other  # noqa: PT018
    assert one["y"] == other["y"] and one["x"] < other["x"]  # noqa: PT018
    ways.nth(1).get_by_role("button", name="Read it this way").press("Enter")
    chosen = bridge.next_heard("choose_layout", bench=2)
    assert (chosen["alternative"], chosen["words"]) == (1, ways.nth(1).locator("h4").inner_text())
    row(page, 2).get_by_role("button", name="Learn again").press("Enter")
    bridge.next_heard("relearn", bench=2)
    told(bridge, text(2))
    expect(ways).to_have_count(0)


def test_another_baud_rate_is_tried(open_page: Open) -> None:
    bridge = RememberingBridge([bench(1), bench(2)])
    bridge.findings = {1: [finding()]}
    page = opened(open_page, bridge)
    row(page, 1).get_by_role("button", name="Try 9600 baud").press("Enter")
    assert bridge.next_heard("try_baud", bench=1)["baud"] == 9600
    row(page, 2).get_by_text("Another baud rate").press("Enter")
    row(page, 2).get_by_label("Baud rate").select_option("115200")
    row(page, 2).get_by_role("button", name="Try", exact=True).press("Enter")
    assert bridge.next_heard("try_baud", bench=2)["baud"] == 115_200


def test_the_passcode_is_asked_and_without_it_nothing_is_sent(open_page: Open) -> None:
    bridge = RememberingBridge([bench(1)])
    page = opened(open_page, bridge, "")
    again = row(page, 1).get_by_role("button", name="Learn again")
    again.press("Enter")
    page.get_by_role("button", name="Cancel").click()
    expect(row(page, 1).locator("[data-role=understood]")).to_contain_text("no passcode was given")
    again.press("Enter")
    page.keyboard.type(PASSCODE)
    page.keyboard.press("Enter")
    bridge.next_heard("relearn", bench=1)


def in_the_bath(bridge: RememberingBridge, steady_ones: Sequence[int], others: Sequence[int] = ()) -> None:
    moving: dict[str, Any] = {
        "steady": False, "mean": None, "u": None, "n": 0, "seconds": 0.0, "words": "rises by 0.4 °C in 10 s",
    }  # fmt: skip
    told(bridge, *[steady(n) for n in steady_ones], *[steady(n, **moving) for n in others])


def test_one_press_captures_all_steady_benches_against_a_typed_reference(open_page: Open) -> None:
    bridge = RememberingBridge([bench(n) for n in range(1, 5)])
    page = opened(open_page, bridge)
    capture = page.locator("#bath button[type=submit]")
    capture.press("Enter")
    expect(page.locator("#bath form").get_by_role("status").last).to_have_text(
        "✕ Reference: write a number first"
    )
    page.get_by_label("Reference").fill("36.5")
    capture.press("Enter")
    expect(page.locator("#bath")).to_contain_text("No chosen bench is steady yet.")
    in_the_bath(bridge, [1, 2, 4], [3])
    expect(page.locator(".bath-count")).to_have_text("3 of 4 chosen are steady.")
    expect(page.locator("[data-bath='1']")).to_contain_text("✓ 36.624 ± 0.031 °C")
    expect(page.locator("[data-bath='3']")).to_contain_text("… rises by 0.4 °C in 10 s")
    page.locator("#bath-4").uncheck()
    page.get_by_label("Its u").fill("0,1")
    page.get_by_label("What it is").fill("glass thermometer")
    page.get_by_role("button", name="Capture the 2 steady benches").press("Enter")
    heard = bridge.next_heard("capture", channel="temperature", words="glass thermometer")
    assert (heard["benches"], heard["reference"], heard["u_reference"]) == ([1, 2], 36.5, 0.1)
    expect(page.get_by_label("Reference")).to_have_value("")


def test_the_median_of_the_class_needs_no_reference_and_one_fit_is_for_all(open_page: Open) -> None:
    plain = channel(name="volts", unit="V", edges=[], edge_names=[""], limits=[], baseline=None)
    bridge = RememberingBridge([bench(1), bench(2), bench(3, channels=[plain])])
    page = opened(open_page, bridge)
    in_the_bath(bridge, [1, 2])
    expect(page.locator("[data-bath]")).to_have_count(2)  # the third has no temperature
    page.get_by_label("The median of the steady benches").check()
    expect(page.get_by_label("Reference")).to_be_disabled()
    page.get_by_role("button", name="Capture the 2 steady benches").press("Enter")
    heard = bridge.next_heard("capture", benches=[1, 2])
    assert (heard["reference"], heard["u_reference"]) == (None, None)
    page.locator("#bath").get_by_role("button", name="Line").press("Enter")
    assert bridge.next_heard("fit", channel="temperature", benches=[1, 2])["fit"] == "line"
    page.get_by_label("Channel").select_option("volts")
    expect(page.locator("[data-bath]")).to_have_count(1)
    expect(page.locator("#bath .form-unit").first).to_have_text("V")


def test_hostile_names_lines_and_labels_stay_words(open_page: Open) -> None:
    odd = bench(1, name=HOSTILE, channels=[channel(name=HOSTILE, unit=HOSTILE)], status=status(port=HOSTILE))
    bridge = RememberingBridge([odd], [value(1, 31.0)])
    bridge.findings = {1: [finding(words=HOSTILE, remedy=HOSTILE, channel=HOSTILE)]}
    page = opened(open_page, bridge)
    way = {"words": HOSTILE, "columns": [HOSTILE], "rows": [[HOSTILE]]}
    field = {"name": HOSTILE, "role": "", "unit": HOSTILE, "text": HOSTILE}
    samples = [HOSTILE + "\x1b[2J\u202eabc", ""]
    ways = [way, way]
    said = doubtful(1, words=HOSTILE, doubt=HOSTILE, fields=[field], alternatives=ways, samples=samples)
    told(bridge, said)
    expect(page.locator("[data-role=samples] li").first).to_have_text(f"{HOSTILE}⟨ESC⟩[2J⟨U+202E⟩abc")
    expect(page.locator("[data-role=samples] li").last).to_have_text("(empty line)")
    expect(page.locator(".way-to-read tbody td").first).to_have_text(HOSTILE)
    expect(page.locator("[data-role=needs]")).to_contain_text(HOSTILE)
    expect(page.locator("#set-up img")).to_have_count(0)
    expect(page).to_have_title(f"Set-up – {bridge.title}")


def test_an_old_value_is_never_shown_as_live_and_a_lost_bridge_is_surveyed_again(open_page: Open) -> None:
    bridge = RememberingBridge([bench(1, status=status(old_after_ms=1000))], [value(1, 31.0)])
    page = opened(open_page, bridge)
    expect(row(page, 1)).to_have_attribute("data-old", "")
    expect(row(page, 1).locator("[data-role=state]")).to_have_text("silent")
    bridge.stop()
    expect(row(page, 1).locator("[data-role=state]")).to_have_text("not live")
    bridge.listen()
    bridge.next_heard("survey", on=True)


def test_a_fresh_hello_begins_anew_and_a_replay_tries_no_rate(open_page: Open) -> None:
    bridge = RememberingBridge([bench(1), bench(2)], [value(1, 31.0), value(2, 32.0)])
    bridge.findings = {1: [finding()]}
    page = opened(open_page, bridge)
    told(bridge, text(1))
    in_the_bath(bridge, [1])
    expect(row(page, 1).locator("[data-role=samples] li")).to_have_count(2)
    bridge.benches, bridge.values, bridge.findings = [bench(1)], [], {}
    bridge.session["source"] = "replay"
    bridge.say(bridge.hello())
    expect(page.locator(".set-up-bench")).to_have_count(1)
    expect(row(page, 1).locator("[data-role=value]")).to_have_text("–")
    expect(row(page, 1)).to_contain_text("No line has come yet.")
    expect(row(page, 1)).to_contain_text("No finding.")
    expect(row(page, 1).get_by_text("Another baud rate")).to_be_hidden()
    expect(row(page, 1).get_by_text("Learn again")).to_be_hidden()
    expect(page.locator("#bath")).to_be_hidden()
    expect(page.get_by_role("link", name="To the bath")).to_be_hidden()
    expect(page.locator(".bath-count")).to_have_text("0 of 1 chosen are steady.")


@pytest.mark.parametrize("size", [(1920, 1080), (1280, 800), (390, 844)], ids=str)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_twenty_four_benches_stay_within_the_screen(
    open_page: Open, size: tuple[int, int], scheme: Any
) -> None:
    long = "w" * 200
    benches = [bench(n, name=long if n == 3 else f"Bench {n}") for n in range(1, 25)]
    bridge = RememberingBridge(benches, [value(n, -12345.6) for n in range(1, 25)])
    bridge.findings = {3: [finding(words=long, remedy=long)], 5: [hint()]}
    page = opened(open_page, bridge)
    page.emulate_media(color_scheme=scheme)
    page.set_viewport_size({"width": size[0], "height": size[1]})
    way = {"words": long, "columns": [long] * 3, "rows": [[long] * 3]}
    told(bridge, *[text(n) for n in range(1, 25)])
    told(bridge, doubtful(3, doubt=long, samples=[long], alternatives=[way, way, way]))
    in_the_bath(bridge, range(1, 20), range(20, 25))
    expect(page.locator(".bath-count")).to_have_text("19 of 24 chosen are steady.")
    expect(page.locator(".way-to-read")).to_have_count(3)
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    ends = page.locator("#set-up :is(button, input, select, a):visible").evaluate_all(
        "all => all.map(one => one.getBoundingClientRect().right)"
    )
    assert max(ends) <= size[0]


def test_every_control_is_reached_by_the_tab_key_and_shows_its_focus(open_page: Open) -> None:
    bridge = RememberingBridge([bench(1)])
    bridge.findings = {1: [finding()]}
    page = opened(open_page, bridge)
    told(bridge, doubtful(1))
    in_the_bath(bridge, [1])
    expect(page.locator(".way-to-read")).to_have_count(2)
    seen, unseen = set(), set()
    for _ in range(45):
        page.keyboard.press("Tab")
        words = page.evaluate("document.activeElement.id || document.activeElement.textContent")
        style = "getComputedStyle(document.activeElement)"
        if page.evaluate(f"document.activeElement !== document.body && {style}.outlineStyle === 'none'"):
            unseen.add(words)
        seen.add(words)
    wanted = {
        "The wall", "Bench 1: asks how to read its text", "only-needs", "Bench 1", "Learn again",
        "Another baud rate", "Read it this way", "Try 9600 baud", "bath-channel", "bath-typed",
        "bath-reference", "bath-u", "bath-words", "Capture the 1 steady bench", "bath-1",
        "Linetwo points or more",
    }  # fmt: skip
    assert wanted <= seen, wanted - seen
    assert unseen == set()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("path", ["/set-up", "/bench/2"])
def test_ink_stands_out_from_its_ground(open_page: Open, path: str, scheme: Any) -> None:
    bridge = RememberingBridge([bench(1), bench(2, status=status(old=True))], [value(2, 31.0)])
    bridge.findings = {1: [hint()], 2: [hint(), finding()]}
    page = open_page(bridge, path)
    page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
    expect(page.locator("[data-role=connection]")).to_have_text("Connected")
    bent = calibration(lack_of_fit="The points bend")
    told(bridge, text(1), doubtful(2), steady(1))
    told(bridge, worth(2, worth_part(calibration=bent, check=check("wrong"))))
    expect(page.locator(".way-to-read")).to_have_count(2)
    places = "'#set-up *, :is(.panel-findings, .bench-worth, .panel-understood) :not(svg *)'"
    found = page.evaluate(CONTRASTS.replace("'.header *, .card *'", places))
    assert len(found) > 30
    assert {words: ratio for words, ratio in found.items() if ratio < 4.5} == {}
