"""A whole class compared, from the table of readings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

import dashboard.comparing
from bridge import read_recording
from dashboard.comparing import Alignment, Choices, Comparison, comparison_of
from dashboard.comparing.bands import Stay
from dashboard.comparing.figure import figure
from dashboard.comparing.series import Series
from tests.dashboard.comparing.made import REFERENCE, series, table

DEMO = REFERENCE.parents[1] / "demo" / "recording.benchrow"
TAUS = {1: 600.0, 2: 800.0, 3: 800.0, 4: 1200.0}


def cooling_class(*, offsets: Sequence[float] = (0, 0, 0, 0), noise: float = 0.05) -> pd.DataFrame:
    """Four benches that cool towards 20 °C, poured 10 s apart, at paces of their own."""
    rng = np.random.default_rng(1)
    benches = {}
    for i, (bench, tau) in enumerate(TAUS.items()):
        t = np.arange(0.3 * i, 400, 0.5 + 0.25 * i)
        since = t - (20 + 10 * i)
        course = np.where(
            since > 0, (1 - np.exp(-np.maximum(since, 0) / 3)) * np.exp(-np.maximum(since, 0) / tau), 0
        )
        y = 20 + offsets[i] + 25 * course + noise * rng.standard_normal(len(t))
        benches[bench] = series(t, y, bench=bench, u=0.02)
    return table(benches)


@pytest.fixture(scope="module")
def compared() -> Comparison:
    choices = Choices(
        channel="temperature",
        names={1: "A", 2: "B", 3: "C", 4: "D"},
        alignment=Alignment(kind="onset"),
        from_seconds=30.0,
        to_seconds=300.0,
        response="towards ambient",
        ambient=20.0,
        band_stays={1: (Stay(0, 0.0, 100.0), Stay(1, 100.0, 200.0))},
        reference=figure("reference", "°C", 38.0, 0.05),
        marks={2: ("wrong reference voltage",)},
    )
    return comparison_of(cooling_class(), choices)


def test_every_bench_has_every_figure_with_its_worth_or_words(compared: Comparison) -> None:
    assert [one.bench for one in compared.benches] == [1, 2, 3, 4]
    for one in compared.benches:
        for found in (*one.figures, *compared.in_common[one.bench]):
            assert found.is_known or found.words
        assert one.figure("level").u is not None
        assert one.allan
        assert one.course is not None
    assert compared.unit == "°C"
    assert compared.left_out == ()


def test_the_time_constants_are_those_that_made_the_readings(compared: Comparison) -> None:
    for bench, tau in TAUS.items():
        found = compared.figure(bench, "time constant")
        assert found.value is not None
        assert found.u is not None
        assert abs(found.value - tau) < 4 * found.u
        assert found.value == pytest.approx(tau, rel=0.03)


def test_what_the_uncertainty_does_not_separate_is_said(compared: Comparison) -> None:
    ranking = next(one for one in compared.rankings if one.name == "time constant")
    assert set(ranking.groups[1]) == {2, 3}
    said = ranking.sentences({2: "B", 3: "C"})
    assert {"B and C cannot be told apart", "C and B cannot be told apart"} & set(said)
    assert {one.bench: one.best_rank for one in ranking.ranked}[1] == 1
    assert {one.bench: one.worst_rank for one in ranking.ranked}[4] == 4


def test_the_events_are_found_where_the_water_was_poured(compared: Comparison) -> None:
    for i, bench in enumerate(TAUS):
        event = compared.events[bench]
        assert event.seconds == pytest.approx(20 + 10 * i, abs=0.6)


def test_bias_and_en_number_go_by_the_reference(compared: Comparison) -> None:
    own = compared.figure(4, "level")
    away = compared.figure(4, "bias to reference")
    assert own.value is not None
    assert away.value == pytest.approx(own.value - 38.0)
    assert abs(compared.figure(4, "En number").value or 0.0) > 1


def test_marks_and_bands_come_along(compared: Comparison) -> None:
    assert "B: wrong reference voltage" in compared.remarks
    assert sum(band.share for band in compared.benches[0].bands) == pytest.approx(1.0)
    assert compared.benches[1].bands == ()


def test_the_grid_is_the_window_and_the_class_has_its_median(compared: Comparison) -> None:
    assert compared.grid is not None
    assert compared.grid.seconds[0] >= 30.0
    assert compared.grid.seconds[-1] <= 300.0
    median = next(one for one in compared.class_figures if one.name == "class median")
    levels = [compared.figure(bench, "level in common").value for bench in TAUS]
    assert median.value == pytest.approx(np.median([one for one in levels if one is not None]))
    assert sum(compared.figure(bench, "bias").value or 0 for bench in (2, 3)) == pytest.approx(0, abs=1e-9)


def test_repeated_results_of_equal_benches_have_no_spread_between_them() -> None:
    rng = np.random.default_rng(2)
    benches = {
        b: series(np.arange(300.0), 20 + 0.1 * rng.standard_normal(300), bench=b, u=0.01) for b in range(1, 7)
    }
    found = comparison_of(table(benches), Choices(channel="temperature", response="none")).agreement
    assert found.precision is not None
    assert found.precision.s_r.value is not None
    assert found.precision.s_r.value == pytest.approx(0.1 / np.sqrt(60), rel=0.4)
    assert found.anova is not None
    assert found.anova.probability > 0.001


def test_a_bench_that_reads_high_stands_out() -> None:
    rng = np.random.default_rng(3)
    benches = {
        b: series(np.arange(300.0), (23 if b == 5 else 20) + 0.1 * rng.standard_normal(300), bench=b, u=0.01)
        for b in range(1, 9)
    }
    found = comparison_of(table(benches), Choices(channel="temperature", response="none", is_robust=True))
    assert found.figure(5, "bias").value == pytest.approx(3.0, abs=0.05)
    assert found.figure(5, "robust z-score").words == "stands out"
    highest = next(test for test in found.agreement.outlying if test.test == "Grubbs, highest")
    assert (highest.benches, highest.verdict) == ((5,), "outlier")
    assert abs(found.agreement.precision.h[4] if found.agreement.precision else 0.0) > 2


def test_nothing_is_left_out_silently() -> None:
    rng = np.random.default_rng(4)
    t = np.arange(200.0)

    def stepping(number: int) -> Series:
        y = np.where(t > 50, 10.0, 0.0) + 0.1 * rng.standard_normal(200)
        return series(t, y, bench=number)

    made = {number: stepping(number) for number in (1, 2, 3, 4)}
    made[5] = series(t, 0.1 * rng.standard_normal(200), bench=5)
    made[6] = series(t, np.zeros(200), bench=6, unit="lx")
    choices = Choices(
        channel="temperature", alignment=Alignment(kind="onset"), left_out={4: "out of calibration"}
    )
    found = comparison_of(table(made), choices)
    assert [one.bench for one in found.benches] == [1, 2, 3]
    assert [(one.bench, one.words) for one in found.left_out] == [
        (4, "out of calibration"),
        (5, "no change beyond the noise"),
        (6, "'lx' can't be brought to '°C'"),
    ]


def test_uncertain_readings_and_gaps_are_marked() -> None:
    t = np.concatenate([np.arange(100.0), 150 + np.arange(100.0)])
    one = series(t, 20 + 0.1 * np.random.default_rng(5).standard_normal(200))
    doubtful = replace(one, uncertain=np.arange(200) < 30)
    found = comparison_of(table({1: doubtful}), Choices(channel="temperature", response="none"))
    marks = " / ".join(found.benches[0].marks)
    assert "30 of 200 readings are uncertain; they count" in marks
    assert "silent for 51 s in 1 gap" in marks
    assert "uncertainty of its readings is unknown" in marks
    assert found.agreement.words


def test_two_units_are_brought_to_one() -> None:
    cold = cooling_class()
    warm = cold.copy()
    is_fourth = warm["bench"] == 4
    warm.loc[is_fourth, "value"] = warm.loc[is_fourth, "value"] * 1.8 + 32
    warm.loc[is_fourth, "u"] = warm.loc[is_fourth, "u"] * 1.8
    warm.loc[is_fourth, "unit"] = "°F"
    choices = Choices(channel="temperature", response="none")
    one, other = comparison_of(cold, choices), comparison_of(warm, choices)
    assert other.unit == "°C"
    assert other.figure(4, "level").value == pytest.approx(one.figure(4, "level").value)
    assert other.figure(4, "level").u == pytest.approx(one.figure(4, "level").u)


def test_the_same_table_gives_the_same_figures_in_any_order_of_its_rows() -> None:
    made = cooling_class()
    choices = Choices(channel="temperature")
    one, other = comparison_of(made, choices), comparison_of(made.sample(frac=1, random_state=3), choices)
    for bench in TAUS:
        for name in ("level", "noise", "time constant", "bias"):
            assert one.figure(bench, name) == other.figure(bench, name)


def test_a_window_without_readings_leaves_everyone_out_with_words() -> None:
    found = comparison_of(cooling_class(), Choices(channel="temperature", from_seconds=5000.0))
    assert found.benches == ()
    assert {one.words for one in found.left_out} == {"fewer than two readings within the window"}
    assert found.grid is None
    assert found.rankings == ()


def test_choices_that_can_t_be_met_are_refused() -> None:
    with pytest.raises(ValueError, match="before it begins"):
        Choices(channel="temperature", from_seconds=10.0, to_seconds=5.0)
    with pytest.raises(ValueError, match="at least two parts"):
        Choices(channel="temperature", parts=1)
    with pytest.raises(ValueError, match="no bench has a channel"):
        comparison_of(cooling_class(), Choices(channel="pressure"))
    with pytest.raises(KeyError):
        comparison_of(cooling_class(), Choices(channel="temperature", response="none")).figure(1, "luck")


def test_the_public_face_names_what_there_is() -> None:
    for name in dashboard.comparing.__all__:
        assert getattr(dashboard.comparing, name).__name__ == name
    with pytest.raises(AttributeError, match="no attribute"):
        _ = dashboard.comparing.nothing_of_that_name


def test_the_demo_ranks_its_covers_by_how_slowly_they_cool() -> None:
    choices = Choices(
        channel="temperature",
        from_seconds=60.0,
        to_seconds=380.0,
        response="towards ambient",
        ambient=20.5,
        u_ambient=0.5,
    )
    found = comparison_of(read_recording(DEMO), choices)
    ranking = next(one for one in found.rankings if one.name == "time constant")
    assert ranking.ranked[0].bench == 1  # no cover cools fastest
    assert {one.bench for one in ranking.ranked} == set(range(1, 9))
    assert found.left_out == ()
    for one in found.benches:
        assert one.course is not None
        assert one.course.is_first_order


def test_a_bench_with_an_ambient_of_its_own_is_fitted_to_that_one() -> None:
    choices = Choices(
        channel="temperature",
        from_seconds=80.0,
        response="towards ambient",
        ambient=20.0,
        ambients={3: (15.0, 0.5)},
    )
    found, common = (comparison_of(cooling_class(), one) for one in (choices, replace(choices, ambients={})))
    assert found.figure(2, "time constant") == common.figure(2, "time constant")
    own = found.figure(3, "ambient")
    assert (own.value, own.u) == (15.0, 0.5)
    assert (found.figure(3, "time constant").value or 0) > (common.figure(3, "time constant").value or 0) + 50


def test_what_was_found_stays_known_where_a_person_set_another_event() -> None:
    alignment = Alignment(kind="onset", by_hand={2: 33.0})
    found = comparison_of(cooling_class(), Choices(channel="temperature", alignment=alignment))
    assert found.events[2].seconds == 33.0
    assert list(found.found) == [2]
    assert found.found[2].seconds == pytest.approx(30.0, abs=0.6)
    assert found.found[2].by == "found"


def test_robust_scores_are_given_where_they_are_asked_for() -> None:
    plain = comparison_of(cooling_class(), Choices(channel="temperature", response="none"))
    with pytest.raises(KeyError):
        plain.figure(1, "robust z-score")
    assert plain.figure(1, "z-score").is_known


def test_a_bench_that_something_is_against_bears_a_sign(compared: Comparison) -> None:
    assert compared.marked_names == {1: "A", 2: "⚠ B", 3: "C", 4: "D"}


def test_a_bench_alone_is_neither_ranked_nor_called_apart_from_others() -> None:
    table_of_one = table({1: series(np.arange(60.0), 20 + 0.1 * np.sin(np.arange(60.0)), u=0.02)})
    alone = comparison_of(table_of_one, Choices(channel="temperature", response="none"))
    assert alone.rankings == ()
    (spread,) = (one for one in alone.class_figures if one.name == "spread between benches")
    assert (spread.value, spread.words) == (None, "one bench alone has none")
