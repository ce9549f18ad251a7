from __future__ import annotations

import io
import os
import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from bridge.core.findings import FindingChange
from bridge.core.lesson import AlarmGiven, BenchChannel, Channel, Lesson, plain_bench
from bridge.core.pipeline import BenchPipeline, Outcome
from bridge.core.readings import AlarmChange, Reading
from bridge.errors import LessonError, RecordingError
from bridge.lesson_file import lesson_from_text
from bridge.recorded import Chunk, Event, Recorded
from bridge.recording import RecordingWriter
from bridge.table import outcomes_of, read_recording, readings_of_bytes, readings_of_recording, utc_ns_of

START_UTC_NS = 1_790_000_000_123_456_789
SECOND_NS = 1_000_000_000
WARM = 'title = "cups"\n[[channel]]\nname = "Temp"\nunit = "°C"\nlow = 0.0\nhigh = 60.0\n'
OFFSET = """
[[bench]]
number = 1
name = "One"
shape = "circle"
colour = "orange"
[bench.channel.Temp]
offset = 0.5
"""


def recorded(
    folder: Path, fill: Callable[[RecordingWriter], None], *, lesson_text: str = WARM, closed: bool = True
) -> Path:
    """A recording made by the writer; left without an end when it is not closed."""
    writer = RecordingWriter(
        folder / "session.benchrow",
        lesson_text=lesson_text,
        start_utc_ns=START_UTC_NS,
        program="benchrow test",
        commit_seconds=0.02,
    )
    fill(writer)
    assert writer.flush()
    if closed:
        writer.close()
    return writer.path


def print_lines(writer: RecordingWriter, first: int = 0, n: int = 10, *, bench: int = 1) -> None:
    """A line end first, for a bench begins cold; then a line a second."""
    writer.add_chunk(bench, b"\n", first * SECOND_NS)
    for i in range(first, first + n):
        writer.add_chunk(bench, b"Temp: %d.5 C\r\n" % (20 + i), i * SECOND_NS)


# ---- recordings ----


def test_each_reading_is_a_row_with_its_utc(tmp_path: Path) -> None:
    table = read_recording(recorded(tmp_path, print_lines))
    assert list(table.columns) == ["time", "bench", "channel", "value", "unit", "u", "quality", "line"]
    assert table["value"].tolist() == [20.5 + i for i in range(10)]
    assert table["time"].dtype == pd.DatetimeTZDtype("ns", "UTC")
    assert table["time"].astype("int64").tolist() == [START_UTC_NS + i * SECOND_NS for i in range(10)]
    assert set(table["bench"]) == {1}
    assert set(table["channel"]) == {"Temp"}
    assert set(table["quality"]) == {"good"}
    assert table["line"].tolist() == [table["line"][0] + i for i in range(10)]
    assert table.attrs["damage"] == ""


def test_a_recording_without_a_lesson_makes_each_field_a_channel(tmp_path: Path) -> None:
    table = read_recording(recorded(tmp_path, print_lines, lesson_text=""))
    assert table["value"].tolist() == [20.5 + i for i in range(10)]
    assert set(table["unit"]) == {"°C"}


def test_nothing_read_is_an_empty_table_of_the_same_form(tmp_path: Path) -> None:
    table = read_recording(recorded(tmp_path, lambda writer: None))
    assert len(table) == 0
    assert table["time"].dtype == pd.DatetimeTZDtype("ns", "UTC")
    assert [str(table[name].dtype) for name in ("bench", "value")] == ["int64", "float64"]


def test_one_that_is_still_written_is_read_as_far_as_it_goes(tmp_path: Path) -> None:
    assert len(read_recording(recorded(tmp_path, print_lines, closed=False))) == 10


def test_a_missing_value_is_not_a_number_and_not_zero(tmp_path: Path) -> None:
    def fill(writer: RecordingWriter) -> None:
        print_lines(writer, n=4)
        writer.add_chunk(1, b"Temp: nan C\r\n", 9 * SECOND_NS)

    table = read_recording(recorded(tmp_path, fill))
    assert table["value"].isna().tolist() == [False] * 4 + [True]
    assert table["quality"].tolist() == ["good"] * 4 + ["bad"]


