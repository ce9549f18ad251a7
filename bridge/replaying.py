"""A session on a recording: the same pipelines and screens, driven by what was kept."""

from __future__ import annotations

import asyncio
import contextlib
import time
from collections.abc import Callable, Iterator
from datetime import datetime
from functools import partial
from pathlib import Path

from bridge import alarm_controls, call_controls
from bridge.checkpoints import EVERY_NS, Checkpoints
from bridge.controls import (
    Acknowledge,
    AlarmCommand,
    Ask,
    Attend,
    Control,
    Mark,
    ReplayControl,
    Revise,
    Shelve,
    StartPhase,
    TakeBaseline,
)
from bridge.core.lesson import OPEN_LESSON, Lesson
from bridge.core.playing import Player
from bridge.errors import ControlError, LessonError, RecordingError
from bridge.hub import Hub
from bridge.inbox import LinkChanged
from bridge.lesson_file import lesson_from_text, lesson_text, revised
from bridge.messages import Marker, Replay, SessionInfo
from bridge.processing import Processor
from bridge.recorded import Event, Item, LessonRevision, Recorded
from bridge.recorded import Marker as RecordedMarker
from bridge.revisions_kept import keep_revision
from bridge.runs import runs_of
from bridge.session import OPEN_LESSON_TEXT, lesson_refused, program, refused
from bridge.settings import Settings

STEP_SECONDS = 1 / 60
MAX_RUN_CHUNKS = 250  # some 30 ms; then catching up gives way to the clients


