from __future__ import annotations

import pytest

from bridge.core.lesson import FieldSpec, Layout
from bridge.lesson_changes import baud_changes, layout_changes
from bridge.lesson_file import lesson_from_text, revised

TEXT = """\
title = "Cooling cups"

[[bench]]
number = 3
name = "Wool"
"""
COLUMNS = Layout(
    name="learned", kind="columns", separator=",", decimal_comma=True,
    fields=(FieldSpec(name="column 1"), FieldSpec(name="column 2", unit="°C")),
)  # fmt: skip
PAIRS = Layout(
    name="learned", kind="pairs", separator=" ", lead="[12:30]",
    fields=(FieldSpec(name="Temp", label="Temp", unit="°C"), FieldSpec(name="h", label="Hum")),
)  # fmt: skip


@pytest.mark.parametrize("layout", [COLUMNS, PAIRS])
def test_a_chosen_layout_stands_in_the_lesson_and_reads_the_same(layout: Layout) -> None:
    lesson = lesson_from_text(TEXT)
    kept = lesson_from_text(revised(TEXT, layout_changes(lesson, 3, layout)))
    found = kept.layout_of(kept.bench(3))
    assert found is not None
    assert found.name == "as bench 3 prints"
    for key in ("kind", "separator", "decimal_comma", "lead", "tail", "thousands"):
        assert getattr(found, key) == getattr(layout, key)
    assert [(one.name, one.unit, one.label or one.name) for one in found.fields] == [
        (one.name, one.unit, one.label or one.name) for one in layout.fields
    ]


def test_the_same_layout_is_not_written_twice_and_another_gets_another_name() -> None:
    lesson = lesson_from_text(TEXT)
    text = revised(TEXT, layout_changes(lesson, 3, COLUMNS))
    again = layout_changes(lesson_from_text(text), 3, COLUMNS)
    assert again == [(("bench", 3, "layout"), "as bench 3 prints")]
    text = revised(text, layout_changes(lesson_from_text(text), 3, PAIRS))
    assert lesson_from_text(text).bench(3).layout == "as bench 3 prints 2"


def test_a_bench_that_the_lesson_lacks_gets_its_layout_and_its_rate() -> None:
    lesson = lesson_from_text(TEXT)
    text = revised(TEXT, layout_changes(lesson, 7, COLUMNS) + baud_changes(7, 19200))
    kept = lesson_from_text(text)
    assert kept.bench(7).baud == 19200
    assert kept.layout_of(kept.bench(7)) is not None
