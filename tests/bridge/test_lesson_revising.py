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
