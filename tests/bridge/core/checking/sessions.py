"""Sessions with made-up programs, and what the check makes of them."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from bridge.core.checking import ConversionCheck, Verdict
from bridge.core.checking.mistakes import FITTED, Mistake
from bridge.core.printed import Printed, printed
from tests.bridge.core.checking.programs import (
    ROUTES,
    WHOLE_NUMBERS,
    Program,
    Record,
    Wrong,
    counts_of,
    made_program,
    own_wrongs,
    pair_of_wrongs,
    setups,
    single_wrong,
    wrongs_for,
)

Kind = Literal["right", "single", "pair"]
Outcome = Literal["silent", "false finding", "named", "undecidable", "waiting", "wrong name"]


@dataclass(frozen=True, slots=True)
class Session:
    """One board's program and what it printed."""

    seed: int
    program: Program
    counts: list[int]
    records: list[Record]


def session(kind: Kind, seed: int) -> Session:
    """The same for the same seed."""
    program = program_of(kind, seed)
    counts = counts_of(program.setup, random.Random(f"counts {kind} {seed}"))  # made up
    while not shows_overflow(program, max(counts)):
        counts = [min(2 * count, 2**program.setup.bits - 2) for count in counts]
    texts = {count: program.prints_of(count) for count in set(counts)}
    return Session(seed, program, counts, [texts[count] for count in counts])


def program_of(kind: Kind, seed: int) -> Program:
    """A program with no mistake, one or two."""
    chance = random.Random(f"{kind} {seed}")  # made up, not secret
    setup = setups(chance)
    program = made_program(setup, chance)
    if kind == "right":
        return program
    program = replace(program, value_unit="")
    if kind == "single":
        return replace(program, wrongs=(single_wrong(setup, program, chance),))
    return replace(program, wrongs=pair_of_wrongs(setup, program, chance))


def shows_overflow(program: Program, count: int) -> bool:
    """Whether a product that is too large becomes so: before that, nothing is wrong."""
    overflow = program.wrong("overflow")
    if overflow is None:
        return True
    wrong_reference = program.wrong("reference")
    reference = wrong_reference.number if wrong_reference else program.setup.reference
    limit = 32767 if round(reference * overflow.number) * (2**program.setup.bits - 2) > 32767 else 0
    return count * round(reference * overflow.number) > limit


def check_of(program: Program) -> ConversionCheck:
    """The check as a bench would have it."""
    has_count, has_volts, has_value = program.prints
    return ConversionCheck(
        has_count=has_count, has_volts=has_volts, has_value=has_value,
        volts_unit="mV" if program.volts_in_mv else "V", value_unit=program.value_unit,
        expected=program.setup.lesson(), channel="made up", unit=program.setup.unit,
    )  # fmt: skip


def _number(text: str | None) -> Printed | None:
    return None if text is None else printed(text)


def verdict_on(one: Session) -> Verdict:
    """After all its records."""
    check = check_of(one.program)
    for count, volts, value in one.records:
        check.take(_number(count), _number(volts), _number(value))
    return check.verdict()


def is_named(truth: Sequence[Wrong], mistakes: Sequence[Mistake]) -> bool:
    """Whether the mistakes are those of the program, none missing and none too many."""
    left = list(mistakes)
    for wrong in truth:
        found = next((one for one in left if _is(wrong, one)), None)
        if found is None:
            return False
        left.remove(found)
    return not left


def _is(wrong: Wrong, mistake: Mistake) -> bool:
    kind = "whole numbers" if wrong.kind in WHOLE_NUMBERS else wrong.kind
    if mistake.kind != kind:
        return False
    match wrong.kind:
        case "own reference" | "own gain" | "own offset":
            slack = 2e-3 * abs(wrong.number)
            return mistake.least - slack <= wrong.number <= mistake.most + slack
        case "whole hundredths":
            return mistake.number == wrong.number
        case "quotient first" | "whole volts":
            return mistake.number == 0
        case "reference" | "divisor" | "factor" | "millivolts" | "volts scale" | "supply":
            return mistake.number == wrong.number
        case "unit":
            words = {"°C for °F": "°C for °F", "°C for K": "°C for K"}.get(wrong.word, wrong.word)
            return words in mistake.words
        case "other sensor":
            return wrong.word in mistake.words
        case _:
            return True


