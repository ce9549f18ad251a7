from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from bridge.errors import RecordingError
from bridge.recorded import Chunk, Event, Item, LessonRevision, Marker, Recorded
from bridge.recording import RecordingWriter

STEP_NS = 1_000_000


def started(path: Path) -> RecordingWriter:
    return RecordingWriter(
        path, lesson_text='title = "cups"', start_utc_ns=5_000, program="benchrow test", commit_seconds=0.02
    )


def add(writer: RecordingWriter, first: int, n: int) -> list[Item]:
    added: list[Item] = []
    for i in range(first, first + n):
        added.append(Chunk(i * STEP_NS, i % 4 + 1, b"Temp: %d.25 C\r\n" % (i * 7919)))
        writer.add_chunk(i % 4 + 1, b"Temp: %d.25 C\r\n" % (i * 7919), i * STEP_NS)
        if i % 40 == 20:
            added.append(Event(i * STEP_NS, "break", 1, {"cold": True, "words": "unplugged"}))
            writer.add_event("break", 1, i * STEP_NS, {"cold": True, "words": "unplugged"})
            added.append(Marker(i * STEP_NS, "dip", "instructor"))
            writer.add_marker(i * STEP_NS, "dip", "instructor")
            added.append(LessonRevision(i * STEP_NS, f'title = "cups, {i}"\n' + "# long\n" * 900))
            writer.add_lesson(f'title = "cups, {i}"\n' + "# long\n" * 900, i * STEP_NS)
        if i % 25 == 24:
            assert writer.flush()
    assert writer.flush()
    return added


@pytest.fixture
def session(tmp_path: Path) -> tuple[Path, list[Item]]:
    """A recording that was closed, and all that was added to it."""
    writer = started(tmp_path / "session.benchrow")
    added = add(writer, 0, 400)
    writer.close()
    return writer.path, [LessonRevision(0, 'title = "cups"'), *added]


@pytest.fixture
def unmerged(tmp_path: Path) -> tuple[Path, list[Item]]:
    """The file alone of one that was not closed, its log written back."""
    writer = started(tmp_path / "unmerged.benchrow")
    added = add(writer, 0, 400)
    copy = tmp_path / "copy.benchrow"
    source, target = sqlite3.connect(writer.path), sqlite3.connect(copy)
    source.backup(target)
    target.execute("PRAGMA journal_mode = DELETE")
    source.close()
    target.close()
    writer.close()
    return copy, [LessonRevision(0, 'title = "cups"'), *added]


def test_it_tells_its_lessons_markers_events_benches_and_length(session: tuple[Path, list[Item]]) -> None:
    path, items = session
    with Recorded(path) as recorded:
        assert recorded.lessons == [(one.at_ns, one.text) for one in items if isinstance(one, LessonRevision)]
        assert recorded.markers == [one for one in items if isinstance(one, Marker)]
        assert recorded.events == [one for one in items if isinstance(one, Event)]
        assert recorded.anchors == [(0, 5_000)]
        assert (recorded.start_utc_ns, recorded.length_ns) == (5_000, 399 * STEP_NS)
        assert recorded.benches == (1, 2, 3, 4)
        assert recorded.program == "benchrow test"


@pytest.mark.parametrize("from_step", [0, 1, 20, 133, 398, 399, 400])
@pytest.mark.parametrize("kept", ["session", "unmerged"])
def test_items_from_a_time_on_are_the_last_of_all(
    kept: str, from_step: int, request: pytest.FixtureRequest
) -> None:
    path, items = request.getfixturevalue(kept)
    with Recorded(path) as recorded:
        found = list(recorded.items(from_step * STEP_NS))
        assert recorded.damage == ""
    assert found == [one for one in items if one.at_ns >= from_step * STEP_NS]


def test_one_that_is_being_written_grows(tmp_path: Path) -> None:
    writer = started(tmp_path / "session.benchrow")
    first = [LessonRevision(0, 'title = "cups"'), *add(writer, 0, 50)]
    with Recorded(writer.path) as recorded:
        assert list(recorded.items()) == first
        more = add(writer, 50, 50)
        assert list(recorded.items()) == first + more
        assert recorded.length_ns == 99 * STEP_NS
    writer.close()


def test_a_reader_under_way_is_not_disturbed_when_the_rows_are_merged(tmp_path: Path) -> None:
    writer = started(tmp_path / "session.benchrow")
    added = [LessonRevision(0, 'title = "cups"'), *add(writer, 0, 400)]
    with Recorded(writer.path) as recorded:
        reading = recorded.items()
        first = [next(reading) for _ in range(130)]
        writer.close()
        assert first + list(reading) == added
        assert recorded.damage == ""


