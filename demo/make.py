"""Makes the demo's recording: `python -m demo.make`, from the top of a checkout.

The simulated boards print on ports; sources read them through pyserial into the inbox, and what comes out of
it goes into a recording, as in class. In real time it takes twenty minutes. With `--speed 4` the boards print
four times as fast, and the clock that stamps what arrives runs four times as fast too: the times in the
recording come out as in class, only the computer's own delays in them are four times as long.

The recording that is kept here was made at speed 4 with the process first in the computer's order of work
(on Linux: `chrt -f 5 python -m demo.make --speed 4`); a busy computer would else delay portions by a second.
"""

from __future__ import annotations

import argparse
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from bridge.errors import BenchrowError
from bridge.inbox import Arrived, Inbox, LinkChanged
from bridge.lesson_file import lesson_from_text, lesson_text
from bridge.recording import RecordingWriter
from bridge.sources import stop_all

from .boards import BOARDS, steps_of
from .faults import DEEDS, LESSON_SECONDS, Deed
from .running import RunningBoards

HERE = Path(__file__).resolve().parent
LESSON = HERE / "lesson.toml"
RECORDING = HERE / "recording.benchrow"
START_UTC = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
"""An invented lesson hour: the time at which the recording happened to be made tells nobody anything."""
PROGRAM = "Benchrow's simulated boards"
DRAIN_SECONDS = 0.5  # of real time: what was printed last is read


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """How the making went."""

    n_chunks: int
    n_bytes: int
    n_lost_bytes: int
    latest_seconds: float  # the most that a portion was handed over after its time, in session time


def scaled_clock(speed: float) -> Callable[[], int]:
    """A steady clock in ns, from 0 now, that runs that many times as fast as time does."""
    start = time.perf_counter_ns()
    return lambda: int((time.perf_counter_ns() - start) * speed)


class Making:
    """One session of the simulated boards while it is recorded."""

    def __init__(
        self, path: Path, *, speed: float, until_seconds: float, told: Callable[[str], None]
    ) -> None:
        text = lesson_text(LESSON)
        self.lesson = lesson_from_text(text, file=LESSON.name)
        self._writer = RecordingWriter(
            path,
            lesson_text=text,
            start_utc_ns=int(START_UTC.timestamp()) * 1_000_000_000,
            program=PROGRAM,
            title=self.lesson.title,
        )
        self._something = threading.Event()
        self._clock_ns, self._speed, self._told = scaled_clock(speed), speed, told
        self._inbox = Inbox(self._clock_ns, self._something.set)
        self._boards = RunningBoards(
            self._inbox, self._clock_ns, speed=speed, steps=partial(steps_of, until_seconds=until_seconds)
        )
        self._deeds = [deed for deed in DEEDS if deed.at_seconds < until_seconds]
        self._open: set[int] = set()
        self._n_chunks = self._n_bytes = 0

    def run(self) -> Made:
        """Record it from the first opening to the last line.

        Raises:
            RecordingError: The file could not be written.
        """
        for source in self._boards.sources:
            source.start()
        started = False
        while not started or self._boards.is_running:
            self._something.wait(0.05)
            self._take()
            if not started and len(self._open) == len(BOARDS):
                self._boards.start()
                started = True
        self._drain()
        stop_all(self._boards.sources)
        self._inbox.close()
        self._boards.stop()
        self._writer.close()
        if self._writer.failure is not None:
            raise self._writer.failure
        return Made(
            n_chunks=self._n_chunks,
            n_bytes=self._n_bytes,
            n_lost_bytes=self._boards.n_lost_bytes,
            latest_seconds=self._boards.latest_seconds,
        )

    def _drain(self) -> None:
        until = time.monotonic() + DRAIN_SECONDS
        while (left := until - time.monotonic()) > 0:
            self._something.wait(left)
            self._take()

    def _take(self) -> None:
        """What arrived goes into the recording, then what people do by now."""
        self._something.clear()
        now_ns, items = self._inbox.take()
        for item in items:
            if isinstance(item, Arrived):
                self._writer.add_chunk(item.bench, item.data, item.at_ns)
                self._n_chunks += 1
                self._n_bytes += len(item.data)
            else:
                self._link(item)
        while self._deeds and self._deeds[0].at_seconds * 1e9 <= now_ns:
            self._do(self._deeds.pop(0), now_ns)

    def _link(self, change: LinkChanged) -> None:
        if change.state == "open":
            self._open.add(change.bench)
        self._writer.add_event(
            "link",
            change.bench,
            change.at_ns,
            {
                "state": change.state,
                "words": change.words,
                "remedy": change.remedy,
                "port": change.port,
                "baud": change.baud,
            },
        )
        if change.breaks:
            self._writer.add_event("break", change.bench, change.at_ns, {"cold": True, "words": change.words})
        self._told(f"{change.at_ns / 1e9:7.1f} s  bench {change.bench}: {change.words}")

    def _do(self, deed: Deed, now_ns: int) -> None:
        add_deed(self._writer, deed, now_ns, channel=self.lesson.channels[0].name)
        self._told(f"{now_ns / 1e9:7.1f} s  {deed.kind} {deed.words} {deed.bench or ''}".rstrip())


