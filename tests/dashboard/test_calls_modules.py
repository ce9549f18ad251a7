"""The pure script modules of the call list, the codes and the sound, run in the browser that runs them."""

from __future__ import annotations

import re
from typing import Any, get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.findings import FindingKind
from bridge.schemas import validator
from dashboard.shipped import assets_folder
from tests.dashboard import test_wall_modules
from tests.dashboard.calls_given import MINUTE, ask, at, call, calls, flood, high, told
from tests.dashboard.scripted_bridge import START_MS, Message, alarm, finding
from tests.dashboard.test_wall_modules import Run, attention

pytestmark = pytest.mark.browser
run = test_wall_modules.run
FORMULA = call("finding/wrong formula", at(4, 3), at(7, 2))
NAME = "(n) => `Bench ${n}`"


@pytest.mark.parametrize(
    "message",
    [told(), told(high(2, 5), ask(3), FORMULA, done=(1,), n_more=2), {"kind": "flood", "flood": flood()}],
)
def test_what_is_made_up_keeps_the_bridges_schemas(message: Message) -> None:
    faults = validator("from_bridge", message["kind"]).iter_errors(message)
    assert [fault.message for fault in faults] == []


def test_a_wait_is_told_in_whole_minutes(run: Run) -> None:
    waits = [-5, 0, 59_999, MINUTE, 4.9 * MINUTE, 65 * MINUTE]
    words = ["under 1 min", "under 1 min", "under 1 min", "1 min", "4 min", "1 h 05 min"]
    assert run("calls", "x.map(m.waitWords)", waits) == words


def test_what_a_group_said_last_is_told_by_its_bench(run: Run) -> None:
    of = "m.askedAt(x[0], x[1])"
    listed = calls(high(2), ask(3, minutes=4), done=(1,))
    assert run("calls", of, [listed, 3]) == {"want": "help", "sinceMs": START_MS - 4 * MINUTE}
    assert run("calls", of, [listed, 1]) == {"want": "done", "sinceMs": START_MS - MINUTE}
    assert run("calls", of, [listed, 2])["want"] == "nothing"


def test_the_place_in_the_line_counts_benches_to_go_to_before(run: Run) -> None:
    # Bench 2 has two calls, bench 9 was attended to: neither makes the way to bench 3 longer.
    attended = call("finding/stuck", at(9, attended=True), at(5))
    listed = calls(high(2, 5), attended, call("finding/no bytes", at(2)), ask(3), ask(6))
    places = [run("calls", "m.placeInLine(x[0], x[1])", [listed, one]) for one in (2, 5, 3, 6, 8)]
    assert places == [1, 2, 3, 4, None]
    words = run("calls", "x.map(m.placeWords)", [1, 2, 10, 11, None])
    assert words == [
        "You are next.", "You are second.", "You are tenth.", "You are number 11 in the line.", "",
    ]  # fmt: skip


def test_where_a_call_leads_names_its_benches(run: Run) -> None:
    where = f"x.map((one) => m.whereWords(one, {NAME}))"
    shared = call("finding/stuck", *[at(one) for one in (1, 2, 3, 4, 5)])
    four = call("finding/stuck", *[at(one) for one in (1, 4, 3, 6)])
    seen_in_part = call("finding/stuck", at(4), at(7, attended=True))
    assert run("calls", where, [ask(3), high(2, 5), four, shared, seen_in_part]) == [
        "Bench 3", "Benches 2, 5", "Benches 1, 4, 3, 6", "Benches 1, 2, 3 and 2 more", "Bench 4",
    ]  # fmt: skip
    short = f"x.map((one) => m.shortWhereWords(one, {NAME}))"
    assert run("calls", short, [ask(3), shared, seen_in_part]) == ["Bench 3", "Bench 1 and 4 more", "Bench 4"]


def test_a_finding_is_told_by_its_name_first_where_one_line_must_do(run: Run) -> None:
    rail = call("finding/bottom rail/temperature", at(2), words="raw stands at the lower end")
    assert run("calls", "x.map(m.lineWords)", [FORMULA, rail, high(2)]) == [
        {"name": "wrong formula", "sentence": "The program divides by 1023"},
        {"name": "pin at 0 V", "sentence": "raw stands at the lower end"},
        {"name": "Too warm to hold", "sentence": ""},
    ]


