"""Going back in a replay from a state that was kept: it tells what it tells when it begins at the start."""

from __future__ import annotations

import asyncio
import itertools
import json
import random
import time
from pathlib import Path
from typing import Any

import pytest

from bridge.alarm_answers import prepared
from bridge.checkpoints import Checkpoints, kept, restored
from bridge.controls import JournalRequest, Mark, ReplayControl, Revise
from bridge.core.checking import ConversionCheck
from bridge.core.lesson import OPEN_LESSON
from bridge.core.printed import printed
from bridge.hub import LATEST_NS, Hub
from bridge.messages import SessionInfo
from bridge.processing import Processor
from bridge.replaying import ReplaySession
from bridge.showing import bands_message, steady_message, text_message, worth_message
from tests.bridge.core.checking.sessions import Kind, check_of, session
from tests.bridge.core.wordings_seen import LINES, STREAMS
from tests.bridge.test_alarm_controls import Session, whole
from tests.bridge.test_session import run_apart, running, settings, until

DEMO = Path(__file__).parents[2] / "demo" / "recording.benchrow"
SECOND = 10**9
NEVER_NS = 1 << 62


def told(one: ReplaySession) -> list[Any]:
    """All that a screen can be told of the session as it stands."""
    hub, processor = one.hub, one._processor
    greeting = json.loads(hub.hello(one.now_ns(), next(STEADY))[0])
    del greeting["replay"]  # how fast it plays
    found: list[Any] = [_in_order(greeting), sorted(processor.findings(), key=repr), _journal(hub)]
    for bench in hub.benches:
        pipeline = processor.seat(bench).pipeline
        for index, channel in enumerate(pipeline.channels):
            history = hub.history(bench, index, 0, LATEST_NS, 400, to=None, plain=True)
            found += [_in_order(json.loads(history or b"")), pipeline.flickers(channel.name)]
        of_bench = (bands_message, steady_message, text_message, worth_message)
        found += [message(bench, pipeline) for message in of_bench]
    return found


def _in_order(part: dict[str, Any]) -> dict[str, Any]:
    """Without what hangs on the portions that were computed.

    That is the order of alarms of several benches, and
    whether an alarm's later transitions came before it was known to be the first of several."""
    alarms = [one if one["event"] == "rise" else {**one, "first_out": None} for one in part["alarms"]]
    return {**part, "alarms": sorted(alarms, key=repr)}


def _journal(hub: Hub) -> list[str]:
    assert hub.alarm_records is not None
    journal = json.loads(prepared(JournalRequest(1, 0), hub.alarm_records, 0)())
    return sorted(repr([*row[:2], journal["alarms"][row[2]], *row[3:]]) for row in journal["entries"])


STEADY = itertools.count(time.monotonic_ns(), 10**10)  # no greeting is kept for the next look


async def told_at(path: Path, tmp_path: Path, *, every_ns: int, at_seconds: list[float]) -> list[list[Any]]:
    """What is told at each of the instants, and after playing on for a while: hidden state shows then."""
    clock = [0]
    given = settings(tmp_path, mode="replay", recording=path, playing=False)
    found = []
    one = ReplaySession(given, steady_ns=lambda: clock[0], checkpoint_every_ns=every_ns)
    async with running(one):
        for at in at_seconds:
            await one.handle(ReplayControl(None, "seek", at * 1000))
            found.append(told(one))
            await one.handle(ReplayControl(None, "play", None))
            clock[0] += 7 * SECOND
            end_ns = min(round((at + 7) * SECOND), one._player.length_ns)
            await until(lambda end_ns=end_ns: one.now_ns() >= end_ns)  # type: ignore[misc]
            await one.handle(ReplayControl(None, "pause", None))
            found.append(told(one))
    return found


def from_start_and_from_states(path: Path, tmp_path: Path, at_seconds: list[float], every_ns: int) -> None:
    async def both() -> None:
        again = [max(at_seconds), *at_seconds]
        kept = await told_at(path, tmp_path, every_ns=every_ns, at_seconds=again)
        for i, at in enumerate(at_seconds):
            anew = await told_at(path, tmp_path, every_ns=NEVER_NS, at_seconds=[at])
            for mine, wanted in zip(kept[2 + 2 * i : 4 + 2 * i], anew, strict=True):
                assert mine == wanted

    run_apart(both())


def test_the_demo_session_is_the_same_from_a_kept_state(tmp_path: Path) -> None:
    from_start_and_from_states(DEMO, tmp_path, [250.5, 130.0], every_ns=60 * SECOND)


