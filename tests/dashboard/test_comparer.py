"""What the compare page is worked out from: sessions that are kept, a class that grows, choices, lanes."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from bridge import read_session
from bridge.recording import RecordingWriter
from dashboard.class_known import class_known
from dashboard.comparer import REST, Asked, Comparer
from dashboard.comparison_asked import choices_of, compared
from dashboard.comparison_lanes import lanes_text
from dashboard.pages.compare_choices import NUMBERS, asked_from, units_offered
from dashboard.pages.number_fields import NoNumberError, number_of
from tests.dashboard.kept_class import LESSON, ONSETS, SILENT, START_UTC_NS, record_class
from tests.dashboard.test_supervising import wait_until

Column = Sequence[object]
PLAIN = {
    "channel": "temperature", "unit": "", "other": "", "kind": "onset", "between": "linear",
    "response": "step", "robust": [],
}  # fmt: skip
NOTHING = dict.fromkeys(NUMBERS, "")
BENCHES = (1, 2, 3, 4)
ALL_IN: Column = [["in"]] * 4
EMPTY: Column = [None, "", "", ""]


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return record_class(tmp_path_factory.mktemp("kept") / "today.benchrow")


@pytest.fixture
def comparer() -> Iterator[Comparer]:
    one = Comparer()
    yield one
    one.close()


def asked(plain: dict[str, object], numbers: dict[str, object], *of_benches: Column | None) -> Asked:
    columns = [ALL_IN, EMPTY, EMPTY, EMPTY, EMPTY]
    for k, column in enumerate(of_benches):
        if column is not None:
            columns[k] = column
    return asked_from(Path("x"), None, None, PLAIN | plain, NOTHING | numbers, BENCHES, columns)


def test_a_recording_is_read_once_for_many_questions_and_anew_when_it_is_forgotten(
    recording: Path, comparer: Comparer
) -> None:
    job = comparer.session(recording)
    wait_until(lambda: job.is_done, "the recording is read")
    assert comparer.session(recording) is job
    question = Asked(path=recording, channel="temperature")
    shown = comparer.shown(question, look="light", figure_name="level")
    wait_until(lambda: shown.is_done, "the benches are compared")
    assert shown.result is not None
    assert shown.so_far is not None
    assert [one.key for one in shown.so_far.pictures] == ["overlay"]
    assert len(shown.result.pictures) == 7
    wrong = comparer.shown(replace(question, channel="pressure"), look="light", figure_name="level")
    wait_until(lambda: wrong.is_done, "it failed")
    assert "pressure" in wrong.failure
    comparer.forget(recording)
    assert comparer.session(recording) is not job


def test_a_comparison_counts_its_time_from_the_start_of_the_session(recording: Path) -> None:
    session = read_session(recording)
    found = compared(session, Asked(path=recording, channel="temperature")).comparison
    first = found.benches[0].series.seconds[0]
    assert first == session.seconds[0] == pytest.approx(0.2, abs=0.002)  # the first line needs its time
    assert found.started.value == START_UTC_NS
    (gap,) = found.readings[4].gaps
    silent = SILENT[4]
    assert gap == pytest.approx(silent, abs=0.21)


def test_what_was_gone_before_a_benchs_first_value_says_nothing_against_it(recording: Path) -> None:
    session = read_session(recording)
    first, *_ = session.findings
    early = replace(first, bench=1, found_ns=0, gone_ns=10**8)
    assert 1 not in class_known(replace(session, findings=(early,)), "temperature").marks
    later = replace(early, gone_ns=10**9)
    (mark,) = class_known(replace(session, findings=(later,)), "temperature").marks[1]
    assert mark.startswith("found from 0:00 to 0:01")


def test_a_class_that_grows_is_read_on_at_once_when_asked_and_by_itself_after_a_rest(tmp_path: Path) -> None:
    path = tmp_path / "live.benchrow"
    writer = RecordingWriter(path, lesson_text=LESSON, start_utc_ns=5_000, program="test")
    writer.add_event("break", 1, 0, {"cold": False})

    def add(since: int, until: int) -> None:
        for i in range(since, until):
            writer.add_chunk(1, b"T: %d.5 C, R: 20.0 C\r\n" % (20 + i), (i + 1) * 1_000_000_000)
        assert writer.flush()

    now = [100.0]

    def clock() -> float:
        now[0] += 1.0  # each look at the clock takes a second: work takes time
        return now[0]

    comparer = Comparer(clock)
    add(0, 5)
    first = comparer.read_on(path, by_itself=True)
    wait_until(lambda: first.is_done, "it is read")
    assert first.result is not None
    assert len(first.result.table) == 10
    add(5, 10)
    assert comparer.read_on(path, by_itself=True) is first  # it rests
    asked_for = comparer.read_on(path, by_itself=False)
    wait_until(lambda: asked_for.is_done, "it is read on")
    assert asked_for.result is not None
    assert len(asked_for.result.table) == 20
    now[0] += REST + 1
    add(10, 12)
    by_itself = comparer.read_on(path, by_itself=True)
    wait_until(lambda: by_itself.is_done, "it is read on by itself")
    assert by_itself.result is not None
    assert len(by_itself.result.table) == 24
    comparer.close()
    writer.close()


def test_the_page_asks_for_what_stands_in_its_controls() -> None:
    found = asked(
        {"unit": "K", "between": "previous", "response": "towards ambient", "robust": ["robust"]},
        {"from": "-0:05", "reference": "313,2", "u_reference": "0.1", "ambient": "293", "u_ambient": "0.2"},
        [["in"], [], ["in"], []],
        [None, " in the   sun ", "", ""],
        ["", "", "0:25", None],
        ["", "", "294.5", "295"],
        ["", "", "0,5", ""],
    )
    assert (found.unit, found.interpolation, found.is_robust) == ("K", "previous", True)
    assert found.left_out == ((2, "in the sun"), (4, ""))
    assert found.by_hand == ((3, 25.0),)
    assert (found.from_seconds, found.reference, found.u_reference) == (-5.0, 313.2, 0.1)
    assert (found.ambient, found.u_ambient) == (293.0, 0.2)
    assert found.ambients == ((3, 294.5, 0.5), (4, 295.0, 0.2))  # without its own the common uncertainty


def test_what_does_not_apply_is_not_asked_for() -> None:
    found = asked({"kind": "instant"}, {"ambient": "20"}, None, None, ["5", "", "", ""], ["21", "", "", ""])
    assert (found.by_hand, found.ambient, found.ambients) == ((), None, ())


def test_a_number_that_can_t_be_read_is_named_with_its_bench() -> None:
    with pytest.raises(NoNumberError, match=r"^Event of bench 2: “soon” is no number"):
        asked({}, {}, None, None, ["", "soon", "", ""])
    with pytest.raises(NoNumberError, match=r"^Ambient at bench 1"):
        asked({"response": "towards ambient"}, {}, None, None, None, ["warm", "", "", ""])


def test_units_of_a_kind_are_offered_and_others_are_not() -> None:
    offered = units_offered(["°F", "°C", "°C"])
    assert offered[0] == {"label": "as most benches have it: °C", "value": ""}
    assert [one["value"] for one in offered[1:]] == ["°F", "°C", "K"]
    assert [one["value"] for one in units_offered(["lx"])] == ["", "lx"]
    assert [one["value"] for one in units_offered([""])] == [""]


def test_bands_come_along_into_another_unit(recording: Path) -> None:
    session = read_session(recording)
    known = class_known(session, "temperature")
    question = Asked(path=recording, channel="temperature", unit="°F")
    assert choices_of(question, known, "temperature").band_edges[1] == pytest.approx((77.0, 95.0))
    with pytest.raises(ValueError, match="can't be brought to 'lx'"):
        choices_of(replace(question, unit="lx"), known, "temperature")


def test_lanes_hold_each_bench_s_course_and_where_its_event_is_and_was_found(recording: Path) -> None:
    session = read_session(recording)
    question = Asked(path=recording, channel="temperature", kind="onset", by_hand=((2, 30.0),))
    found = compared(session, question)
    told = json.loads(lanes_text(found.comparison, found.known.looks))
    assert [one["bench"] for one in told["lanes"]] == [1, 2, 3, 4]
    moved, still = told["lanes"][1], told["lanes"][2]
    assert (moved["at"], moved["by_hand"]) == (30.0, True)
    assert moved["found"] == pytest.approx(ONSETS[2], abs=0.3)
    assert (still["at"], still["by_hand"]) == (still["found"], False)
    since, until = told["close"]
    assert told["whole"][0] <= since < min(ONSETS.values()) < 30.0 < until < told["whole"][1]
    for lane in told["lanes"]:
        places = [y for y in lane["whole"]["y"] if y is not None]
        assert (min(places), max(places)) == (0.0, 1.0)
        assert all(since <= t <= until for t in lane["close"]["t"])
    assert None in told["lanes"][3]["whole"]["y"]  # its gap breaks the line
    instant = compared(session, replace(question, kind="instant", by_hand=()))
    assert lanes_text(instant.comparison, instant.known.looks) == ""


def test_a_bench_without_an_event_has_a_lane_on_which_one_can_be_set(recording: Path) -> None:
    session = read_session(recording)
    found = compared(session, Asked(path=recording, channel="room", kind="onset"))
    lane = json.loads(lanes_text(found.comparison, found.known.looks))["lanes"][0]
    assert (lane["at"], lane["found"]) == (None, None)
    assert lane["words"] == "no change beyond the noise"
    by_hand = compared(session, Asked(path=recording, channel="room", kind="onset", by_hand=((1, 20.0),)))
    lane = json.loads(lanes_text(by_hand.comparison, by_hand.known.looks))["lanes"][0]
    assert (lane["at"], lane["found"], lane["by_hand"]) == (20.0, None, True)
    assert math.isfinite(by_hand.comparison.figure(1, "level").value or math.nan)


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("20,5", 20.5),
        (" 7 ", 7.0),
        ("1:30", 90.0),
        ("-0:05", -5.0),
        ("−2", -2.0),
        (".5", 0.5),
        ("", None),
        (None, None),
    ],
)
def test_a_field_takes_commas_and_minutes(text: str | None, number: float | None) -> None:
    assert number_of(text, "x") == number


@pytest.mark.parametrize("text", ["soon", "1e5", "1:2:3", "--1", "1:", "inf"])
def test_what_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(NoNumberError):
        number_of(text, "x")