def test_reading_leaves_file_and_folder_as_they_are(session: tuple[Path, list[Item]]) -> None:
    path, _ = session
    before, names = path.read_bytes(), list(path.parent.iterdir())
    with Recorded(path) as recorded:
        list(recorded.items())
    assert path.read_bytes() == before
    assert list(path.parent.iterdir()) == names


# ---- what goes wrong ----


def test_no_such_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(RecordingError, match=r"there is no recording .*nothing\.benchrow"):
        Recorded(tmp_path / "nothing.benchrow")


@pytest.mark.parametrize(
    "content", [b"", b"time,value\n1,2\n", bytes(5000), b"SQLite format 3\0" + bytes(84)]
)
def test_another_file_is_no_recording(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "other.benchrow"
    path.write_bytes(content)
    with pytest.raises(RecordingError, match=r"other\.benchrow is (not a recording|damaged)"):
        Recorded(path)


def test_a_folder_is_no_recording(tmp_path: Path) -> None:
    with pytest.raises(RecordingError, match="can't be opened"):
        Recorded(tmp_path)


def test_another_programs_database_is_no_recording(tmp_path: Path) -> None:
    connection = sqlite3.connect(tmp_path / "other.db")
    connection.execute("CREATE TABLE about (name, value)")
    connection.close()
    with pytest.raises(RecordingError, match="is not a recording"):
        Recorded(tmp_path / "other.db")


def test_a_newer_form_is_told_as_such(session: tuple[Path, list[Item]]) -> None:
    connection = sqlite3.connect(session[0])
    connection.execute("PRAGMA user_version = 2")
    connection.close()
    with pytest.raises(RecordingError, match="newer version") as caught:
        Recorded(session[0])
    assert "Update" in caught.value.remedy


def read_what_is_whole(path: Path) -> tuple[list[Item], str] | None:
    """What a damaged file gives with the words about it; None when it is refused."""
    try:
        with Recorded(path) as recorded:
            found = list(recorded.items())
            recorded.length_ns  # noqa: B018  # these must not raise either
            recorded.lessons, recorded.markers, recorded.events, recorded.benches  # noqa: B018
            return found, recorded.damage
    except RecordingError as error:
        assert "damaged" in str(error) or "not a recording" in str(error)  # noqa: PT017
        return None


def cut_at(size: int) -> Callable[[bytes], bytes]:
    return lambda whole: whole[:size]


def zeros_from(size: int) -> Callable[[bytes], bytes]:
    return lambda whole: whole[:size] + bytes(len(whole) - size)


@pytest.mark.parametrize("kept", ["session", "unmerged"])
@pytest.mark.parametrize("damage", [cut_at, zeros_from], ids=["cut", "zeros"])
def test_whatever_end_is_missing_only_what_was_added_comes_out(
    kept: str, damage: Callable[[int], Callable[[bytes], bytes]], request: pytest.FixtureRequest
) -> None:
    path, items = request.getfixturevalue(kept)
    whole = path.read_bytes()
    n_given = set()
    for size in sorted({*range(0, len(whole), 1777), *range(0, len(whole), 4096), 1, len(whole) - 1}):
        path.write_bytes(damage(size)(whole))
        found = read_what_is_whole(path)
        if found is None:
            continue
        given, words = found
        assert given == items[: len(given)], f"at {size} of {len(whole)}"
        assert words or given == items, f"at {size} of {len(whole)}"
        n_given.add(len(given))
        assert path.read_bytes() == damage(size)(whole)
    # The session's chunks are one merged part; unmerged ones are lost batch by batch.
    assert max(n_given) > 300
    assert kept == "session" or len(n_given) > 5


@pytest.mark.parametrize("kept", ["session", "unmerged"])
def test_a_flipped_bit_is_never_a_reading(kept: str, request: pytest.FixtureRequest) -> None:
    path, items = request.getfixturevalue(kept)
    whole = path.read_bytes()
    for at in range(100, len(whole), 997):
        path.write_bytes(whole[:at] + bytes((whole[at] ^ 0x10,)) + whole[at + 1 :])
        found = read_what_is_whole(path)
        if found is not None:
            assert found[0] == items[: len(found[0])], f"at {at} of {len(whole)}"
            assert found[1] or found[0] == items, f"at {at} of {len(whole)}"


def test_a_lost_row_ends_what_is_given(session: tuple[Path, list[Item]]) -> None:
    path, items = session
    connection = sqlite3.connect(path)
    connection.execute("DELETE FROM markers WHERE ord = (SELECT min(ord) FROM markers)")
    connection.commit()
    connection.close()
    with Recorded(path) as recorded:
        found = list(recorded.items())
        assert found == items[: items.index(Marker(20 * STEP_NS, "dip", "instructor"))]
        assert "missing" in recorded.damage
