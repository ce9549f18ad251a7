"""Changes are tried on a lesson before anybody keeps them; a fault is told beside its change."""

from __future__ import annotations

from bridge import try_changes
from bridge.bands_kept import BandStay, stays_of
from bridge.core.readings import BandChange
from bridge.lesson_file import faults_of, revised

LESSON = """\
title = "Cups" # as on the board

[[channel]]
name = "temperature"
unit = "°C"
field = "raw"
conversion = "sensor"
low = 15.0
high = 50.0
[channel.bands]
baseline = 20.0
edges = [5.0, 10.0]
names = ["room", "warm", "hot"]

[[channel.limit]]
kind = "high"
at = 45.0

[[conversion]]
name = "sensor"
start = "count"
reference_volts = 5.0 # measured
volts_per_unit = 0.010
"""
VOLTS = ("conversion", "sensor", "reference_volts")
EDGES = ("channel", "temperature", "bands", "edges")
NAMES = ("channel", "temperature", "bands", "names")
DEADBAND = ("channel", "temperature", "limit", "high", "deadband")


def test_a_change_stands_in_the_text_with_all_remarks_kept() -> None:
    found = try_changes(LESSON, [(VOLTS, 3.3), (DEADBAND, 0.5)])
    assert found.text == revised(LESSON, [(VOLTS, 3.3), (DEADBAND, 0.5)])
    assert "reference_volts = 3.3 # measured" in found.text
    assert found.lesson is not None
    assert found.lesson.conversions[0].reference_volts == 3.3
    assert found.faults == ()


def test_each_fault_is_laid_to_the_change_that_brings_it() -> None:
    found = try_changes(LESSON, [(VOLTS, 3.3), (DEADBAND, -1.0), (EDGES, [5.0, 10.0, 14.0])])
    assert (found.lesson, found.text) == (None, LESSON)
    assert {one.change for one in found.faults} == {1, 2}
    by_change = {one.change: one.fault.wrong for one in found.faults}
    assert "deadband must be 0 or more" in by_change[1]
    assert "names" in by_change[2]
    with_names = try_changes(LESSON, [(EDGES, [5.0, 10.0, 14.0]), (NAMES, ["a", "b", "c", "d"])])
    assert with_names.faults == ()


def test_the_words_are_those_of_the_check() -> None:
    found = try_changes(LESSON, [(VOLTS, 3300.0)])
    (fault,) = found.faults
    told = faults_of(LESSON.replace("reference_volts = 5.0", "reference_volts = 3300.0"))
    assert [one.wrong for one in told] == [fault.fault.wrong]
    assert "3.3 V" in fault.fault.wrong


def test_a_path_that_leads_nowhere_is_a_fault_of_that_change() -> None:
    found = try_changes(LESSON, [(VOLTS, 3.3), (("conversion", "sensor", "refrence_volts"), 3.3)])
    assert [one.change for one in found.faults] == [1]


def test_without_a_lesson_there_is_nothing_to_try() -> None:
    assert try_changes("", []).lesson is None


def test_stays_end_where_the_band_changes_or_the_session_ends() -> None:
    changes = [
        BandChange(10, 1, "t", 0, None),
        BandChange(5, 2, "t", 3, None),
        BandChange(20, 1, "t", 2, 0),
        BandChange(30, 1, "t", None, 2),
        BandChange(40, 1, "t", 1, None),
    ]
    assert stays_of(changes, end_ns=50) == [
        BandStay(1, "t", 0, 10, 20),
        BandStay(1, "t", 2, 20, 30),
        BandStay(1, "t", 1, 40, 50),
        BandStay(2, "t", 3, 5, 50),
    ]
