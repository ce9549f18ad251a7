"""Wordings made by chance, with numbers made by chance: what is learned reads back what was printed."""

from __future__ import annotations

from random import Random
from typing import NamedTuple

from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.framing import Line
from bridge.core.layouts import Values
from bridge.core.learning import Learner
from bridge.core.text_reader import TextReader

N_LINES = 24
N_LONG = 150
LABELS = ("raw", "volts", "Temp", "T", "H", "Water temp", "A0", "sensor 1", "light", "x", "Hum", "°C")
UNITS = ("", "", "C", "°C", " C", " V", "mV", "%", " %", " lx", " ohm")
SURROUNDINGS = (("", ""), ("12:30:05 ", ""), ("[17] ", ""), ("> ", ""), ("(", ")"), ("", " ok"), ("", ";"))
GREETINGS: tuple[list[str], ...] = (
    [],
    ["cup logger ready"],
    ["boot", "rst:0x1 (POWERON)", "sensor found!"],
    ["v 2"],
)


class Field(NamedTuple):
    label: str
    unit: str
    decimals: int
    middle: float
    noise: float


class Program(NamedTuple):
    """What a board prints."""

    texts: list[str]
    rows: list[tuple[float, ...]]
    is_plain: bool  # nobody could read it in another way
    is_hopeless: bool = False  # nothing in the lines tells which commas are decimal signs


fields = st.builds(
    Field,
    label=st.sampled_from(LABELS),
    unit=st.sampled_from(UNITS),
    decimals=st.integers(0, 3),
    middle=st.floats(-900, 40000),
    noise=st.sampled_from([0.0, 0.3, 3.0, 60.0]),
)


@st.composite
def numbers_of(draw: st.DrawFn, n: int) -> tuple[list[Field], list[list[str]]]:
    """Fields with labels of their own, and what each prints line by line."""
    chosen = draw(st.lists(fields, min_size=n, max_size=n, unique_by=lambda one: one.label))
    printed = []
    for one in chosen:
        offs = draw(st.lists(st.floats(-1, 1), min_size=N_LINES, max_size=N_LINES))
        printed.append([f"{one.middle + off * one.noise:.{one.decimals}f}" for off in offs])
    return chosen, printed


def program(
    lines: list[str], printed: list[list[str]], *, comma: bool, ahead: list[str], is_plain: bool
) -> Program:
    rows = [tuple(map(float, row)) for row in zip(*printed, strict=True)]
    return Program([*ahead, *(one.replace(".", ",") if comma else one for one in lines)], rows, is_plain)


@st.composite
def columns(draw: st.DrawFn) -> Program:
    n = draw(st.integers(1, 4))
    chosen, printed = draw(numbers_of(n))
    separator = draw(st.sampled_from([",", ", ", ";", "\t", " | ", " ", "  "]))
    comma = draw(st.booleans())
    lead, tail = draw(st.sampled_from(SURROUNDINGS[:5]))
    has_units = draw(st.booleans())
    cells = [
        [text + (one.unit if has_units else "") for text in column]
        for one, column in zip(chosen, printed, strict=True)
    ]
    lines = [lead + separator.join(row) + tail for row in zip(*cells, strict=True)]
    # One number on a line may be one of several in turn; a comma between whole numbers may be decimal.
    commas = sum(("," in line) for line in lines)
    is_plain = n > 1 and not (separator.strip() == "," and (comma or commas)) and not comma
    ahead = draw(st.sampled_from(GREETINGS))
    made = program(lines, printed, comma=comma, ahead=ahead, is_plain=is_plain)
    jumps_about = n == 1 and chosen[0].noise > 1  # by chance its digits may look like a column
    return made._replace(is_hopeless=comma and (jumps_about if n == 1 else separator == ","))


@st.composite
def pairs(draw: st.DrawFn) -> Program:
    n = draw(st.integers(1, 4))
    chosen, printed = draw(numbers_of(n))
    sign = draw(st.sampled_from([":", ": ", "=", " = ", " -> "]))
    separator = draw(st.sampled_from([", ", ",", "; ", "\t", " | ", " "]))
    comma = draw(st.booleans())
    lead, tail = draw(st.sampled_from(SURROUNDINGS))
    pieces = [
        [one.label + sign + text + one.unit for text in column]
        for one, column in zip(chosen, printed, strict=True)
    ]
    lines = [lead + separator.join(row) + tail for row in zip(*pieces, strict=True)]
    return program(lines, printed, comma=comma, ahead=draw(st.sampled_from(GREETINGS)), is_plain=not comma)