def add_deed(writer: RecordingWriter, deed: Deed, at_ns: int, *, channel: str) -> None:
    """Record what a person did, as the bridge would."""
    match deed.kind:
        case "marker":
            writer.add_marker(at_ns, deed.words, "instructor")
        case "acknowledge":
            detail: dict[str, object] = {"channel": channel, "limit": deed.words, "who": "instructor"}
            writer.add_event("acknowledge", deed.bench, at_ns, detail)
        case "phase":
            writer.add_event("phase", None, at_ns, {"phase": deed.words, "who": "instructor"})
        case "attend":
            detail = {"call": deed.words, "benches": [deed.bench], "who": "instructor"}
            writer.add_event("attend", None, at_ns, detail)
        case "ask":
            writer.add_event("ask", deed.bench, at_ns, {"want": deed.words, "who": "group"})


def make(
    path: Path,
    *,
    speed: float = 1.0,
    until_seconds: float = LESSON_SECONDS,
    told: Callable[[str], None] = lambda words: None,  # noqa: ARG005 - tells nobody
) -> Made:
    """Record the demo session into a file, in place of one that is there.

    Raises:
        BenchrowError: The lesson is faulty or the file can't be written.
    """
    new = path.with_name(f"new {path.name}")
    new.unlink(missing_ok=True)
    made = Making(new, speed=speed, until_seconds=until_seconds, told=told).run()
    new.replace(path)
    return made


def main() -> int:
    """The command."""
    parser = argparse.ArgumentParser(prog="python -m demo.make", description="Make the demo's recording.")
    parser.add_argument("--speed", type=float, default=1.0, help="how much faster than in class (1)")
    parser.add_argument("--to", type=Path, default=RECORDING, metavar="FILE", help="default: %(default)s")
    options = parser.parse_args()
    if not 0 < options.speed <= 64:
        parser.error("--speed takes a number above 0 and up to 64")

    def told(words: str) -> None:
        sys.stdout.write(f"{words}\n")
        sys.stdout.flush()

    try:
        made = make(options.to, speed=options.speed, told=told)
    except BenchrowError as error:
        sys.stderr.write(f"{error}\n")
        return 1
    size = options.to.stat().st_size
    told(f"{made.n_chunks} portions, {made.n_bytes} bytes; {made.n_lost_bytes} bytes found no reader")
    told(f"no portion came more than {made.latest_seconds * 1000:.0f} ms of session time after its time")
    told(f"{options.to.name}: {size / 1e6:.2f} MB")
    return 0


if __name__ == "__main__":
    sys.exit(main())
