from __future__ import annotations

import difflib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.errors import LessonError
from bridge.lesson_file import lesson_from_text, revised
from tests.bridge.lessons import FULL


def differing(before: str, after: str) -> tuple[list[str], list[str]]:
    """The lines that went and the lines that came."""
    lines = list(difflib.ndiff(before.split("\n"), after.split("\n")))
    return [one[2:] for one in lines if one[0] == "-"], [one[2:] for one in lines if one[0] == "+"]


def test_a_value_changes_and_nothing_else() -> None:
    after = revised(FULL, [(("channel", "temperature", "limit", "high", "at"), 47.5)])
    assert differing(FULL, after) == (["at = 48.0"], ["at = 47.5"])


def test_the_remark_behind_a_value_stays() -> None:
    after = revised(FULL, [(("title",), "Another")])
    assert 'title = "Another"  # on every page\n' in after


def test_remarks_between_the_entries_of_a_list_stay() -> None:
    after = revised(FULL, [(("channel", "temperature", "bands", "edges"), [2.5, 5.0, 10.0])])
    assert differing(FULL, after) == (["    2.0,  # hand-warm"], ["    2.5,  # hand-warm"])


def test_the_same_value_leaves_its_spelling() -> None:
    assert revised(FULL, [(("conversion", "sensor", "volts_per_unit"), 0.01)]) == FULL


def test_a_missing_table_is_made_below_its_bench_and_above_the_next_ones_remark() -> None:
    text = FULL.replace(
        "# The bench at the door.\n[[bench]]\nnumber = 2",
        "[[bench]]\nnumber = 2\n\n# Third\n[[bench]]\nnumber = 3",
    )
    after = revised(text, [(("bench", 2, "channel", "temperature", "offset"), -0.4)])
    assert (
        "number = 2\n\n[bench.channel.temperature]\noffset = -0.4\n\n# Third\n[[bench]]\nnumber = 3\n"
        in after
    )


def test_a_missing_bench_is_made_with_its_table() -> None:
    after = revised(FULL, [(("bench", 9, "channel", "temperature", "baseline"), 21)])
    assert after == FULL + "\n[[bench]]\nnumber = 9\n\n[bench.channel.temperature]\nbaseline = 21.0\n"


def test_a_missing_limit_is_made_inside_its_channel() -> None:
    after = revised(FULL, [(("channel", "temperature", "limit", "low"), {"at": 18.0, "priority": "low"})])
    assert [one.kind for one in lesson_from_text(after).channels[0].limits] == ["high", "low"]
    assert 'kind = "low"\nat = 18.0\npriority = "low"\n\n# The sensor' in after


def test_a_new_channel_with_a_limit_has_both_headers() -> None:
    after = revised(FULL, [(("channel", "voltage", "limit", "low", "at"), 1.0)])
    assert lesson_from_text(after).channels[1].limits[0].at == 1.0


def test_the_first_bench_of_a_lesson_can_be_made_in_a_text_without_a_last_line_end() -> None:
    assert revised('title = "x"', [(("bench", 1, "name"), "One")]) == (
        'title = "x"\n\n[[bench]]\nnumber = 1\nname = "One"\n'
    )


def test_a_key_taken_away_takes_its_line() -> None:
    after = revised(FULL, [(("bench", 1, "board"), None)])
    assert differing(FULL, after) == (['board = "location:1-1.2"'], [])


INLINE = """\
title = "x"
channel = [{ name = "t", limit = [
    { kind = "high", at = 5 },  # a remark
] }]
[[bench]]
number = 1
channel.t.gain = 2.0
[[bench]]
number = 2
channel = { t = { gain = 3.0 } }
"""


@pytest.mark.parametrize(
    ("path", "value", "piece"),
    [
        (("bench", 1, "channel", "t", "offset"), 1.0, "channel.t.gain = 2.0\nchannel.t.offset = 1.0\n"),
        (("bench", 2, "channel", "t", "offset"), 1.0, "{ gain = 3.0, offset = 1.0 }"),
        (("bench", 2, "channel", "t", "gain"), None, "channel = { t = {} }"),
        (("bench", 1, "channel", "t", "gain"), None, "number = 1\n[[bench]]"),
        (("channel", "t", "limit", "low", "at"), 1.0, '5 }, { kind = "low", at = 1.0 },  # a remark'),
        (("channel", "u", "unit"), "V", '] }, { name = "u", unit = "V" }]'),
        (
            ("channel", "t", "bands"),
            {"baseline": 1.0, "edges": [1.0]},
            "bands.baseline = 1.0, bands.edges = [1.0] }",
        ),
    ],
)
def test_tables_written_in_other_ways_are_changed_in_theirs(
    path: tuple[str | int, ...], value: object, piece: str
) -> None:
    assert piece in revised(INLINE, [(path, value)])


