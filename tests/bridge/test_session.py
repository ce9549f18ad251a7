"""A live session on pseudo-terminals, and the replay of what it recorded."""

from __future__ import annotations

import asyncio
import contextlib
import itertools
import time
from collections.abc import AsyncIterator, Callable, Coroutine, Iterable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, TypeVar

import pytest

from bridge import read_recording
from bridge.controls import Acknowledge, Mark, Record, Release, ReplayControl, Revise, Seat, Shelve, TakeBack
from bridge.core.readings import AlarmChange, Change, Reading
from bridge.core.seating import BoardSeen
from bridge.errors import BenchrowError, ControlError
from bridge.hub import Hub
from bridge.live import LiveSession
from bridge.ports import Listing
from bridge.recorded import Recorded
from bridge.replaying import ReplaySession
from bridge.session import Session, page_origins
from bridge.settings import Settings, settings_from_json
from tests.bridge.sources.rig import Terminal

DEADLINE_SECONDS = 30.0
LESSON = """\
title = "Cooling"   # a remark that stays

[[channel]]
name = "temperature"
unit = "°C"
field = "raw"
conversion = "sensor"
low = 0.0
high = 60.0

[channel.bands]
baseline = 20.0
edges = [5.0, 10.0, 20.0]
deadband = 1.0

[[channel.limit]]
kind = "high"
at = 45.0
deadband = 1.0

[[conversion]]
name = "sensor"
start = "count"
width_bits = 10
reference_volts = 5.0
volts_per_unit = 0.010

[[layout]]
name = "raw only"
kind = "columns"
fields = ["raw"]
""" + "".join(
    f"""
[[bench]]
number = {n}
name = "Bench {n}"
layout = "raw only"
"""
    for n in range(1, 9)
)


class Seen:
    """All that the hubs were ever given while it listens; a replay computes on a second one, out of sight."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.readings: list[Reading] = []
        self.changes: list[Change] = []
        take_readings, take_changes = Hub.take_readings, Hub.take_changes

        def with_readings(hub: Hub, readings: Iterable[Reading]) -> None:
            self.readings += readings
            take_readings(hub, readings)

        def with_changes(hub: Hub, changes: Iterable[Change]) -> None:
            self.changes += changes
            take_changes(hub, changes)

        monkeypatch.setattr(Hub, "take_readings", with_readings)
        monkeypatch.setattr(Hub, "take_changes", with_changes)

    def of(self, bench: int) -> tuple[list[Reading], list[Change]]:
        return (
            [one for one in self.readings if one.bench == bench],
            [one for one in self.changes if one.bench == bench],
        )


T = TypeVar("T")


def run_apart(work: Coroutine[Any, Any, T]) -> T:
    """Run it on a loop in a thread of its own: the browser tests' own loop may run in this one."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, work).result()


async def until(is_so: Callable[[], object]) -> None:
    async with asyncio.timeout(DEADLINE_SECONDS):
        while not is_so():
            await asyncio.sleep(0.005)


@contextlib.asynccontextmanager
async def running(session: Session) -> AsyncIterator[None]:
    await session.start()
    task = asyncio.create_task(session.run())
    try:
        yield
    finally:
        task.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await task
        await session.close()


async def until_link(session: LiveSession, state: str, n: int = 1) -> None:
    """Until so many benches say so of their link. Opening a port throws away what came before."""
    steady = itertools.count(time.monotonic_ns(), 10**10)  # no greeting is kept for the next look
    wanted = f'"link":"{state}"'.encode()
    await until(lambda: session.hub.hello(0, next(steady))[0].count(wanted) == n)


def settings(tmp_path: Path, **more: Any) -> Settings:
    return Settings(**{"mode": "live", "passcode": "1", "data_dir": tmp_path / "kept", **more})


def lesson_file(tmp_path: Path) -> Path:
    path = tmp_path / "lesson.toml"
    path.write_text(LESSON, encoding="utf-8")
    return path


def live(tmp_path: Path, *terminals: Terminal, **more: Any) -> LiveSession:
    boards = tuple(f"{i}={one.port}@115200" for i, one in enumerate(terminals, 1))
    return LiveSession(settings(tmp_path, lesson=lesson_file(tmp_path), boards=boards, **more))