def test_a_revision_counts_from_its_time_on(tmp_path: Path) -> None:
    def fill(writer: RecordingWriter) -> None:
        print_lines(writer, n=5)
        writer.add_lesson(WARM + OFFSET, 4 * SECOND_NS)
        for i in range(5, 8):
            writer.add_chunk(1, b"Temp: %d.5 C\r\n" % (20 + i), i * SECOND_NS)

    assert read_recording(recorded(tmp_path, fill))["value"].tolist() == [
        20.5, 21.5, 22.5, 23.5, 24.5, 26.0, 27.0, 28.0,
    ]  # fmt: skip


@pytest.mark.parametrize("how", ["object", "file"])
def test_a_given_lesson_replaces_all_that_the_recording_holds(tmp_path: Path, how: str) -> None:
    def fill(writer: RecordingWriter) -> None:
        print_lines(writer, n=5)
        writer.add_lesson(WARM + OFFSET, 2 * SECOND_NS)

    path = recorded(tmp_path, fill)
    bench = replace(plain_bench(1), channels=(BenchChannel(channel="Temp", gain=2.0),))
    lesson: Lesson | Path = Lesson(title="other", channels=(Channel(name="Temp"),), benches=(bench,))
    if how == "file":
        lesson = tmp_path / "other.toml"
        lesson.write_text(WARM + OFFSET.replace("offset = 0.5", "gain = 2.0"), encoding="utf-8")
    assert read_recording(path, lesson)["value"].tolist() == [2 * (20.5 + i) for i in range(5)]


def test_a_faulty_lesson_is_told(tmp_path: Path) -> None:
    faulty = tmp_path / "faulty.toml"
    faulty.write_text("titel = 3\n")
    path = recorded(tmp_path, print_lines)
    with pytest.raises(LessonError):
        read_recording(path, faulty)
    with pytest.raises(RecordingError):
        read_recording(tmp_path / "nothing.benchrow")


def test_no_half_line_on_either_side_of_a_break_is_read(tmp_path: Path) -> None:
    def fill(writer: RecordingWriter) -> None:
        print_lines(writer, n=4)
        writer.add_chunk(1, b"Temp: 99", 5 * SECOND_NS)
        writer.add_event("break", 1, 6 * SECOND_NS, {"cold": True, "words": "unplugged"})
        writer.add_chunk(1, b"88.0 C\r\nTemp: 30.5 C\r\n", 7 * SECOND_NS)

    assert read_recording(recorded(tmp_path, fill))["value"].tolist() == [20.5, 21.5, 22.5, 23.5, 30.5]


def test_a_source_that_began_at_a_line_start_says_so_by_an_event(tmp_path: Path) -> None:
    def fill(writer: RecordingWriter) -> None:
        writer.add_event("break", 1, 0, {"cold": False, "words": "a pipe"})
        writer.add_chunk(1, b"Temp: 20.5 C\r\nTemp: 21.5 C\r\nTemp: 22.5 C\r\n", 0)

    assert read_recording(recorded(tmp_path, fill))["value"].tolist() == [20.5, 21.5, 22.5]


def test_readings_are_those_of_the_pipeline_bit_for_bit(tmp_path: Path) -> None:
    chunks = [(i % 3 + 1, b"Temp: %d.%d C\r\nTem" % (i, i % 10), i * 7_000_003) for i in range(200)]
    pipelines = {bench: BenchPipeline(Lesson(title="open"), bench, cold=True) for bench in (1, 2, 3)}
    live: list[Reading] = []

    def fill(writer: RecordingWriter) -> None:
        for i, (bench, data, at_ns) in enumerate(chunks):
            data = data if i < 3 else b"p: " + data[6:]
            writer.add_chunk(bench, data, at_ns)
            live.extend(pipelines[bench].feed(data, at_ns).readings)

    path = recorded(tmp_path, fill, lesson_text="")
    assert len(live) > 150
    assert list(readings_of_recording(path)) == sorted(live, key=lambda reading: reading.at_ns)


