from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.calibration_given import CalibrationPoint
from bridge.core.class_calibration import SteadyBench, median_with_uncertainty, points_for_class

BATH = [
    SteadyBench(1, 44.62, 44.62, 0.021),
    SteadyBench(2, 45.10, 44.90, 0.05),  # calibrated before: it shows another value than its indication
    SteadyBench(3, 45.31, 45.31, 0.02),
    SteadyBench(7, 61.0, 61.0, 0.02),  # its program is wrong
]


def test_a_reference_gives_each_bench_a_point() -> None:
    action = points_for_class(BATH, reference=45.0, u_reference=0.1, unit="°C")
    assert dict(action.points) == {
        1: CalibrationPoint(45.0, 44.62, 0.1, 0.021),
        2: CalibrationPoint(45.0, 44.9, 0.1, 0.05),
        3: CalibrationPoint(45.0, 45.31, 0.1, 0.02),
        7: CalibrationPoint(45.0, 61.0, 0.1, 0.02),
    }
    assert action.words == "reference 45.00 ± 0.10 °C"


def test_a_reference_without_an_uncertainty_leaves_it_unknown() -> None:
    action = points_for_class(BATH, reference=45.0, u_reference=None, unit="°C")
    assert (action.u_reference, action.words) == (0.0, "reference 45 °C")


def test_the_class_median_is_hardly_moved_by_a_wild_bench() -> None:
    action = points_for_class(BATH, reference=None, u_reference=None, unit="°C")
    assert action.reference == pytest.approx(45.2, abs=0.06)
    assert 0.1 < action.u_reference < 1.0
    assert action.words.startswith("median of 4 benches, 45.")
    assert [point.indication for _, point in action.points] == [44.62, 44.9, 45.31, 61.0]


@pytest.mark.parametrize(
    ("n", "words"), [(0, "no bench is steady"), (2, "at least 3 steady benches, found 2")]
)
def test_too_few_benches_are_refused_with_words(n: int, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        points_for_class(BATH[:n], reference=None, u_reference=None, unit="°C")


@pytest.mark.parametrize("n", [3, 4, 5, 6, 8, 12, 24])
def test_the_medians_uncertainty_is_its_spread_from_class_to_class(n: int) -> None:
    """Many classes of n benches with normal errors: on the average u² is the variance of the median."""
    rng = np.random.default_rng(n)
    classes = rng.normal(0.0, 1.0, (6000, n))
    medians, us = zip(*(median_with_uncertainty(row.tolist()) for row in classes), strict=True)
    # pi / 2n is the variance for large n; for few values the median spreads up to a fifth less.
    assert float(np.mean(us)) == pytest.approx(math.sqrt(math.pi / 2 / n), rel=0.05)
    assert float(np.std(medians)) <= float(np.mean(us)) * 1.02


@given(
    means=st.lists(st.floats(20, 50), min_size=3, max_size=24), u=st.floats(0.001, 0.5),
    shift=st.floats(-100, 100),
)  # fmt: skip
def test_what_is_kept_of_a_point_is_rounded_far_below_its_uncertainty(
    means: list[float], u: float, shift: float
) -> None:
    benches = [SteadyBench(i, mean + shift, mean, u) for i, mean in enumerate(means)]
    action = points_for_class(benches, reference=None, u_reference=None, unit="°C")
    for (_, point), mean in zip(action.points, means, strict=True):
        assert abs(point.indication - mean) <= 0.06 * u
        assert point.u_indication == pytest.approx(u, rel=0.06)
