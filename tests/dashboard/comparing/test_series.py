"""Readings as arrays, and where they are cut."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from dashboard.comparing.series import series_of
from dashboard.comparing.units import in_unit, rescaling
from tests.dashboard.comparing.made import series, table


def test_a_gap_is_longer_than_three_usual_intervals_and_three_seconds() -> None:
    fast = series([0, 0.1, 0.2, 0.3, 3.2, 3.3, 3.4, 7.0, 7.1, 7.2, 7.3], range(11))
    assert fast.gaps == ((3.4, 7.0),)
    slow = series([0, 10, 20, 30, 60, 70, 80, 111, 121, 131, 141], range(11))
    assert slow.gaps == ((80.0, 111.0),)


def test_a_program_that_goes_on_at_a_slower_pace_leaves_no_gap() -> None:
    seconds = [*range(20), *range(39, 200, 20)]
    assert series(seconds, np.zeros(len(seconds))).gaps == ()


def test_readings_of_one_instant_are_one_arrival() -> None:
    burst = series([0, 0, 0, 5, 5, 5, 10, 10, 10, 15, 15, 15], range(12))
    assert burst.usual_interval == 5.0
    assert burst.gaps == ()


def test_stretches_are_all_readings_between_the_gaps() -> None:
    cut = series([0, 1, 2, 3, 4, 20, 21, 22, 23, 24], range(10))
    assert [cut.values[one].tolist() for one in cut.stretches] == [[0, 1, 2, 3, 4], [5, 6, 7, 8, 9]]
    assert series([], []).stretches == ()
    assert series([1.0], [2.0]).stretches == (slice(0, 1),)


def test_a_table_becomes_series_in_the_order_of_time_and_counts_what_has_no_value() -> None:
    one = table({3: series([0, 2, 1, 3], [1.0, 3.0, 2.0, np.nan], bench=3), 1: series([0.5], [7.0])})
    found = series_of(one.sample(frac=1, random_state=1), "temperature")
    assert list(found) == [1, 3]
    assert found[3].seconds.tolist() == [0, 1, 2]
    assert found[3].values.tolist() == [1, 2, 3]
    assert found[3].n_without_value == 1
    assert found[1].seconds.tolist() == [0.5]


def test_a_channel_that_nobody_has_is_told_with_those_there_are() -> None:
    with pytest.raises(ValueError, match="there is: temperature"):
        series_of(table({1: series([0], [1])}), "pressure")


def test_two_units_at_one_bench_are_told() -> None:
    mixed = pd.concat([table({1: series([0], [1])}), table({1: series([1], [1], unit="K")})])
    with pytest.raises(ValueError, match="bench 1 has channel 'temperature' in several units: K, °C"):
        series_of(mixed, "temperature")


@pytest.mark.parametrize(
    ("found", "wanted", "value", "is_then"),
    [
        ("°F", "°C", 212.0, 100.0),
        ("K", "°C", 273.15, 0.0),
        ("mV", "V", 1500.0, 1.5),
        ("kΩ", "Ω", 4.7, 4700.0),
        ("hPa", "kPa", 1013.25, 101.325),
        ("any word", "any word", 3.0, 3.0),
    ],
)
def test_a_unit_is_brought_to_another(found: str, wanted: str, value: float, is_then: float) -> None:
    factor, offset = rescaling(found, wanted)
    assert value * factor + offset == pytest.approx(is_then, abs=1e-9)


@pytest.mark.parametrize(("found", "wanted"), [("lx", "V"), ("", "V"), ("no such", "V"), ("dB", "V")])
def test_units_of_different_things_are_refused(found: str, wanted: str) -> None:
    with pytest.raises(ValueError, match="can't be brought to"):
        rescaling(found, wanted)


def test_the_class_takes_the_unit_that_most_have_and_says_who_can_t_follow() -> None:
    benches = {
        1: series([0], [20.0], u=0.5),
        2: series([0], [68.0], bench=2, unit="°F", u=0.9),
        3: series([0], [21.0], bench=3),
        4: series([0], [300.0], bench=4, unit="lx"),
    }
    brought, faults = in_unit(benches)
    assert list(brought) == [1, 2, 3]
    assert brought[2].unit == "°C"
    assert brought[2].values[0] == pytest.approx(20.0)
    assert brought[2].u[0] == pytest.approx(0.5)
    assert "'lx'" in faults[4]
