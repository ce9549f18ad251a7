"""The pure script modules of the pages, run in the browser that runs them."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any, Protocol

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from playwright.sync_api import Browser

from tests.dashboard.browser import dashboard_for
from tests.dashboard.scripted_bridge import alarm, finding, hint, status

pytestmark = pytest.mark.browser


class Run(Protocol):
    """Runs an expression on a module of assets/parts: `m` is the module, `x` the argument."""

    def __call__(self, module: str, expression: str, x: Any = None) -> Any: ...


@pytest.fixture(scope="module")
def run(browser: Browser) -> Iterator[Run]:
    with dashboard_for("ws://127.0.0.1:9") as dashboard:
        context = browser.new_context()
        page = context.new_page()
        page.goto(dashboard.url + "assets/parts/numbers.mjs")  # any page of the same origin
        base = dashboard.url

        def run_(module: str, expression: str, x: Any = None) -> Any:
            load = f"const m = await import('{base}assets/parts/{module}.mjs')"
            script = f"async (x) => {{ {load}; return {expression}; }}"
            return page.evaluate(script, x)

        yield run_
        context.close()


@pytest.mark.parametrize(
    ("value", "decimals", "words"),
    [
        (36.62, 1, "36.6"), (36.0, 2, "36.00"), (-1.5, 1, "−1.5"), (-0.04, 1, "0.0"), (1023.0, 0, "1023"),
        (None, 1, "–"), (1e21, 1, "1e+21"),
    ],
)  # fmt: skip
def test_a_number_has_its_decimals_and_a_true_minus(
    run: Run, value: float, decimals: int, words: str
) -> None:
    assert run("numbers", "m.formatNumber(x[0], x[1])", [value, decimals]) == words


def test_no_value_is_never_zero(run: Run) -> None:
    assert run("numbers", "[NaN, Infinity, undefined].map((v) => m.formatNumber(v, 1))") == ["–"] * 3


def test_ages_and_clocks_are_told_in_words(run: Run) -> None:
    ages = [0, 999, 42_000, 185_000, 7_800_000]
    assert run("numbers", "x.map(m.formatAge)", ages) == ["0 s", "0 s", "42 s", "3 min 05 s", "2 h 10 min"]
    clocks = [7_000, 765_000, 3_723_000]
    assert run("numbers", "x.map(m.formatClock)", clocks) == ["0:07", "12:45", "1:02:03"]


def test_ticks_are_round_few_and_within_the_scale(run: Run) -> None:
    ends: list[list[float]] = [[15, 55], [0, 100], [0, 1023], [-0.2, 0.2], [0.5, 0.6], [-40, 125], [0, 5]]
    for (low, high), ticks in zip(
        ends, run("scale", "x.map(([l, h]) => m.roundTicks(l, h, 5))", ends), strict=True
    ):
        assert 2 <= len(ticks["numbered"]) <= 6
        assert all(low - 1e-9 <= tick <= high + 1e-9 for tick in ticks["numbered"] + ticks["between"])
        for tick in ticks["numbered"]:
            assert round(tick, ticks["decimals"]) == pytest.approx(tick, abs=1e-9)


def test_a_scale_without_extent_has_no_ticks(run: Run) -> None:
    assert run("scale", "m.roundTicks(5, 5, 5)") == {"numbered": [], "between": [], "decimals": 0}
    assert run("scale", "m.placeOnScale(5, {low: 5, high: 5})") is None


@settings(deadline=None, max_examples=150)
@given(
    places=st.lists(
        st.tuples(st.none() | st.integers(-1, 2000), st.none() | st.integers(-1, 2000)),
        min_size=1,
        max_size=24,
    ),
    shape=st.floats(0.4, 4),
)
def test_no_two_cards_share_a_place(
    run: Run, places: list[tuple[int | None, int | None]], shape: float
) -> None:
    benches = [{"number": i, "row": row, "place": place} for i, (row, place) in enumerate(places, 1)]
    wall = run(
        "placing",
        "(({columns, rows, at}) => ({columns, rows, at: [...at]}))(m.placeCards(x[0], x[1]))",
        [benches, shape],
    )
    cells = [(cell["row"], cell["column"]) for _, cell in wall["at"]]
    assert sorted(number for number, _ in wall["at"]) == list(range(1, len(places) + 1))
    assert len(set(cells)) == len(cells)
    assert all(1 <= row <= wall["rows"] and 1 <= column <= wall["columns"] for row, column in cells)
    assert wall["rows"] <= 36
    assert wall["columns"] <= 36


@pytest.mark.parametrize(
    ("n", "grid"), [(1, (1, 1)), (2, (2, 1)), (4, (2, 2)), (8, (4, 2)), (12, (4, 3)), (24, (6, 4))]
)
def test_a_plain_grid_makes_the_cards_large(run: Run, n: int, grid: tuple[int, int]) -> None:
    assert run("placing", "m.plainGrid(x, 1.9)", n) == {"columns": grid[0], "rows": grid[1]}


EACH = "(() => { const out = []; h.each(x.now, (...column) => out.push(column)); return out; })()"


def columns(run: Run, rows: list[Any], now: float, gap_ms: float = 3000) -> list[list[Any]]:
    """What a history of 10 s in 20 columns holds after the rows; null breaks it."""
    expression = (
        "(() => { const h = new m.ColumnHistory(10000, 20); h.gapMs = x.gap;"
        f"for (const row of x.rows) row ? h.add(...row) : h.breakOff(); return {EACH}; }})()"
    )
    return run("spark", expression, {"rows": rows, "now": now, "gap": gap_ms})  # type: ignore[no-any-return]


def test_a_column_keeps_the_least_and_the_greatest_value(run: Run) -> None:
    assert columns(run, [[0, 5, 5], [100, 7, 9], [200, 1, 2], [600, 3, 3]], 600) == [
        [250, 1, 9, True], [750, 3, 3, False],
    ]  # fmt: skip


def test_gaps_break_the_curve(run: Run) -> None:
    found = columns(run, [[0, 1, 1], [1000, 2, 2], None, [2000, 3, 3], [6000, 4, 4]], 6000)
    assert [is_first for *_, is_first in found] == [True, False, True, True]


def test_a_history_forgets_what_is_older_than_its_span(run: Run) -> None:
    found = columns(run, [[at, at, at] for at in range(0, 60_000, 100)], 59_900)
    assert len(found) == 21
    assert found[0][0] >= 59_900 - 10_500


def attention(run: Run, **changes: Any) -> dict[str, Any]:
    bench = {
        "status": status(), "alarms": [], "mainChannel": "temperature", "isOld": False, "ageMs": 400,
        "newest": {"value": 30.0, "quality": 0, "reason": ""}, "linkLost": False,
    } | changes  # fmt: skip
    return run("attention", "m.attentionOf({...x, channel: () => ({unit: '°C', decimals: 1})})", bench)  # type: ignore[no-any-return]


def test_a_calm_bench_says_what_the_bridge_says(run: Run) -> None:
    assert attention(run) == {
        "level": "calm",
        "symbol": "",
        "words": "reading",
        "age": "",
        "more": "",
        "alarm": None,
    }


def test_an_alarm_on_findings_says_what_is_found(run: Run) -> None:
    on_findings = alarm(1, id="1//finding", channel="", limit="finding", kind="finding", words="", advice="")
    lost = finding("board not reached", words="The board was unplugged", remedy="Plug it in again")
    said = attention(run, alarms=[on_findings, alarm(1, state="acknowledged")], findings=[lost])
    assert (said["level"], said["words"]) == ("urgent", "The board was unplugged (and 1 more)")
    assert (said["more"], said["alarm"]) == ("Plug it in again", "1//finding")
    named = on_findings | {"limit": "bottom rail", "words": "Look at the wire"}
    rail = finding("bottom rail", words="raw stands at the lower end of what the pin can read")
    said = attention(run, alarms=[named], findings=[lost, rail])
    assert said["words"] == "pin at 0 V (and 1 more)"
    assert said["more"] == f"{rail['words']} · Look at the wire"


def test_an_urgent_look_goes_only_when_it_has_stood_for_a_second(run: Run) -> None:
    taking = "{const held = new m.HeldLook(); return x.map(([level, at]) => held.take({level}, at).level);}"
    looks = [("notice", 0), ("calm", 5), ("urgent", 10), ("notice", 110), ("notice", 1009), ("notice", 1010)]
    levels = run("steadied", f"(() => {taking})()", looks)
    assert levels == ["notice", "calm", "urgent", "urgent", "urgent", "notice"]
    flipping = [["urgent" if i % 2 else "calm", 100 * i] for i in range(100)]
    shown = run("steadied", f"(() => {taking})()", flipping)
    assert sum(a != b for a, b in pairwise(shown)) <= 20  # ten seconds: up and down once in each


def test_what_comes_and_goes_is_told_once_a_minute_or_anew_when_it_was_settled(run: Run) -> None:
    asking = """(() => {
      const seldom = new m.Seldom();
      const told = x.map((at) => seldom.may('a', at));
      seldom.forget('a');
      return [told, seldom.may('b', 100), seldom.may('a', 60_101)];
    })()"""
    assert run("steadied", asking, [0, 100, 59_999, 60_000]) == [[True, False, False, True], True, True]


def test_an_alarm_comes_before_an_old_value_and_the_lost_bridge_before_all(run: Run) -> None:
    waiting = attention(run, alarms=[alarm(1)], isOld=True, ageMs=9000)
    assert (waiting["level"], waiting["words"], waiting["age"]) == ("urgent", "above 48.0 °C", "9 s old")
    assert waiting["alarm"] == "1/temperature/high"
    lost = attention(run, alarms=[alarm(1)], linkLost=True)
    assert (lost["level"], lost["words"], lost["alarm"]) == ("notice", "not live", None)


def test_the_alarm_of_the_highest_priority_is_told_first(run: Run) -> None:
    low = alarm(1, id="a", priority="low", t_ms=9)
    high = alarm(1, id="b", priority="high", channel="volts", limit="low", kind="low", t_ms=1)
    told = attention(run, alarms=[low, high])
    assert told["alarm"] == "b"
    assert told["words"] == "volts below 48.0 °C (and 1 more)"


def test_a_bench_whose_text_can_not_be_read_calls_for_a_person(run: Run) -> None:
    status = {
        "link": "open",
        "words": "bytes come, but no line end",
        "remedy": "End each line with a line feed",
    }
    found = attention(run, status=status, newest=None, ageMs=None)
    assert (found["level"], found["symbol"], found["words"]) == ("notice", "?", "bytes come, but no line end")
    assert found["more"] == "End each line with a line feed"


def test_an_acknowledged_alarm_is_calmer_and_one_that_returned_still_waits(run: Run) -> None:
    seen = attention(run, alarms=[alarm(1, "acknowledged")])
    assert (seen["level"], seen["alarm"]) == ("seen", None)
    gone = attention(run, alarms=[alarm(1, "returned unacknowledged")])
    assert (gone["level"], gone["words"], gone["alarm"]) == (
        "notice",
        "was above 48.0 °C",
        "1/temperature/high",
    )


def test_a_value_that_cannot_be_trusted_says_why(run: Run) -> None:
    told = attention(run, newest={"value": None, "quality": 2, "reason": "the board prints no number"})
    assert (told["level"], told["words"], told["more"]) == (
        "notice",
        "no value",
        "the board prints no number",
    )


def test_a_fault_of_many_words_is_told_by_its_name_with_the_words_below(run: Run) -> None:
    long = "The program computes with 5 V, but the board's reference is 3.3 V"
    one = attention(run, findings=[finding("wrong formula", words=long, remedy="Ask for the line")])
    assert (one["words"], one["more"]) == ("wrong formula", f"{long} · Ask for the line")
    two = attention(run, findings=[finding("wrong formula", words=long), hint()])
    assert two["words"] == "2 findings: wrong formula"


def test_a_fault_says_what_is_wrong_then_how_the_bench_is_and_what_to_try(run: Run) -> None:
    told = attention(
        run, findings=[hint(), finding(since_ms=9), finding("lost zeros", words="x", since_ms=5)]
    )
    assert (told["level"], told["symbol"]) == ("notice", "\N{MULTIPLICATION X}")
    assert told["words"] == "3 findings: x"  # the one that stands longest comes first
    assert told["more"] == "reading · Read it at 9600 baud"
    trouble = status(words="bytes come, but no line end", remedy="Check the baud rate")
    assert attention(run, findings=[finding()], status=trouble)["more"] == "Read it at 9600 baud"
    old = attention(run, findings=[finding()], isOld=True, ageMs=9000)
    assert (old["words"], old["age"]) == ("The board prints at another rate", "9 s old")


@pytest.mark.parametrize("state", ["shelved", "suppressed", "out of service"])
def test_an_alarm_that_is_set_aside_calls_nobody(run: Run, state: str) -> None:
    calm = attention(run, alarms=[alarm(1, state)])
    assert (calm["level"], calm["alarm"]) == ("calm", None)
    other = attention(run, alarms=[alarm(1, state), alarm(1, id="b")])
    assert other["words"] == "above 48.0 °C"


def test_a_latched_alarm_waits_to_be_acknowledged_and_then_to_be_reset(run: Run) -> None:
    unseen = attention(run, alarms=[alarm(1, "latched unacknowledged")])
    assert (unseen["level"], unseen["words"], unseen["alarm"]) == (
        "notice", "was above 48.0 °C", "1/temperature/high",
    )  # fmt: skip
    seen = attention(run, alarms=[alarm(1, "latched acknowledged")])
    assert (seen["level"], seen["more"], seen["alarm"]) == ("seen", "To be reset on the bench page", None)


def test_alarms_come_before_faults_and_faults_before_hints(run: Run) -> None:
    alarmed = attention(run, alarms=[alarm(1)], findings=[finding(), hint()])
    assert (alarmed["level"], alarmed["words"]) == ("urgent", "above 48.0 °C (and 1 more)")
    gone = attention(run, alarms=[alarm(1, "returned unacknowledged")], findings=[finding()])
    assert gone["words"] == "was above 48.0 °C (and 1 more)"
    seen = attention(run, alarms=[alarm(1, "acknowledged")], findings=[finding()])
    assert seen["words"] == "The board prints at another rate"


def test_a_hint_is_quieter_than_a_fault_and_leaves_the_status_words(run: Run) -> None:
    told = attention(run, findings=[hint("It hums"), hint("It sticks", since_ms=599_000)])
    assert (told["level"], told["symbol"], told["words"]) == ("seen", "?", "reading")
    assert told["more"] == "2 hints: It hums"
    silent = attention(run, findings=[hint()], isOld=True, ageMs=9000)
    assert silent["words"] == "silent"


def test_every_mark_has_its_own_outline_and_colour(run: Run) -> None:
    shapes = ["circle", "square", "triangle", "diamond", "cross", "bar", "ring", "star"]
    drawn = run(
        "marks",
        "x.map((shape) => m.createMark({shape, colour: 'blue'}).firstChild.getAttribute('d'))",
        shapes,
    )
    assert len(set(drawn)) == len(shapes)
    assert run("marks", "m.colourToken('reddish purple')") == "--mark-reddish-purple"
    assert run("marks", "m.colourToken('url(//x)')") == "--mark-black"


def test_the_bridge_is_sought_where_the_page_came_from(run: Run) -> None:
    seen = "m.bridgeAddress(x[0], x[1])"
    assert run("link", seen, ["ws://127.0.0.1:8765", "127.0.0.1"]) == "ws://127.0.0.1:8765/"
    assert run("link", seen, ["ws://127.0.0.1:8765", "localhost"]) == "ws://127.0.0.1:8765/"
    assert run("link", seen, ["ws://0.0.0.0:9000", "192.168.1.20"]) == "ws://192.168.1.20:9000/"
    assert run("link", seen, ["ws://room-pc:8765", "192.168.1.20"]) == "ws://room-pc:8765/"


def test_waits_between_attempts_grow_to_two_seconds(run: Run) -> None:
    assert run("link", "[1, 2, 3, 4, 5, 50].map(m.waitBeforeAttempt)") == [200, 400, 800, 1600, 2000, 2000]
