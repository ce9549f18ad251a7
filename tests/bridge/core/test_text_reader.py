from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.framing import Line
from bridge.core.lesson import FieldSpec, Layout
from bridge.core.readings import Note
from bridge.core.text_reader import LEARN_NS, MAX_WAITING_LINES, TextReader
from bridge.core.text_runs import READ, SET_ASIDE, WAITING, TextRun

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


# --- what the fields are

CVT = [f"{c},{c * 5 / 1024:.3f},{c * 500 / 1024:.1f}" for c in (512, 530, 498, 611, 377, 720, 505, 640) * 8]


def test_the_roles_come_after_eight_rows_and_delay_no_reading() -> None:
    text = TextReader(1, None)
    runs = text.take(lines(*CVT[:40], every_ns=SECOND // 100))
    before, after = [run for run in runs if run.rows]
    assert [one.role for one in before.roles] == ["", "", ""]
    assert [one.role for one in after.roles] == ["count", "volts", "value"]
    assert (len(before.rows), len(after.rows)) == (8, 32)
    assert before.revision == after.revision
    assert after.roles == text.roles


def test_the_roles_come_after_five_seconds_when_the_lines_are_slow() -> None:
    text = TextReader(1, None)
    text.take(lines(*CVT[:5], every_ns=SECOND))
    assert not any(one.role for one in text.roles)
    (run,) = text.tick(60 * SECOND)
    assert [one.role for one in run.roles] == ["count", "volts", "value"]
    assert run.at_ns == 5 * SECOND


def test_roles_that_few_rows_showed_are_judged_again_with_twenty() -> None:
    text = TextReader(1, None)
    clock = [f"t: {2000 * i}, x: {i * i % 7 / 10}" for i in range(30)]
    text.take(lines(*clock[:3], every_ns=2 * SECOND))
    text.tick(5 * SECOND)
    assert [one.role for one in text.roles] == ["value", "value"]
    text.take([Line(i, clock[i], b"", 2 * i * SECOND, "") for i in range(3, 30)])
    assert [one.role for one in text.roles] == ["clock", "value"]


# --- the text changes


def changed(text: TextReader, *texts: str, begin: int = 1000, every_ns: int = SECOND // 10) -> list[TextRun]:
    """More lines, of another program."""
    at_ns = begin * SECOND
    return text.take([Line(begin + i, one, b"", at_ns + i * every_ns, "") for i, one in enumerate(texts)])


def learned_from(*texts: str) -> TextReader:
    text = TextReader(1, None)
    text.take(lines(*texts, every_ns=SECOND // 10))
    assert text.reader is not None
    return text


def test_labelled_fields_in_another_order_are_no_change() -> None:
    text = learned_from(*["raw: 512, temp: 25.0"] * 20)
    revision = text.revision
    assert rows(changed(text, *["temp: 25.5, raw: 513"] * 20)) == [(513.0, 25.5)] * 20
    assert text.revision == revision


def test_a_new_wording_with_the_same_labels_goes_on_under_the_same_names() -> None:
    text = learned_from(*["raw: 512, temp: 25.0"] * 20)
    runs = changed(text, *["temp=25.5;raw=513;hum=40"] * 15)
    assert rows(runs) == [(25.5, 513.0, 40.0)] * 5
    assert text.reader is not None
    assert text.reader.names == ("temp", "raw", "hum")
    (note,) = notes(runs)
    assert (note.kind, "has changed" in note.words) == ("layout", True)
    assert text.findings_of_text == ()


def test_three_lines_for_five_seconds_are_enough_to_see_a_change() -> None:
    text = learned_from(*["raw: 512"] * 20)
    runs = changed(text, *["adc=512"] * 3, every_ns=3 * SECOND)
    assert [note.at_ns for note in notes(runs)] == [1006 * SECOND]
    assert text.reader is not None
    assert text.reader.names == ("adc",)


@pytest.mark.parametrize(
    "stray",
    [
        ["status 7 up 55"] * 9,
        ["rst:0x1", *(f"load {i}: {'x' * i} {i * 77}" for i in range(25)), "entry 0x40"],
        ["cup logger ready", "raw,volts,temp"] * 20,
        [f"{i} of {i * 3} things done in {i}s{i}!" for i in range(30)],
    ],
)
def test_a_boot_log_or_stray_lines_between_change_nothing(stray: list[str]) -> None:
    text = learned_from("raw,volts,temp", *CVT[:20])
    revision = text.revision
    changed(text, *stray, every_ns=SECOND // 100)
    assert text.revision == revision
    assert len(rows(changed(text, *CVT[:5], begin=2000))) == 5


def test_columns_that_change_places_are_never_read_on_and_are_asked_about() -> None:
    text = learned_from(*["512,2.500", "530,2.588", "498,2.432"] * 10)
    runs = changed(text, *["2.500,512", "2.588,530"] * 10)
    assert rows(runs) == []
    assert text.reader is None
    assert text.sure == "doubtful"
    assert "changed places" in text.doubt
    swapped, as_before = text.side_by_side()
    assert (swapped.columns, swapped.rows[0]) == (("column 2", "column 1"), ("2.500", "512"))
    assert as_before.columns == ("column 1", "column 2")
    assert [finding.kind for finding in text.findings_of_text] == ["text changed"]
    (note,) = [one for one in notes(runs) if one.kind == "doubt"]
    assert note.words == text.doubt


def test_columns_with_other_decimals_that_change_places_are_asked_about() -> None:
    text = learned_from(*[f"{1 + i / 1000:.3f};{20 + i / 10:.1f}" for i in range(40)])
    runs = changed(text, *[f"{20 + i / 10:.1f};{1 + i / 1000:.3f}" for i in range(64)])
    assert text.sure == "doubtful"
    assert len(rows(runs)) <= 32


def test_a_running_number_that_turns_up_in_another_column_is_asked_about() -> None:
    text = learned_from(*[f"{i},{c}" for i, c in enumerate([512, 530, 498, 611] * 10)])
    runs = changed(text, *[f"{c},{i}" for i, c in enumerate([512, 530, 498, 611] * 20)])
    assert text.sure == "doubtful"
    assert len(rows(runs)) <= 32
    assert [one.name for one in text.alternatives[0].fields] == ["column 2", "column 1"]


def test_columns_that_are_back_in_their_places_are_read_again() -> None:
    text = learned_from(*["512,2.500", "530,2.588"] * 15)
    changed(text, *["2.500,512"] * 15)
    assert text.reader is None
    runs = changed(text, *["512,2.500"] * 15, begin=2000)
    assert rows(runs) == [(512.0, 2.5)] * 5
    assert text.findings_of_text == ()


def test_the_answer_is_a_layout_of_the_lesson() -> None:
    text = learned_from(*["512,2.500", "530,2.588"] * 15)
    changed(text, *["2.500,512"] * 15)
    text.set_layout(text.alternatives[0], 1500 * SECOND)
    assert text.doubt == ""
    runs = changed(text, "2.500,512", begin=2000)
    assert rows(runs) == [(2.5, 512.0)]
    assert runs[-1].reader is not None
    assert runs[-1].reader.names == ("column 2", "column 1")


def test_one_more_column_without_a_name_is_asked_about() -> None:
    text = learned_from(*["512;2.500", "530;2.588"] * 15)
    changed(text, *["1;512;2.500", "2;530;2.588"] * 10)
    assert text.sure == "doubtful"
    assert "3 columns now, 2 before" in text.doubt


def test_another_separator_between_the_same_columns_goes_on_under_the_same_names() -> None:
    text = learned_from("raw;volts", *["512;2.500", "530;2.588"] * 15)
    changed(text, *["512\t2.500", "530\t2.588"] * 10)
    assert text.reader is not None
    assert text.reader.names == ("raw", "volts")


def test_a_heading_that_names_the_columns_in_another_order_is_followed() -> None:
    text = learned_from("raw,hum", *["512,45"] * 15)
    runs = changed(text, "hum,raw", "45,512")
    assert rows(runs) == [(45.0, 512.0)]
    assert text.reader is not None
    assert text.reader.names == ("hum", "raw")
    assert len(notes(runs)) == 1


def test_while_a_doubt_stands_a_program_that_was_mended_is_learned() -> None:
    text = TextReader(1, None)
    text.take(lines(*["45,00,55,1", "44,88,55,0"] * 10))
    assert text.sure == "doubtful"
    assert rows(changed(text, *["t: 45.0, h: 55.1"] * 15)) == [(45.0, 55.1)] * 5
    assert text.doubt == ""


def test_a_doubt_that_more_lines_settle_ends_by_itself() -> None:
    text = TextReader(1, None)
    numbers = [23.5, 23.6, 23.8, 23.9, 24.0, 24.1, 24.0, 23.9, 23.8, 23.9, 24.0]
    commas = lines(*(f"{number:.1f}".replace(".", ",") for number in numbers), every_ns=SECOND)
    text.take(commas[:4])
    runs = text.tick(5 * SECOND)
    assert [note.kind for note in notes(runs)] == ["doubt"]
    runs = text.take(commas[4:])
    assert (text.sure, text.doubt) == ("sure", "")
    assert rows(runs)[-1] == (24.0,)
    assert [note.kind for note in notes(runs)] == ["layout"]


def test_lines_that_do_not_fit_the_lessons_layout_are_told_and_not_learned() -> None:
    text = TextReader(1, RAW)
    runs = text.take(lines(*["raw: 512, temp: 25.0"] * 30, every_ns=SECOND // 10))
    assert rows(runs) == []
    assert [note.words for note in notes(runs)] == ["the lines do not fit the lesson's layout 'raw only'"]
    (finding,) = text.findings_of_text
    assert (finding.kind, finding.words) == ("text changed", "The lines do not fit the lesson's layout")
    changed(text, "512")
    assert text.findings_of_text == ()


def test_columns_of_the_lessons_layout_that_change_places_are_told() -> None:
    layout = Layout(name="two", kind="columns", fields=(FieldSpec(name="n"), FieldSpec(name="raw")))
    text = TextReader(1, layout)
    counts = [512, 530, 498, 611] * 20
    text.take(lines(*(f"{i},{c}" for i, c in enumerate(counts))))
    assert [one.kind for one in text.findings_of_text] == []
    changed(text, *(f"{c},{i}" for i, c in enumerate(counts)))
    told = [(one.kind, "changed places" in one.words) for one in text.findings_of_text]
    assert told == [("text changed", True)]
    assert text.reader is not None
    changed(text, *(f"{i},{c}" for i, c in enumerate(counts)), begin=2000)
    assert text.findings_of_text == ()


def test_one_swapped_line_is_set_aside_and_changes_nothing() -> None:
    text = learned_from(*["512,2.500", "530,2.588"] * 15)
    runs = changed(text, "512,2.500", "2.588,530", "498,2.432")
    assert rows(runs) == [(512.0, 2.5), (498.0, 2.432)]
    assert [fate for _, fate in fates(runs)] == [READ, SET_ASIDE, READ]
    assert text.sure == "sure"


def test_numbers_that_leave_their_zeros_out_are_all_read() -> None:
    numbers = [(20 + i % 7 / 2, 45 - i % 5 / 4) for i in range(60)]
    text = learned_from(*(f"{a:g};{b:g}" for a, b in numbers[:20]))
    assert rows(changed(text, *(f"{a:g};{b:g}" for a, b in numbers[20:]))) == numbers[20:]


# --- what is wrong with the text


def test_numbers_that_run_together_are_told_and_not_split() -> None:
    text = TextReader(1, None)
    assert rows(text.take(lines("2.5125.1", "2.5225.2", "2.5125.0"))) == []
    (finding,) = text.findings_of_text
    assert finding.kind == "numbers run together"
    assert "print a separator between them" in finding.words
    changed(text, *["2.51 25.1"] * 5)
    assert text.findings_of_text == ()


def test_a_program_that_loses_its_separator_is_told() -> None:
    text = learned_from(*["2.51,25.1"] * 20)
    changed(text, *["2.5125.1", "2.5225.2"] * 6)
    assert [finding.kind for finding in text.findings_of_text] == ["numbers run together"]


def test_a_number_that_behaves_as_two_is_told() -> None:
    counts = [512, 530, 498, 611, 377, 720, 505, 640, 555, 480] * 2
    text = learned_from(*[f"{c}{23.5 + i % 3 / 10:.1f}" for i, c in enumerate(counts)])
    (finding,) = text.findings_of_text
    assert finding.kind == "numbers run together"
    assert "'value'" in finding.words


@pytest.mark.parametrize(
    "numbers",
    [
        [50000 + (i * 7919) % 20000 for i in range(30)],
        [51200 + 100 * ((i * 37) % 90) for i in range(30)],
        [100000 + 1000 * i + 37 for i in range(30)],
        [1013.2 + (i * 37 % 11) / 10 for i in range(30)],
    ],
)
def test_one_number_is_not_told_to_be_two(numbers: list[float]) -> None:
    text = TextReader(1, None)
    text.take(lines(*(f"x: {number}" for number in numbers)))
    assert text.findings_of_text == ()


def test_bytes_that_are_no_text_are_told_as_such_until_a_line_can_be_read() -> None:
    text = TextReader(1, None)
    text.take(lines(*["\ufffd" * 4] * 10, flaws="damaged bytes"))
    assert [finding.kind for finding in text.findings_of_text] == ["no text"]
    changed(text, *["T: 21.5"] * 4)
    assert text.findings_of_text == ()


def with_what_was_known(runs: Sequence[TextRun]) -> list[object]:
    return [(row, run.roles, run.revision) for run in runs for row in run.rows]


MIXED = st.lists(
    st.sampled_from(
        [["512,2.50", "530,2.59"], ["2.50,512"], ["1;512;2.50"], ["raw: 5, t: 2.5"], ["t=5;raw=7"],
         ["51.2.5"], ["ready"], ["raw,volts"], ["volts,raw"], ["stray 7 line 8"], ["\x00"], ["a: 1", "b: 2"]]
    ).flatmap(lambda texts: st.integers(1, 24).map(lambda n: (texts * n)[:n])),
    max_size=7,
)  # fmt: skip


@settings(deadline=None, max_examples=60)
@given(
    parts=MIXED,
    data=st.data(),
    every_ns=st.sampled_from([0, SECOND // 20, SECOND]),
    given_layout=st.booleans(),
)
def test_changes_of_the_text_too_do_not_depend_on_the_portions_or_the_ticks(
    parts: list[list[str]], data: st.DataObject, every_ns: int, given_layout: bool
) -> None:
    texts = [text for part in parts for text in part]
    all_lines = [
        line._replace(flaws="damaged bytes" if line.text == "\x00" else "")
        for line in lines(*texts, every_ns=every_ns)
    ]
    cuts = data.draw(st.sets(st.integers(0, len(texts)), max_size=8))
    layout = RAW if given_layout else None
    whole, pieces = TextReader(1, layout), TextReader(1, layout)
    at_once = [*whole.take(all_lines), *whole.finish(len(texts) * every_ns)]
    in_parts: list[TextRun] = []
    for a, b in pairwise([0, *sorted(cuts), len(texts)]):
        in_parts += pieces.take(all_lines[a:b])
        if a < b:
            in_parts += pieces.tick(all_lines[b - 1].at_ns + every_ns // 2)
    in_parts += pieces.finish(len(texts) * every_ns)
    with_roles = [
        [(row, run.roles, run.revision) for run in runs for row in run.rows] for runs in (at_once, in_parts)
    ]
    assert with_roles[1] == with_roles[0]
    assert fates(in_parts) == fates(at_once)
    assert notes(in_parts) == notes(at_once)
    assert (pieces.findings_of_text, pieces.alternatives) == (whole.findings_of_text, whole.alternatives)
