"""Agreement against NIST's and ISO's published values."""

from __future__ import annotations

import math
import tomllib
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.comparing.agreement import (
    Cell,
    Precision,
    anova_of,
    cells_of,
    en_number,
    mandel_h_critical,
    mandel_k_critical,
    precision_of,
    robust_mean,
    z_scores,
)
from dashboard.comparing.figure import figure, no_figure
from dashboard.comparing.moments import Floats
from dashboard.comparing.outliers import cochran, grubbs
from tests.dashboard.comparing.made import CERTIFIED, REFERENCE, digits, rows

PUBLISHED: dict[str, Any] = tomllib.loads(
    (REFERENCE / "precision" / "precision.toml").read_text(encoding="utf-8")
)
# What two passes in double precision can reach of these data (reference README).
REACHED = {"SiRstv": 12.4, "AtmWtAg": 8.4, "SmLs01": 13.5, "SmLs04": 8.6, "SmLs07": 2.6}


def anova_groups(name: str) -> list[Floats]:
    table = rows(f"nist/anova_{name}.csv")
    found: dict[str, list[float]] = {}
    for row in table:
        found.setdefault(row["group"], []).append(float(row["y"]))
    return [np.array(values) for values in found.values()]


def coal(level: int) -> dict[int, Floats]:
    found: dict[int, list[float]] = {}
    for row in rows("precision/iso5725_2_sulfur_coal.csv"):
        if int(row["level"]) == level:
            found.setdefault(int(row["laboratory"]), []).append(float(row["sulfur_percent_mass"]))
    return {laboratory: np.array(values) for laboratory, values in found.items()}


def known(found: Precision | str) -> Precision:
    assert isinstance(found, Precision), found
    return found


@pytest.mark.parametrize("name", sorted(REACHED))
def test_the_variance_analysis_sets_come_out(name: str) -> None:  # NIST StRD
    certified, found = CERTIFIED["anova"][name], anova_of(anova_groups(name))
    for what in ("ss_between", "ss_within", "f_statistic", "r_squared", "residual_sd"):
        assert digits(getattr(found, what), certified[what]) >= REACHED[name], what
    assert found.dof_between == certified["groups"] - 1
    assert found.dof_within == certified["groups"] * (certified["replicates"] - 1)


@pytest.mark.parametrize("name", sorted(REACHED))
def test_the_same_sets_have_their_repeatability_and_reproducibility(name: str) -> None:
    certified = CERTIFIED["anova"][name]
    groups = anova_groups(name)
    least = min(REACHED[name], 8)
    if name == "AtmWtAg":  # two instruments: too few for our rule, the variances by the same formulas
        assert "fewer than three" in str(precision_of(cells_of(dict(enumerate(groups)))))
        return
    found = known(precision_of(cells_of(dict(enumerate(groups)))))
    for figure_, what in ((found.s_r, "s_r"), (found.s_l, "s_L"), (found.s_big_r, "s_R")):
        assert figure_.value is not None
        assert digits(figure_.value, certified[what]) >= least - 0.5, what


def test_michelson_s_series_differ_as_computed() -> None:
    table = [float(row["y"]) for row in rows("nist/univariate_Michelso.csv")]
    series = np.array(table).reshape(5, 20)
    published = PUBLISHED["michelson_series"]
    found = anova_of(list(series))
    assert found.f_statistic == pytest.approx(published["f_statistic"], rel=1e-9)
    assert found.probability == pytest.approx(published["p_value"], rel=1e-8)
    in_km = 1000 * (series - 299)
    spread = known(precision_of(cells_of(dict(enumerate(in_km)))))
    assert spread.s_l.value == pytest.approx(published["s_L"], rel=1e-8)
    assert spread.s_big_r.value == pytest.approx(published["s_R"], rel=1e-8)


@pytest.mark.parametrize("level", [1, 2, 3, 4])
def test_the_sulfur_in_coal_comes_out_as_printed(level: int) -> None:  # ISO 5725-2:1994, B.1
    published = PUBLISHED["iso5725_2_sulfur_coal"][f"level{level}"]
    cells = cells_of(coal(level))
    found = known(precision_of(cells, "%"))
    assert found.s_r.value is not None
    assert found.s_big_r.value is not None
    assert round(found.mean, 3) == published["mean_published"]
    assert round(found.s_r.value, 3) == published["s_r_published"]
    assert round(found.s_big_r.value, 3) == published["s_R_published"]
    assert found.s_r.value == pytest.approx(published["s_r"], rel=1e-10)
    assert found.s_l.value == pytest.approx(published["s_L"], rel=1e-10)
    assert found.s_big_r.value == pytest.approx(published["s_R"], rel=1e-10)
    assert found.repeatability_limit == pytest.approx(published["repeatability_limit_r"], rel=1e-10)
    assert found.reproducibility_limit == pytest.approx(published["reproducibility_limit_R"], rel=1e-10)
    assert found.h == pytest.approx(published["mandel_h"], abs=1e-7)
    assert found.k == pytest.approx(published["mandel_k"], abs=1e-7)
    spread = cochran(cells)
    assert spread is not None
    assert spread.statistic == pytest.approx(published["cochran_C"], rel=1e-10)
    tests = grubbs({bench: cell.mean for bench, cell in cells.items()})
    assert tests[0].statistic == pytest.approx(published["grubbs_high"], rel=1e-9)
    assert tests[1].statistic == pytest.approx(published["grubbs_low"], rel=1e-9)


