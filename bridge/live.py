"""A session on real boards: sources, recording and pipelines brought together on one event loop."""

from __future__ import annotations

import asyncio
import contextlib
import dataclasses
import logging
from collections.abc import Coroutine, Mapping, Sequence
from functools import partial

from bridge import alarm_controls, call_controls
from bridge.calibrating import calibration_changes
from bridge.controls import (
    Acknowledge,
    AlarmCommand,
    Ask,
    Attend,
    Capture,
    ChooseLayout,
    Control,
    Fit,
    Mark,
    Point,
    Record,
    Relearn,
    Release,
    ReplayControl,
    Revise,
    Seat,
    Shelve,
    StartPhase,
    TakeBack,
    TakeBaseline,
    TryBaud,
    Uncalibrate,
)
from bridge.core.lesson import Lesson
from bridge.core.seating import BoardSeen, seat_boards
from bridge.errors import BenchrowError, ControlError, LessonError
from bridge.hub import Hub
from bridge.inbox import Inbox, LinkChanged
from bridge.lesson_changes import baud_changes, layout_changes
from bridge.lesson_file import lesson_from_text, lesson_text, revised, save_lesson
from bridge.messages import SessionInfo, WaitingBoard
from bridge.ports import Listing
from bridge.processing import Processor
from bridge.rate_trials import RateTrials
from bridge.recording import RecordingWriter, new_recording_path
from bridge.session import OPEN_LESSON_TEXT, SessionClock, lesson_refused, program, refused
from bridge.settings import Settings
from bridge.sources import STANDARD_INPUT, BoardChoice, Source, parse_board, source_for, stop_all

TAKE_EVERY_SECONDS = 0.015  # a busy class is taken in portions; a frame goes out every 33 ms at most
TICK_SECONDS = 0.1
LOOK_FOR_BOARDS_SECONDS = 2.0
FIRST_FLUSH_SECONDS = 1.0  # a folder that can't be written must not hold the session up
CLOCK_JUMP_NS = 1_000_000_000
WATCH_RATES_NS = 1_000_000_000

_log = logging.getLogger(__name__)


