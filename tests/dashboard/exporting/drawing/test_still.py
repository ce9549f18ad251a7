"""Stills as another program sees them: everything of the picture, nothing outside it, and no silent loss."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any
from xml.etree import ElementTree

import numpy as np
import plotly.graph_objects as go  # type: ignore[import-untyped]  # ships no types
import pytest

from bridge import KeptSession, read_session
from bridge.core.lesson import mark_of
from bridge.recorded import Marker
from dashboard.class_known import BenchMark, class_known
from dashboard.comparing import Alignment, Choices, Comparison, comparison_of
from dashboard.comparing.bands import Stay
from dashboard.comparison_asked import comparison_in
from dashboard.exporting.drawing.given import UnsupportedError
from dashboard.exporting.drawing.still import WIDTH, still_of
from dashboard.pictures import PAPER, dots, marked_of, overlay, pictures_of, small_multiples
from dashboard.pictures.look import axis, figure_of
from dashboard.pictures.marked import Instant, Level, Marked, Stretch
from dashboard.pictures.marks import mark_traces
from tests.dashboard.comparing.made import series, table
from tests.dashboard.exporting.xml import parsed
from tests.dashboard.kept_class import SILENT, record_class

NASTY = '<script>alert("1")</script> & \x01'


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory) -> KeptSession:
    return read_session(record_class(tmp_path_factory.mktemp("kept") / "class.benchrow"))


def compared(session: KeptSession, channel: str = "temperature", kind: Any = "instant") -> Comparison:
    known = class_known(session, channel)
    choices = Choices(
        channel=channel,
        names=known.names,
        band_edges=known.band_edges,
        band_stays=known.band_stays,
        band_names=known.band_names,
        alignment=Alignment(kind=kind),
    )
    return comparison_in(session, choices)


def nasty_at(second: int) -> Marker:
    return Marker(second * 10**9, NASTY, "instructor")


def all_pictures(session: KeptSession) -> dict[str, Any]:
    known = class_known(session, "temperature")
    comparison = compared(session)
    marked = marked_of(replace(session, markers=(Marker(5 * 10**9, "poured", ""), nasty_at(60))), comparison)
    found = pictures_of(
        comparison,
        known.looks,
        PAPER,
        marked=marked,
        other_channel=compared(session, "room"),
        ghost=comparison,
    )
    return {one.key: one.figure for one in found}


@pytest.fixture(scope="module")
def figures(session: KeptSession) -> dict[str, Any]:
    return all_pictures(session)


def looks_of(session: KeptSession) -> dict[int, BenchMark]:
    return dict(class_known(session, "temperature").looks)


def texts(svg: str) -> list[str]:
    return [one.text or "" for one in parsed(svg).iter() if one.tag.endswith("}text")]


def lines_of_colour(svg: str, colour: str) -> list[ElementTree.Element]:
    return [one for one in parsed(svg).iter() if one.get("stroke") == colour and one.get("fill") == "none"]


def plain(traces: list[dict[str, Any]], **layout: Any) -> Any:
    axes = {"xaxis": axis(PAPER, range=[0, 10]), "yaxis": axis(PAPER, range=[0, 10])}
    return figure_of(traces, PAPER, title="T", words="W.", height=300, **{**axes, **layout})


LINE: dict[str, Any] = {
    "type": "scatter",
    "mode": "lines",
    "x": [1, 2],
    "y": [1, 2],
    "line": {"color": "#123456"},
}


def test_each_of_the_eight_pictures_has_a_still_with_its_title_and_caption(figures: dict[str, Any]) -> None:
    assert list(figures) == [
        "overlay", "difference", "dots", "multiples", "responses", "consistency", "ribbons", "two-channels",
    ]  # fmt: skip
    for figure in figures.values():
        svg = still_of(figure)
        root = parsed(svg)
        assert root.get("aria-label") == figure.layout.title.text
        assert root.get("viewBox", "").startswith(f"0 0 {WIDTH:g} ")
        told = " ".join(texts(svg))
        assert figure.layout.title.text in told
        assert " ".join(str(figure.layout.meta["words"]).split())[:40].replace("&lt;", "<") in told
        assert "<script" not in svg
        assert float(root.get("height", "0")) > float(
            parsed(still_of(figure, with_words=False)).get("height", "0")
        )


def placed(root: ElementTree.Element) -> Iterator[tuple[float, float]]:
    """The places of all that is not cut off at a plot's edge."""
    clipped = {id(one) for part in root.iter() if part.get("overflow") == "hidden" for one in part.iter()}
    for one in root.iter():
        if id(one) in clipped:
            continue
        for x, y in (("x", "y"), ("x1", "y1"), ("x2", "y2"), ("cx", "cy")):
            if one.get(x) is not None and one.get(y) is not None:
                yield float(one.get(x, "")), float(one.get(y, ""))
        if found := re.match(r"translate\((\S+) (\S+)\)", one.get("transform") or ""):
            yield float(found[1]), float(found[2])