@st.composite
def json_lines(draw: st.DrawFn) -> Program:
    chosen, printed = draw(numbers_of(draw(st.integers(1, 4))))
    lines = [
        "{" + ", ".join(f'"{one.label}": {text}' for one, text in zip(chosen, row, strict=True)) + "}"
        for row in zip(*printed, strict=True)
    ]
    return program(lines, printed, comma=False, ahead=[], is_plain=True)


@st.composite
def records(draw: st.DrawFn) -> Program:
    chosen, printed = draw(numbers_of(draw(st.integers(2, 4))))
    divider = draw(st.sampled_from([[], ["-----"]]))
    comma = draw(st.booleans())
    lines = []
    for row in zip(*printed, strict=True):
        lines += [f"{one.label}: {text}{one.unit}" for one, text in zip(chosen, row, strict=True)] + divider
    return program(lines, printed, comma=comma, ahead=draw(st.sampled_from(GREETINGS)), is_plain=not comma)


def read_back(texts: list[str]) -> tuple[Learner, list[Values]]:
    learner = Learner()
    for text in texts:
        learner.take(text)
    learner.finish()
    if learner.reader is None:
        return learner, []
    return learner, [row for row in map(learner.reader.values, texts) if row is not None]


@settings(deadline=None, max_examples=150)
@given(printed=st.one_of(columns(), pairs(), json_lines(), records()))
def test_what_is_learned_reads_back_what_was_printed_or_says_that_it_is_not_certain(printed: Program) -> None:
    learner, rows = read_back(printed.texts)
    if learner.reader is None:
        assert learner.doubt or learner.run_together or not printed.rows, printed.texts
        assert not printed.is_plain, printed.texts
    elif not printed.is_hopeless:
        assert rows == printed.rows


@st.composite
def long_programs(draw: st.DrawFn) -> Program:
    """A hundred and fifty lines that nobody could read in two ways, with numbers by chance."""
    chance = Random(draw(st.integers(0, 2**32)))
    chosen = draw(st.lists(fields, min_size=2, max_size=4, unique_by=lambda one: one.label))
    kind = draw(st.sampled_from(["columns", "pairs", "json", "index", "clock"]))
    printed = [
        [f"{one.middle + one.noise * chance.gauss(0, 1):.{one.decimals}f}" for _ in range(N_LONG)]
        for one in chosen
    ]
    if kind in ("index", "clock"):
        printed[0] = [str(i if kind == "index" else 1000 * i + chance.randrange(20)) for i in range(N_LONG)]
    rows = [tuple(map(float, row)) for row in zip(*printed, strict=True)]
    separator = draw(st.sampled_from(["; ", ";", "\t", " "]))
    texts = []
    for row in zip(*printed, strict=True):
        named = list(zip((one.label for one in chosen), row, strict=True))
        match kind:
            case "pairs":
                texts.append(separator.join(f"{label}={text}" for label, text in named))
            case "json":
                texts.append("{" + ", ".join(f'"{label}": {text}' for label, text in named) + "}")
            case _:
                texts.append(separator.join(row))
    return Program(texts, rows, is_plain=True)


STRAY = ("ready", "v 2.1 of 7", "error code 5!", "sensor: lost, try 3")


@settings(deadline=None, max_examples=60)
@given(printed=long_programs(), stray=st.sampled_from(STRAY))
def test_a_right_program_is_read_to_its_end_and_nothing_is_found_wrong(printed: Program, stray: str) -> None:
    text = TextReader(1, None)
    texts = [*printed.texts[:100], *[stray] * 3, *printed.texts[100:]]
    lines = [Line(i, one, one.encode(), i * 1_000_000_000, "") for i, one in enumerate(texts, start=1)]
    runs = text.take(lines)
    assert [row for run in runs for row in run.rows] == printed.rows
    assert text.findings_of_text == ()
    assert (text.sure, text.doubt) == ("sure", "")
    assert len([note for run in runs for note in run.notes]) == 1
