"""The pictures as another program sees them: well-formed, bounded, escaped, honest at gaps and ends."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import numpy as np
import pytest

from dashboard.comparing.figure import figure, no_figure
from dashboard.comparing.series import Series
from dashboard.exporting.drawing.curves import Curve, overlay, small_multiples
from dashboard.exporting.drawing.dots import Row, dots
from dashboard.exporting.drawing.frame import Instant, Level
from dashboard.exporting.drawing.thinning import thinned
from dashboard.exporting.drawing.window import value_span
from dashboard.exporting.session import Group
from tests.dashboard.exporting.xml import parsed

NASTY = '<script>alert("1")</script> & \x01'


def series(seconds: list[float], values: list[float], u: float = 0.1) -> Series:
    n = len(values)
    return Series(1, "t", "°C", np.array(seconds), np.array(values), np.full(n, u), np.zeros(n, np.bool_))


def curve(values: list[float], *, name: str = "Wool", bench: int = 1, u: float = 0.1) -> Curve:
    return Curve(
        Group(bench, name, "diamond", "blue"), series([float(i) for i in range(len(values))], values, u)
    )


def texts(svg: str) -> list[str]:
    return [one.text or "" for one in parsed(svg).iter() if one.tag.endswith("}text")]


def with_stroke(svg: str, stroke: str) -> list[ElementTree.Element]:
    return [one for one in parsed(svg).iter() if one.get("stroke") == stroke]


def test_text_from_boards_and_lessons_is_escaped() -> None:
    svg = overlay(
        [curve([1.0, 2.0], name=NASTY)],
        title=NASTY,
        y_label=NASTY,
        lines=[Level(1.5, NASTY, is_limit=True)],
        moments=[Instant(0.5, NASTY)],
    )
    assert "<script" not in svg
    assert parsed(svg).get("aria-label") == '<script>alert("1")</script> & \ufffd'
    assert texts(svg).count('<script>alert("1")</script> & \ufffd') == 3
    assert '<script>alert("1…' in texts(svg)  # beside its curve there is room for seventeen letters


def test_a_gap_breaks_the_curve() -> None:
    whole = overlay([curve([1.0, 2.0, 3.0, 4.0])], title="t", y_label="t")
    seconds = [0.0, 1.0, 2.0, 3.0, 60.0, 61.0, 62.0, 63.0]
    broken = Curve(Group(1, "Wool", "diamond", "blue"), series(seconds, [1.0] * 8))
    cut = overlay([broken], title="t", y_label="t")
    (line,) = [one for one in with_stroke(whole, "#0072b2") if one.get("fill") == "none"]
    (two,) = [one for one in with_stroke(cut, "#0072b2") if one.get("fill") == "none"]
    assert (line.get("d") or "").count("M") == 1
    assert (two.get("d") or "").count("M") == 2


def test_a_long_session_becomes_a_short_path_that_keeps_its_peaks() -> None:
    values = np.zeros(100_000)
    values[31_415] = 9.0
    values[27_182] = -7.0
    long = series(list(np.arange(100_000) / 100.0), list(values))
    (one,) = thinned(long, width_seconds=1000.0, n_columns=266)
    assert len(one.values) <= 2 * 267
    assert (one.values.max(), one.values.min()) == (9.0, -7.0)
    assert one.high.max() == pytest.approx(9.2)
    assert (np.diff(one.seconds) >= 0).all()


def test_a_few_wild_readings_do_not_press_the_others_flat_and_are_told() -> None:
    values = [20.0 + i / 100 for i in range(1000)]
    wild = [*values[:500], 1023.0, *values[501:]]
    svg = overlay([curve(values), curve(wild, name="Foil", bench=2)], title="t", y_label="t")
    assert "Foil goes beyond the plot: from 20 to 1023." in " ".join(texts(svg))
    _, high = value_span([series([0.0] * 1000, values), series([0.0] * 1000, wild)])
    assert high < 40.0


def test_many_wild_readings_are_the_measurement_and_are_shown() -> None:
    values = [20.0] * 80 + [1000.0] * 20
    assert value_span([series([0.0] * 100, values)], usual=(0.0, 50.0))[1] > 1000.0


def test_a_limit_is_shown_when_it_lies_near() -> None:
    one = [series([0.0, 1.0], [20.0, 30.0], 0.0)]
    assert value_span(one, [31.0])[1] > 31.0
    assert value_span(one, [99.0])[1] < 31.0


def test_each_bench_is_told_by_shape_dash_and_name_not_by_colour_alone() -> None:
    many = [
        Curve(Group(bench, f"Name {bench}", shape, "blue"), series([0.0, 1.0], [1.0 * bench, 2.0]))
        for bench, shape in enumerate(("circle", "square", "triangle"), start=1)
    ]
    svg = overlay(many, title="t", y_label="t")
    dashes = {one.get("stroke-dasharray") for one in with_stroke(svg, "#0072b2") if one.get("fill") == "none"}
    assert len(dashes) == 3
    shapes = {one.get("d") for one in parsed(svg).iter() if "translate" in (one.get("transform") or "")}
    assert len(shapes) == 3
    assert {"Name 1", "Name 2", "Name 3"} <= set(texts(svg))


def test_small_multiples_have_one_plot_for_each_bench_with_the_same_scale() -> None:
    svg = small_multiples(
        [curve([1.0, 2.0], name=f"B{i}", bench=i) for i in range(1, 6)], title="t", y_label="t"
    )
    assert [name for name in texts(svg) if re.fullmatch(r"B\d", name)] == ["B1", "B2", "B3", "B4", "B5"]
    assert len([one for one in parsed(svg).iter() if one.get("overflow") == "hidden"]) == 5


@pytest.mark.parametrize("values", [[], [5.0], [5.0, 5.0]])
def test_next_to_nothing_still_makes_a_picture(values: list[float]) -> None:
    assert parsed(overlay([curve(values)], title="t", y_label="t")).tag.endswith("svg")
    assert parsed(small_multiples([curve(values)], title="t", y_label="t")).tag.endswith("svg")


def test_readings_of_unknown_uncertainty_have_no_shade() -> None:
    svg = overlay([curve([1.0, 2.0, 3.0], u=float("nan"))], title="t", y_label="t")
    assert "fill-opacity" not in svg
    assert "Shaded" not in svg
    assert "fill-opacity" in overlay([curve([1.0, 2.0, 3.0])], title="t", y_label="t")


def test_a_dot_lies_within_its_interval_and_no_figure_says_why() -> None:
    rows = [
        Row(Group(1, "Wool", "diamond", "blue"), figure("level", "°C", 20.0, 0.5)),
        Row(Group(2, "Foil", "star", "black"), no_figure("level", "°C", "fewer than two readings")),
    ]
    svg = dots(rows, title="t", x_label="level in °C", middle=20.1)
    assert {"Wool", "Foil", "fewer than two readings", "class median"} <= set(texts(svg))
    (bar,) = [one for one in with_stroke(svg, "#1a1a1a") if (one.get("d") or "").count("v8") == 2]
    low, high = (float(one) for one in re.findall(r"M([\d.]+) [\d.]+v", bar.get("d", "")))
    places = [re.match(r"translate\(([\d.]+)", one.get("transform") or "") for one in parsed(svg).iter()]
    assert any(low < float(one[1]) + 6 < high for one in places if one)
