from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from bridge.errors import RecordingError
from bridge.recorded import Chunk, Event, Item, LessonRevision, Marker, Recorded
from bridge.recording import WAITING_WARNING_BYTES, RecordingWriter, new_recording_path

START_UTC_NS = 1_790_000_000_000_000_000
DEADLINE_SECONDS = 20.0


@pytest.fixture
def write(tmp_path: Path) -> Iterator[Callable[..., RecordingWriter]]:
    """Makes writers; those that a test leaves open are closed."""
    made: list[RecordingWriter] = []

    def make(
        path: Path | None = None, *, lesson_text: str = "", commit_seconds: float = 0.02
    ) -> RecordingWriter:
        made.append(
            RecordingWriter(
                path or tmp_path / "session.benchrow",
                lesson_text=lesson_text,
                start_utc_ns=START_UTC_NS,
                program="benchrow test",
                title="Warm cups",
                commit_seconds=commit_seconds,
            )
        )
        return made[-1]

    yield make
    for one in made:
        one.close(patience_seconds=0)


def items_of(path: Path) -> list[Item]:
    with Recorded(path) as recorded:
        found = list(recorded.items())
        assert recorded.damage == ""
        return found


def fill(writer: RecordingWriter, n: int, *, first: int = 0) -> list[Item]:
    """Chunks of three benches with events, markers and revisions between them, some in every batch."""
    added: list[Item] = []
    for i in range(first, first + n):
        at_ns = i * 1_000_003
        added.append(Chunk(at_ns, i % 3 + 1, b"Temp: %d.5 C\r\n" % i))
        writer.add_chunk(i % 3 + 1, b"Temp: %d.5 C\r\n" % i, at_ns)
        if i % 10 == 4:
            added.append(Event(at_ns, "break", 2, {"cold": True, "words": "gezogen °"}))
            writer.add_event("break", 2, at_ns, {"cold": True, "words": "gezogen °"})
            added.append(Marker(at_ns, f"dip {i}", "instructor"))
            writer.add_marker(at_ns, f"dip {i}", "instructor")
        if i % 25 == 13:
            added.append(LessonRevision(at_ns, f'title = "{i}"'))
            writer.add_lesson(f'title = "{i}"', at_ns)
            assert writer.flush(DEADLINE_SECONDS)
    return added


def until(is_so: Callable[[], bool]) -> None:
    """Wait for what another thread does."""
    waiting = threading.Event()
    for _ in range(int(DEADLINE_SECONDS / 0.01)):
        if is_so():
            return
        waiting.wait(0.01)
    raise AssertionError("it did not come")


def failure_of(writer: RecordingWriter) -> RecordingError:
    until(lambda: writer.failure is not None)
    assert writer.failure is not None
    return writer.failure


def test_everything_comes_back_in_the_order_in_which_it_was_added(
    write: Callable[..., RecordingWriter], tmp_path: Path
) -> None:
    writer = write(lesson_text='title = "first"')
    added = [LessonRevision(0, 'title = "first"'), *fill(writer, 200)]
    assert writer.flush(DEADLINE_SECONDS)
    before_close = items_of(writer.path)
    writer.close()
    assert before_close == added
    assert items_of(writer.path) == added


def test_one_file_is_left_when_the_session_ends(
    write: Callable[..., RecordingWriter], tmp_path: Path
) -> None:
    writer = write()
    fill(writer, 100)
    writer.close()
    assert [one.name for one in tmp_path.iterdir()] == ["session.benchrow"]
    assert writer.failure is None
    assert writer.n_waiting_bytes == 0


def test_many_small_rows_become_few_compressed_ones(write: Callable[..., RecordingWriter]) -> None:
    writer = write()
    fill(writer, 300)
    assert writer.flush(DEADLINE_SECONDS)
    with sqlite3.connect(writer.path) as connection:
        before = connection.execute("SELECT count(*), min(packing), max(packing) FROM chunks").fetchone()
    connection.close()
    writer.close()
    with sqlite3.connect(writer.path) as connection:
        after = connection.execute("SELECT count(*), min(packing), max(packing) FROM chunks").fetchone()
    connection.close()
    assert before[0] >= 12 * 3
    assert "zlib" not in before[1:]
    assert after == (3, "zlib", "zlib")


def test_the_file_tells_what_it_is(write: Callable[..., RecordingWriter]) -> None:
    writer = write()
    writer.close()
    connection = sqlite3.connect(writer.path)
    assert connection.execute("PRAGMA application_id").fetchone() == (0x42526F77,)
    assert connection.execute("PRAGMA user_version").fetchone() == (1,)
    about = dict(connection.execute("SELECT name, value FROM about"))
    connection.close()
    assert about["title"] == "Warm cups"
    assert about["start_utc_ns"] == str(START_UTC_NS)
    assert datetime.fromisoformat(about["start_utc"]).timestamp() == START_UTC_NS / 1e9


def test_a_batch_is_committed_without_being_asked_for(write: Callable[..., RecordingWriter]) -> None:
    writer = write(commit_seconds=0.25)
    writer.add_chunk(1, b"21.5\n", 7)
    until(lambda: writer.path.exists() and writer.n_waiting_bytes == 0)
    assert items_of(writer.path) == [Chunk(7, 1, b"21.5\n")]


