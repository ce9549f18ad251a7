from __future__ import annotations

import itertools
from collections.abc import Sequence

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from bridge.core.findings import FindingChange
from bridge.core.lesson import (
    OPEN_LESSON,
    AlarmGiven,
    BandsGiven,
    Bench,
    BenchChannel,
    Channel,
    Conversion,
    FieldSpec,
    Layout,
    Lesson,
)
from bridge.core.pipeline import BenchPipeline, Outcome
from bridge.core.readings import AlarmChange, BandChange, Note
from bridge.core.text_reader import MAX_WAITING_LINES

SECOND = 1_000_000_000
BANDS = BandsGiven(baseline=20.0, edges=(5.0, 10.0), names=("room", "warm", "warmer"), deadband=0.5)
HIGH = AlarmGiven(kind="high", at=48.0, deadband=0.5, on_delay_seconds=2.0)


def lesson_of(
    *, layout: Layout | None = None, bench_channel: BenchChannel | None = None, **channel: object
) -> Lesson:
    given_channel: dict[str, object] = {
        "name": "temperature",
        "unit": "°C",
        "field": "raw",
        "conversion": "sensor",
    }
    layout = layout or Layout(name="raw only", kind="columns", fields=(FieldSpec(name="raw"),))
    return Lesson(
        title="Cooling",
        channels=(Channel(**{**given_channel, **channel}),),  # type: ignore[arg-type]
        conversions=(Conversion(name="sensor", start="count", volts_per_unit=0.01),),
        layouts=(layout,),
        benches=(
            Bench(
                number=1, name="No cover", shape="circle", colour="orange", layout=layout.name,
                channels=(bench_channel,) if bench_channel else (),
            ),
        ),
    )  # fmt: skip


def fed(pipeline: BenchPipeline, *chunks: bytes, every_seconds: float = 1.0) -> list[Outcome]:
    return [pipeline.feed(chunk, round(i * every_seconds * SECOND)) for i, chunk in enumerate(chunks)]


def values(outcomes: Sequence[Outcome]) -> list[float | None]:
    return [reading.value for outcome in outcomes for reading in outcome.readings]


def test_a_count_becomes_a_reading_with_unit_uncertainty_and_line() -> None:
    pipeline = BenchPipeline(lesson_of(), 1, cold=False)
    (reading,) = pipeline.feed(b"92\r\n", 5).readings
    assert list(reading) == [
        5,
        1,
        "temperature",
        44.921875,
        "°C",
        pytest.approx(0.48828125 / 12**0.5),
        "good",
        "",
        1,
        5,
    ]


def test_after_a_cold_start_the_first_line_is_no_reading() -> None:
    pipeline = BenchPipeline(lesson_of(), 1, cold=True)
    outcomes = fed(pipeline, b"2\n92\n")
    assert values(outcomes) == [44.921875]
    assert [what for _, what in outcomes[0].lines] == ["set aside", "read"]
    assert (pipeline.n_lines, pipeline.n_set_aside) == (2, 1)


def test_half_lines_on_both_sides_of_a_break_are_no_readings() -> None:
    pipeline = BenchPipeline(lesson_of(), 1, cold=False)
    pipeline.feed(b"92\n9", 0)
    broken = pipeline.break_off(SECOND)
    assert [what for _, what in broken.lines] == ["set aside"]
    assert values(fed(pipeline, b"1\n90\n")) == [43.9453125]


def test_a_count_beyond_the_converter_is_bad_and_gives_no_value() -> None:
    pipeline = BenchPipeline(lesson_of(), 1, cold=False)
    (reading,) = pipeline.feed(b"1300\n", 0).readings
    assert (reading.value, reading.quality) == (None, "bad")
    assert "above 1023" in reading.reason


def test_a_line_that_does_not_fit_breaks_nothing() -> None:
    pipeline = BenchPipeline(lesson_of(), 1, cold=False)
    outcomes = fed(pipeline, b"92\nERR 7: 3\nhello\n91\n")
    assert [what for _, what in outcomes[0].lines] == ["read", "set aside", "text", "read"]
    assert values(outcomes) == [44.921875, 44.43359375]


def test_bands_and_alarms_come_out_at_their_times() -> None:
    pipeline = BenchPipeline(lesson_of(bands=BANDS, limits=(HIGH,)), 1, cold=False)
    outcomes = fed(pipeline, b"80\n", b"101\n", b"101\n")
    outcomes.append(pipeline.tick(10 * SECOND))
    changes = [change for outcome in outcomes for change in outcome.changes]
    assert [(c.at_ns, c.band) for c in changes if isinstance(c, BandChange)] == [(0, 2)]
    assert [(c.at_ns, c.event, c.value) for c in changes if isinstance(c, AlarmChange)] == [
        (3 * SECOND, "rise", 49.31640625)
    ]