def test_alarms_and_their_acknowledgement_come_again(tmp_path: Path) -> None:
    limit = AlarmGiven(kind="high", at=25.0, on_delay_seconds=2.5)
    lesson = Lesson(title="limits", channels=(Channel(name="Temp", limits=(limit,)),))

    def fill(writer: RecordingWriter) -> None:
        print_lines(writer, n=12)
        detail: dict[str, object] = {"channel": "Temp", "limit": "high", "who": "instructor"}
        writer.add_event("acknowledge", 1, 11 * SECOND_NS, detail)

    with Recorded(recorded(tmp_path, fill)) as file:
        outcomes = list(outcomes_of(file.items(), lesson=lesson, end_ns=file.length_ns))
    changes = [one for _, outcome in outcomes for one in outcome.changes if isinstance(one, AlarmChange)]
    assert [(one.event, one.at_ns, one.who) for one in changes] == [
        ("rise", 5 * SECOND_NS + limit_delay_ns(limit), "rule"),
        ("acknowledge", 11 * SECOND_NS, "instructor"),
    ]


def limit_delay_ns(limit: AlarmGiven) -> int:
    return round(limit.on_delay_seconds * SECOND_NS)


def test_a_jump_of_the_wall_clock_counts_from_its_anchor_on(tmp_path: Path) -> None:
    jumped_ns = START_UTC_NS + 3600 * SECOND_NS

    def fill(writer: RecordingWriter) -> None:
        print_lines(writer, n=4)
        writer.add_anchor(4 * SECOND_NS, jumped_ns)
        writer.add_chunk(1, b"Temp: 24.5 C\r\n", 5 * SECOND_NS)

    times = read_recording(recorded(tmp_path, fill))["time"].astype("int64").tolist()
    assert times == [START_UTC_NS + i * SECOND_NS for i in range(4)] + [jumped_ns + SECOND_NS]


@pytest.mark.parametrize(("at_ns", "utc_ns"), [(-5, 95), (0, 100), (9, 109), (10, 500), (11, 501), (20, 90)])
def test_the_latest_anchor_at_or_before_tells_the_utc(at_ns: int, utc_ns: int) -> None:
    assert utc_ns_of(at_ns, [(0, 100), (10, 500), (20, 90)]) == utc_ns


# ---- raw bytes ----

RAW = b"21.5\r\n21.0\r\n20.5\r\n20.0\r\n"


def values(readings: list[Reading]) -> list[float | None]:
    return [one.value for one in readings]


def test_a_raw_file_begins_at_a_line_start() -> None:
    assert values(list(readings_of_bytes(RAW))) == [21.5, 21.0, 20.5, 20.0]


def test_a_cold_one_may_begin_inside_a_line() -> None:
    assert values(list(readings_of_bytes(RAW, cold=True))) == [21.0, 20.5, 20.0]


