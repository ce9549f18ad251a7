from __future__ import annotations

import contextlib
import tomllib
from collections.abc import Iterator
from typing import Any

import tomlkit
from hypothesis import example, given, settings
from hypothesis import strategies as st

from bridge.core.lesson import Lesson
from bridge.errors import LessonError
from bridge.lesson_file import faults_of, lesson_from_text, revised
from bridge.lesson_lines import Path, outline_of
from tests.bridge.lessons import FULL

scalars = (
    st.none() | st.booleans() | st.integers() | st.floats() | st.text() | st.dates() | st.times()
    | st.integers(10**300, 10**400) | st.sampled_from(["high", "sensor", "temperature", ""])
)  # fmt: skip
values = st.recursive(
    scalars.filter(lambda one: one is not None),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=8,
)
lines = st.lists(
    st.sampled_from([*FULL.split("\n"), "[", "]]", '"""', "x = [", "= 5", "bench.number = 3"]), max_size=60
)


def places(data: Any, at: Path = ()) -> Iterator[Path]:
    """Every place in the values of a TOML text."""
    steps = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for step, one in steps:
        yield (*at, step)
        yield from places(one, (*at, step))


PLACES = list(places(tomllib.loads(FULL)))


@settings(deadline=None)  # other work may share the processor
@given(text=st.text() | lines.map("\n".join))
@example(text="[" * 100_000)
@example(text="x = " + "[" * 100_000)
@example(text="x = " + "{a=" * 20_000)
@example(text="x = " + "9" * 5000)
@example(text="x = 0x" + "9" * 5000)
@example(text='title = "\ud800"')
@example(text="title = 'x'\n[bench.channel]\n'' = {}\n")
def test_any_text_gives_a_lesson_or_faults_with_a_line_of_the_text(text: str) -> None:
    faults = faults_of(text)
    try:
        lesson = lesson_from_text(text)
    except LessonError as error:
        told = error.faults
    else:
        told = ()
        assert isinstance(lesson, Lesson)
    assert told == tuple(faults)
    assert all(1 <= fault.line <= text.count("\n") + 1 and fault.wrong and fault.write for fault in faults)


@settings(deadline=None)  # other work may share the processor
@given(at=st.sampled_from(PLACES), value=values)
def test_any_value_in_place_of_another_gives_a_lesson_or_faults(at: Path, value: Any) -> None:
    data: Any = tomllib.loads(FULL)
    table = data
    for step in at[:-1]:
        table = table[step]
    table[at[-1]] = value
    try:
        text = tomlkit.dumps(data)
    except (ValueError, TypeError):
        return  # what the writer can't put into a text
    with contextlib.suppress(LessonError):
        lesson_from_text(text)
    assert all(fault.wrong and fault.write for fault in faults_of(text))


@settings(deadline=None)  # other work may share the processor
@given(
    path=st.lists(
        st.sampled_from(["bench", "channel", "temperature", "limit", "high", "at", "name", 1, 7]) | st.text()
    ),
    value=values | st.none(),
)
def test_any_change_gives_a_lesson_or_faults(path: list[str | int], value: object) -> None:
    with contextlib.suppress(LessonError):
        lesson_from_text(revised(FULL, [(path, value)]))


toml_keys = st.sampled_from(["a", "b", "c-d", "x y", "", "ä", 'q"', "1"])
toml_values = st.recursive(
    st.booleans() | st.integers(-99, 99) | st.text(max_size=5) | st.datetimes() | st.floats(allow_nan=False),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(toml_keys, inner, max_size=3)
    | st.lists(st.dictionaries(toml_keys, inner, min_size=1, max_size=2), min_size=1, max_size=3),
    max_leaves=12,
)  # fmt: skip


@settings(deadline=None)  # other work may share the processor
@given(data=st.dictionaries(toml_keys, toml_values, max_size=4))
def test_the_outline_has_every_place_that_the_parser_has(data: dict[str, Any]) -> None:
    text = tomlkit.dumps(data)
    outline = outline_of(text)
    assert set(outline.lines) == set(places(tomllib.loads(text)))
    for at, (start, end) in outline.values.items():
        value: Any = tomllib.loads(text)
        for step in at:
            value = value[step]
        assert tomllib.loads(f"x = {text[start:end]}") == {"x": value}