class ReplaySession:
    """Plays a recording into the hub."""

    def __init__(
        self,
        settings: Settings,
        *,
        steady_ns: Callable[[], int] = time.monotonic_ns,
        checkpoint_every_ns: int = EVERY_NS,
    ) -> None:
        """Opens the recording.

        Raises:
            RecordingError: It can't be read.
            LessonError: The lesson given to recompute it can't be used.
        """
        if settings.recording is None:
            raise RecordingError("no recording is named", remedy="Name one: benchrow replay RECORDING")
        self._settings = settings
        self._steady_ns = steady_ns
        self._recorded = Recorded(settings.recording)
        lessons = self._recorded.lessons
        given = lesson_text(settings.lesson) if settings.lesson else None
        self._override = given  # a lesson that replaces all that the recording holds
        self._text = given if given is not None else lessons[0][1] if lessons else OPEN_LESSON_TEXT
        # What a change starts from: the last revision holds what was calibrated and corrected on the way.
        self._given = given if given is not None else lessons[-1][1] if lessons else OPEN_LESSON_TEXT
        self._markers = tuple(Marker(one.at_ns, one.words, one.who) for one in self._recorded.markers)
        start_ns = round(settings.from_seconds * 1e9)
        self._player = Player(
            self._recorded.length_ns, speed=settings.speed, loop=settings.loop, position_ns=start_ns
        )
        self._lesson = self._read(self._text)
        self.hub = Hub(self._info(), self._lesson)
        self._processor = Processor(self._lesson, self.hub)
        self._items: Iterator[tuple[int, Item]] = iter(())
        self._next: tuple[int, Item] | None = None
        self._order: int | None = None  # of the last item that was taken
        self._done_ns = 0  # everything up to it has been processed
        self._shown_ns = 0  # the same, but while it moves elsewhere: where it was
        self._checkpoint_every_ns = checkpoint_every_ns
        self._checkpoints = Checkpoints(every_ns=checkpoint_every_ns)
        self._turn = 0
        self._changed = asyncio.Event()
        self._moving = asyncio.Lock()

    @property
    def recording(self) -> str | None:
        """Path of the file that is replayed."""
        return str(self._recorded.path)

    def now_ns(self) -> int:
        """The session's time: how far the replay has come, as far as it is shown."""
        return self._shown_ns

    async def start(self) -> None:
        """Come to the first moment that is shown."""
        await self._move_to(self._player.position_ns(self._steady_ns()))
        if self._settings.playing:
            self._player.play(self._steady_ns())
        self._tell()

    async def run(self) -> None:
        """Play until cancelled; at the end it stands there, for the instructor may go back."""
        while True:
            with contextlib.suppress(TimeoutError):  # `wait_for` may swallow that it was cancelled
                async with asyncio.timeout(STEP_SECONDS if self._player.is_playing else 0.25):
                    await self._changed.wait()
            self._changed.clear()
            async with self._moving:
                steady_ns = self._steady_ns()
                if self._player.n_turns(steady_ns) != self._turn:
                    self._turn = self._player.n_turns(steady_ns)
                    await self._move_to(self._player.position_ns(steady_ns))
                await self._catch_up(self._player.position_ns(steady_ns))
                self._tell()

    async def handle(self, control: Control) -> str:
        """Do what a control asks."""
        match control:
            case ReplayControl(action=action, value=value):
                async with self._moving:
                    words = await self._control(action, value)
                    self._tell()
                self._changed.set()
                return words
            case Acknowledge() | Shelve() | AlarmCommand() | TakeBaseline() | StartPhase():
                async with self._moving:  # what is shown is acted on, never what is computed out of sight
                    done = alarm_controls.handle(control, self._processor, self._done_ns, _keep_nothing)
                return f"in this replay only, {done}"
            case Attend():
                async with self._moving:
                    done = call_controls.handle(control, self._processor, self._done_ns, _keep_nothing)
                return f"in this replay only, {done}"
            case Ask():
                raise refused("Asking for help", "This is a session that was kept. Ask in the room")
            case Mark(words=words):
                async with self._moving:
                    self.hub.add_marker(self._done_ns, words, "instructor")
                return f"marked in this replay only: {words}"
            case Revise():
                return await self._revise(control)
        raise refused("this", "A replay reads no board and writes no recording")

    async def close(self) -> None:
        """Let go of the file."""
        self._recorded.close()

    # ---- moving through the recording ----

    async def _move_to(self, position_ns: int) -> None:
        """Process all up to there, since the start or since the newest state that was kept before it.

        Bands and alarms depend on all that came before. Out of sight, on a hub of its own, so that nobody
        sees the session rush by.
        """
        kept = self._checkpoints.newest(position_ns)
        if kept is None:
            self._begin()
        else:
            self._processor = self._checkpoints.restored(kept)
            self._lesson, self._done_ns, self._order = self._processor.lesson, kept.at_ns, kept.order
        self._items = self._recorded.items_after(self._order)
        self._next = next(self._items, None)
        while (next_ns := self._checkpoints.next_ns(self._done_ns)) <= position_ns:
            await self._take_until(next_ns)
            await self._checkpoints.keep(next_ns, self._order, self._processor)
            self._done_ns = next_ns
        await self._catch_up(position_ns)
        self.hub.take_over(self._processor.hub)
        self._processor.hub = self.hub

    def _begin(self) -> None:
        self._lesson = self._read(self._text)
        self._processor = Processor(self._lesson, Hub(self._info(), self._lesson))
        self._done_ns, self._order = 0, None
        for bench in self._recorded.benches:
            self._processor.seat(bench)

    async def _catch_up(self, position_ns: int) -> None:
        """Process all that is due by then, and tell the time."""
        await self._take_until(position_ns)
        self._done_ns = max(self._done_ns, position_ns)
        self._processor.tick(self._done_ns)
        self._shown_ns = self._done_ns

    async def _take_until(self, position_ns: int) -> None:
        """Process all that is due by then, giving way to the clients in between."""
        for item in runs_of(self._due(position_ns), max_chunks=MAX_RUN_CHUNKS):
            if isinstance(item, dict):
                self._processor.take_run(item)
                await asyncio.sleep(0)
            else:
                self._take(item)

    def _due(self, position_ns: int) -> Iterator[Item]:
        while self._next is not None and self._next[1].at_ns <= position_ns:
            self._order, item = self._next
            self._next = next(self._items, None)
            yield item

    def _take(self, item: Item) -> None:
        match item:
            case Event():
                self._take_event(item)
            case RecordedMarker(at_ns, words, who):
                self._processor.hub.add_marker(at_ns, words, who)
            case LessonRevision(at_ns, text):
                if self._override is None and at_ns > 0:
                    self._lesson = self._read(text)
                    self._processor.revise(self._lesson, at_ns)

    def _take_event(self, event: Event) -> None:
        detail, at_ns, bench = event.detail, event.at_ns, event.bench
        if event.kind == "break" and bench is not None:
            self._processor.break_off(bench, at_ns, cold=bool(detail.get("cold", True)))
        elif event.kind == "link" and bench is not None:
            words, remedy, port = (str(detail.get(name, "")) for name in ("words", "remedy", "port"))
            baud = int(detail.get("baud", 0))
            self._processor.take_link(
                LinkChanged(at_ns, bench, detail.get("state", "open"), words, remedy, False, port, baud)
            )
        else:
            with contextlib.suppress(ValueError):  # what no live session would have kept
                self._processor.act(event.kind, bench, detail, at_ns)

    # ---- controls ----

    async def _control(self, action: str, value: float | bool | None) -> str:
        player, steady_ns = self._player, self._steady_ns()
        try:
            if action == "play":
                if player.has_ended(steady_ns):
                    await self._move_to(0)
                player.play(self._steady_ns())
                return "playing"
            if action == "pause":
                player.pause(steady_ns)
                return "paused"
            if action == "loop":
                player.set_loop(bool(value), steady_ns)
                return "again from the start at the end" if value else "stops at the end"
            if value is None or isinstance(value, bool):
                raise ValueError(f"{action} needs a number")
            if action == "speed":
                player.set_speed(float(value), steady_ns)
                return f"speed {value:g}"
            return await self._seek(round(float(value) * 1e6))
        except ValueError as error:
            raise ControlError(str(error), remedy="Choose another value") from error

    async def _seek(self, position_ns: int) -> str:
        was_playing = self._player.is_playing
        self._player.pause(self._steady_ns())
        self._player.seek(position_ns, self._steady_ns())
        await self._move_to(self._player.position_ns(self._steady_ns()))
        if was_playing:
            self._player.play(self._steady_ns())
        return f"at {self._done_ns / 1e9:.0f} s"

    async def _revise(self, control: Revise) -> str:
        """What would have been shown: the whole recording is recomputed with the changed lesson."""
        changes = list(control.changes)
        before = self._given if control.from_recorded else self._override or self._given
        try:
            text = await asyncio.to_thread(partial(revised, before, changes))
        except LessonError as error:
            raise lesson_refused(error) from error
        kept = "" if control.keep is None else f", kept in {await self._keep(text, control)}"
        async with self._moving:
            self._text = self._override = text
            self._checkpoints = Checkpoints(every_ns=self._checkpoint_every_ns)
            await self._seek(self._done_ns)
        return f"recomputed with the changed lesson{kept}; the recording stays as it was"

    async def _keep(self, text: str, control: Revise) -> Path:
        data_dir, recording = self._settings.data_dir, self._recorded.path
        at = datetime.now().astimezone()
        try:
            return await asyncio.to_thread(
                partial(
                    keep_revision, data_dir, recording, text, control.changes, why=control.keep or "", at=at
                )
            )
        except OSError as error:
            raise ControlError(
                f"the changed lesson can't be kept in {data_dir} ({error.strerror})",
                remedy="Make that folder writable, or start with another --data-dir",
            ) from error

    # ---- telling ----

    def _tell(self) -> None:
        player = self._player
        self.hub.set_replay(
            Replay(
                playing=player.is_playing and not player.has_ended(self._steady_ns()),
                speed=player.speed,
                position_ms=self._done_ns // 1_000_000,
                length_ms=player.length_ns // 1_000_000,
                loop=player.loop,
                markers=self._markers,
            )
        )

    def _read(self, text: str) -> Lesson:
        return lesson_from_text(text) if text else OPEN_LESSON

    def _info(self) -> SessionInfo:
        recorded = self._recorded
        return SessionInfo(
            id=Path(recorded.path).stem,
            title=recorded.title or self._lesson.title,
            source="replay",
            start_utc_ns=recorded.start_utc_ns,
            recording=Path(recorded.path).name,
            program=program(),
        )


def _keep_nothing(_kind: str, _bench: int | None, _at_ns: int, _detail: dict[str, object]) -> None:
    """A recording that is replayed stays as it was."""
