"""Both results of a recording are what the recording and the changed lesson give, bit for bit."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from bridge import (
    LessonError,
    findings_of_recording,
    journal_of_recording,
    read_lesson,
    read_recording,
)
from bridge.recording import RecordingWriter
from dashboard.what_if import (
    Both,
    Change,
    Setting,
    Source,
    StoppedError,
    both_of,
    change_of,
    difference_of,
    settings_of,
    told_of,
)
from tests.dashboard.what_if.recorded import (
    LESSON,
    RIGHT_VOLTS,
    START_UTC_NS,
    WRONG_VOLTS,
    count_at,
    record_cups,
)

VOLTS = ("conversion", "sensor", "reference_volts")
HIGH = ("channel", "temperature", "limit", "high", "at")
EDGES = ("channel", "temperature", "bands", "edges")
DEADBAND = ("channel", "temperature", "bands", "deadband")
Ask = Callable[..., Both]


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return record_cups(tmp_path_factory.mktemp("cups") / "cups.benchrow")


def setting(text: str, path: tuple[str | int, ...]) -> Setting:
    return next(one for group in settings_of(text) for one in group.settings if one.path == path)


def changes(source: Source, typed: dict[tuple[str | int, ...], str]) -> list[Change]:
    found = [change_of(setting(source.text, path), text) for path, text in typed.items()]
    return [one for one in found if one is not None]


def both(path: Path, typed: dict[tuple[str | int, ...], str], lesson: Path | None = None) -> Both:
    source = Source.of(path, lesson)
    return both_of(source, changes(source, typed), told=lambda _: True)


def test_both_are_what_the_bridge_gives_bit_for_bit(recording: Path, tmp_path: Path) -> None:
    found = both(recording, {VOLTS: "3.3", HIGH: "38", EDGES: "4 8 12", DEADBAND: "0,5"})
    lesson = tmp_path / "changed.toml"
    lesson.write_text(found.text, encoding="utf-8")
    assert "# as on the board" in found.text
    assert read_lesson(lesson) == found.after.lesson
    pd.testing.assert_frame_equal(found.before.table, read_recording(recording), check_exact=True)
    pd.testing.assert_frame_equal(
        found.after.table, read_recording(recording, lesson=lesson), check_exact=True
    )
    assert list(found.before.alarms) == journal_of_recording(recording)
    assert list(found.after.alarms) == journal_of_recording(recording, lesson)
    assert list(found.after.findings) == findings_of_recording(recording, lesson=found.after.lesson)


def test_a_corrected_reference_gives_exactly_what_the_right_lesson_would_have_given(
    recording: Path, tmp_path: Path
) -> None:
    right = record_cups(
        tmp_path / "right.benchrow",
        lesson=LESSON.replace(f"reference_volts = {WRONG_VOLTS}", f"reference_volts = {RIGHT_VOLTS}"),
    )
    found = both(recording, {VOLTS: str(RIGHT_VOLTS)})
    pd.testing.assert_frame_equal(found.after.table, read_recording(right), check_exact=True)
    assert list(found.after.alarms) == journal_of_recording(right)
    difference = difference_of(found.before, found.after)
    assert difference.benches == (1, 2)
    (bare, foil, printed) = difference.values
    assert bare.mean_change == pytest.approx(bare.before.mean * (RIGHT_VOLTS / WRONG_VOLTS - 1))
    assert foil.before.greatest * RIGHT_VOLTS / WRONG_VOLTS == pytest.approx(foil.after.greatest)
    assert printed.is_same
    told = told_of(found, difference)
    assert "Bench 1, Bare: temperature 48." in told.benches[1]
    assert "its alarm “high” would not have come" in told.benches[1]
    assert "Reference voltage of conversion “sensor”: from 5.0 V to 3.3 V." in told.source
    assert told.summary[1] == "The alarms of the class came twice; none would have come."


def test_a_limit_moves_its_alarm_and_nothing_else(recording: Path) -> None:
    found = both(recording, {HIGH: "56.0"})
    difference = difference_of(found.before, found.after)
    assert all(one.is_same for one in difference.values)
    assert all(one.is_same for one in difference.findings)
    assert all(one.is_same for one in difference.bands)
    high = {one.of.bench: one for one in difference.alarms}
    assert (high[1].before.n_rises, high[1].after.n_rises) == (1, 1)
    assert high[1].after.standing_seconds < high[1].before.standing_seconds
    assert (high[2].before.n_rises, high[2].after.n_rises) == (1, 0)
    assert high[2].after.standing_seconds == 0
    assert (high[3].is_same, high[3].after.beyond_seconds) == (True, 0.0)
    assert difference.benches == (1, 2)
    rises = [one.change.at_ns / 1e9 for one in found.after.alarms if one.change.event == "rise"]
    assert high[1].after.rises == tuple(rises)
    # Delays and deadband are nearly none: an alarm stands about as long as the value lies beyond its limit.
    assert high[1].before.beyond_seconds == pytest.approx(high[1].before.standing_seconds, abs=3.0)


def test_the_times_in_the_bands_add_up_to_the_session_on_both_sides(recording: Path) -> None:
    found = both(recording, {EDGES: "20; 26; 32; 38", DEADBAND: "0", (*EDGES[:-1], "names"): ""})
    difference = difference_of(found.before, found.after)
    bands = {one.of.bench: one for one in difference.bands}
    assert difference.benches == (1, 2, 3)
    for one in bands.values():
        for side in (one.before, one.after):
            assert sum(side.seconds) == pytest.approx(60, abs=1)
    assert bands[1].after.n_changes > bands[1].before.n_changes
    assert len(bands[1].after.seconds) == 5
    assert [one.is_same for one in difference.values] == [True] * 3


def test_bands_of_single_phases_go_by_number_for_their_names_differ(tmp_path: Path) -> None:
    own = '[[channel.phase_bands]]\nphases = ["run"]\nedges = [2.0]\nnames = ["low", "high"]\n\n'
    lesson = LESSON.replace("[[channel.limit]]", f"{own}[[channel.limit]]") + '\n[[phase]]\nname = "run"\n'
    found = both(record_cups(tmp_path / "phases.benchrow", lesson=lesson), {EDGES: "20 30 40"})
    difference = difference_of(found.before, found.after)
    assert {one.names for one in difference.bands} <= {("",) * n for n in range(1, 5)}
    rows = [one.what for one in told_of(found, difference).rows]
    assert any(one.startswith("in band 1") for one in rows)
    assert "“" not in "".join(rows)


def test_that_nothing_differs_is_said(recording: Path) -> None:
    found = both(recording, {HIGH: "200"}, None)
    lower = both_of(
        found.source, changes(found.source, {HIGH: "201"}), told=lambda _: True, before=found.after
    )
    difference = difference_of(lower.before, lower.after)
    assert difference.is_same
    told = told_of(lower, difference)
    assert told.summary[0].startswith("Nothing differs")
    assert (told.rows, told.benches) == ((), {})


def test_a_lesson_that_was_revised_on_the_way_is_said_to_be(tmp_path: Path) -> None:
    later = LESSON.replace("reference_volts = 5.0", "reference_volts = 4.0")
    path = record_cups(tmp_path / "revised.benchrow", revised=(30, later))
    source = Source.of(path)
    assert source.text == later
    assert source.revised_ns == (30_000_000_000,)
    found = both(path, {VOLTS: "3.3"})
    pd.testing.assert_frame_equal(found.before.table, read_recording(path), check_exact=True)
    pd.testing.assert_frame_equal(
        found.after.table, read_recording(path, lesson=found.after.lesson), check_exact=True
    )
    told = told_of(found, difference_of(found.before, found.after))
    assert any(
        "revised during the session (at 0:30)" in one and "last revision" in one for one in told.source
    )
    assert told.source[0] == "Reference voltage of conversion “sensor”: from 4.0 V to 3.3 V."


def test_a_lesson_that_is_given_takes_the_recordings_place(recording: Path, tmp_path: Path) -> None:
    given = tmp_path / "given.toml"
    given.write_text(LESSON.replace("at = 50.0", "at = 45.0"), encoding="utf-8")
    found = both(recording, {VOLTS: "3.3"}, given)
    assert list(found.before.alarms) == journal_of_recording(recording, given)
    assert "at = 45.0" in found.text
    assert any("given.toml" in one for one in told_of(found, difference_of(found.before, found.after)).source)


def test_the_progress_never_falls_and_comes_to_the_end(recording: Path) -> None:
    shares: list[float] = []

    def told(share: float) -> bool:
        shares.append(share)
        return True

    source = Source.of(recording)
    first = both_of(source, changes(source, {VOLTS: "3.3"}), told=told)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert shares == sorted(shares)
    assert len(shares) > 100
    shares.clear()
    both_of(source, changes(source, {VOLTS: "3"}), told=told, before=first.before)
    assert (shares[0], shares[-1]) == (0.0, 1.0)


def test_it_ends_when_it_is_told_to(recording: Path) -> None:
    shares: list[float] = []

    def told(share: float) -> bool:
        shares.append(share)
        return share < 0.6

    source = Source.of(recording)
    with pytest.raises(StoppedError):
        both_of(source, changes(source, {VOLTS: "3.3"}), told=told)
    assert 0.6 <= shares[-1] < 0.65


def test_a_faulty_change_is_no_result(recording: Path) -> None:
    source = Source.of(recording)
    with pytest.raises(LessonError) as caught:
        both_of(source, changes(source, {VOLTS: "3300"}), told=lambda _: True)
    assert "3.3 V" in caught.value.faults[0].wrong


def test_what_comes_while_it_is_computed_is_no_difference(tmp_path: Path) -> None:
    path = tmp_path / "growing.benchrow"
    writer = RecordingWriter(path, lesson_text=LESSON, start_utc_ns=START_UTC_NS, program="test")
    n_lines = 0

    def come(n: int) -> None:
        nonlocal n_lines
        for _ in range(n):
            n_lines += 1
            writer.add_chunk(1, f"{count_at(1, n_lines / 4)}\r\n".encode(), n_lines * 250_000_000)
        assert writer.flush()

    def told(share: float) -> bool:
        if share in (0.0, 0.5):
            come(20)
        return True

    come(80)
    source = Source.of(path)
    off_delay = ("channel", "temperature", "limit", "high", "off_delay_seconds")
    found = both_of(source, changes(source, {off_delay: "1"}), told=told)
    writer.close()
    assert n_lines > 120, "it grew before each of the two"
    assert found.before.length_ns == found.after.length_ns == 80 * 250_000_000
    assert difference_of(found.before, found.after).is_same