def test_with_a_baud_a_reading_has_the_time_of_its_lines_last_byte() -> None:
    times_ns = [one.at_ns for one in readings_of_bytes(RAW, baud=9600)]
    assert times_ns == [n_bytes * 10 * SECOND_NS // 9600 for n_bytes in (6, 12, 18, 24)]


def test_without_one_there_is_no_time() -> None:
    assert {one.at_ns for one in readings_of_bytes(RAW)} == {0}


@pytest.mark.parametrize("end", [b"\n", b"\r", b"\r\n"])
@pytest.mark.parametrize("baud", [None, 115200])
def test_line_ends_and_portions_change_no_value(end: bytes, baud: int | None) -> None:
    n = 20_000
    data = b"".join(b"%d.25" % i + end for i in range(n))
    assert values(list(readings_of_bytes(data, baud=baud))) == [i + 0.25 for i in range(n)]


def test_the_lessons_first_bench_is_meant_unless_one_is_named() -> None:
    benches = tuple(
        replace(plain_bench(number), channels=(BenchChannel(channel="Temp", offset=float(number)),))
        for number in (4, 7)
    )
    lesson = Lesson(title="two", channels=(Channel(name="Temp"),), benches=benches)
    data = b"Temp: 20.0\nTemp: 21.0\nTemp: 22.0\n"
    first = list(readings_of_bytes(data, lesson=lesson))
    named = list(readings_of_bytes(data, lesson=lesson, bench=7))
    assert [(one.bench, one.value) for one in first] == [(4, 24.0), (4, 25.0), (4, 26.0)]
    assert [(one.bench, one.value) for one in named] == [(7, 27.0), (7, 28.0), (7, 29.0)]


def test_a_stream_is_read_to_its_end() -> None:
    assert values(list(readings_of_bytes(io.BytesIO(RAW)))) == [21.5, 21.0, 20.5, 20.0]


def test_readings_of_a_stream_come_while_it_is_still_open() -> None:
    read_end, write_end = os.pipe()
    with os.fdopen(read_end, "rb") as stream, os.fdopen(write_end, "wb", buffering=0) as board:
        board.write(RAW)
        readings = readings_of_bytes(stream)
        first = next(readings)

        def print_more() -> None:
            board.write(b"19.5\r\n")
            board.close()

        more = threading.Thread(target=print_more)
        more.start()
        rest = list(readings)
        more.join()
    assert values([first, *rest]) == [21.5, 21.0, 20.5, 20.0, 19.5]
    assert [one.at_ns for one in rest] == sorted(one.at_ns for one in rest)


def is_of_class(change: object) -> bool:
    """Whether it was found by comparing benches: no bench by itself could tell it."""
    return isinstance(change, FindingChange) and change.finding.kind == "unlike the others"


def test_the_bulk_way_gives_the_readings_and_changes_of_the_pipeline_bit_for_bit() -> None:
    demo = Path(__file__).parents[2] / "demo" / "recording.benchrow"
    with Recorded(demo) as recorded:
        items, end_ns = list(recorded.items()), recorded.length_ns
        lesson = lesson_from_text(recorded.lessons[0][1])
    singly = {bench: BenchPipeline(lesson, bench, cold=True) for bench in range(1, 9)}
    expected: dict[int, list[Outcome]] = {bench: [] for bench in singly}
    for item in items:
        if isinstance(item, Chunk):
            expected[item.bench].append(singly[item.bench].feed(item.data, item.at_ns))
        elif isinstance(item, Event) and item.bench is not None:
            one, detail = singly[item.bench], item.detail
            if item.kind == "break":
                expected[item.bench].append(one.break_off(item.at_ns, cold=bool(detail["cold"])))
            elif item.kind == "link":
                expected[item.bench].append(one.link(detail["state"], item.at_ns, baud=detail["baud"]))
            elif item.kind == "acknowledge":
                channel, limit, who = detail["channel"], detail["limit"], detail["who"]
                expected[item.bench].append(one.acknowledge(channel, limit, item.at_ns, who))
    for bench, one in singly.items():
        expected[bench] += [one.tick(end_ns), one.finish(end_ns)]
    found: dict[int, list[Outcome]] = {bench: [] for bench in singly}
    for bench, outcome in outcomes_of(items, lesson=lesson, end_ns=end_ns):
        found[bench].append(outcome)
    for bench in singly:
        for part in range(3):
            of_bench = [one for outcome in found[bench] for one in outcome[part]]
            assert [one for one in of_bench if not is_of_class(one)] == [
                one for outcome in expected[bench] for one in outcome[part]
            ]


def test_the_time_on_the_wire_is_taken_off_for_benches_at_different_bauds(tmp_path: Path) -> None:
    def fill(writer: RecordingWriter) -> None:
        for bench, baud in ((1, 9600), (2, 115_200)):
            writer.add_event("link", bench, 0, {"state": "open", "baud": baud})
        for i in range(6):
            for bench in (1, 2):
                writer.add_chunk(bench, b"Temp: 21.5 C\r\n", (i + 1) * SECOND_NS)

    path = recorded(tmp_path, fill)
    arrived, sent = read_recording(path), read_recording(path, as_sent=True)
    assert (arrived.time == pd.to_datetime(START_UTC_NS + arrived.line * SECOND_NS, utc=True)).all()
    # 14 bytes of 10 bits: 14.58 ms at 9600 baud, 1.215 ms at 115200.
    for bench, taken_off_ns in ((1, 14_583_333), (2, 1_215_277)):
        early = [
            a.value - b.value
            for a, b in zip(arrived[arrived.bench == bench].time, sent[sent.bench == bench].time, strict=True)
        ]
        assert set(early) == {taken_off_ns}