def test_what_a_finding_is_called_on_screens_is_short_and_of_a_kind_that_there_is(run: Run) -> None:
    source = (assets_folder() / "parts" / "finding-names.mjs").read_text(encoding="utf-8")
    named = re.findall(r"^  '?([^':/*]+)'?: '", source, re.MULTILINE)
    assert named
    assert set(named) <= set(get_args(FindingKind))
    names = run("finding-names", "x.map(m.findingName)", list(get_args(FindingKind)))
    assert len(set(names)) == len(names)
    assert max(map(len, names)) <= 24


def test_a_flood_is_told_by_its_groups_and_only_while_it_is_on(run: Run) -> None:
    words = f"m.floodWords(x, {NAME})"
    assert run("calls", words, flood()) == {
        "head": "Many alarms: 14 since 9:00", "groups": ["high at 5 benches", "2 alarms at Bench 4"],
    }  # fmt: skip
    again = {"by": "bench", "channel": "", "limit": "", "benches": [2], "n_calls": 12,
             "alarms": [{"id": "2/temperature/high", "n_calls": 12}]}  # fmt: skip
    alone = run("calls", words, flood() | {"n_calls": 12, "groups": [again]})
    assert alone["groups"] == ["1 alarm, 12 times, at Bench 2"]
    assert run("calls", words, flood() | {"on": False}) is None
    assert run("calls", words, None) is None


@pytest.mark.parametrize(
    ("n_done", "n", "words"),
    [(0, 8, ""), (1, 8, "1 of 8 is done"), (5, 8, "5 of 8 are done"), (8, 8, "All 8 are done")],
)
def test_who_is_done_is_told_in_words(run: Run, n_done: int, n: int, words: str) -> None:
    assert run("calls", "m.doneWords(x[0], x[1])", [n_done, n]) == words


NEWS = (
    "(() => { const heard = new m.NewCalls(); return x.map((one) => heard.take(one)"
    ".map(({call, at}) => `${call.id} ${at.bench}`)); })()"
)


def test_each_bench_of_a_call_is_news_once(run: Run) -> None:
    seen = call("finding/wrong formula", at(4, attended=True), at(7))
    lists = [
        calls(high(2)),
        calls(high(2), ask(3)),
        calls(ask(3), high(2, 5)),
        calls(seen, ask(3)),
        calls(ask(3), high(2)),
    ]
    assert run("calls", NEWS, lists) == [
        [],  # what stood already when the page was opened
        ["ask/3 3"],
        ["alarm/temperature/high 5"],
        ["finding/wrong formula 7"],  # bench 4 was attended to
        ["alarm/temperature/high 2"],  # it was over and calls again
    ]  # fmt: skip


def test_news_are_told_in_one_sentence(run: Run) -> None:
    words = f"m.newsWords(x, {NAME})"
    one = {"call": ask(3), "at": at(3)}
    assert run("calls", words, [one]) == "New call. Bench 3: asks for help"
    two = {"call": high(2), "at": at(2, words="came at 49.0 °C")}
    assert run("calls", words, [two, one]) == "2 new calls. Bench 2: came at 49.0 °C, and 1 more"


@settings(deadline=None, max_examples=60)
@given(
    before=st.permutations(range(6)), after=st.lists(st.integers(0, 8), unique=True), held=st.integers(0, 5)
)
def test_a_list_is_brought_in_order_without_touching_what_has_the_focus(
    run: Run, before: list[int], after: list[int], held: int
) -> None:
    script = """(() => {
      const list = document.createElement('ul');
      document.documentElement.append(list);
      const items = [...Array(9).keys()].map((i) => {
        const item = document.createElement('li');
        item.textContent = i;
        item.tabIndex = 0;
        return item;
      });
      list.append(...x.before.map((i) => items[i]));
      items[x.held].focus();
      let nLost = 0;
      items[x.held].addEventListener('blur', () => { nLost += 1; });
      m.arrange(list, x.after.map((i) => items[i]));
      const order = [...list.children].map((item) => Number(item.textContent));
      const found = {order, kept: document.activeElement === items[x.held] && nLost === 0};
      list.remove();
      return found;
    })()"""
    found = run("arrange", script, {"before": list(before), "after": after, "held": held})
    assert found["order"] == after
    assert found["kept"] is (held in after)


def with_group(run: Run, want: str, **changes: Any) -> dict[str, Any]:
    asked = {"want": want, "sinceMs": START_MS - 4 * MINUTE}
    return attention(run, asked=asked, **changes)