def test_nothing_lies_outside_of_the_picture(figures: dict[str, Any]) -> None:
    for key, figure in figures.items():
        root = parsed(still_of(figure))
        width, height = (float(one) for one in root.get("viewBox", "").split()[2:])
        places = list(placed(root))
        assert len(places) > 10
        assert not [one for one in places if not (0 <= one[0] <= width and 0 <= one[1] <= height)], key


def test_every_curve_of_the_picture_is_in_the_still_broken_at_its_gap(session: KeptSession) -> None:
    svg = still_of(overlay(compared(session), looks_of(session), PAPER))
    for colour in ("#e69f00", "#f0e442", "#0072b2", "#000000"):
        assert len(lines_of_colour(svg, colour)) >= 1, colour
    black = [one for one in lines_of_colour(svg, "#000000") if one.get("stroke-width") == "1.6"]
    assert [(one.get("d") or "").count("M") for one in black] == [2]  # bench 4 was silent
    assert SILENT.keys() == {4}
    dashes = [
        one.get("stroke-dasharray")
        for colour in ("#e69f00", "#f0e442", "#0072b2", "#000000")
        for one in lines_of_colour(svg, colour)
        if one.get("stroke-width") == "1.6"
    ]
    assert len(set(dashes)) == 4  # in grey print they differ without colour
    assert {"Bare", "Bare again", "In glass", "<b>In wax</b>"} <= set(texts(svg))


def test_each_bench_has_its_mark_in_the_dots_and_nobody_else_is_named_to_a_group(
    session: KeptSession,
) -> None:
    comparison, looks = compared(session), looks_of(session)
    whole = parsed(still_of(dots(comparison, looks, PAPER, name="time constant")))
    assert (
        len([one for one in whole.iter() if "scale(" in (one.get("transform") or "")]) == 2
    )  # circle and star
    assert (
        len([one for one in whole.iter() if one.tag.endswith("}circle")]) == 2
    )  # the ring, with its outline
    svg = still_of(dots(comparison, looks, PAPER, name="time constant", own=3))
    assert "In glass" in texts(svg)
    assert not {"Bare", "Bare again", "<b>In wax</b>"} & set(texts(svg))
    nameless = [one for one in parsed(svg).iter() if "scale(" in (one.get("transform") or "")]
    assert [one.get("fill") for one in nameless] == ["#ffffff"] * 3


def test_small_pictures_have_one_plot_for_each_bench(session: KeptSession) -> None:
    svg = still_of(small_multiples(compared(session), looks_of(session), PAPER))
    assert len([one for one in parsed(svg).iter() if one.get("overflow") == "hidden"]) == 4


