from __future__ import annotations

import pytest

from bridge.passcode import (
    LONGEST_WAIT_SECONDS,
    MAX_WRONG,
    WRONG_WINDOW_SECONDS,
    Passcode,
    new_passcode,
    wait_after,
)


def test_only_the_passcode_is_right() -> None:
    passcode = Passcode("tëa")
    assert passcode.is_right("tëa", 0.0)
    for wrong in ("", "tea", "tëa ", "TËA", "\ud800", "tëa\x00"):
        assert not passcode.is_right(wrong, 0.0)


def test_each_wrong_code_makes_the_wait_longer_up_to_a_bound() -> None:
    waits = [wait_after(n) for n in range(1, 20)]
    assert waits == sorted(waits)
    assert waits[0] < waits[1] < waits[2]
    assert waits[-1] == LONGEST_WAIT_SECONDS


def test_many_wrong_codes_of_all_together_wear_it_out_for_a_while() -> None:
    passcode = Passcode("tea")
    for i in range(MAX_WRONG):
        assert not passcode.is_worn_out(float(i))
        passcode.is_right("coffee", float(i))
    assert passcode.is_worn_out(float(MAX_WRONG))
    assert not passcode.is_worn_out(WRONG_WINDOW_SECONDS)


def test_an_empty_passcode_is_refused() -> None:
    with pytest.raises(ValueError, match="everybody"):
        Passcode("")


def test_passcodes_are_drawn_anew_and_can_be_typed() -> None:
    codes = {new_passcode() for _ in range(20)}
    assert len(codes) > 15
    assert all(len(code) == 6 and code.isdigit() for code in codes)