def test_a_session_with_alarms_phases_and_asks_is_the_same_from_a_kept_state(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    class_ = Session(monkeypatch, tmp_path)
    whole(class_)
    class_.close()
    chance = random.Random(8)
    instants = [chance.uniform(5, class_.now_ns / 1e9) for _ in range(8)]
    from_start_and_from_states(class_.path, tmp_path, instants, every_ns=4 * SECOND)


def test_another_lesson_is_another_way_through_the_recording(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    class_ = Session(monkeypatch, tmp_path)
    whole(class_)
    class_.close()
    end_ms = class_.now_ns / 1e6

    async def revised(every_ns: int) -> list[Any]:
        given = settings(tmp_path, mode="replay", recording=class_.path, playing=False)
        one = ReplaySession(given, checkpoint_every_ns=every_ns)
        async with running(one):
            await one.handle(ReplayControl(None, "seek", end_ms))
            before = told(one)
            await one.handle(Revise(None, ((("channel", "temperature", "limit", "high", "at"), 30.0),)))
            await one.handle(ReplayControl(None, "seek", 0.7 * end_ms))
            assert told(one) != before
            return told(one)

    assert run_apart(revised(4 * SECOND)) == run_apart(revised(NEVER_NS))


def processor_of_nothing() -> Processor:
    told = SessionInfo(
        id="x", title="", source="replay", start_utc_ns=0, recording="x.benchrow", program="test"
    )
    return Processor(OPEN_LESSON, Hub(told, OPEN_LESSON))


def test_beyond_the_bound_every_second_state_goes_and_they_come_half_as_often() -> None:
    processor = processor_of_nothing()

    async def kept() -> Checkpoints:
        alone = Checkpoints(every_ns=10)
        await alone.keep(10, None, processor)
        some = Checkpoints(every_ns=10, max_bytes=4 * alone.n_bytes)
        for at_ns in (10, 20, 30, 40, 50):
            await some.keep(at_ns, at_ns, processor)
        assert some.n_bytes <= 4 * alone.n_bytes
        return some

    some = run_apart(kept())
    found = [some.newest(until_ns) for until_ns in (19, 20, 45, 1000)]
    assert [None if one is None else one.order for one in found] == [None, 20, 40, 40]
    assert some.next_ns(0) == 60


def test_a_state_that_was_restored_does_not_change_the_kept_one() -> None:
    async def kept() -> tuple[Checkpoints, Processor]:
        processor, some = processor_of_nothing(), Checkpoints()
        processor.take_chunk(1, b"21.5\n22.5\n", SECOND)
        await some.keep(SECOND, 7, processor)
        return some, processor

    some, processor = run_apart(kept())
    one = some.newest(2 * SECOND)
    assert one is not None
    first = some.restored(one)
    first.take_chunk(1, b"23.5\n" * 9, 2 * SECOND)
    again = some.restored(one)
    assert again.seat(1).pipeline.n_lines == processor.seat(1).pipeline.n_lines == 2
    assert first.seat(1).pipeline.n_lines == 11
    assert again.hub is not processor.hub


def test_a_state_can_be_kept_whatever_the_board_prints() -> None:
    async def all_kept() -> int:
        n_kept = 0
        for texts in [
            *([one.form.format(*row) for row in zip(*one.columns, strict=True)] for one in LINES),
            *(one.lines for one in STREAMS),
        ]:
            processor, some = processor_of_nothing(), Checkpoints()
            for i, text in enumerate(texts):
                processor.take_chunk(1, f"{text}\n".encode(), i * SECOND)
                if i in (0, len(texts) - 1):
                    await some.keep(i, i, processor)
            for i in (0, len(texts) - 1):
                found = some.newest(i)
                assert found is not None, texts[0]
                assert some.restored(found).seat(1).pipeline.n_lines <= i + 1
            n_kept += len(some)
        return n_kept

    assert run_apart(all_kept()) > 150


@pytest.mark.parametrize("kind", ["right", "single", "pair"])
def test_a_check_of_a_formula_goes_on_from_a_kept_state(kind: Kind) -> None:
    shared: dict[int, object] = {}
    for seed in range(12):
        one = session(kind, seed)
        half = len(one.records) // 2
        numbers = [[None if text is None else printed(text) for text in row] for row in one.records]
        check = check_of(one.program)
        for count, volts, value in numbers[:half]:
            check.take(count, volts, value)
        check.verdict()
        again = restored(kept(check, shared), shared)
        assert isinstance(again, ConversionCheck)
        for count, volts, value in numbers[half:]:
            check.take(count, volts, value)
            again.take(count, volts, value)
        assert repr(again.verdict()) == repr(check.verdict())


def test_a_state_that_can_not_be_kept_is_told_and_nothing_else_happens(
    caplog: pytest.LogCaptureFixture,
) -> None:
    processor, some = processor_of_nothing(), Checkpoints()
    vars(processor)["odd"] = lambda: None
    run_apart(some.keep(SECOND, 1, processor))
    assert len(some) == 0
    assert some.next_ns(SECOND) > LATEST_NS // 2
    assert "can't be kept" in caplog.text


def test_a_number_that_comes_to_be_whole_is_found_from_a_kept_state_too(tmp_path: Path) -> None:
    from_start_and_from_states(
        DEMO, tmp_path, [92.0], 60 * SECOND
    )  # bench 2 divides whole numbers from 90 s on


def test_while_it_moves_elsewhere_it_shows_where_it_was(tmp_path: Path) -> None:
    async def moved() -> None:
        given = settings(tmp_path, mode="replay", recording=DEMO, playing=False)
        one = ReplaySession(given, checkpoint_every_ns=60 * SECOND)
        async with running(one):
            await one.handle(ReplayControl(None, "seek", 30_000.0))
            moving = asyncio.create_task(one.handle(ReplayControl(None, "seek", 200_000.0)))
            await asyncio.sleep(0)
            marking = asyncio.create_task(one.handle(Mark(None, "now")))
            seen = set()
            while not moving.done():
                seen.add(one.now_ns())
                await asyncio.sleep(0)
            await marking
            assert seen <= {30 * SECOND, 200 * SECOND}
            assert [at for at, words in _markers(one.hub) if words == "now"] == [200_000]

    run_apart(moved())


def _markers(hub: Hub) -> list[tuple[int, str]]:
    greeting = json.loads(hub.hello(0, next(STEADY))[0])
    return [(marker["t_ms"], marker["words"]) for marker in greeting["markers"]]