def test_numbers_and_places_go_by_the_axes() -> None:
    svg = still_of(plain([LINE], margin={"l": 60, "r": 16, "t": 44, "b": 52}))
    (line,) = [one for one in parsed(svg).iter() if one.get("stroke") == "#123456"]
    left, right, top, bottom = 60.0, WIDTH - 16, 44.0, 300.0 - 52
    x = [left + one / 10 * (right - left) for one in (1, 2)]
    y = [bottom - one / 10 * (bottom - top) for one in (1, 2)]
    assert line.get("d") == f"M{x[0]:.1f} {y[0]:.1f}L{x[1]:.1f} {y[1]:.1f}"
    assert [one for one in texts(svg) if one.isdigit()] == ["0", "2", "4", "6", "8", "10"] * 2


def test_a_mark_beyond_the_axis_is_not_drawn_at_its_edge() -> None:
    marks = mark_traces([1, 11, 3], [1, 2, -4], BenchMark("square", "blue"), PAPER)
    assert still_of(plain(marks)).count("scale(") == 1


def test_a_phase_is_a_stripe_with_its_name_and_an_edge(session: KeptSession) -> None:
    from bridge import PhaseStart

    phases = (PhaseStart(0, "set-up", "instructor"), PhaseStart(30 * 10**9, "run", "instructor"))
    made = replace(session, phases=phases)
    comparison = compared(session)
    marked = marked_of(made, comparison)
    figure = overlay(comparison, looks_of(session), PAPER, marked=marked)
    svg = still_of(figure)
    assert {"set-up", "run"} <= set(texts(svg))
    stripes = [
        one for one in parsed(svg).iter() if one.tag.endswith("}rect") and one.get("fill") == PAPER.stripe
    ]
    assert len(stripes) == 1  # every second one: what lies between is white
    assert "the phases of the lesson (set-up from 0:00, run from 0:30)" in figure.layout.meta["words"]
    since_event = marked_of(made, compared(session, kind="onset"))
    assert since_event.phases == ()  # each bench has another time


@pytest.mark.parametrize(
    ("trace", "layout", "words"),
    [
        ({"type": "bar", "x": [1], "y": [2]}, {}, "trace of the type 'bar'"),
        ({**LINE, "mode": "lines+markers"}, {}, "mode 'lines\\+markers'"),
        ({**LINE, "fill": "tozeroy"}, {}, "fill 'tozeroy'"),
        ({**LINE, "error_y": {"array": [1, 1]}}, {}, "trace's 'error_y'"),
        ({**LINE, "line": {"shape": "hv"}}, {}, "line's 'shape'"),
        ({**LINE, "line": {"color": "#123456", "dash": "longdashdot"}}, {}, "dash 'longdashdot'"),
        ({**LINE, "mode": "markers", "marker": {"symbol": "hourglass"}}, {}, "symbol 'hourglass'"),
        (LINE, {"showlegend": True}, "legend"),
        (LINE, {"shapes": [{"type": "path", "path": "M0 0"}]}, "shape's 'path'"),
        (LINE, {"annotations": [{"text": "t", "x": 1, "y": 1, "showarrow": True}]}, "annotation's arrow"),
        (LINE, {"xaxis": axis(PAPER, type="log")}, "axis's 'type'"),
        (LINE, {"barmode": "stack"}, "layout's 'barmode'"),
    ],
)  # fmt: skip
def test_what_a_still_can_not_show_is_refused_in_words(
    trace: dict[str, Any], layout: dict[str, Any], words: str
) -> None:
    with pytest.raises(UnsupportedError, match=f"a still can't show .*{words}.* yet: draw it in"):
        still_of(plain([trace], **layout))


def test_text_from_boards_and_lessons_is_escaped(session: KeptSession) -> None:
    comparison = compared(session)
    marked = marked_of(replace(session, markers=(nasty_at(1),)), comparison)
    svg = still_of(overlay(comparison, looks_of(session), PAPER, marked=marked))
    assert "<script" not in svg
    assert '<script>alert("1")</script> & \ufffd' in texts(svg)