@pytest.mark.parametrize("material", list("ABCDE"))
def test_the_glucose_study_comes_out_and_no_variance_is_negative(material: str) -> None:
    published = PUBLISHED["interlab_glucose"][f"material_{material}"]
    cells = {
        int(row["laboratory"]): Cell(3, float(row["cell_mean"]), float(row["cell_sd"]))
        for row in rows("precision/interlab_glucose_cells.csv")
        if row["material"] == material
    }
    found = known(precision_of(cells, "mg/dl"))
    assert found.mean == pytest.approx(published["mean_library"], abs=1e-5)
    assert found.s_r.value == pytest.approx(published["s_r"], rel=2e-7)
    assert found.s_big_r.value == pytest.approx(published["s_R"], rel=2e-7)
    is_negative = published["s_L_squared_unclipped"] < 0
    assert (found.s_l.value == 0) == is_negative
    assert ("no more than" in found.words) == is_negative


def test_mandel_s_critical_values_are_those_of_the_table() -> None:
    for row in rows("precision/mandel_critical.csv"):
        p = int(row["p"])
        for level, name in ((0.01, "1pct"), (0.05, "5pct")):
            assert mandel_h_critical(p, level) == pytest.approx(float(row[f"h_{name}"]), abs=1e-6)
            for n in range(2, 7):
                assert mandel_k_critical(p, n, level) == pytest.approx(float(row[f"k_{name}_n{n}"]), abs=1e-6)


def test_the_intervals_of_both_standard_deviations_hold() -> None:
    rng, held_r, held_big_r = np.random.default_rng(1), 0, 0
    for _ in range(300):
        results = {i: 20 + 0.5 * rng.standard_normal() + 0.2 * rng.standard_normal(4) for i in range(8)}
        found = known(precision_of(cells_of(results)))
        for figure_, truth in ((found.s_r, 0.2), (found.s_big_r, math.hypot(0.5, 0.2))):
            assert figure_.low is not None
            assert figure_.high is not None
            held = figure_.low <= truth <= figure_.high
            held_r += held and figure_ is found.s_r
            held_big_r += held and figure_ is found.s_big_r
    assert 0.92 < held_r / 300 < 0.98
    assert 0.92 < held_big_r / 300 < 0.98


def test_what_can_t_be_told_is_said() -> None:
    one = np.array([1.0])
    assert "fewer than three" in str(precision_of(cells_of({1: one, 2: one})))
    assert "one result" in str(precision_of(cells_of({1: one, 2: one, 3: one})))
    with pytest.raises(ValueError, match="one value in each"):
        anova_of([one, one])
    with pytest.raises(ValueError, match="two groups"):
        anova_of([one])


@given(st.lists(st.floats(-100, 100), min_size=3, max_size=20), st.floats(0.1, 10), st.floats(-1e3, 1e3))
def test_scores_do_not_depend_on_the_unit(values: list[float], factor: float, offset: float) -> None:
    x = np.array(values)
    if np.ptp(x) < 1e-3:
        return
    assert z_scores(factor * x + offset) == pytest.approx(z_scores(x), abs=1e-6)


def test_a_wrong_value_hides_in_classic_scores_and_not_in_robust_ones() -> None:
    x = np.array([20.0, 20.1, 19.9, 20.05, 19.95, 25.0])
    classic, robust = z_scores(x), z_scores(x, robust=True)
    assert classic is not None
    assert robust is not None
    assert classic[-1] < 3 < robust[-1]


def test_the_robust_mean_of_clean_values_is_near_the_plain_one() -> None:
    rng = np.random.default_rng(2)
    x = 5 + 2 * rng.standard_normal(20_000)
    found = robust_mean(x)
    assert found.mean == pytest.approx(5, abs=0.05)
    assert found.sd == pytest.approx(2, rel=0.02)


def test_equal_or_few_values_have_no_scores() -> None:
    assert z_scores(np.array([1.0, 1.0, 1.0])) is None
    assert z_scores(np.array([1.0, 2.0])) is None


def test_an_en_number_is_the_difference_over_both_expanded_uncertainties() -> None:
    reference = figure("reference", "°C", 20.0, 0.2)
    close, far = (en_number(figure("level", "°C", value, 0.15), reference) for value in (20.4, 21.0))
    assert close.value == pytest.approx(0.8)
    assert close.words == ""
    assert far.value == pytest.approx(2.0)
    assert "more than the uncertainties" in far.words
    assert en_number(no_figure("level", "°C", "no reading"), reference).words == "no reading"
    assert "unknown" in en_number(figure("level", "°C", 20.0), reference).words
