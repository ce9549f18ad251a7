"""A live session is taught: a layout chosen, a text learned again, a rate tried, benches calibrated."""

from __future__ import annotations

import asyncio
import json
import time
from pathlib import Path
from typing import Any

import pytest

from bridge import findings_of_recording, read_recording
from bridge.controls import Capture, ChooseLayout, Fit, Relearn, TryBaud, Uncalibrate
from bridge.errors import ControlError
from bridge.lesson_file import lesson_from_text
from bridge.live import LiveSession
from bridge.recorded import Recorded
from bridge.replaying import ReplaySession
from tests.bridge.sources.rig import Terminal
from tests.bridge.test_session import run_apart, running, settings, until, until_link

LESSON = """\
title = "Cooling cups"  # a remark that stays

[[channel]]
name = "temperature"
unit = "°C"
low = 0.0
high = 60.0

[[bench]]
number = 1
name = "No cover"

[[bench]]
number = 2
name = "Paper"
"""


def session_of(tmp_path: Path, *terminals: Terminal, lesson: str = LESSON) -> LiveSession:
    path = tmp_path / "lesson.toml"
    path.write_text(lesson, encoding="utf-8")
    boards = tuple(f"{i}={one.port}@115200" for i, one in enumerate(terminals, 1))
    return LiveSession(settings(tmp_path, lesson=path, boards=boards))


def details_of(session: LiveSession, kind: str, bench: int = 1) -> dict[str, Any]:
    """The newest detail of that kind, as a client gets it that looks closely."""
    texts, _ = session.hub.details(bench, 0, frozenset((kind,)))
    return json.loads(texts[-1]) if texts else {}


def updates_of(session: LiveSession | ReplaySession) -> list[dict[str, Any]]:
    """All that a client gets that knows nothing yet."""
    session.hub.cut(time.monotonic_ns())
    return [json.loads(text) for text in session.hub.updates(0, session.now_ns())]


def values_of(session: LiveSession | ReplaySession, bench: int) -> list[float]:
    frame = updates_of(session)[-1]
    return [one[3] for one in frame["values"] if one[0] == bench and one[3] is not None]


def baud_of(session: LiveSession, bench: int) -> int:
    found = [one["bench"] for one in updates_of(session) if one["kind"] == "bench"]
    return next(int(one["status"]["baud"]) for one in found if one["number"] == bench)


async def print_lines(terminal: Terminal, texts: list[bytes], every_seconds: float = 0.02) -> None:
    for text in texts:
        terminal.prints(text + b"\r\n")
        await asyncio.sleep(every_seconds)  # a board's pace, not a wait for anything


def test_of_two_ways_to_read_a_text_the_chosen_one_is_kept_in_the_lesson(tmp_path: Path) -> None:
    board = Terminal()
    lines = [b"45,04,55,1", b"44,88,55,0", b"44,75,54,8", b"44,63,54,6"] * 8

    async def scene() -> tuple[str, str]:
        session = session_of(tmp_path, board)
        session.hub.survey(before=False, after=True)
        async with running(session):
            await until_link(session, "open")
            await print_lines(board, [b"cold start", *lines])
            await until(lambda: details_of(session, "text").get("alternatives"))
            shown = details_of(session, "text")
            assert shown["sure"] == "doubtful"
            index = next(i for i, one in enumerate(shown["alternatives"]) if len(one["columns"]) == 2)
            way = shown["alternatives"][index]["words"]
            for another in (ChooseLayout(None, 1, 7, way), ChooseLayout(None, 1, 1 - index, way)):
                with pytest.raises(ControlError, match="no such way"):
                    await session.handle(another)
            words = await session.handle(ChooseLayout(None, 1, index, way))
            await print_lines(board, lines[:4])
            await until(lambda: details_of(session, "text")["sure"] == "lesson")
            assert session.recording
            return words, session.recording

    words, path = run_apart(scene())
    board.unplug()
    kept = (tmp_path / "lesson.toml").read_text(encoding="utf-8")
    assert "saved in" in words
    assert "a remark that stays" in kept
    layout = lesson_from_text(kept).layout_of(lesson_from_text(kept).bench(1))
    assert layout is not None
    assert (layout.decimal_comma, len(layout.fields)) == (True, 2)
    with Recorded(path) as recorded:
        assert [at_ns > 0 for at_ns, _ in recorded.lessons] == [False, True]