def rivals_of(one: Session, mistakes: Sequence[Mistake]) -> Iterator[Program]:
    """Programs with the mistakes that the check has found, in every form of computing and printing."""
    setup = one.program.setup
    chance = random.Random(0)
    known = [*wrongs_for(setup), *own_wrongs(setup, chance), Wrong("whole value")]
    known += [Wrong("other sensor", number, f"{number * 1000:g} mV") for number in (0.25, 0.4, 0.5, 0.6)]
    known += [Wrong("volts scale", factor) for factor in (1000.0, 0.001, 10.0, 0.1, 100.0, 0.01)]
    ways: list[tuple[Wrong, ...]] = [()]
    for mistake in mistakes:
        if mistake.kind in FITTED:
            middle = (mistake.least + mistake.most) / 2
            same = [Wrong(mistake.kind, n) for n in (mistake.number, middle, mistake.least, mistake.most)]
        else:
            same = [w for w in known if _is(w, mistake)]
        ways = [(*way, w) for way in ways for w in same]
    volts_decimals, value_decimals = (
        max((_number(record[i]) or Printed("", None, 0)).decimals for record in one.records) for i in (1, 2)
    )
    plain = replace(one.program, volts_decimals=volts_decimals, value_decimals=value_decimals)
    for wrongs in ways:
        for route in ROUTES:
            for rounding in ("nearest", "half added", "cut"):
                for takes_count in (False, True):
                    yield replace(
                        plain, wrongs=wrongs, route=route, rounding=rounding, takes_count=takes_count
                    )


def prints_the_same(one: Session, mistakes: Sequence[Mistake]) -> bool:
    """Whether a program with those mistakes prints every number of the session: told by running it.

    A computed number within two millionths of where its print changes may fall on either side.
    """
    program = one.program
    if not program.prints[0]:
        wanted = [_floats(record)[1:] for record in one.records]
        return any(_prints_pairs(rival, wanted) for rival in rivals_of(one, mistakes))
    records = {count: _floats(record) for count, record in zip(one.counts, one.records, strict=True)}
    left = {i for i in (1, 2) if program.prints[i]}
    for rival in rivals_of(one, mistakes):
        # Each printed column may be computed and printed in its own way.
        ends = {count: nudged(rival, count) for count in records}
        left -= {i for i in left if all(_lies_within(record[i], ends[c][i]) for c, record in records.items())}
        if not left:
            return True
    return False


def _floats(record: Record) -> tuple[float | None, ...]:
    return tuple(None if text is None else float(text) for text in record)


def nudged(program: Program, count: float) -> list[tuple[float, float] | None]:
    """The least and the most that the program may print, by what the last bits of 32-bit floats do."""
    runs = [_floats(replace(program, nudge=nudge).prints_of(count)) for nudge in (0.0, -2e-6, 2e-6)]
    found: list[tuple[float, float] | None] = []
    for column in zip(*runs, strict=True):
        numbers = [number for number in column if number is not None]
        found.append((min(numbers), max(numbers)) if numbers else None)
    return found


def _lies_within(number: float | None, ends: tuple[float, float] | None) -> bool:
    return number is None or (ends is not None and ends[0] <= number <= ends[1])


def _prints_pairs(program: Program, wanted: Sequence[tuple[float | None, ...]]) -> bool:
    """Whether some volts at the pin give each pair of volts and value; a mean of counts lies anywhere."""
    at_100 = _floats(replace(program, volts_decimals=9).prints_of(100))[1]
    if not at_100:
        return False
    return all(_prints_pair(program, pair, 100.0 / at_100) for pair in dict.fromkeys(wanted))


def _prints_pair(program: Program, pair: tuple[float | None, ...], counts_per_volt: float) -> bool:
    volts = pair[0]
    assert volts is not None
    step = 10.0**-program.volts_decimals
    for i in range(-30, 31):
        ends = nudged(program, (volts + i * step / 30) * counts_per_volt)[1:]
        if all(map(_lies_within, pair, ends)):
            return True
    return False


def outcome_of(kind: Kind, one: Session, verdict: Verdict) -> Outcome:
    """How the check did; undecidable only where a rival prints the same texts, which is tried."""
    if kind == "right":
        return "silent" if verdict.state in ("right", "waiting") else "false finding"
    truth = one.program.wrongs
    if verdict.state == "waiting":
        return "waiting"
    if verdict.state == "right":
        return "undecidable" if prints_the_same(one, ()) else "wrong name"
    if verdict.state in ("wrong", "undecided") and verdict.mistakes:
        if is_named(truth, verdict.mistakes):
            return "named"
        is_told = verdict.state == "undecided" or any(is_named(truth, rival) for rival in verdict.rivals)
        is_simpler = len(verdict.mistakes) < len(truth)
        if (is_told or is_simpler) and prints_the_same(one, verdict.mistakes):
            return "undecidable"
    return "wrong name"