def test_windows_line_ends_stay() -> None:
    after = revised(FULL.replace("\n", "\r\n"), [(("bench", 2, "channel", "temperature", "gain"), 1.5)])
    assert after.count("\n") == after.count("\r\n") == FULL.count("\n") + 3


CALIBRATION = ("bench", 1, "channel", "temperature", "calibration")
POINTS = [[20.1, 20.6, 0.1, 0.05], [45.0, 44.7, 0.1, 0.05]]


def test_a_captured_point_gets_a_line_of_its_own_and_remarks_stay() -> None:
    after = revised(FULL, [((*CALIBRATION, "points"), [*POINTS, [30.0, 30.2, 0.1, 0.02]])])
    assert differing(FULL, after) == ([], ["    [30.0, 30.2, 0.1, 0.02],"])
    lesson = lesson_from_text(after)
    calibration = lesson.bench(1).channels[0].calibration
    assert calibration is not None
    assert calibration.points[2] == (30.0, 30.2, 0.1, 0.02)


def test_a_point_behind_one_without_a_comma_gets_it() -> None:
    text = FULL.replace("0.05],  # the warm bath", "0.05]  # the warm bath")
    after = revised(text, [((*CALIBRATION, "points"), [*POINTS, [30.0, 30.2]])])
    assert "0.05],  # the warm bath\n    [30.0, 30.2],\n]" in after


def test_a_point_taken_away_takes_its_line_and_its_remark() -> None:
    text = FULL.replace('fit = "line"', 'fit = "offset"')
    after = revised(text, [((*CALIBRATION, "points"), POINTS[:1])])
    assert differing(text, after) == (["    [45.0, 44.7, 0.1, 0.05],  # the warm bath"], [])
    after = revised(text, [((*CALIBRATION, "points"), POINTS[1:])])
    assert differing(text, after) == (["    [20.1, 20.6, 0.1, 0.05],"], [])


def test_the_first_point_of_a_bench_makes_its_calibration() -> None:
    changes: list[tuple[tuple[str | int, ...], object]] = [
        (("bench", 9, *CALIBRATION[2:], "points"), [[45.0, 44.62, 0.1, 0.021]]),
        (("bench", 9, *CALIBRATION[2:], "date"), "2026-03-05"),
    ]
    assert revised(FULL, changes) == FULL + (
        "\n[[bench]]\nnumber = 9\n\n[bench.channel.temperature.calibration]\n"
        "points = [[45.0, 44.62, 0.1, 0.021]]\ndate = 2026-03-05\n"
    )


def test_points_that_no_longer_fit_into_a_line_get_one_each() -> None:
    text = 'title = "x"\n[[bench]]\nnumber = 1\n'
    for n in range(1, 6):
        points = [[10.0 * i, 10.0 * i + 0.25, 0.1, 0.02] for i in range(n)]
        text = revised(text, [((*CALIBRATION, "points"), points)])
    lines = "".join(f"    [{one}, {one + 0.25}, 0.1, 0.02],\n" for one in (0.0, 10.0, 20.0, 30.0, 40.0))
    assert text.endswith(f"points = [\n{lines}]\n")


def test_a_calibration_taken_away_takes_its_table_and_nothing_else() -> None:
    after = revised(FULL, [(CALIBRATION, None)])
    went, came = differing(FULL, after)
    table = FULL[
        FULL.index("[bench.channel.temperature.calibration]") : FULL.index("\n# The bench at the door")
    ]
    assert (sorted(went), came) == (sorted(table.split("\n")), [])
    assert "baseline = 20.5\n\n# The bench at the door.\n[[bench]]\nnumber = 2\n" in after
    assert lesson_from_text(after).bench(1).channels[0].calibration is None
    assert revised(after, [(CALIBRATION, None)]) == after


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("[bench.channel.t]\ngain = 2.0\ncalibration.points = [[1, 2]]\ncalibration.fit = \"offset\"\n",
         "[bench.channel.t]\ngain = 2.0\n"),
        ("channel.t.calibration = { points = [[1, 2]] }  # once\n", ""),
        ("channel = { t = { gain = 2.0, calibration.points = [[1, 2]] } }\n",
         "channel = { t = { gain = 2.0 } }\n"),
        ("[bench.channel.t.calibration] # why\npoints = [\n[1, 2],\n]\n\n# at the end\n", "\n# at the end\n"),
    ],
)  # fmt: skip
def test_a_table_is_taken_away_however_it_was_written(text: str, left: str) -> None:
    head = 'title = "x"\n[[bench]]\nnumber = 1\n'
    assert revised(head + text, [(("bench", 1, "channel", "t", "calibration"), None)]) == head + left