@pytest.mark.parametrize("values", [[5.0], [5.0, 5.0], [np.nan, np.nan]])
def test_next_to_nothing_still_makes_a_picture(values: list[float]) -> None:
    trace = {**LINE, "x": list(range(len(values))), "y": values}
    figure = plain([trace], xaxis=axis(PAPER), yaxis=axis(PAPER))
    assert parsed(still_of(figure)).tag.endswith("svg")


def test_a_still_is_the_same_each_time(figures: dict[str, Any]) -> None:
    again = go.Figure(figures["overlay"])
    assert still_of(again) == still_of(figures["overlay"])


OVERLAPS = """
() => {
  const boxes = [...document.querySelectorAll('svg text')].map(
    one => [one.textContent, one.getBoundingClientRect(), one.hasAttribute('transform')]);
  const found = [];
  const {width, height} = document.querySelector('svg').getBoundingClientRect();
  for (const [words, box] of boxes)
    if (box.left < 0 || box.top < 0 || box.right > width + 0.5 || box.bottom > height + 0.5)
      found.push([words, 'outside']);
  for (let i = 0; i < boxes.length; i++)
    for (let j = i + 1; j < boxes.length; j++) {
      const [a, p, turnedA] = boxes[i], [b, q, turnedB] = boxes[j];
      if (turnedA || turnedB) continue;  // a turned text's box is larger than the text
      const over = Math.min(p.right, q.right) - Math.max(p.left, q.left);
      const high = Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top);
      if (over > 1 && high > 0.3 * Math.min(p.height, q.height)) found.push([a, b]);
    }
  return found;
}
"""


def full_room() -> dict[str, Any]:
    """Twenty-four benches with names as wide as they come, near each other, and everything marked."""
    rng = np.random.default_rng(3)
    seconds = np.arange(0.0, 600.0, 4.0)
    benches = {
        bench: series(seconds, 20 + 0.01 * bench + 20 * (1 - np.exp(-seconds / (60 + 9 * bench)))
                      + 0.02 * rng.standard_normal(len(seconds)), bench=bench, u=0.05)
        for bench in range(1, 25)
    }  # fmt: skip
    names = {
        bench: ("W" * 30, f"Bench {bench}", "Bubble wrap with a lid of cork")[bench % 3] for bench in benches
    }
    marks = dict.fromkeys((3, 4), ("doubtful",))
    edges = dict.fromkeys(benches, (25.0, 30.0, 35.0))
    stays = dict.fromkeys(benches, (Stay(0, 0.0, 60.0), Stay(2, 60.0, 400.0), Stay(3, 400.0, 600.0)))
    choices = Choices(
        channel="temperature",
        names=names,
        marks=marks,
        band_edges=edges,
        band_stays=stays,
        band_names=("a", "b", "c", "d"),
    )
    comparison = comparison_of(table(benches), choices)
    marked = Marked(
        levels=(Level(38.0, "high limit 38"), Level(38.3, "high-high limit 38.3")),
        instants=tuple(Instant(20.0 * i, f"marker number {i}") for i in range(30)),
        phases=(
            Stretch(0, 30, "set-up"),
            Stretch(30, 40, "baseline"),
            Stretch(40, 580, "run"),
            Stretch(580, 600, "x"),
        ),
    )
    looks = {bench: BenchMark(mark_of(bench).shape, mark_of(bench).colour) for bench in benches}
    found = pictures_of(comparison, looks, PAPER, marked=marked, other_channel=comparison)
    return {one.key: one.figure for one in found if one.key != "responses"}


@pytest.mark.browser
def test_no_words_of_a_still_overlap_or_leave_it(figures: dict[str, Any], page: Any) -> None:
    for room in (figures, full_room()):
        for key, figure in room.items():
            page.set_content(f"<!DOCTYPE html><style>*{{margin:0}}</style>{still_of(figure)}")
            assert page.evaluate(OVERLAPS) == [], key