def test_a_group_that_asks_comes_before_all_but_an_alarm_that_waits(run: Run) -> None:
    asks = with_group(run, "help")
    assert (asks["level"], asks["symbol"], asks["words"]) == ("notice", "⚑", "asks for help")
    assert asks["more"] == "since 6:00 · reading"
    faulty = with_group(run, "help", findings=[finding()])
    assert faulty["words"] == "asks for help"
    assert "The board prints at another rate" in faulty["more"]
    alarmed = with_group(run, "help", alarms=[alarm(1)])
    assert (alarmed["level"], alarmed["words"], alarmed["alarm"]) == (
        "urgent", "above 48.0 °C", "1/temperature/high",
    )  # fmt: skip
    assert alarmed["more"].startswith("Group asks for help · ")
    gone = with_group(run, "help", alarms=[alarm(1, "returned unacknowledged")])
    assert (gone["words"], gone["alarm"]) == (
        "asks for help",
        "1/temperature/high",
    )  # still to be acknowledged
    assert with_group(run, "help", linkLost=True)["words"] == "not live"


def test_a_group_that_is_done_comes_after_what_calls_and_before_the_rest(run: Run) -> None:
    assert with_group(run, "done")["words"] == "done"
    seen = with_group(run, "done", alarms=[alarm(1, "acknowledged")])
    assert (seen["level"], seen["symbol"], seen["words"], seen["more"][:5]) == ("seen", "✓", "done", "above")
    faulty = with_group(run, "done", findings=[finding()])
    assert faulty["words"] == "The board prints at another rate"
    assert faulty["more"].startswith("Group done · ")
    assert with_group(run, "nothing") == attention(run)


def test_a_code_is_drawn_in_runs_within_its_quiet_zone(run: Run) -> None:
    assert run("qr", "m.darkPath(x)", ["101", "110", "000"]) == "M4 4h1v1h-1zM6 4h1v1h-1zM4 5h2v1h-2z"


@pytest.mark.parametrize(
    ("typed", "origin"),
    [
        ("http://192.168.1.20:8050", "http://192.168.1.20:8050"), (" 192.168.1.20:8050 ", "http://192.168.1.20:8050"),
        ("room-pc:8050/bench/3#k=x", "http://room-pc:8050"), ("https://room-pc", "https://room-pc"),
        ("", None), ("ftp://room-pc", None), ("room pc", None), ("javascript:alert(1)", None),
    ],
)  # fmt: skip
def test_an_address_is_taken_as_a_person_types_it(run: Run, typed: str, origin: str | None) -> None:
    assert run("origin", "m.originOf(x)", typed) == origin


RENDER = """(async () => {
  const rate = 8000;
  const context = new OfflineAudioContext(1, rate, rate);
  const n = m.playPattern(context, x.priority, x.volume);
  const wave = (await context.startRendering()).getChannelData(0);
  let bursts = 0, quiet = 1e9, peak = 0, last = 0;
  wave.forEach((one, i) => {
    const size = Math.abs(one);
    peak = Math.max(peak, size);
    if (size > 1e-6) {
      if (quiet > rate * 0.03) bursts += 1;
      quiet = 0;
      last = i;
    } else quiet += 1;
  });
  return {n, bursts, peak, seconds: last / rate};
})()"""


@pytest.mark.parametrize(("priority", "n"), [("high", 3), ("medium", 2), ("low", 1)])
def test_each_priority_has_tones_of_its_own(run: Run, priority: str, n: int) -> None:
    found = run("sound", "await " + RENDER, {"priority": priority, "volume": 50})
    assert (found["n"], found["bursts"]) == (n, n)
    assert found["seconds"] < 0.9
    assert 0.2 < found["peak"] <= 0.26  # a quarter: half the volume by ear
    assert run("sound", "await " + RENDER, {"priority": priority, "volume": 0})["peak"] == 0
    assert run("sound", "await " + RENDER, {"priority": priority, "volume": 500})["peak"] <= 1