def test_a_replay_gives_the_readings_bands_and_alarms_of_the_live_session(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    terminals = [Terminal() for _ in range(8)]

    async def session() -> tuple[Seen, str]:
        seen = Seen(monkeypatch)
        live_session = live(tmp_path, *terminals)
        async with running(live_session):
            await until_link(live_session, "open", 8)
            for bench, one in enumerate(terminals, 1):  # the first line after a cold start is none
                one.prints(b"5\r\n" + b"".join(b"%d\r\n" % (60 + bench + i % 40) for i in range(50)))
            await until(lambda: len(seen.readings) == 400)
            one = terminals[2]
            one.prints(b"80\r\n8")
            await until(lambda: len(seen.readings) == 401)  # a closed terminal gives away nothing more
            one.unplug()
            for n in range(2, 30):
                for bench in (1, 2, 8):
                    terminals[bench - 1].prints(b"7%d\r\nnan\r\n" % (n % 10))
            await until(lambda: len(seen.readings) == 400 + 1 + 28 * 3 * 2)
            alarm = next(one for one in seen.changes if isinstance(one, AlarmChange) and one.bench == 8)
            await live_session.handle(Acknowledge(None, f"8/{alarm.channel}/{alarm.limit}"))
            await live_session.handle(Shelve(None, f"8/{alarm.channel}/{alarm.limit}", 5.0, "being stirred"))
            terminals[7].prints(b"60\n120\n12")
            await until(lambda: len(seen.of(8)[0]) == 50 + 56 + 2)
            assert live_session.recording
            return seen, live_session.recording

    lived, path = run_apart(session())
    for terminal in terminals:
        terminal.unplug()

    async def replay() -> Seen:
        monkeypatch.undo()
        replay_session = ReplaySession(
            settings(tmp_path, mode="replay", recording=Path(path), playing=True, speed=64.0)
        )
        seen = Seen(monkeypatch)
        async with running(replay_session):
            with Recorded(path) as recorded:
                await until(lambda: replay_session.now_ns() >= recorded.length_ns)
        return seen

    replayed = run_apart(replay())
    assert {type(one).__name__ for one in lived.changes} == {"BandChange", "AlarmChange"}
    for bench in range(1, 9):
        assert replayed.of(bench) == lived.of(bench)
    table = read_recording(path)
    for bench in range(1, 9):
        mine = table[table.bench == bench]
        assert [None if value != value else value for value in mine.value] == [
            r.value for r in lived.of(bench)[0]
        ]


def test_a_port_is_let_go_and_taken_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = Terminal()

    async def session() -> None:
        one = live(tmp_path, terminal)
        seen = Seen(monkeypatch)
        async with running(one):
            await until_link(one, "open")
            terminal.prints(b"5\n60\n")
            await until(lambda: len(seen.readings) == 1)
            await one.handle(Release(None, 1))
            await until_link(one, "released")
            await one.handle(TakeBack(None, 1))
            await until_link(one, "open")
            terminal.prints(b"70\n61\n")
            await until(lambda: seen.readings[-1].value == 61 * 5 / 1024 / 0.01)
            with pytest.raises(ControlError, match="no board sits here"):
                await one.handle(Release(None, 7))

    run_apart(session())
    terminal.unplug()


def test_a_revision_is_saved_with_its_remarks_recorded_and_replayed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    terminal = Terminal()

    async def session() -> tuple[str, Seen]:
        one = live(tmp_path, terminal)
        seen = Seen(monkeypatch)
        async with running(one):
            await until_link(one, "open")
            terminal.prints(b"5\n60\n")
            await until(lambda: len(seen.readings) == 1)
            await one.handle(Revise(None, ((("bench", 1, "channel", "temperature", "gain"), 2.0),)))
            terminal.prints(b"60\n")
            await until(lambda: len(seen.readings) == 2)
            with pytest.raises(ControlError, match="wrong"):
                await one.handle(Revise(None, ((("bench", 1, "channel", "temperature", "gain"), "two"),)))
            assert one.recording
            return one.recording, seen

    path, seen = run_apart(session())
    terminal.unplug()
    assert [r.value for r in seen.readings] == [29.296875, 58.59375]
    saved = (tmp_path / "lesson.toml").read_text(encoding="utf-8")
    assert "# a remark that stays" in saved
    assert "gain = 2.0" in saved
    assert list(read_recording(path).value) == [29.296875, 58.59375]
    assert list(read_recording(path, tmp_path / "lesson.toml").value) == [58.59375, 58.59375]


def test_recording_can_be_ended_and_begun_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = Terminal()

    async def session() -> list[str | None]:
        one = live(tmp_path, terminal)
        seen = Seen(monkeypatch)
        paths: list[str | None] = []
        async with running(one):
            paths.append(one.recording)
            await one.handle(Record(None, False))
            paths.append(one.recording)
            await one.handle(Record(None, True))
            await until_link(one, "open")
            terminal.prints(b"5\n60\n")
            await until(lambda: len(seen.readings) == 1)
            await one.handle(Mark(None, "poured"))
            paths.append(one.recording)
        return paths

    first, none, second = run_apart(session())
    terminal.unplug()
    assert first
    assert second
    assert none is None
    assert first != second
    with Recorded(second) as recorded:
        assert [one.words for one in recorded.markers] == ["poured"]
    assert list(read_recording(second).value) == [29.296875]
    assert len(read_recording(first)) == 0


def recorded_minute(tmp_path: Path) -> Path:
    from bridge.recording import RecordingWriter

    writer = RecordingWriter(
        tmp_path / "minute.benchrow", lesson_text=LESSON, start_utc_ns=10**18, program="test"
    )
    writer.add_chunk(1, b"5\n", 0)
    for second in range(60):
        writer.add_chunk(1, b"%d\n" % (60 + second), second * 10**9)
    writer.add_marker(30 * 10**9, "half", "instructor")
    writer.close()
    return tmp_path / "minute.benchrow"


def newest_value(seen: Seen) -> float | None:
    return seen.readings[-1].value


def test_a_replay_seeks_pauses_and_changes_its_speed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = recorded_minute(tmp_path)

    async def replay() -> None:
        seen = Seen(monkeypatch)
        one = ReplaySession(settings(tmp_path, mode="replay", recording=path, playing=False))
        async with running(one):
            await one.handle(ReplayControl(None, "seek", 30_500.0))
            assert one.now_ns() == 30_500_000_000
            assert newest_value(seen) == 90 * 5 / 1024 / 0.01
            epoch = one.hub.epoch
            await one.handle(ReplayControl(None, "seek", 10_000.0))
            assert one.hub.epoch > epoch, "every client must start over"
            assert newest_value(seen) == 70 * 5 / 1024 / 0.01
            await one.handle(ReplayControl(None, "speed", 64.0))
            await one.handle(ReplayControl(None, "play", None))
            await until(lambda: newest_value(seen) == 119 * 5 / 1024 / 0.01)
            await one.handle(ReplayControl(None, "loop", True))
            await until(lambda: one.now_ns() < 50 * 10**9)
            with pytest.raises(ControlError, match="speed"):
                await one.handle(ReplayControl(None, "speed", 100.0))
            with pytest.raises(ControlError, match="not possible"):
                await one.handle(Release(None, 1))

    run_apart(replay())


def test_a_replay_ends_though_a_control_came_at_that_moment(tmp_path: Path) -> None:
    path = recorded_minute(tmp_path)

    async def replay() -> None:
        one = ReplaySession(settings(tmp_path, mode="replay", recording=path, playing=False))
        await one.start()
        task = asyncio.create_task(one.run())
        await asyncio.sleep(0)
        await one.handle(ReplayControl(None, "pause", None))
        task.cancel()
        ended, _ = await asyncio.wait({task}, timeout=DEADLINE_SECONDS)
        assert ended
        await one.close()

    run_apart(replay())


def test_a_replay_with_another_lesson_shows_what_would_have_been(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = recorded_minute(tmp_path)

    async def replay() -> None:
        one = ReplaySession(
            settings(tmp_path, mode="replay", recording=path, playing=False, from_seconds=30.5)
        )
        seen = Seen(monkeypatch)
        async with running(one):
            words = await one.handle(Revise(None, ((("conversion", "sensor", "reference_volts"), 3.3),)))
            assert "recording stays" in words
            assert newest_value(seen) == 90 * 3.3 / 1024 / 0.01

    run_apart(replay())


def test_two_boards_for_one_bench_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    session = LiveSession(settings(tmp_path, boards=("1=pipe://", "1=pipe://")))

    async def start() -> None:
        try:
            await session.start()
        finally:
            await session.close()

    with pytest.raises(BenchrowError, match="two boards"):
        run_apart(start())


def test_settings_that_can_not_be_read_are_told() -> None:
    for text in ("", "[]", '{"mode": "live", "colour": 3}'):
        with pytest.raises(BenchrowError, match="settings"):
            settings_from_json(text)


def test_only_this_machines_pages_may_connect() -> None:
    assert page_origins("127.0.0.1", 8050) == [
        "http://127.0.0.1:8050",
        "http://[::1]:8050",
        "http://localhost:8050",
    ]
    assert len(page_origins("0.0.0.0", 8050)) > 3


def test_a_board_that_nobody_knows_again_is_asked_about_and_seated_by_the_instructor(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, moved = Terminal(), Terminal()
    plugged_in = [BoardSeen(port=first.port, key="location:1-1", location="1-1")]
    listing = Listing(lambda: list(plugged_in), keep_seconds=0)

    async def session() -> list[float | None]:
        one = LiveSession(settings(tmp_path, lesson=lesson_file(tmp_path)), listing=listing)
        seen = Seen(monkeypatch)
        async with running(one):
            await until_link(one, "open")  # seated at the first free bench
            first.prints(b"5\n60\n")
            await until(lambda: len(seen.readings) == 1)
            first.unplug()
            plugged_in[:] = [BoardSeen(port=moved.port, key="location:1-2", location="1-2")]
            steady = itertools.count(time.monotonic_ns(), 10**10)
            await until(lambda: b'"board":"location:1-2"' in one.hub.hello(0, next(steady))[0])
            with pytest.raises(ControlError, match="waits for a bench"):
                await one.handle(Seat(None, "location:9-9", 1))
            await one.handle(Seat(None, "location:1-2", 1))
            await until(lambda: b'"boards":[]' in one.hub.hello(0, next(steady))[0])
            await until_link(one, "open")
            moved.prints(b"5\n70\n")
            await until(lambda: len(seen.readings) == 2)
            return [reading.value for reading in seen.readings]

    assert run_apart(session()) == [29.296875, 34.1796875]
    moved.unplug()
