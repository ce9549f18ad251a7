from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.framing import Line
from bridge.core.lesson import FieldSpec, Layout
from bridge.core.readings import Note
from bridge.core.text_reader import LEARN_NS, MAX_WAITING_LINES, READ, SET_ASIDE, WAITING, TextReader, TextRun

SECOND = 1_000_000_000
RAW = Layout(name="raw only", kind="columns", fields=(FieldSpec(name="raw"),))


def lines(*texts: str, every_ns: int = SECOND // 2, flaws: str = "") -> list[Line]:
    return [Line(i, text, text.encode(), (i - 1) * every_ns, flaws) for i, text in enumerate(texts, start=1)]


def rows(runs: Sequence[TextRun]) -> list[tuple[float | None, ...]]:
    return [row for run in runs for row in run.rows]


def fates(runs: Sequence[TextRun]) -> list[tuple[int, str]]:
    return [(line.number, fate) for run in runs for line, fate in run.shown]


def notes(runs: Sequence[TextRun]) -> list[Note]:
    return [note for run in runs for note in run.notes]


def test_lines_wait_until_the_layout_is_known_and_are_read_then() -> None:
    assert TextReader(3, None).sure == "unknown"
    text = TextReader(3, None)
    runs = text.take(lines("T: 21.5 C", "T: 21.6 C", "T: 21.7 C", "T: 21.8 C"))
    assert rows(runs) == [(21.5,), (21.6,), (21.7,), (21.8,)]
    assert fates(runs)[:3] == [(1, WAITING), (2, WAITING), (3, WAITING)]
    assert fates(runs)[3:] == [(n, READ) for n in (1, 2, 3, 4)]
    (note,) = notes(runs)
    assert (note.at_ns, note.bench, note.kind, note.words) == (SECOND, 3, "layout", text.layout_words)
    assert text.sure == "sure"
    assert text.samples == ("T: 21.5 C", "T: 21.6 C", "T: 21.7 C", "T: 21.8 C")


def test_a_layout_of_the_lesson_is_used_from_the_first_line() -> None:
    text = TextReader(1, RAW)
    assert (text.sure, text.layout_words) == ("lesson", "as the lesson says: raw only")
    runs = text.take(lines("92", "ERR 7: 3", "hello"))
    assert rows(runs) == [(92.0,)]
    assert fates(runs) == [(1, READ), (2, SET_ASIDE), (3, "text")]
    assert text.n_set_aside == 1


def test_after_five_seconds_two_lines_decide_at_the_instant_when_they_are_over() -> None:
    text = TextReader(1, None)
    assert rows(text.take(lines("T: 1", "T: 2", every_ns=2 * SECOND))) == []
    runs = text.tick(60 * SECOND)
    assert rows(runs) == [(1.0,), (2.0,)]
    assert [note.at_ns for note in notes(runs)] == [LEARN_NS]


def test_after_five_seconds_one_line_alone_waits_for_another() -> None:
    text = TextReader(1, None)
    assert rows(text.take(lines("7;8", "T: 1", every_ns=4 * SECOND))) == []
    assert rows(text.tick(60 * SECOND)) == []
    later = Line(3, "T: 2", b"", 70 * SECOND, "")
    assert rows(text.take([later])) == [(1.0,), (2.0,)]


def test_a_given_layout_sets_aside_what_waited_and_counts_from_then_on() -> None:
    text = TextReader(1, None)
    text.take(lines("45,00", "44,88"))
    before = text.revision
    runs = text.set_layout(RAW, 9)
    assert fates(runs) == [(1, SET_ASIDE), (2, SET_ASIDE)]
    assert text.revision > before
    assert runs[0].reader is not None
    assert text.set_layout(RAW, 10) == []


def test_the_lessons_layout_is_not_learned_anew_and_a_learned_one_is() -> None:
    given_by_hand, learned = TextReader(1, RAW), TextReader(1, None)
    learned.take(lines("T: 1", "T: 2", "T: 3"))
    assert given_by_hand.relearn(9) == []
    assert given_by_hand.reader is not None
    learned.relearn(9)
    assert learned.reader is None
    assert rows(learned.take(lines("H: 1", "H: 2", "H: 3"))) == [(1.0,), (2.0,), (3.0,)]


def test_lines_that_wait_are_bounded_and_the_oldest_is_told_as_set_aside() -> None:
    text = TextReader(1, None)
    runs = text.take(lines(*["no numbers here"] * (MAX_WAITING_LINES + 2)))
    assert [number for number, fate in fates(runs) if fate == SET_ASIDE] == [1, 2]


TEXTS = st.lists(
    st.sampled_from(["T: 21.5 C", "T: 22", "T: nan", "5;6", "7;8.5", "9", "10", "ready", "v 2", '{"a": 1}']),
    max_size=40,
)


@pytest.mark.parametrize("layout", [None, RAW])
@given(texts=TEXTS, data=st.data(), every_ns=st.sampled_from([0, SECOND // 10, SECOND, 7 * SECOND]))
def test_nothing_depends_on_the_portions_or_on_when_the_time_is_told(
    layout: Layout | None, texts: list[str], data: st.DataObject, every_ns: int
) -> None:
    given_lines = lines(*texts, every_ns=every_ns)
    cuts = data.draw(st.sets(st.integers(0, len(texts))))
    ticks = data.draw(st.booleans())
    whole, pieces = TextReader(1, layout), TextReader(1, layout)
    end_ns = len(texts) * every_ns
    at_once = [*whole.take(given_lines), *whole.finish(end_ns)]
    in_parts: list[TextRun] = []
    for a, b in pairwise([0, *sorted(cuts), len(texts)]):
        in_parts += pieces.take(given_lines[a:b])
        if ticks and a < b:
            in_parts += pieces.tick(given_lines[b - 1].at_ns)
            in_parts += pieces.tick(given_lines[b - 1].at_ns + every_ns // 2)
    in_parts += pieces.finish(end_ns)
    assert rows(in_parts) == rows(at_once)
    assert fates(in_parts) == fates(at_once)
    assert notes(in_parts) == notes(at_once)
    assert pieces.revision == whole.revision
    assert (pieces.samples, pieces.sure, pieces.doubt) == (whole.samples, whole.sure, whole.doubt)
