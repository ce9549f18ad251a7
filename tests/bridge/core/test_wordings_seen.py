from __future__ import annotations

import pytest

from bridge.core.layouts import Values
from bridge.core.learning import Learner
from bridge.core.lesson import Layout
from tests.bridge.core.wordings_seen import LINES, STREAMS, Seen, Stream


def printed_lines(seen: Seen) -> tuple[list[str], list[tuple[float, ...]]]:
    """The lines of a wording, and the numbers as they were printed."""
    numbers = [_printed(seen.form, row) for row in zip(*seen.columns, strict=True)]
    texts = [seen.form.format(*row) for row in zip(*seen.columns, strict=True)]
    return [text.replace(".", ",") if seen.comma else text for text in texts], numbers


def _printed(form: str, row: tuple[float, ...]) -> tuple[float, ...]:
    """The numbers, rounded as the form prints them."""
    places = [piece.partition("}")[0] for piece in form.replace("{{", "").split("{")[1:]]
    shown = [f"{{{place}}}".format(one) for place, one in zip(places, row, strict=True)]
    return tuple(float(one.replace(",", "")) for one in shown)


def learned(texts: list[str]) -> Learner:
    learner = Learner()
    for text in texts:
        learner.take(text)
    return learner


def rows_of(learner: Learner, texts: list[str]) -> list[Values]:
    assert learner.reader is not None, learner.words
    return [row for row in map(learner.reader.values, texts) if row is not None]


@pytest.mark.parametrize("seen", LINES, ids=lambda seen: seen.words)
def test_a_wording_is_read_with_its_names_units_and_numbers(seen: Seen) -> None:
    texts, numbers = printed_lines(seen)
    learner = learned(texts)
    if "brackets behind a label" in seen.words:  # the labels say what counts; what is in brackets is left out
        numbers = [(row[0], row[2]) for row in numbers]
    assert rows_of(learner, texts) == numbers
    assert learner.reader is not None
    assert learner.reader.names == seen.names
    assert learner.reader.units == (seen.units or ("",) * len(seen.names))
    assert learner.reader.layout.kind == seen.kind


@pytest.mark.parametrize("seen", LINES, ids=lambda seen: seen.words)
def test_a_wording_that_is_certain_is_known_after_few_lines(seen: Seen) -> None:
    texts, _ = printed_lines(seen)
    known = next(i for i in range(1, len(texts) + 1) if learned(texts[:i]).reader is not None)
    assert known <= (6 if "," in texts[0] and seen.comma else 4)


@pytest.mark.parametrize("stream", STREAMS, ids=lambda stream: stream.words)
def test_a_stream_gives_its_rows_or_says_why_it_gives_none(stream: Stream) -> None:
    learner = learned(list(stream.lines))
    learner.finish()
    if stream.doubt or stream.fault or not stream.rows:
        assert learner.reader is None
        assert stream.doubt in (learner.doubt.words if learner.doubt is not None else "")
        assert bool(stream.doubt) == (learner.doubt is not None)
        assert bool(stream.fault) == bool(learner.run_together)
        return
    assert rows_of(learner, list(stream.lines)) == [tuple(map(float, row)) for row in stream.rows]
    assert learner.reader is not None
    assert learner.reader.names == stream.names


def test_a_doubt_comes_with_layouts_that_can_be_chosen() -> None:
    for stream in STREAMS:
        if not stream.doubt:
            continue
        learner = learned(list(stream.lines))
        learner.finish()
        assert learner.doubt is not None
        assert learner.doubt.alternatives
        assert all(isinstance(one, Layout) for one in learner.doubt.alternatives)