# A browser whose time stands still until it is moved, and which counts the tones that are made.
SOUNDS = """(() => {
  let now = 0, made = 0, contexts = 0;
  const due = [], tones = [];
  const gain = {gain: {setValueAtTime() {}, linearRampToValueAtTime() {}}, connect: () => gain};
  const context = {
    state: x.blocked ? 'suspended' : 'running', currentTime: 0, resume: async () => {},
    createOscillator() { made += 1; return {frequency: {}, connect: () => gain, start() {}, stop() {}}; },
    createGain: () => gain,
  };
  const kept = new Map(x.kept ? [['benchrow.sound', x.kept]] : []);
  const storage = {getItem: (name) => kept.get(name) ?? null, setItem: (name, text) => kept.set(name, text)};
  const sounds = new m.Sounds({
    makeContext: () => { contexts += 1; return context; }, now: () => now,
    later: (does, ms) => due.push({at: now + ms, does}), storage, claim: () => true,
  });
  const move = (ms) => {
    now += ms;
    for (const one of due.splice(0)) if (one.at <= now) one.does(); else due.push(one);
  };
  const fresh = (id, priority) => ({call: {id, priority}, at: {bench: 1, attended: false}});
  const standing = (...ids) => ({list: ids.map((id) => ({id, benches: [{bench: 1, attended: false}]}))});
  const heard = () => { const n = made; made = 0; return n; };
  const out = [];
  x.steps.forEach(([what, ...args]) => {
    if (what === 'move') move(...args);
    else if (what === 'new') sounds.take([fresh(...args)], standing(args[0]));
    else if (what === 'over') sounds.take([], standing());
    else sounds[what](...args);
    out.push(`${sounds.state} ${heard()}`);
  });
  return {out, contexts, kept: kept.get('benchrow.sound') ?? null};
})()"""
ON = '{"on": true, "volume": 40}'


def steps(run: Run, *wanted: list[Any], **more: Any) -> list[str]:
    return list(run("sound", SOUNDS, {"steps": wanted, "kept": ON} | more)["out"])


def test_nothing_is_made_while_the_sound_is_off(run: Run) -> None:
    found = run("sound", SOUNDS, {"steps": [["new", "a", "high"], ["move", 9000]]})
    assert (found["out"], found["contexts"], found["kept"]) == (["off 0", "off 0"], 0, None)


def test_one_sound_in_five_seconds_and_the_most_urgent_of_those_that_wait(run: Run) -> None:
    assert steps(
        run, ["new", "a", "low"], ["move", 1000], ["new", "b", "low"], ["new", "b", "high"], ["move", 3999],
        ["move", 1], ["move", 60_000],
    ) == ["on 1", "on 0", "on 0", "on 0", "on 0", "on 3", "on 0"]  # fmt: skip


def test_a_call_that_is_over_before_its_sound_makes_none(run: Run) -> None:
    assert steps(run, ["new", "a", "low"], ["new", "b", "high"], ["over"], ["move", 9000]) == [
        "on 1", "on 0", "on 0", "on 0",
    ]  # fmt: skip


def test_a_silence_lasts_five_minutes_or_until_it_is_ended(run: Run) -> None:
    assert steps(
        run, ["silence"], ["move", 299_999], ["new", "a", "high"], ["move", 1], ["new", "b", "high"]
    ) == ["silent 0", "silent 0", "silent 0", "on 0", "on 3"]  # fmt: skip
    assert steps(run, ["silence"], ["silence"], ["new", "a", "medium"]) == ["silent 0", "on 0", "on 2"]


def test_a_blocked_sound_is_told_and_nothing_is_made(run: Run) -> None:
    assert steps(run, ["new", "a", "high"], blocked=True) == ["blocked 0"]


@pytest.mark.parametrize("kept", ["", "{", "[]", '{"on": "yes", "volume": "loud"}', '{"volume": 1e999}'])
def test_what_cannot_be_read_of_the_memory_leaves_the_sound_off(run: Run, kept: str) -> None:
    assert steps(run, ["move", 1], kept=kept) == ["off 0"]


def test_of_two_pages_of_one_browser_one_sounds(run: Run) -> None:
    script = """(async () => {
      let made = 0;
      const gain = {gain: {setValueAtTime() {}, linearRampToValueAtTime() {}}, connect: () => gain};
      const context = {
        state: 'running', currentTime: 0, createGain: () => gain,
        createOscillator() { made += 1; return {frequency: {}, connect: () => gain, start() {}, stop() {}}; },
      };
      const storage = {getItem: () => '{"on": true}', setItem() {}};
      const pages = [1, 2].map(() => new m.Sounds({makeContext: () => context, storage}));
      const fresh = [{call: {id: 'a', priority: 'low'}, at: {bench: 1, attended: false}}];
      const calls = {list: [{id: 'a', benches: [{bench: 1, attended: false}]}]};
      for (const page of pages) page.take(fresh, calls);
      for (let i = 0; i < 100 && made === 0; i++) await navigator.locks.query();
      await navigator.locks.query();
      return made;
    })()"""
    assert run("sound", "await " + script) == 1


def test_the_choice_is_remembered(run: Run) -> None:
    found = run("sound", SOUNDS, {"steps": [["setOn", True], ["setVolume", 70]]})
    assert found["kept"] == '{"on":true,"volume":70,"silentUntil":0}'
