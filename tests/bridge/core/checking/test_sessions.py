"""A share of the proof on made-up programs; all of it: `python -m tests.bridge.core.checking.proof`."""

from __future__ import annotations

from tests.bridge.core.checking.programs import ROUTES, Program
from tests.bridge.core.checking.proof import share_named, tally
from tests.bridge.core.checking.sessions import program_of


def test_no_right_program_brings_a_finding() -> None:
    found = tally("right", range(50))
    assert found["silent"] == 50, found


def test_a_single_mistake_is_named() -> None:
    found = tally("single", range(40))
    assert share_named(found) >= 0.98, found
    assert found["named"] >= 33, found


def test_a_pair_of_mistakes_is_named() -> None:
    found = tally("pair", range(40))
    assert share_named(found) >= 0.90, found
    assert found["named"] >= 27, found


def test_the_made_up_programs_are_of_all_forms() -> None:
    programs = [program_of("right", seed) for seed in range(300)]
    assert {one.route for one in programs} == set(ROUTES)
    assert {one.setup.sensor for one in programs} == {
        "linear", "ratiometric", "ntc beta", "ntc steinhart-hart", "photoresistor", "polynomial"
    }  # fmt: skip
    assert {one.is_single for one in programs} == {False, True}
    assert {one.value_decimals for one in programs} == {1, 2, 3, 4}


def test_the_made_up_mistakes_are_of_all_kinds() -> None:
    kinds = {one.kind for seed in range(400) for one in program_of("single", seed).wrongs}
    assert kinds == {
        "reference", "divisor", "quotient first", "whole volts", "whole hundredths", "overflow", "supply",
        "volts scale", "millivolts", "offset missing", "offset sign", "other sensor", "leg", "logarithm",
        "factor", "unit", "whole value", "own reference", "own offset", "own gain",
    }  # fmt: skip


def test_a_made_up_program_computes_as_the_formula_says() -> None:
    program: Program = program_of("right", 3)
    assert program.wrongs == ()
    setup = program.setup
    value = (setup.low + setup.high) / 2
    count = setup.pin_part(value) * setup.divisor
    exact = Program(setup=setup, value_decimals=6)
    text = exact.prints_of(count)[2]
    assert text is not None
    assert abs(float(text) - value) < 1e-4