class LiveSession:
    """Reads boards, records, and keeps the hub up to date."""

    def __init__(
        self, settings: Settings, *, clock: SessionClock | None = None, listing: Listing | None = None
    ) -> None:
        """Reads the lesson; opens nothing yet.

        Raises:
            BenchrowError: The lesson or a board given by hand can't be used.
        """
        self._settings = settings
        self._clock = clock or SessionClock()
        self._text = lesson_text(settings.lesson) if settings.lesson else OPEN_LESSON_TEXT
        self.lesson: Lesson = lesson_from_text(self._text, file=str(settings.lesson or "lesson.toml"))
        self._choices = [parse_board(text) for text in settings.boards]
        self._writer: RecordingWriter | None = None
        self._told_failure = ""
        self.hub = Hub(self._info(), self.lesson)
        self._processor = Processor(self.lesson, self.hub)
        self._woken = asyncio.Event()
        self._revising = asyncio.Lock()
        self._loop: asyncio.AbstractEventLoop | None = None
        self._inbox = Inbox(self._clock.now_ns, self._wake)
        self._sources: dict[int, Source] = {}
        self._known: dict[str, int] = {}  # board key -> bench
        self._answers: dict[str, int] = {}  # the same, as the instructor said
        self._waiting_boards: dict[str, WaitingBoard] = {}  # by key
        self._listing = listing or Listing()
        self._trials = RateTrials()
        self._background: set[asyncio.Task[None]] = set()  # kept so that none is lost half done
        self._utc_ahead_ns = self._clock.start_utc_ns
        self._anchor_due_ns = self._rates_due_ns = 0

    @property
    def recording(self) -> str | None:
        """Path of the file that is written."""
        return str(self._writer.path) if self._writer else None

    def now_ns(self) -> int:
        """The session's time."""
        return self._clock.now_ns()

    async def start(self) -> None:
        """Begin the recording, then open the boards."""
        self._loop = asyncio.get_running_loop()
        if self._settings.record:
            self._begin_recording()
            assert self._writer is not None
            await asyncio.to_thread(
                self._writer.flush, FIRST_FLUSH_SECONDS
            )  # whoever is told its path finds a file there
        for choice in self._choices:
            if choice.url == STANDARD_INPUT:
                raise BenchrowError(
                    "standard input is no board of a live session", remedy="Read it with 'benchrow read -'"
                )
            self._open(choice)
        if not self._choices:
            for bench in self.lesson.benches:
                if bench.board is not None:
                    self._open(BoardChoice(bench=bench.number, url=bench.board))

    async def run(self) -> None:
        """Take what was read, tell the time, look for boards."""
        looking = asyncio.create_task(self._look_for_boards()) if not self._choices else None
        try:
            while True:
                with contextlib.suppress(TimeoutError):  # `wait_for` may swallow that it was cancelled
                    async with asyncio.timeout(TICK_SECONDS):
                        await self._woken.wait()
                self._woken.clear()
                self._step()
                await asyncio.sleep(TAKE_EVERY_SECONDS)
        finally:
            if looking is not None:
                looking.cancel()

    async def handle(self, control: Control) -> str:
        """Do what a control asks."""
        now_ns = self._step()
        match control:
            case Acknowledge() | Shelve() | AlarmCommand() | TakeBaseline() | StartPhase():
                return alarm_controls.handle(control, self._processor, now_ns, self._keep_event)
            case Ask() | Attend():
                return call_controls.handle(control, self._processor, now_ns, self._keep_event)
            case Mark(words=words):
                self._mark(words, now_ns)
                return f"marked: {words}"
            case Record(on=on):
                return await self._record(on)
            case Release(bench=bench):
                await asyncio.to_thread(self._source(bench).release)
                return "the port is let go: upload now, then take it back"
            case TakeBack(bench=bench):
                await asyncio.to_thread(self._source(bench).take_back)
                return "the port is being opened again"
            case Seat(board=board, bench=bench):
                return self._answer(board, bench)
            case Revise(changes=changes):
                async with self._revising:  # each from the text that the one before has left
                    return await self._revise(changes)
            case ChooseLayout(bench=bench, alternative=alternative, words=words):
                async with self._revising:
                    layout = self._processor.alternative(bench, alternative, words)
                    return await self._revise(layout_changes(self.lesson, bench, layout))
            case Relearn(bench=bench):
                return self._relearn(bench, now_ns)
            case TryBaud(bench=bench, baud=baud):
                return await self._try_baud(bench, baud)
            case Capture() | Point() | Fit() | Uncalibrate():
                async with self._revising:
                    steady, today = self._processor.steady, self._clock.today()
                    changed = calibration_changes(control, self.lesson, steady, today=today)
                    return f"{changed.words}; {await self._revise(changed.changes)}"
            case ReplayControl():
                raise refused("replay", "This session is live; open a recording with 'benchrow replay'")

    async def close(self) -> None:
        """Stop reading, keep what was read, end the recording."""
        await asyncio.to_thread(stop_all, list(self._sources.values()))
        self._step()
        self._inbox.close()
        if self._writer:
            await asyncio.to_thread(self._writer.close)
            if self._writer.failure:
                raise self._writer.failure

    # ---- taking ----

    def _wake(self) -> None:
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._woken.set)

    def _step(self) -> int:
        """Everything up to now goes through: into the recording first, then to the screens."""
        now_ns, items = self._inbox.take()
        if self._writer:
            for item in items:
                self._keep(self._writer, item) if isinstance(item, LinkChanged) else self._writer.add_chunk(
                    item.bench, item.data, item.at_ns
                )
        self._processor.take(items)
        self._processor.tick(now_ns)
        self._watch_clock(now_ns)
        self._watch_recording(now_ns)
        self._watch_rates(now_ns)
        return now_ns

    @staticmethod
    def _keep(writer: RecordingWriter, change: LinkChanged) -> None:
        detail = {name: getattr(change, name) for name in ("state", "words", "remedy", "port", "baud")}
        writer.add_event("link", change.bench, change.at_ns, detail)
        if change.breaks:
            writer.add_event("break", change.bench, change.at_ns, {"cold": True, "words": change.words})

    def _watch_clock(self, now_ns: int) -> None:
        """A wall clock that jumped is anchored anew."""
        if now_ns < self._anchor_due_ns:
            return
        self._anchor_due_ns = now_ns + 1_000_000_000
        ahead_ns = self._clock.utc_now_ns() - now_ns
        if abs(ahead_ns - self._utc_ahead_ns) > CLOCK_JUMP_NS:
            self._utc_ahead_ns = ahead_ns
            if self._writer:
                self._writer.add_anchor(now_ns, now_ns + ahead_ns)

    def _watch_recording(self, now_ns: int) -> None:
        failure = str(self._writer.failure) if self._writer and self._writer.failure else ""
        if failure != self._told_failure:
            self._told_failure = failure
            self.hub.add_marker(now_ns, failure or "The recording is written again", "rule")
            _log.warning("recording: %s", failure or "well again")

    def _watch_rates(self, now_ns: int) -> None:
        """Try what the findings name, where the lesson allows it; keep what turned out right."""
        if now_ns < self._rates_due_ns:
            return
        self._rates_due_ns = now_ns + WATCH_RATES_NS
        if self.lesson.try_baud == "itself":
            for bench, baud in self._trials.proposed(self._processor.findings()).items():
                self._in_background(self._try_baud(bench, baud))
        for bench, baud in self._trials.worth_keeping(self._processor.newest_ns()).items():
            self._in_background(self._keep_baud(bench, baud))

    def _in_background(self, doing: Coroutine[None, None, object]) -> None:
        async def done() -> None:
            try:
                await doing
            except BenchrowError as error:
                _log.warning("%s", error)

        task = asyncio.get_running_loop().create_task(done())
        self._background.add(task)
        task.add_done_callback(self._background.discard)

    # ---- boards ----

    def _open(self, choice: BoardChoice, *, location: str = "") -> None:
        bench = self.lesson.bench(choice.bench)
        if choice.bench in self._sources:
            raise BenchrowError(
                f"two boards are given for bench {choice.bench}", remedy="Give each board a bench of its own"
            )
        source = source_for(
            choice.bench,
            choice.url,
            inbox=self._inbox,
            baud=choice.baud or bench.baud,
            pulse_dtr=bench.pulse_dtr,
            listing=self._listing,
            location=location,
        )
        self._sources[choice.bench] = source
        self._processor.seat(choice.bench)
        source.start()

    async def _look_for_boards(self) -> None:
        """Seat what is plugged in; looking may block for seconds, so it has a thread."""
        while True:
            try:
                self._seat(await asyncio.to_thread(self._listing.boards))
            except Exception:  # a listing that fails while a hub is pulled out: the next one may not
                _log.warning("the boards can't be listed; trying again", exc_info=True)
            await asyncio.sleep(LOOK_FOR_BOARDS_SECONDS)

    def _seat(self, boards: Sequence[BoardSeen]) -> None:
        """Seat what can be seated without a doubt; the rest waits for the instructor's word."""
        seating = seat_boards(boards, benches=self.lesson.benches, known=self._known, answers=self._answers)
        for seat in seating.seats:
            self._take_seat(seat.bench, seat.board)
        asked = [WaitingBoard(one.board.key, one.board.port, one.words) for one in seating.questions]
        unseated = [WaitingBoard(one.key, one.port, one.words) for one in seating.unseated]
        self._waiting_boards = {one.board: one for one in (*asked, *unseated)}
        self.hub.set_boards(tuple(self._waiting_boards.values()))

    def _answer(self, board: str, bench: int) -> str:
        """The instructor said where a board belongs: what that bench had before, it has no more."""
        name = self.lesson.bench(bench).name
        if board not in self._waiting_boards:
            raise ControlError(
                f"no board {board} waits for a bench",
                remedy="It may have been unplugged or seated",
                bench=name,
            )
        self._answers = {key: one for key, one in self._answers.items() if one != bench} | {board: bench}
        self._known = {key: one for key, one in self._known.items() if one != bench} | {board: bench}
        before = self._sources.pop(bench, None)
        if before is not None:
            before.stop(0)
        self._open(BoardChoice(bench=bench, url=board))
        del self._waiting_boards[board]
        self.hub.set_boards(tuple(self._waiting_boards.values()))
        return f"seated at {name}"

    def _take_seat(self, bench: int, board: BoardSeen) -> None:
        self._known[board.key] = bench
        if bench in self._sources:
            return
        try:
            self._open(BoardChoice(bench=bench, url=board.key), location=board.location)
        except BenchrowError as error:
            _log.warning("%s", error)

    def _source(self, bench: int) -> Source:
        source = self._sources.get(bench)
        if source is None:
            raise ControlError(
                "no board sits here", remedy="Plug a board in first", bench=self.lesson.bench(bench).name
            )
        return source

    # ---- controls ----

    def _keep_event(self, kind: str, bench: int | None, at_ns: int, detail: dict[str, object]) -> None:
        if self._writer:
            self._writer.add_event(kind, bench, at_ns, detail)

    def _mark(self, words: str, now_ns: int) -> None:
        self.hub.add_marker(now_ns, words, "instructor")
        if self._writer:
            self._writer.add_marker(now_ns, words, "instructor")

    def _relearn(self, bench: int, now_ns: int) -> str:
        self._processor.relearn(bench, now_ns)
        if self._writer:
            self._writer.add_event("relearn", bench, now_ns, {})
        return "the text is learned again from its next lines"

    async def _try_baud(self, bench: int, baud: int) -> str:
        source = self._source(bench)
        self._trials.begin(bench, baud, self.now_ns())
        await asyncio.to_thread(source.set_baud, baud)
        return f"reading at {baud} baud; the lesson keeps it once lines can be read"

    async def _keep_baud(self, bench: int, baud: int) -> None:
        if self.lesson.bench(bench).baud != baud:
            async with self._revising:
                await self._revise(baud_changes(bench, baud))

    async def _record(self, on: bool) -> str:
        if on and self._writer is None:
            self._begin_recording()
            return f"recording into {self.recording}"
        if not on and self._writer is not None:
            writer, self._writer = self._writer, None
            await asyncio.to_thread(writer.close)
            self.hub.set_session(self._info())
            if writer.failure:
                raise ControlError(writer.failure.happened, remedy=writer.failure.remedy)
            return f"the recording is closed: {writer.path}"
        return "it was so already"

    def _begin_recording(self) -> None:
        clock = self._clock
        path = new_recording_path(self._settings.data_dir, self.lesson.title, clock.start_utc)
        self._writer = RecordingWriter(
            path,
            lesson_text=self._text,
            start_utc_ns=clock.start_utc_ns,
            program=f"Benchrow {program()}",
            title=self.lesson.title,
        )
        if self._utc_ahead_ns != clock.start_utc_ns:  # the wall clock has jumped since the session began
            now_ns = clock.now_ns()
            self._writer.add_anchor(now_ns, now_ns + self._utc_ahead_ns)
        self.hub.set_session(self._info())

    async def _revise(self, changes: Sequence[tuple[tuple[str | int, ...], object]]) -> str:
        file = self._settings.lesson
        try:
            # From the file as it stands now: the instructor may have edited it meanwhile.
            before = await asyncio.to_thread(lesson_text, file) if file else self._text
            text = await asyncio.to_thread(
                partial(revised, before, list(changes), file=str(file or "lesson.toml"))
            )
            lesson = lesson_from_text(text, file=str(file or "lesson.toml"))
        except LessonError as error:
            raise lesson_refused(error) from error
        if file is not None:
            try:
                await asyncio.to_thread(save_lesson, file, text)
            except OSError as error:
                raise ControlError(
                    f"the lesson can't be saved in {file} ({error.strerror})",
                    remedy="See whether the file or its folder is write-protected, or the disk is full",
                ) from error
        now_ns = self._step()
        before_bauds = {bench: self.lesson.bench(bench).baud for bench in self._sources}
        self._text, self.lesson = text, lesson
        if self._writer:
            self._writer.add_lesson(text, now_ns)
        self.hub.set_session(dataclasses.replace(self._info(), title=lesson.title))
        self._processor.revise(lesson, now_ns)
        await self._follow_bauds(before_bauds)
        return (
            f"saved in {file}"
            if file
            else "taken over; no lesson file was given, so it stands in the recording only"
        )

    async def _follow_bauds(self, before: Mapping[int, int]) -> None:
        """A bench's rate was changed in the lesson: its board is read at the new one."""
        for bench, baud in before.items():
            wanted = self.lesson.bench(bench).baud
            if wanted != baud and bench in self._sources:
                with contextlib.suppress(ControlError):  # a source without a rate
                    await asyncio.to_thread(self._sources[bench].set_baud, wanted)

    def _info(self) -> SessionInfo:
        clock = self._clock
        return SessionInfo(
            id=f"{clock.start_utc:%Y-%m-%dT%H-%M-%S}",
            title=self.lesson.title,
            source="live",
            start_utc_ns=clock.start_utc_ns,
            recording=self._writer.path.name if self._writer else None,
            program=program(),
        )
