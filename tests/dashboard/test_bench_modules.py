"""The pure script modules of the bench page and the replay bar, run in the browser that runs them."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.dashboard import close_up, test_wall_modules
from tests.dashboard.scripted_bridge import channel
from tests.dashboard.test_wall_modules import Run

pytestmark = pytest.mark.browser
run = test_wall_modules.run
MINUTE = 60_000


def test_what_would_not_be_seen_in_a_line_is_shown_as_a_sign(run: Run) -> None:
    shown = "m.visiblePieces(x).map(({words, isSign}) => isSign ? `[${words}]` : words).join('')"
    texts = [" a\x07\x1b[31m b  ", "right \u202eto left", "\x00\x7f\x85\u200b", "<b>21.5 °C</b>", ""]
    assert [run("visible", shown, text) for text in texts] == [
        "[␣]a[⟨BEL⟩][⟨ESC⟩][31m b[␣␣]",
        "right [⟨U+202E⟩]to left",
        "[⟨NUL⟩][⟨DEL⟩][⟨U+0085⟩][⟨U+200B⟩]",
        "<b>21.5 °C</b>",
        "",
    ]


@pytest.mark.parametrize(
    ("text", "number"),
    [("1.02", 1.02), ("1,02", 1.02), ("−0.4", -0.4), (" 20 ", 20), (".5", 0.5), ("1e-2", 0.01),
     ("1.2.3", None), ("twenty", None), ("", None), ("0x10", None), ("Infinity", None)],
)  # fmt: skip
def test_a_number_is_read_as_a_person_writes_it(run: Run, text: str, number: float | None) -> None:
    assert run("entering", "m.readNumber(x)", text) == number


VIEWS: list[dict[str, Any]] = [
    {"kind": "whole"},
    {"kind": "last", "ms": 2 * MINUTE},
    {"kind": "fixed", "fromMs": 3 * MINUTE, "toMs": 4 * MINUTE},
    {"kind": "fixed", "fromMs": 0, "toMs": 1000},
]


@settings(deadline=None, max_examples=60)
@given(
    view=st.sampled_from(VIEWS),
    acts=st.lists(st.sampled_from(["nearer", "farther", "earlier", "later"]), max_size=12),
    now=st.integers(1, 90 * MINUTE),
)
def test_no_zooming_or_moving_leaves_the_session(
    run: Run, view: dict[str, Any], acts: list[str], now: int
) -> None:
    script = """(() => {
      const does = {nearer: (v) => m.zoomed(v, 0.5, x.now), farther: (v) => m.zoomed(v, 2, x.now),
                    earlier: (v) => m.moved(v, -0.5, x.now), later: (v) => m.moved(v, 0.5, x.now)};
      return m.stretchOf(x.acts.reduce((view, act) => does[act](view), x.view), x.now);
    })()"""
    found = run("bench/stretch", script, {"view": view, "acts": acts, "now": now})
    assert found["fromMs"] >= 0
    assert found["toMs"] - found["fromMs"] >= 1000 - 1e-6 or found["fromMs"] == 0
    if acts and view["kind"] != "fixed":
        assert found["toMs"] <= max(now, 1000) + 1e-6


def test_nearer_keeps_following_and_earlier_stands_still(run: Run) -> None:
    now = 10 * MINUTE
    last = {"kind": "last", "ms": 2 * MINUTE}
    assert run("bench/stretch", f"m.zoomed(x, 0.5, {now})", last) == {"kind": "last", "ms": MINUTE}
    earlier = run("bench/stretch", f"m.moved(x, -0.5, {now})", last)
    assert earlier == {"kind": "fixed", "fromMs": 7 * MINUTE, "toMs": 9 * MINUTE}
    assert run("bench/stretch", f"m.moved(x, 0.5, {now})", earlier) == last
    assert run("bench/stretch", f"m.zoomed(x, 64, {now})", earlier) == {"kind": "whole"}


@settings(deadline=None, max_examples=60)
@given(places=st.lists(st.floats(0, 300), max_size=12).map(sorted))
def test_names_beside_the_curve_never_cover_one_another(run: Run, places: list[float]) -> None:
    spread = run("bench/stretch", "m.spread(x, 20, {from: 0, to: 300})", places)
    assert all(b - a >= 20 - 1e-6 for a, b in pairwise(spread))
    assert all(-1e-6 <= place <= 300 + 1e-6 for place in spread)


def test_ticks_of_the_time_axis_are_round_and_inside(run: Run) -> None:
    found = run("bench/stretch", "m.timeTicks({fromMs: x[0], toMs: x[1]}, 6)", [61_000, 181_000])
    assert found == {"atMs": [90_000, 120_000, 150_000, 180_000], "hasTenths": False}
    assert run("bench/stretch", "m.timeTicks({fromMs: 0, toMs: 1000}, 6)", 0)["hasTenths"]


def steps(run: Run, ribbon: list[Any], rows: list[Any], until: int = 1000) -> list[tuple[float, float, Any]]:
    script = "m.ribbonSteps(m.brokenByGaps(x[0], x[1]), {fromMs: 0, toMs: 1000}, x[2])"
    found = run("bench/ribbon", script, [ribbon, rows, until])
    return [(step["from"], step["to"], step["band"]) for step in found]


def test_the_ribbon_holds_a_band_from_change_to_change(run: Run) -> None:
    assert steps(run, [[0, 1], [400, 2]], []) == [(0, 0.4, 1), (0.4, 1, 2)]
    assert steps(run, [[0, 1], [400, 1]], []) == [(0, 1, 1)]  # told again by a revision of the lesson
    assert steps(run, [[0, 1]], [], until=600) == [(0, 0.6, 1)]  # what is old is not told as held


def plain(run: Run, rows: list[Any], until: int = 1000) -> list[tuple[float, float, Any, int]]:
    found = run("bench/ribbon", "m.plainSteps(x[0], {fromMs: 0, toMs: 1000}, x[1])", [rows, until])
    return [(round(one["from"], 4), round(one["to"], 4), one["band"], one["nChanges"]) for one in found]


def test_without_a_deadband_quick_changes_are_shown_as_what_they_are(run: Run) -> None:
    rows = [[0, 0, 1, 1, 1], [200, 500, 0, 7, 2], [700, 700, None, 1, None]]
    assert plain(run, rows, 800) == [
        (0.0, 0.2, 1, 0), (0.2, 0.5, 2, 7), (0.5, 0.7, 0, 0), (0.7, 0.8, None, 0),
    ]  # fmt: skip
    assert plain(run, [[0, 0, 1, 1, 1], [400, 401, 0, 9, 3]])[1] == (
        0.4,
        0.404,
        3,
        9,
    )  # never too thin to be seen


PHASES = [
    {"t_ms": 0, "phase": ""}, {"t_ms": 1000, "phase": "set-up"}, {"t_ms": 3000, "phase": "run"},
    {"t_ms": 6000, "phase": ""}, {"t_ms": 8000, "phase": "cool-down"},
]  # fmt: skip


def test_the_phases_in_view_are_cut_off_at_its_ends_and_shaded_in_turn(run: Run) -> None:
    script = "m.phaseStretches(x[0], {fromMs: x[1], toMs: x[2]})"
    found = run("phase-stretches", script, [PHASES, 2000, 9000])
    assert [(one["phase"], one["fromMs"], one["toMs"]) for one in found] == [
        ("set-up", 2000, 3000), ("run", 3000, 6000), ("cool-down", 8000, 9000),
    ]  # fmt: skip
    assert [(one["isOdd"], one["isBegun"]) for one in found] == [(False, False), (True, True), (False, True)]
    assert run("phase-stretches", script, [PHASES[:1], 0, 9000]) == []
    (zoomed,) = run("phase-stretches", script, [PHASES, 4000, 5000])
    assert (zoomed["phase"], zoomed["isOdd"]) == ("run", True)  # the same shade at any zoom


def test_bands_of_a_phase_bear_their_own_names_and_edges_in_their_own_time(run: Run) -> None:
    sets = [{"phases": [], "names": ["a", "b"]}, {"phases": ["run"], "names": ["c", "d", "e"]}]
    one = channel(phase_bands=sets)
    at = "x[2].map((ms) => m.bandNamesAt(x[0], x[1], ms)[0])"
    assert run("phase-stretches", at, [one, PHASES, [0, 2999, 3000, 5999, 6000]]) == ["a", "a", "c", "c", "a"]
    held = "m.stretchesOfBands(x[0], x[1], {fromMs: 500, toMs: 9000}).map(({fromMs, toMs}) => [fromMs, toMs])"
    assert run("phase-stretches", held, [one, PHASES]) == [
        [500, 1000],
        [1000, 3000],
        [6000, 8000],
        [8000, 9000],
    ]
    assert run("phase-stretches", held, [one, PHASES[:3]]) == [[3000, 9000]]
    assert run("phase-stretches", held, [channel(), PHASES]) == [[500, 9000]]


def test_what_the_deadband_has_spared_is_said_in_words(run: Run) -> None:
    told = {"since_ms": 65_000, "changes": 4, "edge_changes": 5, "plain_edge_changes": 46, "avoided": 41}
    assert run("bench/band-times", "m.summaryWords(x)", told) == (
        "Counted since 1:05. The band changed 4 times. Edges passed: 5; without a deadband 46. "
        "Edge changes avoided: 41."
    )
    assert "No value yet" in run("bench/band-times", "m.summaryWords(x)", told | {"since_ms": None})
    ends = [{"low": None, "high": 22.0}, {"low": 22.0, "high": 25.5}, {"low": 25.5, "high": None}]
    script = "x.map((one) => m.rangeWords(one, {unit: '°C', decimals: 1}))"
    assert run("bench/band-times", script, ends) == ["below 22.0 °C", "22.0 to 25.5 °C", "from 25.5 °C"]


def test_a_gap_breaks_the_ribbon_as_it_breaks_the_curve(run: Run) -> None:
    rows = [[0, 1, 1], [200, 1, 1], None, [500, 1, 1]]
    assert steps(run, [[0, 1]], rows) == [(0, 0.2, 1), (0.2, 0.5, None), (0.5, 1, 1)]
    assert steps(run, [[0, 1], [300, 2]], rows) == [(0, 0.2, 1), (0.2, 0.5, None), (0.5, 1, 2)]


def test_a_flickering_band_makes_no_crowd_of_steps(run: Run) -> None:
    ribbon = [[i, i % 2] for i in range(1000)]
    assert len(steps(run, ribbon, [])) < 300


def test_the_scale_holds_what_was_read_and_noise_is_not_blown_up(run: Run) -> None:
    rows = [[0, 50.0, 58.0], None, [9, 51.0, 51.0]]
    gauge = run("bench/figure", "m.rangeOf(x[0], x[1], 0.5, false)", [rows, channel()])
    assert gauge["low"] < 15 and gauge["high"] > 58.5  # noqa: PT018
    fitted = run("bench/figure", "m.rangeOf(x[0], x[1], 0.5, true)", [rows, channel()])
    assert 48 < fitted["low"] < 49.5 and 58.5 < fitted["high"] < 60  # noqa: PT018
    still = run("bench/figure", "m.rangeOf(x[0], x[1], 0, true)", [[[0, 20.0, 20.0]], channel()])
    assert still["high"] - still["low"] >= 0.4 - 1e-9  # four last digits


def test_a_gap_breaks_the_curve_and_a_lone_reading_is_a_dot(run: Run) -> None:
    shown = {
        "rows": [[0, 20, 20], [100, 20, 22], None, [500, 21, 21]], "stretch": {"fromMs": 0, "toMs": 1000},
        "channel": channel(unit="<b>°C"), "u": 0, "range": {"low": 10, "high": 60}, "font": "x",
        "box": {"width": 60, "height": 300, "left": 10, "right": 10, "top": 10, "bottom": 10, "font": 10},
        "colours": {}, "markersMs": [50, 5000],
    }  # fmt: skip
    figure = run("bench/figure", "m.figureOf(x)", shown)
    *levels, curve, points = figure["data"]
    assert curve["x"] == [0, 100, 100, None, 500]
    assert curve["y"] == [20, 22, 20, None, 21]
    assert "<b>" not in "".join(curve["text"])
    assert points["x"] == [500]
    assert [level["y"][::3] for level in levels] == [[22, 25, 30, 35], [48], [20]]  # edges, limit, baseline
    upright = [one["x0"] for one in figure["layout"]["shapes"]]
    assert upright == [50]


def test_what_lies_outside_the_scale_is_told_in_words(run: Run) -> None:
    words = run("bench/figure", "m.wordsBeyond(x, {low: 30, high: 40})", channel())
    assert words == "the high limit, 48.0, lies above; the baseline, 20.0, lies below"
    assert run("bench/figure", "m.wordsBeyond(x, {low: 0, high: 60})", channel()) == ""


def test_the_markers_beside_a_position_are_found(run: Run) -> None:
    markers = [{"t_ms": ms, "words": ""} for ms in (1000, 20_000, 40_000)]
    beside = "(m.markerBeside(x[0], x[1], x[2]) ?? {t_ms: null}).t_ms"
    cases = [
        (0, 1, 1000),
        (20_000, 1, 40_000),
        (40_000, 1, None),
        (20_500, -1, 1000),
        (25_000, -1, 20_000),
        (500, -1, None),
    ]
    for position, side, at in cases:
        assert run("seeking", beside, [markers, position, side]) == at


def test_seeks_go_one_at_a_time_and_the_last_one_for_sure(run: Run) -> None:
    script = """(async () => {
      const asked = []; let atOnce = 0; let most = 0;
      const seeking = new m.Seeking(async (ms) => {
        asked.push(ms); atOnce += 1; most = Math.max(most, atOnce);
        await new Promise((resolve) => setTimeout(resolve, 20)); atOnce -= 1;
        return {ok: true, words: ''};
      }, () => {});
      for (let ms = 0; ms <= 1000; ms += 10) seeking.want(ms);
      while (seeking.isBusy) await new Promise((resolve) => setTimeout(resolve, 20));
      return {asked, most};
    })()"""
    assert run("seeking", f"await {script}") == {"asked": [0, 1000], "most": 1}


def test_a_standard_uncertainty_has_two_significant_digits(run: Run) -> None:
    told = run("numbers", "x.map(m.formatU)", [0.1432, 0.0999, 0.99999, 3.14, 123.0, 0.0, 2e-12, None])
    assert told == ["0.14", "0.10", "1.0", "3.1", "120", "0", "0.000000000", "–"]


def test_a_fit_is_drawn_through_its_own_values(run: Run) -> None:
    def curve(fit: str, at: float, *points: tuple[float, float]) -> float | None:
        told = [{"indication": x, "fitted": y} for x, y in points]
        script = "(m.curveOf(x.points, x.fit) ?? (() => null))(x.at)"
        found = run("bench/calibration-figure", script, {"points": told, "fit": fit, "at": at})
        return None if found is None else float(found)

    assert curve("offset", 30.0, (20.0, 20.5)) == pytest.approx(30.5)
    assert curve("line", 30.0, (10.0, 21.0), (10.0, 21.0), (20.0, 41.0)) == pytest.approx(61.0)
    bent = [(x, 1 + 2 * x + 3 * x * x) for x in (0.0, 1.0, 2.0, 5.0)]
    assert curve("quadratic", 4.0, *bent) == pytest.approx(57.0)
    assert curve("line", 30.0, (10.0, 21.0)) is None
    assert curve("quadratic", 30.0, (10.0, 21.0), (11.0, 22.0)) is None


def test_the_units_letters_are_no_marks_in_the_picture(run: Run) -> None:
    shown = {
        "points": [close_up.point(20.0, 19.7, 20.0, u_reference=None, u_indication=None)], "fit": "offset",
        "unit": "<b>°C", "box": {"width": 300, "height": 300, "font": 10}, "colours": {}, "font": "x",
    }  # fmt: skip
    figure = run("bench/calibration-figure", "m.calibrationFigure(x)", shown)
    assert figure["layout"]["yaxis"]["title"]["text"] == "Reference, &lt;b&gt;°C"
    low, high = figure["layout"]["xaxis"]["range"]
    assert low < 19.7 < high  # one point has an extent too
    assert [bars["visible"] for bars in (one["error_y"] for one in figure["data"] if "error_y" in one)] == [
        False,
        False,
    ]
