from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.core.labelled import label_of
from bridge.core.learning import Learner
from bridge.core.lesson import Layout
from bridge.lesson_changes import layout_changes
from bridge.lesson_file import lesson_from_text, revised
from tests.bridge.core.wordings_seen import STREAMS, Stream

TEXT = 'title = "Which cover keeps the cup warm?"\n[[bench]]\nnumber = 2\n'


def layouts_of(stream: Stream) -> list[Layout]:
    """What can be learned from a stream, or chosen for it."""
    learner = Learner()
    for text in stream.lines:
        learner.take(text)
    learner.finish()
    if learner.reader is not None:
        return [learner.reader.layout]
    return list(learner.doubt.alternatives) if learner.doubt is not None else []


@pytest.mark.parametrize("stream", STREAMS, ids=lambda stream: stream.words)
def test_whatever_was_learned_or_chosen_stands_in_the_lesson_as_it_was(stream: Stream) -> None:
    for layout in layouts_of(stream):
        text = revised(TEXT, layout_changes(lesson_from_text(TEXT), 2, layout))
        lesson = lesson_from_text(text)
        kept = lesson.layout_of(lesson.bench(2))
        assert kept is not None
        assert [(label_of(one), one.name, one.unit, one.decimals) for one in kept.fields] == [
            (label_of(one), one.name, one.unit, one.decimals) for one in layout.fields
        ]
        assert replace(kept, name="", fields=()) == replace(layout, name="", fields=())


def test_the_same_layout_is_kept_once_and_another_under_a_name_of_its_own() -> None:
    first, second, *_ = [one for stream in STREAMS for one in layouts_of(stream)]
    once = revised(TEXT, layout_changes(lesson_from_text(TEXT), 2, first))
    assert revised(once, layout_changes(lesson_from_text(once), 2, first)) == once
    twice = lesson_from_text(revised(once, layout_changes(lesson_from_text(once), 2, second)))
    assert len({one.name for one in twice.layouts}) == 2