def test_a_text_is_learned_again_by_a_press_and_replayed_so(tmp_path: Path) -> None:
    board = Terminal()

    async def scene() -> str:
        session = session_of(tmp_path, board, lesson='title = "Open lesson"\n')
        session.hub.survey(before=False, after=True)
        async with running(session):
            await until_link(session, "open")
            await print_lines(board, [b"cold start", *[b"Temp: 21.5 C"] * 5])
            await until(lambda: values_of(session, 1) == [21.5])
            words = await session.handle(Relearn(None, 1))
            assert "again" in words
            await until(lambda: details_of(session, "text")["sure"] == "unknown")
            await print_lines(board, [b"Water = 22.5 degC"] * 5)
            await until(lambda: details_of(session, "text")["sure"] == "sure")
            assert session.recording
            return session.recording

    path = run_apart(scene())
    board.unplug()
    table = read_recording(path)
    assert [*dict.fromkeys(table.channel)] == ["Temp", "Water"]

    async def replay() -> list[Any]:
        replayed = ReplaySession(
            settings(tmp_path, mode="replay", recording=Path(path), playing=True, speed=64.0)
        )
        async with running(replayed):
            with Recorded(path) as recorded:
                await until(lambda: replayed.now_ns() >= recorded.length_ns)
            # The clock is at the end an instant before what was read there is told.
            await until(lambda: values_of(replayed, 1) == [22.5])
            return values_of(replayed, 1)

    assert run_apart(replay()) == [22.5]


def test_a_text_that_the_lesson_describes_is_not_learned(tmp_path: Path) -> None:
    board = Terminal()
    more = '\n[[layout]]\nname = "by hand"\nkind = "columns"\nfields = ["temperature"]\n'

    async def scene() -> None:
        lesson = LESSON.replace('name = "No cover"', 'name = "No cover"\nlayout = "by hand"') + more
        session = session_of(tmp_path, board, lesson=lesson)
        async with running(session):
            await until_link(session, "open")
            with pytest.raises(ControlError, match="by hand"):
                await session.handle(Relearn(None, 1))

    run_apart(scene())
    board.unplug()


def test_another_rate_is_tried_and_kept_once_lines_can_be_read(tmp_path: Path) -> None:
    board = Terminal()

    async def scene() -> None:
        session = session_of(tmp_path, board)
        async with running(session):
            await until_link(session, "open")
            words = await session.handle(TryBaud(None, 1, 19200))
            assert "19200" in words
            await until_link(session, "open")
            await until(lambda: baud_of(session, 1) == 19200)
            with pytest.raises(ControlError, match="no board"):
                await session.handle(TryBaud(None, 2, 19200))
            while "baud = 19200" not in (tmp_path / "lesson.toml").read_text(encoding="utf-8"):
                await print_lines(board, [b"Temp: 21.5 C"])

    run_apart(asyncio.wait_for(scene(), 30))
    board.unplug()


def test_steady_benches_are_captured_and_read_right_from_then_on(tmp_path: Path) -> None:
    boards = [Terminal(), Terminal()]

    async def keep_printing() -> None:
        while True:
            boards[0].prints(b"temperature: 20.60\r\n")
            boards[1].prints(b"temperature: 19.70\r\n")
            await asyncio.sleep(0.05)  # a board's pace

    async def scene() -> str:
        session = session_of(tmp_path, *boards)
        session.hub.survey(before=False, after=True)
        async with running(session):
            await until_link(session, "open", 2)
            with pytest.raises(ControlError, match="no steady reading"):
                await session.handle(Capture(None, (1, 2), "temperature", 20.0, 0.05, "glass thermometer"))
            printing = asyncio.create_task(keep_printing())
            await until(
                lambda: all(
                    (details_of(session, "steady", bench).get("channels") or [{"steady": False}])[0]["steady"]
                    for bench in (1, 2)
                )
            )
            words = await session.handle(
                Capture(None, (1, 2), "temperature", 20.0, 0.05, "glass thermometer")
            )
            assert "No cover" in words
            assert "Paper" in words
            await until(lambda: values_of(session, 1) == values_of(session, 2) == [pytest.approx(20.0)])
            with pytest.raises(ControlError):
                await session.handle(Fit(None, (1, 2), "temperature", "line"))  # one point makes no line
            await session.handle(Uncalibrate(None, 1, "temperature"))
            await until(lambda: values_of(session, 1) == [20.6])
            printing.cancel()
            assert session.recording
            return session.recording

    path = run_apart(scene())
    for one in boards:
        one.unplug()
    kept = lesson_from_text((tmp_path / "lesson.toml").read_text(encoding="utf-8"))
    assert kept.bench(1).channels == ()
    (own,) = kept.bench(2).channels
    assert own.calibration is not None
    assert own.calibration.reference == "glass thermometer"
    table = read_recording(path)
    last = table[table.bench == 2].iloc[-1]
    assert last.value == pytest.approx(20.0)
    assert last.u >= 0.05  # no better than the thermometer
    assert not [one for one in findings_of_recording(path) if one.finding.weight == "fault"]
