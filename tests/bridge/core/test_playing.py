from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.playing import FASTEST, SLOWEST, Player

SPEEDS = st.floats(SLOWEST, FASTEST)
TIMES = st.integers(0, 10**13)


def playing(length_ns: int = 1000, **options: float | bool) -> Player:
    player = Player(length_ns, **options)  # type: ignore[arg-type]
    player.play(0)
    return player


def test_a_new_player_stands_still_where_it_was_told_to_begin() -> None:
    player = Player(1000, position_ns=300)
    assert not player.is_playing
    assert [player.position_ns(t) for t in (0, 50, 5000)] == [300, 300, 300]


def test_time_passes_at_the_speed() -> None:
    assert [playing(speed=speed).position_ns(8) for speed in (0.25, 1, 64)] == [2, 8, 512]


def test_a_pause_holds_the_position_and_play_goes_on_from_it() -> None:
    player = playing()
    player.pause(100)
    assert player.position_ns(500) == 100
    player.play(600)
    assert player.position_ns(650) == 150


def test_another_speed_counts_from_now_on() -> None:
    player = playing()
    player.set_speed(4, 100)
    assert player.position_ns(110) == 140


@pytest.mark.parametrize("speed", [0.0, -1.0, 0.2, 64.5, float("nan"), float("inf")])
def test_a_speed_out_of_range_is_refused_and_changes_nothing(speed: float) -> None:
    player = playing()
    with pytest.raises(ValueError, match=r"0\.25 to 64"):
        player.set_speed(speed, 100)
    assert player.position_ns(200) == 200


def test_a_seek_goes_there_playing_or_not() -> None:
    player = playing()
    player.seek(700, 100)
    assert player.position_ns(110) == 710
    player.pause(120)
    player.seek(5, 130)
    assert player.position_ns(900) == 5


@pytest.mark.parametrize(("asked", "got"), [(-5, 0), (2000, 1000)])
def test_a_seek_stays_inside_the_recording(asked: int, got: int) -> None:
    player = Player(1000)
    player.seek(asked, 0)
    assert player.position_ns(0) == got


def test_it_ends_at_the_end_and_play_begins_again() -> None:
    player = playing()
    assert not player.has_ended(999)
    assert player.has_ended(1000)
    assert player.position_ns(5000) == 1000
    player.play(6000)
    assert player.position_ns(6010) == 10


def test_a_loop_begins_again_and_counts_its_turns() -> None:
    player = playing(loop=True)
    assert [(player.position_ns(t), player.n_turns(t)) for t in (999, 1000, 3250)] == [
        (999, 0),
        (0, 1),
        (250, 3),
    ]
    assert not player.has_ended(3250)
    player.pause(3250)
    player.set_loop(False, 3260)
    assert (player.position_ns(9000), player.n_turns(9000)) == (250, 3)


def test_an_empty_recording_ends_at_once_even_in_a_loop() -> None:
    assert playing(0, loop=True).has_ended(10)


def test_what_is_due_waits_for_nothing() -> None:
    player = playing()
    assert (player.due_in_ns(100, 100), player.due_in_ns(50, 100)) == (0, 0)


def test_what_never_comes_is_not_waited_for() -> None:
    assert Player(1000).due_in_ns(10, 0) is None  # stands still
    assert playing().due_in_ns(1001, 0) is None  # beyond the end


@given(speed=SPEEDS, at_ns=TIMES, now_ns=TIMES, loop=st.booleans())
def test_after_the_told_wait_it_is_due_and_not_a_nanosecond_of_the_recording_late(
    speed: float, at_ns: int, now_ns: int, loop: bool
) -> None:
    player = playing(2 * 10**13, speed=speed, loop=loop)
    before = player.n_turns(now_ns)
    wait_ns = player.due_in_ns(at_ns, now_ns)
    assert wait_ns is not None
    then_ns = now_ns + wait_ns
    assert player.n_turns(then_ns) == before
    assert player.position_ns(then_ns) >= at_ns
    if wait_ns:
        assert player.position_ns(then_ns) <= at_ns + speed + 1


@given(steps=st.lists(st.tuples(st.integers(0, 10**9), st.sampled_from(["pause", "play", "speed"]), SPEEDS)))
def test_the_position_never_goes_back_without_a_seek(steps: list[tuple[int, str, float]]) -> None:
    player, now_ns, last = playing(10**15), 0, 0
    for wait_ns, action, speed in steps:
        now_ns += wait_ns
        assert player.position_ns(now_ns) >= last
        last = player.position_ns(now_ns)
        if action == "speed":
            player.set_speed(speed, now_ns)
        else:
            getattr(player, action)(now_ns)
        assert player.position_ns(now_ns) == last