def test_an_alarm_is_acknowledged_once() -> None:
    pipeline = BenchPipeline(lesson_of(limits=(AlarmGiven(kind="high", at=48.0),)), 1, cold=False)
    pipeline.feed(b"101\n", 0)
    assert len(pipeline.acknowledge("temperature", "high", 5, "instructor").changes) == 1
    assert pipeline.acknowledge("temperature", "high", 6, "instructor").changes == []


def test_the_benchs_baseline_moves_its_edges() -> None:
    own = BenchChannel(channel="temperature", baseline=30.0)
    pipeline = BenchPipeline(lesson_of(bands=BANDS, bench_channel=own), 1, cold=False)
    assert pipeline.channels[0].edges == (35.0, 40.0)


def test_channels_of_the_lesson_are_described_before_the_first_line() -> None:
    pipeline = BenchPipeline(lesson_of(), 1, cold=True)
    assert [channel.name for channel in pipeline.channels] == ["temperature"]


def test_a_field_that_no_line_has_is_told() -> None:
    layout = Layout(name="two", kind="columns", fields=(FieldSpec(name="count"), FieldSpec(name="volts")))
    pipeline = BenchPipeline(lesson_of(layout=layout), 1, cold=False)
    changed = pipeline.revise(lesson_of(layout=layout, decimals=2), 0)
    (note,) = [change for change in changed.changes if isinstance(change, Note)]
    assert "'raw'" in note.words
    assert "'count', 'volts'" in note.words


def test_a_revised_gain_counts_from_then_on_and_alarms_stand() -> None:
    pipeline = BenchPipeline(lesson_of(limits=(AlarmGiven(kind="high", at=40.0),)), 1, cold=False)
    pipeline.feed(b"92\n", 0)
    own = BenchChannel(channel="temperature", gain=2.0)
    pipeline.revise(lesson_of(limits=(AlarmGiven(kind="high", at=40.0),), bench_channel=own), 1)
    outcome = pipeline.feed(b"92\n", 2)
    assert outcome.readings[0].value == 89.84375
    assert outcome.changes == []
    assert len(pipeline.acknowledge("temperature", "high", 3, "instructor").changes) == 1


def test_without_a_lesson_every_field_becomes_a_channel() -> None:
    pipeline = BenchPipeline(OPEN_LESSON, 2, cold=False)
    outcomes = fed(pipeline, b"Temp: 21.5 C, Hum: 40\n" * 5)
    assert [reading.channel for reading in outcomes[0].readings[:2]] == ["Temp", "Hum"]
    assert values(outcomes) == [21.5, 40.0] * 5
    info = pipeline.channels[0]
    assert (info.unit, info.decimals) == ("°C", 1)
    assert info.low <= 21.5 < info.high
    assert any(isinstance(change, Note) and change.kind == "layout" for change in outcomes[0].changes)


def test_an_open_scale_widens_with_what_is_seen() -> None:
    pipeline = BenchPipeline(OPEN_LESSON, 2, cold=False)
    fed(pipeline, b"Temp: 21.5\n" * 5, b"Temp: 310.25\n", b"Temp: -40\n")
    info = pipeline.channels[0]
    assert info.low <= -40.0
    assert info.high > 310.25
    assert info.decimals == 2


def test_lines_that_wait_for_a_layout_are_bounded() -> None:
    pipeline = BenchPipeline(OPEN_LESSON, 2, cold=False)
    for i in range(3 * MAX_WAITING_LINES):
        pipeline.feed(f"{'abc' * (i % 7)} {i} {'x' * (i % 5)} ; {i}:{i}\n".encode(), i)
    assert len(pipeline.text._waiting) <= MAX_WAITING_LINES


def test_bytes_without_a_line_end_are_told_once() -> None:
    pipeline = BenchPipeline(OPEN_LESSON, 2, cold=False)
    outcomes = fed(pipeline, *[b"45.00" * 100] * 6)
    told = [change for outcome in outcomes for change in outcome.changes]
    found = [one.finding.kind for one in told if isinstance(one, FindingChange) and one.event == "found"]
    assert found == ["no line end"]


COUNTS = st.lists(
    st.sampled_from([b"80", b"88", b"89", b"90", b"98", b"99", b"101", b"nan", b"1300", b"x"]), max_size=40
)


