"""Pictures by their structure: what they hold, how marks and gaps show, what they say in words."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge import KeptSession, read_session
from dashboard.class_known import BenchMark, class_known
from dashboard.comparing import Alignment, Choices, Comparison, comparison_of
from dashboard.marks import COLOURS
from dashboard.pictures import (
    DARK,
    LIGHT,
    PAPER,
    band_ribbons,
    consistency,
    difference,
    dots,
    overlay,
    pictures_of,
    responses,
    small_multiples,
    two_channels,
)
from dashboard.pictures.curves import Course, course_between, line_points, time_axis, value_range
from dashboard.pictures.key import spread
from dashboard.pictures.marks import mark_traces
from tests.dashboard.kept_class import SILENT, record_class

LOOKS = {"orange circle": 1, "yellow bar": 2, "blue ring": 3, "black star": 4}


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory) -> KeptSession:
    return read_session(record_class(tmp_path_factory.mktemp("kept") / "class.benchrow"))


def compared(session: KeptSession, channel: str = "temperature", **choices: Any) -> Comparison:
    known = class_known(session, channel)
    chosen: dict[str, Any] = {"alignment": Alignment(kind="onset")} | choices
    return comparison_of(
        session.table,
        Choices(
            channel=channel,
            names=known.names,
            band_edges=known.band_edges,
            band_stays=known.band_stays,
            band_names=known.band_names,
            **chosen,
        ),
    )


@pytest.fixture(scope="module")
def comparison(session: KeptSession) -> Comparison:
    return compared(session)


@pytest.fixture(scope="module")
def looks(session: KeptSession) -> dict[int, BenchMark]:
    return dict(class_known(session, "temperature").looks)


def texts(figure: Any) -> str:
    found = [str(note.text) for note in figure.layout.annotations]
    for trace in figure.data:
        if trace.text is not None:
            found += [trace.text] if isinstance(trace.text, str) else list(trace.text)
    return " | ".join(found)


def line_colours(figure: Any) -> set[str]:
    return {trace.line.color for trace in figure.data if trace.mode == "lines" and trace.line.color}


def test_the_overlay_has_each_bench_in_its_colour_with_its_shape_and_name(
    comparison: Comparison, looks: dict[int, BenchMark]
) -> None:
    figure = overlay(comparison, looks)
    assert {COLOURS[mark.colour] for mark in looks.values()} <= line_colours(figure)
    symbols = {trace.marker.symbol for trace in figure.data if trace.mode == "markers"}
    assert symbols == {"circle", "line-ns", "circle-open", "star"}
    assert "Bare again" in texts(figure)
    assert "&lt;b&gt;In wax&lt;/b&gt;" in texts(figure)  # what a lesson says is no mark-up
    assert "95 % confidence" in figure.layout.meta["words"]
    assert figure.layout.xaxis.title.text == "Time since the onset, s"


def test_a_gap_breaks_a_curve(comparison: Comparison) -> None:
    (silent,) = (one for one in comparison.benches if one.bench == 4)
    assert silent.event is not None
    assert silent.event.seconds is not None
    figure = overlay(comparison, {4: BenchMark("star", "vermillion")})
    (curve,) = (
        trace for trace in figure.data if trace.mode == "lines" and trace.line.color == COLOURS["vermillion"]
    )
    x, y = np.asarray(curve.x, np.float64) + silent.event.seconds, np.asarray(curve.y, np.float64)
    since, until = SILENT[4]
    assert np.isnan(y[(x > since + 0.5) & (x < until - 0.5)]).all()
    assert np.isfinite(y[(x < since - 0.5) | (x > until + 0.5)]).all()


def test_another_recording_lies_below_as_dots(comparison: Comparison, looks: dict[int, BenchMark]) -> None:
    plain, haunted = overlay(comparison, looks), overlay(comparison, looks, ghost=comparison)
    dotted = [trace for trace in haunted.data if trace.line.dash == "dot"]
    assert len(haunted.data) == len(plain.data) + 4
    assert len(dotted) == 4
    assert list(haunted.data[:4]) == dotted
    assert "the other recording" in haunted.layout.meta["words"]
    assert (
        sum(trace.line.dash == "dot" for trace in small_multiples(comparison, looks, ghost=comparison).data)
        == 4
    )


def test_the_difference_of_a_class_that_agrees_lies_about_zero(
    comparison: Comparison, looks: dict[int, BenchMark]
) -> None:
    figure = difference(comparison, looks)
    ends = [
        float(np.nanmedian(np.asarray(trace.y)[-60:]))
        for trace in figure.data
        if trace.line.color in {COLOURS[one.colour] for one in looks.values()} and trace.mode == "lines"
    ]
    assert len(ends) == 4
    assert ends == pytest.approx([0.0] * 4, abs=0.1)
    assert figure.layout.shapes[0].y0 == figure.layout.shapes[0].y1 == 0


def test_dots_have_intervals_and_join_those_that_cannot_be_told_apart(
    comparison: Comparison, looks: dict[int, BenchMark]
) -> None:
    figure = dots(comparison, looks, name="time constant")
    assert list(figure.layout.yaxis.ticktext)[2:] == ["&lt;b&gt;In wax&lt;/b&gt;", "In glass"]
    first = comparison.figure(3, "time constant")
    spans = [list(trace.x) for trace in figure.data if trace.mode == "lines"]
    assert [first.low, first.high] in spans
    (joined,) = figure.layout.shapes
    assert (joined.y0, joined.y1) == pytest.approx((-1.3, 0.3))
    assert "told apart" in texts(figure)


def test_the_fits_stand_above_their_residuals_and_the_unfitted_are_told(
    session: KeptSession, comparison: Comparison, looks: dict[int, BenchMark]
) -> None:
    figure = responses(comparison, looks)
    layout = figure.layout.to_plotly_json()
    for number in range(1, 5):
        assert (
            layout[f"yaxis{number + 200}"]["domain"][1]
            < layout[f"yaxis{number}" if number > 1 else "yaxis"]["domain"][0]
        )
    assert texts(figure).count(" s |") + texts(figure).count(" s") >= 4
    quiet = responses(compared(session, "room", alignment=Alignment(kind="instant")), looks)
    assert "No response could be fitted" in quiet.layout.meta["words"]
    assert "In glass" in quiet.layout.meta["words"]


def test_h_and_k_stand_with_their_critical_values(
    comparison: Comparison, looks: dict[int, BenchMark]
) -> None:
    precision = comparison.agreement.precision
    assert precision is not None
    figure = consistency(comparison, looks)
    levels = {(shape.yref, round(shape.y0, 9)) for shape in figure.layout.shapes}
    assert {("y", round(one, 9)) for one in (*precision.h_critical, -precision.h_critical[0])} <= levels
    assert ("y2", round(precision.k_critical[1], 9)) in levels
    stems = np.asarray(figure.data[0].y, np.float64)[1::3]
    assert stems.tolist() == list(precision.h)


def test_ribbons_stand_one_above_the_other_and_rise_with_the_band(
    comparison: Comparison, looks: dict[int, BenchMark]
) -> None:
    figure = band_ribbons(comparison, looks)
    areas = [trace for trace in figure.data if trace.fill == "toself"]
    heights = [
        sorted({round(y - (3 - i), 3) for y in trace.y if y is not None}) for i, trace in enumerate(areas)
    ]
    assert heights == [[0, 0.267, 0.533, 0.8]] * 4
    edges = [x for x in areas[3].x if x is not None]
    held = comparison.benches[3].stays  # as the table of times counts them
    assert edges[1:-1] == [at for one in held for at in (one.since, one.until)]
    assert "From the lowest: cold, warm, hot." in figure.layout.meta["words"]
    assert "Nothing to show" in band_ribbons(compared_without_bands(comparison), looks).layout.meta["words"]


def compared_without_bands(comparison: Comparison) -> Comparison:
    from dataclasses import replace

    benches = tuple(replace(one, stays=()) for one in comparison.benches)
    return replace(comparison, benches=benches)


def test_one_channel_stands_over_another(session: KeptSession, looks: dict[int, BenchMark]) -> None:
    at_once = Alignment(kind="instant")
    figure = two_channels(
        compared(session, alignment=at_once), compared(session, "room", alignment=at_once), looks
    )
    assert (figure.layout.xaxis.title.text, figure.layout.yaxis.title.text) == ("temperature, °C", "room, °C")
    ys = [y for trace in figure.data if trace.hovertext == "Bare" for y in trace.y]
    assert len(ys) > 50
    assert ys == pytest.approx([20.0] * len(ys), abs=0.1)


@pytest.mark.parametrize("look", [LIGHT, DARK, PAPER], ids=lambda one: str(one.name))
def test_every_picture_is_made_in_every_look_and_small_enough_to_send(
    session: KeptSession, comparison: Comparison, looks: dict[int, BenchMark], look: Any
) -> None:
    pictures = list(
        pictures_of(comparison, looks, look, other_channel=compared(session, "room"), ghost=comparison)
    )
    assert [one.key for one in pictures] == [
        "overlay", "difference", "dots", "multiples", "responses", "consistency", "ribbons", "two-channels",
    ]  # fmt: skip
    for one in pictures:
        assert one.figure.layout.paper_bgcolor == look.card
        assert one.words.endswith(".")
        assert len(one.figure.to_json()) < 400_000, one.key


def test_ring_and_bar_have_an_outline_below_their_colour() -> None:
    for shape in ("ring", "bar"):
        outline, core = mark_traces([1.0], [2.0], BenchMark(shape, "yellow"), LIGHT)
        assert outline["marker"]["line"]["color"] == LIGHT.ink
        assert core["marker"]["line"]["color"] == COLOURS["yellow"]
        assert outline["marker"]["line"]["width"] > core["marker"]["line"]["width"]


@given(st.lists(st.floats(-1, 2), min_size=1, max_size=24), st.floats(0.001, 0.2))
def test_names_keep_their_order_and_never_cover_each_other(wanted: list[float], least: float) -> None:
    placed = spread(wanted, least)
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    gaps = np.diff([placed[i] for i in order])
    assert (gaps >= min(least, 1 / max(1, len(wanted) - 1)) - 1e-9).all()
    assert all(-1e-9 <= one <= 1 + 1e-9 for one in placed)


@given(st.lists(st.floats(-50, 50), min_size=1, max_size=300), st.integers(1, 40))
def test_a_course_of_few_columns_keeps_least_and_greatest_value(values: list[float], n_columns: int) -> None:
    y = np.array(values)
    course = course_between(np.arange(len(y), dtype=np.float64), y, None, n_columns)
    assert len(course.seconds) <= n_columns + 1
    assert np.nanmin(course.low) == y.min()
    assert np.nanmax(course.high) == y.max()


def test_a_missing_value_breaks_the_line() -> None:
    course = course_between(np.arange(5.0), np.array([1.0, 2.0, np.nan, 4.0, 5.0]), None, 100)
    _, y = line_points(course)
    assert np.isnan(y).tolist() == [False, False, True, False, False]
    assert isinstance(course, Course)


def test_a_few_values_far_off_do_not_press_the_others_into_one_line() -> None:
    values = np.concatenate([np.linspace(20, 45, 500), [300.0, -200.0]])
    low, high = value_range(values)
    assert (low, high) == pytest.approx((18.75, 46.25))
    assert value_range(np.array([1.0, 3.0])) == pytest.approx((0.9, 3.1))


@pytest.mark.parametrize(
    ("since", "until", "kind", "texts_", "title"),
    [
        (0.0, 1200.0, "instant", ["0:00", "5:00", "10:00", "15:00", "20:00"], "Session time, min:s"),
        (-10.0, 60.0, "onset", ["-10", "0", "10", "20", "30", "40", "50", "60"], "Time since the onset, s"),
    ],
)
def test_time_is_told_in_minutes_where_it_is_long(
    since: float, until: float, kind: str, texts_: list[str], title: str
) -> None:
    axis = time_axis(since, until, kind)
    assert axis["ticktext"] == texts_
    assert axis["title"] == title
