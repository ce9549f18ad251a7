"""The page of one bench in a real browser, fed by a bridge that says what each test needs."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.dashboard.browser import DEADLINE_MS
from tests.dashboard.remembering_bridge import RememberingBridge
from tests.dashboard.scripted_bridge import (
    PASSCODE,
    START_MS,
    Message,
    ScriptedBridge,
    alarm,
    bench,
    channel,
    limit,
    status,
    value,
)

pytestmark = pytest.mark.browser
Open = Callable[..., Page]

expect.set_options(timeout=DEADLINE_MS)


def lines(*texts: str, outcome: str = "read", flaws: str = "", first: int = 1, **more: Any) -> Message:
    """What the bridge says to a page that follows bench 2."""
    rows = [[first + i, START_MS + 100 * i, text, flaws, outcome] for i, text in enumerate(texts)]
    return {"kind": "lines", "bench": 2, "lines": rows, "fields": [], "steps": []} | more


def step(words: str, formula: str, number: float, unit: str, of: str = "temperature") -> Message:
    return {"channel": of, "words": words, "formula": formula, "number": number, "unit": unit}


def opened(open_page: Open, bridge: ScriptedBridge, hash_: str = f"#passcode={PASSCODE}") -> Page:
    page = open_page(bridge, f"/bench/2{hash_}")
    expect(page.locator("[data-role=connection]")).to_have_text("Connected")
    return page


def test_the_head_shows_value_unit_state_and_the_way_to_other_benches(open_page: Open) -> None:
    benches = [bench(1, name="Paper"), bench(2, name="Wool"), bench(4, name="Foil")]
    page = opened(open_page, RememberingBridge(benches, [value(2, 31.24, band=3)]))
    expect(page.locator("[data-role=value]")).to_have_text("31.2")
    expect(page.locator("[data-role=unit]")).to_have_text("°C")
    expect(page.locator("[data-role=state]")).to_have_text("reading")
    expect(page.locator("[data-role=strip]")).to_have_text("warmer")
    expect(page.locator("[data-role=name]")).to_have_text("Bench 2: Wool")
    expect(page.get_by_role("link", name="Paper")).to_have_attribute("href", "/bench/1")
    expect(page.get_by_role("link", name="Foil")).to_have_attribute("href", "/bench/4")
    expect(page.get_by_role("link", name="The wall")).to_have_attribute("href", "/")


def test_the_baseline_is_taken_at_a_press_where_the_lesson_gives_none(open_page: Open) -> None:
    plain = bench(1)  # its lesson gives the number
    taken = [channel(takes_baseline=True, baseline=None, edges=[], edge_names=[])]
    bridge = RememberingBridge([plain, bench(2, channels=taken), bench(3, channels=taken)], [value(2, 31.24)])
    page = opened(open_page, bridge)
    panel = page.locator(".panel-baseline")
    expect(panel.locator("[data-role=baseline]")).to_contain_text("None yet")
    panel.get_by_role("button", name="Baseline now", exact=True).press("Enter")
    assert bridge.next_heard("baseline")["benches"] == [2]
    panel.get_by_role("button", name="Baseline now, at all benches").press("Enter")
    heard = bridge.next_heard("baseline")
    assert (heard["benches"], heard["channel"]) == ([1, 2, 3], "temperature")
    own = [channel(takes_baseline=True, baseline=31.18)]
    bridge.say({"kind": "bench", "bench": bench(2, channels=own)})
    expect(panel.locator("[data-role=baseline]")).to_have_text("31.18 °C")
    bridge.say({"kind": "bench", "bench": bench(2)})
    expect(panel).to_be_hidden()


def test_a_replay_shows_no_control_that_needs_a_board_and_says_so(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 31.24)])
    page = opened(open_page, bridge)
    calibrating = ".panel-calibration button, .panel-calibration input"
    controls = page.locator(f"[data-does=relearn], [data-does=release], [data-says], {calibrating}")
    expect(controls.locator("visible=true").first).to_be_visible()
    bridge.session["source"] = "replay"
    bridge.say(bridge.hello())
    expect(controls.locator("visible=true")).to_have_count(0)
    expect(page.locator(".panel-calibration")).to_contain_text("A replay has no board to calibrate")
    expect(page.locator(".panel-port")).to_contain_text("A replay reads no board")
    doubt = {
        "words": "", "sure": "doubtful", "doubt": "Which is the value?", "fields": [], "samples": [],
        "alternatives": [{"words": "two columns", "columns": ["a", "b"], "rows": [["1", "2"]]}],
    }  # fmt: skip
    bridge.say({"kind": "text", "bench": 2} | doubt)
    expect(page.locator(".panel-understood")).to_contain_text("A replay reads the text as the session did")
    expect(page.get_by_role("button", name="Read it this way")).to_be_hidden()


def test_a_bench_that_the_session_lacks_is_told(open_page: Open) -> None:
    page = opened(open_page, RememberingBridge([bench(1)]))
    expect(page.locator("#bench")).to_contain_text("There is no bench 2 in this session")


def test_lines_fields_and_steps_show_this_moments_numbers(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 31.24, u=0.14)])
    page = opened(open_page, bridge)
    bridge.next_heard("follow", bench=2)
    for count, degrees in ((64, 31.25), (65, 31.738)):
        steps = [
            step("printed as raw", "", count, "counts"),
            step("volts at the pin", f"{count} × 5 V / 1024", count * 5 / 1024, "V"),
            step("of another channel", "", 1, "", of="other"),
        ]
        fields = [
            ["raw", str(count), count, ""],
            ["Temp", f"{degrees}", degrees, "°C"],
            ["x", "nan", None, ""],
        ]
        bridge.say(lines(f"raw: {count}", first=count, fields=fields, steps=steps))
        expect(page.locator(".line").last).to_contain_text(f"raw: {count}")
        expect(page.locator(".line").last).to_contain_text("✓ read")
        cells = page.locator("[data-role=fields] tbody tr")
        expect(cells.nth(0)).to_have_text(f"raw{count}{count}")
        expect(cells.nth(1)).to_have_text(f"Temp{degrees}{degrees}°C")
        expect(cells.nth(2)).to_have_text("xnan– (missing)")
        conversion = page.locator("[data-role=steps] li")
        expect(conversion).to_have_count(2)
        expect(conversion.nth(1)).to_contain_text(f"{count} × 5 V / 1024")
        expect(conversion.nth(1)).to_contain_text(f"= {count * 5 / 1024:.6g} V")
    expect(page.locator("[data-role=reading]")).to_contain_text(
        "31.2 °C, standard uncertainty ± 0.14 °C; good"
    )


def test_a_hostile_line_is_text_and_nothing_else(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2, name="<i>x</i>")], [value(2, 31.0)])
    page = opened(open_page, bridge)
    hostile = "<img src=x onerror=\"document.title='hit'\">\x1b[2J\u202eabc"
    field = [["<b>f</b>", hostile, None, "<u>"]]
    bridge.say(lines(hostile, outcome="set aside", flaws="damaged bytes", fields=field))
    bridge.say({"kind": "marker", "marker": {"t_ms": START_MS, "words": "<a href='#'>hi</a>", "who": "x"}})
    line = page.locator(".line")
    expect(line).to_contain_text("<img src=x")
    expect(line).to_contain_text("⟨ESC⟩[2J⟨U+202E⟩abc")
    expect(line).to_contain_text("✕ set aside: damaged bytes")
    expect(page.locator(".history-above")).to_contain_text("<a href='#'>hi</a>")
    expect(page.locator("#bench :is(img, i, b, u, .history-above a, .marked a)")).to_have_count(0)


def test_the_list_of_lines_is_bounded_tells_what_it_missed_and_can_be_held_still(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)])
    page = opened(open_page, bridge)
    for first in range(1, 402, 50):
        bridge.say(lines(*[f"line {first + i}" for i in range(50)], first=first))
    expect(page.locator(".line").last).to_contain_text("line 450")
    expect(page.locator(".lines-rows > li")).to_have_count(200)
    bridge.say(lines("later", first=600))
    expect(page.locator(".lines-missed")).to_contain_text("149 lines came too quickly")
    page.get_by_role("button", name="Hold still").click()
    bridge.say(lines("held back", first=601))
    expect(page.locator(".lines-words")).to_have_text("1 newer line waits")
    expect(page.locator(".line").last).to_contain_text("later")
    page.get_by_role("button", name="Go on").click()
    expect(page.locator(".line").last).to_contain_text("held back")


def test_a_line_that_waited_says_later_what_became_of_it(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)])
    page = opened(open_page, bridge)
    bridge.say(lines("21.5", outcome="waiting"))
    expect(page.locator(".line")).to_contain_text("… waits until its layout is known")
    bridge.say(lines("21.5", outcome="read"))
    expect(page.locator(".line")).to_have_count(1)
    expect(page.locator(".line")).to_contain_text("✓ read")


def test_zooming_asks_for_finer_rows_of_a_shorter_stretch(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 30.0)])
    page = opened(open_page, bridge)
    first = bridge.next_heard("history")
    assert first["to_ms"] - first["from_ms"] == pytest.approx(120_000, abs=2)
    assert 300 < first["rows"] < 1920  # one for each column of pixels
    expect(page.locator(".history-plot .js-line").first).to_be_attached()
    page.get_by_role("button", name="Less time").click()
    finer = bridge.next_heard("history")
    while finer["to_ms"] - finer["from_ms"] > 61_000:
        finer = bridge.next_heard("history")
    assert finer["to_ms"] - finer["from_ms"] == pytest.approx(60_000, abs=2)
    page.get_by_role("button", name="Whole session").click()
    assert bridge.next_heard("history", from_ms=0)["to_ms"] >= START_MS
    expect(page.locator("[data-role=span]")).to_contain_text(re.compile(r"0:00 to 10:\d\d"))


def test_the_history_is_zoomed_and_moved_by_mouse_and_by_keys(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 30.0)])
    page = opened(open_page, bridge)
    expect(page.locator(".history-plot .js-line").first).to_be_attached()
    page.get_by_role("button", name="Whole session").click()
    bridge.next_heard("history", from_ms=0)
    box = page.locator(".history-plot .nsewdrag").bounding_box()
    assert box
    y = box["y"] + box["height"] / 2
    page.mouse.move(box["x"] + box["width"] * 0.25, y)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.5, y, steps=4)
    page.mouse.up()
    dragged = bridge.next_heard("history")
    while dragged["from_ms"] == 0:
        dragged = bridge.next_heard("history")
    assert dragged["from_ms"] == pytest.approx(START_MS / 4, rel=0.1)
    assert dragged["to_ms"] == pytest.approx(START_MS / 2, rel=0.1)
    page.locator(".history-box").focus()
    page.keyboard.press("ArrowLeft")
    moved = bridge.next_heard("history")
    assert moved["from_ms"] == pytest.approx(dragged["from_ms"] / 2, rel=0.1)
    page.mouse.dblclick(box["x"] + 50, y)
    expect(page.get_by_role("button", name="Whole session")).to_have_attribute("aria-pressed", "true")
    page.locator(".history-box").focus()
    page.keyboard.press("End")
    expect(page.get_by_role("button", name="Last 2 minutes")).to_have_attribute("aria-pressed", "true")


def test_the_curve_has_its_gap_and_everything_beside_it_is_named(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 30.0, u=0.3)])
    page = opened(open_page, bridge)
    expect(page.locator("[data-role=ribbon] .ribbon-name")).to_have_text(
        ["warm", "no band", "warm", "warmer"]
    )
    beside = page.locator(".history-beside")
    for name in ("room", "start", "high limit 48.0", "baseline 20.0"):
        expect(beside).to_contain_text(name)
    expect(page.locator("[data-role=history-note]")).to_contain_text("± 0.30 °C, the standard uncertainty")
    traces = page.locator(".history-plot .scatterlayer .trace")
    expect(traces).to_have_count(5)  # what is shaded, edges, limit, baseline, the curve
    expect(traces.nth(1).locator(".js-line")).to_have_count(4)
    expect(traces.nth(4).locator(".js-line")).to_have_count(2)  # two pieces
    page.get_by_label("Fit the scale").check()
    expect(traces).to_have_count(3)  # limit and baseline lie outside now
    expect(page.locator("[data-role=history-note]")).to_contain_text("the baseline, 20.0, lies below")
    page.get_by_label("Fit the scale").uncheck()
    bridge.say({"kind": "marker", "marker": {"t_ms": START_MS - 60_000, "words": "poured", "who": "x"}})
    expect(page.locator(".history-above")).to_have_text("poured")
    page.get_by_role("button", name="poured").click()
    assert bridge.next_heard("history", from_ms=START_MS - 90_000)["to_ms"] == START_MS - 30_000


def test_another_channel_is_chosen(open_page: Open) -> None:
    plain = {"low": 0, "high": 5, "edges": [], "edge_names": [""], "limits": [], "baseline": None}
    channels = [channel(), channel(name="volts", unit="V", decimals=3, **plain)]
    volts = [2, 1, START_MS, 0.311, None, 0, "", None, 0.311, 0.311]
    bridge = RememberingBridge([bench(2, channels=channels)], [value(2, 31.24), volts])
    page = opened(open_page, bridge)
    page.get_by_label("Channel").select_option("volts")
    expect(page.locator("[data-role=value]")).to_have_text("0.311")
    expect(page.locator("[data-role=unit]")).to_have_text("V")
    bridge.next_heard("history", channel=1)
    expect(page.locator("[data-role=ribbon]")).to_be_hidden()


def test_an_alarm_is_told_with_what_to_do_and_acknowledged(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 49.0)])
    bridge.past_alarms = [alarm(2, "normal", event="return", t_ms=START_MS - 5000, value=47.2)]
    page = opened(open_page, bridge)
    panel = page.locator(".panel-alarms")
    expect(panel).to_contain_text("No alarm stands.")
    expect(panel).to_contain_text("9:55 ▽ returned: temperature, high limit 48.0 °C, at 47.2 °C")
    bridge.say({"kind": "alarm", "alarm": alarm(2)})
    for words in ("temperature above 48.0 °C", "stands, not yet acknowledged", "What to do: Add cold water"):
        expect(panel).to_contain_text(words)
    expect(panel).to_contain_text("49.0 °C at 10:00; priority medium")
    page.get_by_role("button", name="Acknowledge").press("Enter")
    assert bridge.next_heard("acknowledge")["alarm"] == "2/temperature/high"
    bridge.say({"kind": "alarm", "alarm": alarm(2, "acknowledged", who="instructor")})
    expect(panel).to_contain_text("stands, acknowledged by instructor")
    expect(page.get_by_role("button", name="Acknowledge")).to_be_hidden()


def test_an_alarm_is_shelved_with_a_time_and_a_reason_and_taken_off_again(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 49.0)])
    bridge.alarms = [alarm(2)]
    page = opened(open_page, bridge)
    panel = page.locator(".panel-alarms")
    minutes = panel.get_by_label("Minutes")
    page.get_by_role("button", name="Shelve: temperature above").press("Enter")
    expect(minutes).to_be_focused()
    minutes.fill("600")
    minutes.press("Enter")
    expect(panel.get_by_role("status")).to_contain_text("A shelf lasts up to 240 minutes")
    minutes.fill("2,5")
    minutes.press("Enter")
    expect(panel.get_by_role("status")).to_contain_text("Write why it is shelved")
    page.get_by_label("Why").fill("being stirred")
    page.get_by_label("Why").press("Enter")
    heard = bridge.next_heard("shelve")
    assert (heard["alarm"], heard["minutes"], heard["reason"]) == ("2/temperature/high", 2.5, "being stirred")
    expect(minutes).to_be_hidden()
    shelved = {"event": "shelve", "before": "unacknowledged", "reason": "being stirred"}
    until_ms = START_MS + 150_000
    bridge.say(
        {"kind": "alarm", "alarm": alarm(2, "shelved", who="instructor", until_ms=until_ms, **shelved)}
    )
    expect(panel).to_contain_text("shelved until 12:30: being stirred")
    expect(page.locator("[data-role=state]")).not_to_contain_text("above")  # it calls nobody
    expect(page.get_by_role("button", name="Acknowledge")).to_be_hidden()
    page.get_by_role("button", name="Take off the shelf").press("Enter")
    assert bridge.next_heard("unshelve")["alarm"] == "2/temperature/high"


@pytest.mark.parametrize(
    ("state", "words", "button", "kind"),
    [
        ("latched unacknowledged", "is held, not yet acknowledged", "Acknowledge", "acknowledge"),
        ("latched acknowledged", "is held until it is reset", "Reset", "reset"),
        ("unacknowledged", "stands, not yet acknowledged", "Out of service", "remove"),
        ("out of service", "out of service", "Back into service", "restore"),
        ("suppressed", "does not count now: the phase is run", "Out of service", "remove"),
    ],
)  # fmt: skip
def test_each_state_of_an_alarm_has_its_words_and_its_button(
    open_page: Open, state: str, words: str, button: str, kind: str
) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 49.0)])
    bridge.alarms = [alarm(2, state, reason="run")]
    page = opened(open_page, bridge)
    expect(page.locator(".alarm-state")).to_contain_text(words)
    page.get_by_role("button", name=f"{button}: temperature above 48.0").press("Enter")
    assert bridge.next_heard(kind)["alarm"] == "2/temperature/high"


def test_alarms_of_other_kinds_say_what_they_judge(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 49.0)])
    of_kind = [("rate of change", 6.0), ("deviation", 3.0), ("stale", 10.0), ("bad quality", 0.0)]
    bridge.alarms = [
        alarm(2, id=f"2/temperature/{kind}", limit=kind, kind=kind, at=at, value=at) for kind, at in of_kind
    ]
    help_wanted = alarm(2, id="2//help", channel="", limit="help", kind="finding", at=0.0, value=None)
    bridge.alarms.append(help_wanted | {"first_out": True})
    page = opened(open_page, bridge)
    heads = page.locator(".alarm-head strong")
    expect(heads).to_have_text(
        [
            "temperature changes faster than 6.0 °C/min", "temperature further than 3.0 °C from the class",
            "temperature no value for 10 s", "temperature not to be trusted", "help",
        ]
    )  # fmt: skip
    expect(page.locator(".alarm-state").last).to_contain_text("the first of several; since 10:00")


def test_a_phase_is_started_from_the_header(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)])
    bridge.lesson_phases = [{"name": "baseline", "note": ""}, {"name": "run", "note": "pour"}]
    bridge.phases = [{"t_ms": 0, "phase": "", "who": "rule"}]
    page = opened(open_page, bridge)
    choice = page.get_by_label("Phase")
    expect(choice).to_have_value("")
    choice.select_option("run")
    assert bridge.next_heard("phase")["phase"] == "run"
    bridge.say({"kind": "phases", "phases": [{"t_ms": START_MS, "phase": "baseline", "who": "instructor"}]})
    expect(choice).to_have_value("baseline")


def test_a_lesson_of_one_piece_has_no_phase_to_choose(open_page: Open) -> None:
    page = opened(open_page, RememberingBridge([bench(2)]))
    expect(page.locator("[data-role=connection]")).to_have_text("Connected")
    expect(page.locator("[data-role=phase]")).to_be_hidden()


def test_a_setting_is_sent_as_a_path_and_a_wrong_one_is_told_at_its_button(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)])
    page = opened(open_page, bridge)
    form = page.locator("form", has=page.get_by_label("Gain"))
    expect(page.get_by_role("textbox", name="Baseline")).to_have_value("20")
    page.get_by_label("Gain").fill("one")
    page.get_by_label("Gain").press("Enter")
    expect(form.get_by_role("status")).to_contain_text("“one” is no number")
    page.get_by_label("Gain").fill("1,02")
    page.get_by_role("textbox", name="Baseline").fill("")
    page.get_by_label("Gain").press("Enter")
    of_bench = ["bench", 2, "channel", "temperature"]
    assert bridge.next_heard("revise")["changes"] == [
        [[*of_bench, "baseline"], None],
        [[*of_bench, "gain"], 1.02],
    ]
    expect(form.get_by_role("status")).to_have_text("✓ done")
    page.get_by_label("High limit").fill("45.5")
    page.get_by_label("High limit").press("Enter")
    path = ["channel", "temperature", "limit", "high", "at"]
    assert bridge.next_heard("revise")["changes"] == [[path, 45.5]]


def test_what_a_person_is_writing_is_not_overwritten(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)])
    page = opened(open_page, bridge)
    expect(page.get_by_label("High limit")).to_have_value("48")
    page.get_by_role("textbox", name="Baseline").fill("19.")
    limits = [limit("high", 50.0, priority="low")]
    bridge.say({"kind": "bench", "bench": bench(2, channels=[channel(baseline=21.0, limits=limits)])})
    expect(page.get_by_label("High limit")).to_have_value("50")
    expect(page.get_by_role("textbox", name="Baseline")).to_have_value("19.")


def test_the_port_is_told_and_let_go(open_page: Open) -> None:
    told = status(
        port="COM7", baud=115200, lines_per_second=9.9, n_lines=1000, n_set_aside=25, layout="pairs"
    )
    bridge = RememberingBridge([bench(2, status=told)])
    page = opened(open_page, bridge)
    facts = page.locator("[data-role=port]")
    for words in ("COM7", "115200", "9.9", "1000", "25 (2.5 %)", "pairs"):
        expect(facts).to_contain_text(words)
    page.get_by_role("button", name="Let the port go").click()
    assert bridge.next_heard("release")["bench"] == 2
    page.get_by_role("button", name="Take the port back").click()
    assert bridge.next_heard("take_back")["bench"] == 2


def test_a_moment_is_marked_with_words_or_without(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)])
    page = opened(open_page, bridge)
    page.get_by_label("What happens now").fill("water poured in")
    page.get_by_label("What happens now").press("Enter")
    assert bridge.next_heard("mark")["words"] == "water poured in"
    expect(page.get_by_label("What happens now")).to_have_value("")
    page.get_by_role("button", name="Mark", exact=True).click()
    assert bridge.next_heard("mark")["words"] == "Bench 2"


def test_a_recording_is_ended_only_after_a_second_thought(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)])
    page = opened(open_page, bridge)
    page.locator("[data-role=record]").click()
    page.get_by_role("button", name="Go on recording").click()
    expect(page.locator("dialog")).to_have_count(0)
    page.locator("[data-role=record]").click()
    page.locator("dialog").get_by_role("button", name="End the recording").click()
    assert bridge.next_heard("record")["on"] is False


def test_without_the_passcode_nothing_is_sent(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)])
    page = opened(open_page, bridge, "")
    page.get_by_role("button", name="Let the port go").click()
    page.get_by_role("button", name="Cancel").click()
    expect(page.locator(".panel-port").get_by_role("status")).to_contain_text("no passcode was given")
    assert "release" not in {message["kind"] for message in bridge.heard.queue}


def test_an_old_value_and_a_lost_bridge_are_never_shown_as_live(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)], [value(2, 31.2)])
    page = opened(open_page, bridge)
    expect(page.locator("#bench")).not_to_have_attribute("data-old", "")
    bridge.say(
        {"kind": "status", "bench": 2, "status": status(old=True, words="silent", remedy="See the cable")}
    )
    expect(page.locator("#bench")).to_have_attribute("data-old", "")
    expect(page.locator("[data-role=age]")).to_have_text(re.compile(r"\d+ s old"))
    expect(page.locator("[data-role=more]")).to_have_text("See the cable")
    bridge.say({"kind": "status", "bench": 2, "status": status()})
    expect(page.locator("#bench")).not_to_have_attribute("data-old", "")
    bridge.hushed.set()
    expect(page.locator("[data-role=state]")).to_have_text("not live")
    expect(page.locator("#bench")).to_have_attribute("data-old", "")
    expect(page.locator("[data-role=banner]")).to_be_visible()


@pytest.mark.parametrize("size", [(1920, 1080), (1366, 768), (390, 844)], ids=str)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_is_cut_off_at_the_side(open_page: Open, size: tuple[int, int], scheme: Any) -> None:
    told = status(port="/dev/serial/by-id/a-very-long-name-of-a-port-0123456789-if00", layout="x" * 90)
    bridge = RememberingBridge([bench(1), bench(2, name="W" * 60, status=told)], [value(2, -12345.6)])
    page = opened(open_page, bridge)
    page.emulate_media(color_scheme=scheme)
    page.set_viewport_size({"width": size[0], "height": size[1]})
    bridge.say(lines("x" * 1000, "<b>" * 300, outcome="set aside", flaws="over-long (4097 bytes)"))
    expect(page.locator(".line")).to_have_count(2)
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    beyond = page.locator("#bench :is(button, input, [data-role=value], dd, h2, .line-outcome):visible")
    ends = beyond.evaluate_all("all => all.map(one => one.getBoundingClientRect().right)")
    assert max(ends) <= size[0]


def test_every_control_is_reached_by_the_tab_key(open_page: Open) -> None:
    bridge = RememberingBridge([bench(2)])
    bridge.alarms = [alarm(2)]
    page = opened(open_page, bridge)
    expect(page.locator("[data-does=nearer]")).to_be_visible()
    seen = set()
    for _ in range(80):
        page.keyboard.press("Tab")
        seen.add(page.evaluate("document.activeElement.textContent || document.activeElement.id"))
    wanted = {
        "The wall", "End the recording", "+", "−", "←", "→", "Whole session", "Last 2 minutes",
        "history-fits", "Hold still", "Acknowledge", "mark-words", "Mark", "Let the port go (to upload)",
        "Take the port back", "setting-baseline", "setting-gain", "setting-offset", "setting-high",
        "setting-low", "Set-up", "capture-reference", "capture-u", "capture-words", "Learn again",
        "Capture this steady reading", "Type a point in", "Linetwo points or more",
    }  # fmt: skip
    assert wanted <= seen, wanted - seen