def test_threads_that_add_at_once_lose_nothing(write: Callable[..., RecordingWriter]) -> None:
    writer = write()

    def add(bench: int) -> None:
        for i in range(2000):
            writer.add_chunk(bench, b"%d\n" % i, i)

    threads = [threading.Thread(target=add, args=(bench,)) for bench in range(1, 5)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    writer.close()
    found = [one for one in items_of(writer.path) if isinstance(one, Chunk)]
    for bench in range(1, 5):
        assert [one.data for one in found if one.bench == bench] == [b"%d\n" % i for i in range(2000)]


def test_times_may_stand_still_go_back_and_leap(write: Callable[..., RecordingWriter]) -> None:
    writer, times_ns = write(), [5, 5, 3, 10**16, 10**16 + 1, 0]
    for at_ns in times_ns:
        writer.add_chunk(1, b"x", at_ns)
    writer.close()
    assert [one.at_ns for one in items_of(writer.path)] == times_ns


# ---- what goes wrong ----

_KILLED = """
import sys
from pathlib import Path
from bridge.recording import RecordingWriter

writer = RecordingWriter(
    Path(sys.argv[1]), lesson_text="", start_utc_ns=0, program="benchrow test", commit_seconds=0.05
)
i = 0
while True:
    for _ in range(40):
        writer.add_chunk(i % 3 + 1, b"Temp: %d.5 C\\r\\n" % i, i * 1000)
        i += 1
    writer.flush()
    print(i, flush=True)
    writer.add_chunk(9, b"not committed yet", i * 1000)
    i += 1
"""


def test_a_killed_writer_loses_at_most_the_last_batch(tmp_path: Path) -> None:
    path = tmp_path / "killed.benchrow"
    child = subprocess.Popen([sys.executable, "-c", _KILLED, str(path)], stdout=subprocess.PIPE, text=True)
    assert child.stdout is not None
    with child.stdout as told:  # `communicate` would lose what was read ahead of the twelfth line
        try:
            lines = [told.readline() for _ in range(12)]
        finally:
            os.kill(child.pid, signal.SIGKILL if hasattr(signal, "SIGKILL") else signal.SIGTERM)
        n_committed = max(map(int, [*lines, *told.read().split()]))
    child.wait(timeout=DEADLINE_SECONDS)
    found = items_of(path)
    assert n_committed <= len(found) <= n_committed + 41
    for i, item in enumerate(found):
        data = b"not committed yet" if i % 41 == 40 else b"Temp: %d.5 C\r\n" % i
        assert item == Chunk(i * 1000, 9 if i % 41 == 40 else i % 3 + 1, data)


_FULL = """
import random, resource, sys
from pathlib import Path
from bridge.recorded import Recorded
from bridge.recording import RecordingWriter

def piece(n):
    return random.Random(n).randbytes(1000)  # nothing that could be squeezed

path = Path(sys.argv[1])
writer = RecordingWriter(path, lesson_text="", start_utc_ns=0, program="benchrow test", commit_seconds=0.01)
assert writer.flush()
hard = resource.getrlimit(resource.RLIMIT_FSIZE)[1]
resource.setrlimit(resource.RLIMIT_FSIZE, (path.stat().st_size + 100_000, hard))
n = 0
while writer.failure is None:
    for _ in range(20):
        writer.add_chunk(1, piece(n), n)
        n += 1
    writer.flush(0.05)
print(writer.failure)
for _ in range(500):
    writer.add_chunk(2, piece(n), n)
    n += 1
assert not writer.flush(0.05)
assert writer.n_waiting_bytes > 400_000
resource.setrlimit(resource.RLIMIT_FSIZE, (hard, hard))
assert writer.flush(20)
assert writer.failure is None
writer.close()
with Recorded(path) as recorded:
    found = [(one.at_ns, one.data) for one in recorded.items()]
    assert found == [(i, piece(i)) for i in range(n)]
    assert recorded.damage == ""
print("all there")
"""


@pytest.mark.skipif(sys.platform == "win32", reason="a file size limit is a POSIX thing")
def test_a_disk_that_takes_no_more_is_told_and_nothing_is_lost(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", _FULL, str(tmp_path / "full.benchrow")],
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 0, done.stderr
    told, last = done.stdout.strip().splitlines()
    assert "the disk" in told
    assert "waits in memory" in told
    assert last == "all there"


def test_a_folder_that_can_not_be_made_is_told_and_tried_again(
    write: Callable[..., RecordingWriter], tmp_path: Path
) -> None:
    in_the_way = tmp_path / "recordings"
    in_the_way.write_text("a file where the folder should be")
    writer = write(in_the_way / "session.benchrow")
    added = fill_unflushed(writer, 30)
    told = failure_of(writer)
    assert str(in_the_way) in str(told)
    assert "writable" in told.remedy
    in_the_way.unlink()
    assert writer.flush(DEADLINE_SECONDS)
    until(lambda: writer.failure is None)
    writer.close()
    assert items_of(writer.path) == added


def fill_unflushed(writer: RecordingWriter, n: int) -> list[Item]:
    added: list[Item] = [Chunk(i, 1, b"%d\n" % i) for i in range(n)]
    for i in range(n):
        writer.add_chunk(1, b"%d\n" % i, i)
    return added


def test_a_file_that_is_there_already_is_left_alone(
    write: Callable[..., RecordingWriter], tmp_path: Path
) -> None:
    path = tmp_path / "session.benchrow"
    first = write()
    added = fill(first, 30)
    first.close()
    before = path.read_bytes()
    second = write()
    assert "there already" in str(failure_of(second))
    second.close(patience_seconds=0)
    assert path.read_bytes() == before
    assert items_of(path) == added


@pytest.mark.skipif(sys.platform == "win32", reason="Windows removes no open file")
def test_a_file_removed_while_it_is_written_is_written_anew_with_all_that_it_held(
    write: Callable[..., RecordingWriter],
) -> None:
    writer = write()
    added = fill(writer, 60)
    assert writer.flush(DEADLINE_SECONDS)
    for one in writer.path.parent.glob("session.benchrow*"):
        one.unlink()
    added += fill(writer, 60, first=60)
    assert writer.flush(DEADLINE_SECONDS)
    assert items_of(writer.path) == added
    writer.close()
    assert items_of(writer.path) == added


def test_closing_gives_up_on_a_disk_that_takes_nothing(
    write: Callable[..., RecordingWriter], tmp_path: Path
) -> None:
    in_the_way = tmp_path / "recordings"
    in_the_way.write_text("")
    writer = write(in_the_way / "session.benchrow")
    writer.add_chunk(1, b"21.5\n", 0)
    writer.close(patience_seconds=0.1)
    assert writer.failure is not None
    assert writer.n_waiting_bytes > 0


def test_too_much_that_waits_is_a_warning_and_no_bound(
    write: Callable[..., RecordingWriter], tmp_path: Path
) -> None:
    in_the_way = tmp_path / "recordings"
    in_the_way.write_text("")
    writer = write(in_the_way / "session.benchrow")
    block = bytes(1 << 20)
    n = (WAITING_WARNING_BYTES >> 20) + 2
    for i in range(n):
        writer.add_chunk(1, block, i)
    until(lambda: writer.n_waiting_bytes > WAITING_WARNING_BYTES)
    in_the_way.unlink()
    assert writer.flush(DEADLINE_SECONDS)
    assert len(items_of(writer.path)) == n


# ---- names ----


@pytest.mark.parametrize(
    ("title", "words"),
    [
        ("Which cover keeps the cup warm?", "Which cover keeps the cup warm"),
        ('a/b\\c:d*e?"f"<g>|h', "a b c d e f g h"),
        ("Grad °C, ä", "Grad C, ä"),
        ("..", "session"),
        ("", "session"),
        ("x" * 300, "x" * 60),
        ("a\nb\x00c", "a b c"),
    ],
)
def test_names_are_good_on_every_system(tmp_path: Path, title: str, words: str) -> None:
    start = datetime(2026, 3, 4, 9, 5, 6, tzinfo=UTC)
    path = new_recording_path(tmp_path, title, start)
    assert path == tmp_path / f"{start.astimezone():%Y-%m-%d %H-%M-%S} {words}.benchrow"


def test_a_taken_name_gets_a_number(tmp_path: Path) -> None:
    start = datetime(2026, 3, 4, 9, 5, 6, tzinfo=UTC)
    first = new_recording_path(tmp_path, "cups", start)
    first.touch()
    assert new_recording_path(tmp_path, "cups", start).name == f"{first.stem} (2).benchrow"


def test_a_commit_that_failed_in_name_only_is_not_written_twice(tmp_path: Path) -> None:
    writer = RecordingWriter(tmp_path / "a.benchrow", lesson_text="", start_utc_ns=0, program="test")
    writer.add_chunk(1, b"first\n", 1)
    assert writer.flush()
    writer._in_doubt = True  # the commit was done, but its answer was lost ...
    writer._n_committed -= 1
    writer._unwritten[:0] = [1, b"first\n", 1]
    writer.add_chunk(1, b"later\n", 2)  # ... and more came before the next try
    writer.close()
    with Recorded(tmp_path / "a.benchrow") as recorded:
        assert [one.data for one in recorded.items() if isinstance(one, Chunk)] == [b"first\n", b"later\n"]


def test_text_that_no_file_can_hold_does_not_stop_the_recording(tmp_path: Path) -> None:
    writer = RecordingWriter(tmp_path / "a.benchrow", lesson_text="", start_utc_ns=0, program="test")
    writer.add_event("link", 1, 1, {"port": "/dev/\udcff"})
    writer.add_marker(2, "odd \udcff", "rule")
    writer.add_chunk(1, b"later\n", 3)
    writer.close()
    assert writer.failure is None
    with Recorded(tmp_path / "a.benchrow") as recorded:
        assert len(list(recorded.items())) == 3