def test_bands_and_a_benchs_own_table_can_be_taken_away_too() -> None:
    start, end = FULL.index("[[channel.phase_bands]]"), FULL.index("[[channel.limit]]")
    plain = FULL[:start] + FULL[end:]  # bands of a phase need the channel's own
    after = revised(plain, [(("channel", "temperature", "bands"), None), (CALIBRATION[:4], None)])
    lesson = lesson_from_text(after)
    assert (lesson.channels[0].bands, lesson.bench(1).channels) == (None, ())


@settings(deadline=None)  # other work may share the processor
@given(
    before=st.lists(st.tuples(st.integers(0, 9), st.integers(10, 19)), min_size=1, max_size=6),
    after=st.lists(st.tuples(st.integers(0, 9), st.integers(10, 19)), min_size=1, max_size=6),
    style=st.sampled_from(["[{}]", "[\n{},\n]", "[\n{}  # last\n]", "[\n# first\n{}\n,\n]"]),
    between=st.sampled_from([", ", ",\n", ",  # a remark\n", "  # a remark\n  , "]),
)
def test_any_points_become_any_others_and_every_other_line_stays(
    before: list[tuple[int, int]], after: list[tuple[int, int]], style: str, between: str
) -> None:
    listed = style.format(between.join(str(list(point)) for point in before))
    text = f'title = "x"\n[[bench]]\nnumber = 1\n[bench.channel.t.calibration]\npoints = {listed}\n# end\n'
    path = ("bench", 1, "channel", "t", "calibration", "points")
    changed = revised(text, [(path, [list(one) for one in after])])
    calibration = lesson_from_text(changed).bench(1).channels[0].calibration
    assert calibration is not None
    assert [point[:2] for point in calibration.points] == after
    assert changed.endswith("]\n# end\n")


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        (("bench", 1, "bord"), "x", '(did you mean "board"?)'),
        (("bench",), 5, "which one is meant"),
        (("bench", 1), 5, "the path ends at a table"),
        (("title", "x"), "y", "nothing stands below title"),
        (("title",), object(), "can't stand in a lesson file"),
        (("bench", 1, "baud"), 7, "baud must be from 300 to 4000000, found 7"),
        (("channel", "temperature", "low"), float("nan"), "finite"),
        (("conversion", "sensor", "name"), "other", "no conversion has that name"),
        ("title", "y", "a path is a list"),
    ],
)
def test_a_change_that_can_not_be_is_refused_with_words(
    path: tuple[str | int, ...], value: object, words: str
) -> None:
    with pytest.raises(LessonError) as caught:
        revised(FULL, [(path, value)])
    assert words in "\n".join(str(fault) for fault in caught.value.faults)


def test_a_text_that_is_no_toml_is_refused() -> None:
    with pytest.raises(LessonError):
        revised("title = \n", [(("title",), "x")])


@settings(deadline=None)  # other work may share the processor
@given(
    number=st.integers(1, 64),
    gain=st.floats(0.1, 10),
    offset=st.floats(-99, 99),
    name=st.text("abc °'\"#[]=\\", min_size=1).filter(str.strip),
)
def test_what_was_set_is_what_is_read(number: int, gain: float, offset: float, name: str) -> None:
    own = {"gain": gain, "offset": offset}
    lesson = lesson_from_text(
        revised(FULL, [(("bench", number, "channel", "temperature"), own), (("bench", number, "name"), name)])
    )
    bench = lesson.bench(number)
    assert (bench.name, bench.channels[0].gain, bench.channels[0].offset) == (name, gain, offset)
    assert lesson.channels == lesson_from_text(FULL).channels
