"""A lesson that is changed after the session is kept as a file; the recording keeps every byte it had."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from bridge import kept_revisions, read_lesson
from bridge.controls import ReplayControl, Revise, request_from_text
from bridge.errors import ControlError
from bridge.lesson_file import revised
from bridge.recording import RecordingWriter
from bridge.replaying import ReplaySession
from bridge.revisions_kept import keep_revision
from tests.bridge.test_session import LESSON, Seen, run_apart, running, settings

VOLTS = ("conversion", "sensor", "reference_volts")
OFFSET = ("bench", 1, "channel", "temperature", "offset")


def recorded(tmp_path: Path) -> Path:
    """Ten seconds of one bench; after five the instructor corrected its offset."""
    path = tmp_path / "2026-03-02 Cups.benchrow"
    writer = RecordingWriter(path, lesson_text=LESSON, start_utc_ns=0, program="test")
    writer.add_event("break", 1, 0, {"cold": False})
    for second in range(10):
        if second == 5:
            writer.add_lesson(revised(LESSON, [(OFFSET, -1.0)]), second * 10**9)
        writer.add_chunk(1, f"{60 + second}\r\n".encode(), second * 10**9 + 1000)
    writer.close()
    return path


def test_a_change_in_a_replay_starts_from_the_last_revision(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = recorded(tmp_path)
    before = path.read_bytes()

    async def replay() -> None:
        seen = Seen(monkeypatch)
        one = ReplaySession(settings(tmp_path, mode="replay", recording=path, playing=False))
        async with running(one):
            await one.handle(ReplayControl(None, "seek", 2_500.0))
            assert seen.readings[-1].value == 62 * 5 / 1024 / 0.01
            await one.handle(Revise(None, ((VOLTS, 3.3),)))
            assert seen.readings[-1].value == 62 * 3.3 / 1024 / 0.01 - 1.0, "with what was corrected later"
            await one.handle(Revise(None, ((OFFSET, 2.0),)))
            assert seen.readings[-1].value == 62 * 3.3 / 1024 / 0.01 + 2.0
            await one.handle(Revise(None, ((OFFSET, 2.0),), from_recorded=True))
            assert seen.readings[-1].value == 62 * 5 / 1024 / 0.01 + 2.0, "the voltage is the recorded one"

    run_apart(replay())
    assert path.read_bytes() == before
    assert kept_revisions(tmp_path / "kept", path) == []


def test_it_is_kept_with_who_and_why_and_its_remarks(tmp_path: Path) -> None:
    path = recorded(tmp_path)
    before = path.read_bytes()

    async def replay() -> tuple[str, str]:
        one = ReplaySession(settings(tmp_path, mode="replay", recording=path, playing=False))
        async with running(one):
            first = await one.handle(
                Revise(None, ((VOLTS, 3.3),), from_recorded=True, keep="measured\nlater")
            )
            second = await one.handle(Revise(None, ((VOLTS, 3.2),), from_recorded=True, keep=""))
            return first, second

    first, _ = run_apart(replay())
    assert "2026-03-02 Cups, revision 1.toml; the recording stays as it was" in first
    assert path.read_bytes() == before
    newest, oldest = kept_revisions(tmp_path / "kept", path)
    assert [newest.stem[-1], oldest.stem[-1]] == ["2", "1"]
    text = oldest.read_text(encoding="utf-8")
    assert text.startswith("# Revision 1 of the lesson of 2026-03-02 Cups.benchrow, kept on ")
    assert (
        "by the instructor.\n# Why: measured later\n#     conversion / sensor / reference_volts = 3.3\n"
        in text
    )
    assert "# a remark that stays" in text
    assert read_lesson(oldest).conversions[0].reference_volts == 3.3
    assert read_lesson(oldest).benches[0].channels[0].offset == -1.0
    assert read_lesson(newest).conversions[0].reference_volts == 3.2


def test_a_folder_that_takes_no_file_is_told(tmp_path: Path) -> None:
    path = recorded(tmp_path)
    (tmp_path / "kept").write_text("a file where the folder should be")

    async def replay() -> None:
        one = ReplaySession(settings(tmp_path, mode="replay", recording=path, playing=False))
        async with running(one):
            with pytest.raises(ControlError, match="can't be kept"):
                await one.handle(Revise(None, ((VOLTS, 3.3),), keep=""))

    run_apart(replay())


def test_only_a_recordings_own_revisions_are_listed(tmp_path: Path) -> None:
    at = datetime(2026, 3, 2, tzinfo=UTC)
    for n in range(11):
        assert (
            keep_revision(tmp_path, Path("a.benchrow"), LESSON, (), why="", at=at).stem
            == f"a, revision {n + 1}"
        )
    keep_revision(tmp_path, Path("a b.benchrow"), LESSON, (), why="", at=at)
    (tmp_path / "a, revision x.toml").write_text("")
    found = kept_revisions(tmp_path, Path("a.benchrow"))
    assert [found[0].stem, len(found)] == ["a, revision 11", 11]
    assert kept_revisions(tmp_path / "nowhere", Path("a.benchrow")) == []


def test_the_control_says_what_it_starts_from_and_why_it_is_kept() -> None:
    text = '{"kind":"revise","changes":[[["note"],"x"]],"from_recorded":true,"keep":" wrong board "}'
    assert request_from_text(text) == Revise(
        None, ((("note",), "x"),), from_recorded=True, keep="wrong board"
    )