@given(counts=COUNTS, cuts=st.sets(st.integers(0, 200)))
def test_the_outcome_does_not_depend_on_how_the_bytes_are_cut(counts: list[bytes], cuts: set[int]) -> None:
    data = b"".join(count + b"\n" for count in counts)
    lesson = lesson_of(
        bands=BANDS, limits=(AlarmGiven(kind="high", at=48.0, deadband=0.5), AlarmGiven(kind="low", at=40.0))
    )
    whole = BenchPipeline(lesson, 1, cold=False).feed(data, 7)
    pieces = BenchPipeline(lesson, 1, cold=False)
    edges = [0, *sorted(cut for cut in cuts if cut < len(data)), len(data)]
    outcomes = [pieces.feed(data[a:b], 7) for a, b in itertools.pairwise(edges)]
    assert [r for outcome in outcomes for r in outcome.readings] == whole.readings
    assert [c for outcome in outcomes for c in outcome.changes] == whole.changes
    assert [one for outcome in outcomes for one in outcome.lines] == whole.lines


@given(
    texts=st.lists(st.sampled_from(["21.5", "21.25", "-3", "1e3", "0.125", "7"]), min_size=1, max_size=30),
    data=st.data(),
)
def test_without_a_lesson_too_the_outcome_does_not_depend_on_the_cuts(
    texts: list[str], data: st.DataObject
) -> None:
    raw = "".join(f"Temp: {text} C\n" for text in texts).encode()
    cut = data.draw(st.integers(0, len(raw)))
    whole, pieces = (BenchPipeline(OPEN_LESSON, 1, cold=False) for _ in range(2))
    at_once = [whole.feed(raw, 7), whole.finish(9)]
    in_two = [pieces.feed(raw[:cut], 7), pieces.feed(raw[cut:], 7), pieces.finish(9)]
    assert [r for outcome in in_two for r in outcome.readings] == [
        r for outcome in at_once for r in outcome.readings
    ]
    assert whole.channels == pieces.channels


MANY = st.lists(
    st.sampled_from(
        [
            b"80\n",
            b"88\r\n",
            b"9",
            b"0\r",
            b"\n",
            b"101\n99\n",
            b"x\n",
            b"nan\n",
            b"\r",
            b"\xff\n",
            b"",
            b"1" * 600,
        ]
    ),
    max_size=60,
)


@given(pieces=MANY, cold=st.booleans(), is_open=st.booleans())
@example(pieces=[b"80\n", *[b"101\n99\n"] * 4, b"80\n"], cold=False, is_open=False)  # told within a chunk
def test_many_chunks_at_once_give_what_they_give_one_by_one(
    pieces: list[bytes], cold: bool, is_open: bool
) -> None:
    limits = (
        AlarmGiven(kind="high", at=48.0, deadband=0.5, on_delay_seconds=3.0),
        AlarmGiven(kind="low", at=40.0),
    )
    lesson = OPEN_LESSON if is_open else lesson_of(bands=BANDS, limits=limits)
    chunks = [(data, i * SECOND) for i, data in enumerate(pieces)]
    singly, at_once = (BenchPipeline(lesson, 1, cold=cold) for _ in range(2))
    outcomes = [singly.feed(data, at_ns) for data, at_ns in chunks]
    many = at_once.feed_many(chunks[:7])
    more = at_once.feed_many(chunks[7:])
    for i in range(3):
        assert [*many[i], *more[i]] == [one for outcome in outcomes for one in outcome[i]]
    assert at_once.channels == singly.channels
    assert (at_once.n_lines, at_once.n_set_aside) == (singly.n_lines, singly.n_set_aside)
    assert at_once.finish(99 * SECOND) == singly.finish(99 * SECOND)


def test_a_number_too_large_to_be_converted_is_bad() -> None:
    own = BenchChannel(channel="temperature", gain=10.0)
    lesson = lesson_of(bench_channel=own, conversion=None)
    (reading,) = BenchPipeline(lesson, 1, cold=False).feed(b"1e308\n", 0).readings
    assert (reading.value, reading.quality) == (None, "bad")


def test_a_missing_value_ends_a_delay_that_is_under_way() -> None:
    pipeline = BenchPipeline(lesson_of(limits=(HIGH,)), 1, cold=False)
    outcomes = fed(pipeline, b"101\n", b"nan\n", b"nan\n")
    last = [*outcomes, pipeline.tick(10 * SECOND)][-1]
    assert not any(isinstance(change, AlarmChange) for change in last.changes)
