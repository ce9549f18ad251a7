"""A sensor whose slope changes, through the pipeline: the uncertainty follows the value."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.lesson import AlarmGiven, BandsGiven, Bench, Channel, FieldSpec, Layout, Lesson
from bridge.core.pipeline import BenchPipeline
from tests.bridge.core.made_conversions import NTC, converter_of

LAYOUT = Layout(name="raw only", kind="columns", fields=(FieldSpec(name="raw"),))
LESSON = Lesson(
    title="Cooling",
    channels=(
        Channel(
            name="temperature", unit="°C", field="raw", conversion="ntc",
            bands=BandsGiven(baseline=20.0, edges=(5.0, 10.0), names=("", "", ""), deadband=0.2),
            limits=(AlarmGiven(kind="high", at=48.0, deadband=0.5),),
        ),
    ),
    conversions=(NTC,),
    layouts=(LAYOUT,),
    benches=(Bench(number=1, name="Cup", shape="circle", colour="orange", layout="raw only"),),
)  # fmt: skip
COUNTS = ["2278", "2048", "2048.5", "1500", "1100.25", "1000", "0", "4095", "5000", "nan", "x"]


@given(
    counts=st.lists(st.sampled_from(COUNTS), max_size=40), repeats=st.integers(1, 4),
    cuts=st.sets(st.integers(0, 400)),
)  # fmt: skip
def test_the_readings_of_a_curved_sensor_do_not_depend_on_the_cuts(
    counts: list[str], repeats: int, cuts: set[int]
) -> None:
    data = b"".join(count.encode() + b"\n" for count in counts for _ in range(repeats))
    whole = BenchPipeline(LESSON, 1, cold=False).feed(data, 7)
    pieces = BenchPipeline(LESSON, 1, cold=False)
    edges = [0, *sorted(cut for cut in cuts if cut < len(data)), len(data)]
    outcomes = [pieces.feed(data[a:b], 7) for a, b in itertools.pairwise(edges)]
    assert [r for outcome in outcomes for r in outcome.readings] == whole.readings
    assert [c for outcome in outcomes for c in outcome.changes] == whole.changes


@pytest.mark.parametrize("n_lines", [1, 50])
def test_each_reading_carries_the_uncertainty_of_its_own_place(n_lines: int) -> None:
    counts = [2000 + 3 * i for i in range(n_lines)]
    pipeline = BenchPipeline(LESSON, 1, cold=False)
    pipeline.feed(b"2000\n", 0)  # the first line settles the decimals
    readings = pipeline.feed(b"".join(b"%d\n" % count for count in counts), 1).readings
    converter = converter_of(NTC)
    assert [r.u for r in readings] == [converter.u_at(count, 0) for count in counts]
    assert len({r.u for r in readings}) == n_lines


def test_a_number_beyond_the_range_is_bad_with_its_reason() -> None:
    (reading,) = BenchPipeline(LESSON, 1, cold=False).feed(b"4095\n", 0).readings
    assert (reading.value, reading.u, reading.quality) == (None, None, "bad")
    assert "the sensor is not connected" in reading.reason
    pipeline = BenchPipeline(LESSON, 1, cold=False)
    pipeline.feed(b"4095\n", 0)
    assert pipeline.steps("temperature")[-1].formula == reading.reason


def test_the_steps_show_each_stage_with_its_numbers() -> None:
    pipeline = BenchPipeline(LESSON, 1, cold=False)
    pipeline.feed(b"2278\n", 0)
    shown = [(step.formula, step.unit) for step in pipeline.steps("temperature")]
    assert shown[1:3] == [
        ("2278 / 4096", ""),
        ("10000 Ω × 0.556152 / (1 − 0.556152)", "Ω"),
    ]
    assert shown[3] == ("1 / (1 / 298.15 K + ln(12530.3 Ω / 10000 Ω) / 3950 K) − 273.15 K", "°C")
