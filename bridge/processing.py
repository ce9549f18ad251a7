"""All benches of a session: items in, the hub's state out. The same for live boards and for a replay."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from itertools import groupby

from bridge.core.acting import Detail, act
from bridge.core.alarm_records import AlarmRecords
from bridge.core.asks import Asks
from bridge.core.baselines import Baseline
from bridge.core.call_list import CallList
from bridge.core.channels import ChannelInfo
from bridge.core.class_calibration import SteadyBench
from bridge.core.classroom import Classroom, Outcomes
from bridge.core.findings import Finding
from bridge.core.lesson import Layout, Lesson
from bridge.core.pace import Pace
from bridge.core.pipeline import READ, BenchPipeline, Outcome
from bridge.errors import ControlError
from bridge.hub import Hub
from bridge.inbox import Arrived, LinkChanged, LinkState
from bridge.messages import FieldShown, Status
from bridge.runs import Run
from bridge.showing import bands_message, steady_message, text_message, worth_message

_log = logging.getLogger(__name__)

STATUS_EVERY_NS = 250_000_000
DETAILS_EVERY_NS = 1_000_000_000
FLOOD_EVERY_NS = 500_000_000
MAX_RUN_LINES = 1000  # of a run's lines that the pace looks at: more than it keeps arrivals
NO_FIT_LINES = 10  # so many lines in a row that fit nothing are told


class Seat:
    """One bench with its pipeline and what is known of its board."""

    def __init__(self, lesson: Lesson, bench: int, pipeline: BenchPipeline) -> None:
        self.pipeline = pipeline
        self.pace = Pace()
        self.link: LinkState = "searching"
        self.words = self.remedy = self.port = ""
        self.baud = lesson.bench(bench).baud
        self.shown_revision = -1
        self.shows_steps = False  # the newest fields and steps have been told to whoever follows the bench
        self.n_unread = 0  # lines since the last one that was read

    def status(self, now_ns: int) -> Status:
        """How the board and its text are, in words."""
        words, remedy = self._words(now_ns)
        return Status(
            link=self.link,
            words=words,
            remedy=remedy,
            port=self.port,
            baud=self.baud,
            old=self.pace.newest_ns is not None and (self.link != "open" or self.pace.is_old(now_ns)),
            old_after_ms=self.pace.old_after_ns // 1_000_000,
            lines_per_second=round(self.pace.lines_per_second(now_ns), 2),
            n_lines=self.pipeline.n_lines,
            n_set_aside=self.pipeline.n_set_aside,
            layout=self.pipeline.layout_words,
        )

    def _words(self, now_ns: int) -> tuple[str, str]:
        pipeline = self.pipeline
        if self.link == "released":
            return self.words or "the port is let go", self.remedy or "Take it back after the upload"
        if self.link != "open":
            return self.words or "no board yet", self.remedy or "Plug the board in"
        if pipeline.doubt:
            return pipeline.doubt, "Name a layout for this bench in the lesson"
        if pipeline.n_bytes_without_line_end >= 1000:
            return (
                "bytes come, but no line end",
                "End each line with a line feed (println), and check the baud rate",
            )
        if pipeline.n_lines == 0:
            return "waiting for the first line", ""
        if self.n_unread >= NO_FIT_LINES:
            return (
                "lines come, but none can be read",
                "Compare the lines with the lesson's layout, and check the baud rate",
            )
        if self.pace.is_old(now_ns):
            return "silent", "See whether the program still runs"
        if self.pace.newest_ns is None:
            return "learning to read the text", ""
        return "reading", ""


class Processor:
    """Drives the pipelines of all benches in the order of the items, and keeps the hub up to date."""

    def __init__(self, lesson: Lesson, hub: Hub) -> None:
        self.lesson = lesson
        self.hub = hub  # may be changed for another that took over this one's state
        self._seats: dict[int, Seat] = {}
        self._room = Classroom(lesson, failed=self._begin_anew)
        self._records = hub.alarm_records = AlarmRecords(lesson)
        self._status_due_ns = self._details_due_ns = 0
        self._flood_due_ns = self._n_flood_calls = 0
        self._looking: object = None  # who looked closely when that was told
        for bench in lesson.benches:
            self.seat(bench.number)

    def seat(self, bench: int) -> Seat:
        """The bench's seat, made when it is new."""
        found = self._seats.get(bench)
        if found is None:
            found = self._seats[bench] = Seat(self.lesson, bench, self._room.pipeline(bench))
            self._describe(bench, found)
            self.hub.set_status(bench, found.status(0))
        return found

    def take(self, items: Iterable[Arrived | LinkChanged]) -> None:
        """Take what the inbox held, in its order."""
        for item in items:
            if isinstance(item, Arrived):
                self._guarded(item.bench, partial(self.take_chunk, item.bench, item.data, item.at_ns))
            else:
                self.take_link(item)
                if item.breaks:
                    self.break_off(item.bench, item.at_ns, cold=True)

    def _guarded(self, bench: int, doing: Callable[[], None]) -> None:
        """A board whose bytes meet an error of ours must not end the session of all others."""
        try:
            doing()
        except Exception:
            self._begin_anew(bench)

    def _begin_anew(self, bench: int) -> None:
        """The bench's pipeline met an error, which is being handled."""
        _log.exception("bench %s: its bytes could not be read; they are in the recording", bench)
        self._seats.pop(bench, None)
        self._room.renew(bench)
        self.seat(bench).link = "open"

    def take_chunk(self, bench: int, data: bytes, at_ns: int) -> None:
        """Bytes came from the bench's board."""
        seat = self.seat(bench)
        if seat.link == "searching":  # a recording of bytes alone has no link events
            seat.link = "open"
        outcome = self._room.feed(bench, data, at_ns)
        if outcome.readings:
            n_read = sum(what == READ for _, what in outcome.lines)
            seat.pace.take(n_read, at_ns)
            seat.n_unread = 0
        else:
            seat.n_unread += len(outcome.lines)
        self._pass_on(bench, seat, outcome)

    def take_run(self, run: Run) -> None:
        """Many chunks of many benches, none of which saw anything else between."""
        for bench, chunks in run.items():
            self._guarded(bench, partial(self._take_chunks, bench, chunks))
        # All that came before the run's end has come: what is due by then can be judged.
        self.advance(max(chunks[-1][1] for chunks in run.values()))

    def _take_chunks(self, bench: int, chunks: Sequence[tuple[bytes, int]]) -> None:
        seat = self.seat(bench)
        if seat.link == "searching":
            seat.link = "open"
        outcome = self._room.feed_many(bench, chunks)
        read = [line.at_ns for line, what in outcome.lines[-MAX_RUN_LINES:] if what == READ]
        for at_ns, lines in groupby(read):
            seat.pace.take(len(list(lines)), at_ns)
        seat.n_unread = 0 if outcome.readings else seat.n_unread + len(outcome.lines)
        self._pass_on(bench, seat, outcome)

    def take_link(self, change: LinkChanged) -> None:
        """The way to the bench's board changed."""
        seat = self.seat(change.bench)
        seat.link, seat.words, seat.remedy = change.state, change.words, change.remedy
        seat.port = change.port or seat.port
        seat.baud = change.baud or seat.baud
        self.hub.set_status(change.bench, seat.status(change.at_ns))
        detail = {"state": change.state, "baud": change.baud}
        self._pass_all_on(act(self._room, "link", change.bench, detail, change.at_ns))

    def break_off(self, bench: int, at_ns: int, *, cold: bool) -> None:
        """Bytes may be missing here."""
        self.seat(bench).pace.restart()
        self.act("break", bench, {"cold": cold}, at_ns)

    def act(self, kind: str, bench: int | None, detail: Detail, at_ns: int) -> bool:
        """Do what an event says, once all up to then was taken; see `bridge.core.acting`.

        Returns:
            Whether it did something.

        Raises:
            ValueError: It can't be done so.
        """
        self.advance(at_ns)
        outcomes = act(self._room, kind, bench, detail, at_ns)
        self._pass_all_on(outcomes)
        self.hub.set_phases(self._room.phases)
        return any(outcome.changes for _, outcome in outcomes)

    def take_baseline(self, bench: int, channel: str, at_ns: int) -> Baseline | None:
        """The bench's bands lie above the value that stands now; None where it is not steady, or fixed."""
        self.advance(at_ns)
        baseline, outcome = self._room.take_baseline(bench, channel, at_ns)
        self._pass_all_on([(bench, outcome)])
        return baseline

    @property
    def phase(self) -> str:
        """The phase of the lesson, "" for none."""
        return self._room.phase

    @property
    def calls(self) -> CallList:
        """What calls for a person, as of the last full second."""
        return self._room.calls

    @property
    def asks(self) -> Asks:
        """What the groups said last."""
        return self._room.asks

    def advance(self, until_ns: int) -> None:
        """All that came before that instant was taken: tell every bench the time."""
        outcomes, first_out, floods, calls = self._room.advance(until_ns)
        self._pass_all_on(outcomes)
        for found in first_out:
            self.hub.take_first_out(found)
        goes_on = self._room.is_flooded and self._room.n_flood_calls != self._n_flood_calls
        if floods or (goes_on and until_ns >= self._flood_due_ns):
            self._flood_due_ns, self._n_flood_calls = until_ns + FLOOD_EVERY_NS, self._room.n_flood_calls
            self.hub.set_flood(floods, self._room.flood_groups())
        if calls:
            self.hub.set_calls(calls[-1].calls)

    def tick(self, now_ns: int) -> None:
        """Tell the time to every bench, and those who look how all is."""
        self.advance(now_ns)
        if now_ns >= self._status_due_ns:
            self._status_due_ns = now_ns + STATUS_EVERY_NS
            for bench, seat in self._seats.items():
                self.hub.set_status(bench, seat.status(now_ns))
                if bench in self.hub.followed and not seat.shows_steps:  # somebody began to look
                    self._show_steps(bench, seat.pipeline)
                    seat.shows_steps = True
        looking = self.hub, self.hub.followed, self.hub.is_surveyed
        is_due = now_ns >= self._details_due_ns or now_ns < self._details_due_ns - DETAILS_EVERY_NS
        if is_due or looking != self._looking:  # in a replay that stands, too, who begins to look is told
            self._details_due_ns, self._looking = now_ns + DETAILS_EVERY_NS, looking
            self._tell_details()

    def findings(self) -> list[tuple[int, Finding]]:
        """All findings that stand, each with its bench."""
        return [(bench, one) for bench, seat in self._seats.items() for one in seat.pipeline.findings]

    def newest_ns(self) -> Mapping[int, int | None]:
        """When the newest line that was read came, by bench; None: none yet, or none since a break."""
        return {bench: seat.pace.newest_ns for bench, seat in self._seats.items()}

    def alternative(self, bench: int, index: int, words: str) -> Layout:
        """One of the ways in which the bench's text can be read, counted from 0 as they are shown.

        Args:
            words: With which it was shown.

        Raises:
            ControlError: There is no such way any more, or no doubt.
        """
        pipeline = self.seat(bench).pipeline
        alternatives = pipeline.alternatives
        shown = [one.words for one in pipeline.text.side_by_side()]
        if shown[index : index + 1] != [words]:
            raise ControlError(
                "there is no such way to read the text any more",
                remedy="Look at the ways that are shown now",
                bench=self.lesson.bench(bench).name,
            )
        return alternatives[index]

    def steady(self, bench: int, channel: str) -> SteadyBench | None:
        """A bench's steady reading, None while it has none."""
        return self.seat(bench).pipeline.steady(channel)

    def relearn(self, bench: int, at_ns: int) -> None:
        """Learn the bench's text again.

        Raises:
            ControlError: The lesson says how the text is read.
        """
        layout = self.lesson.layout_of(self.lesson.bench(bench))
        if layout is not None:
            raise ControlError(
                f"the lesson says how the text is read: layout {layout.name!r}",
                remedy="Take `layout` away from this bench in the lesson, then it is learned",
                bench=self.lesson.bench(bench).name,
            )
        self.act("relearn", bench, {}, at_ns)

    def revise(self, lesson: Lesson, at_ns: int) -> None:
        """The lesson changed; benches that it no longer has go, unless a board sits there."""
        self.advance(at_ns)
        gone = {one.number for one in self.lesson.benches} - {one.number for one in lesson.benches}
        for number in gone:
            if self.seat(number).link == "searching":
                del self._seats[number]
                self._room.remove(number)
                self._records.remove(number)
                self.hub.remove_bench(number)
        self.lesson = lesson
        self.hub.set_lesson(lesson)
        outcomes = self._room.revise(lesson, at_ns)
        for bench in lesson.benches:
            self.seat(bench.number)
        for seat in self._seats.values():
            seat.shown_revision = -1
        self._pass_all_on(outcomes)
        self.hub.set_phases(self._room.phases)

    def _pass_all_on(self, outcomes: Outcomes) -> None:
        for bench, outcome in outcomes:
            self._pass_on(bench, self.seat(bench), outcome)

    def _pass_on(self, bench: int, seat: Seat, outcome: Outcome) -> None:
        hub = self.hub
        self._records.take(outcome.readings, outcome.changes, self._room.lesson)
        if seat.shown_revision != seat.pipeline.revision:
            self._describe(bench, seat)
        if outcome.readings:
            hub.take_readings(outcome.readings)
        if outcome.changes:
            hub.take_changes(outcome.changes)
        if outcome.lines:
            hub.take_lines(bench, outcome.lines)
            if bench in hub.followed:
                self._show_steps(bench, seat.pipeline)
                seat.shows_steps = True
        seat.shows_steps = seat.shows_steps and bench in hub.followed

    def _describe(self, bench: int, seat: Seat) -> None:
        channels = seat.pipeline.channels
        self.hub.set_bench(self.lesson.bench(bench), channels, main=main_of(channels, self.lesson))
        seat.shown_revision = seat.pipeline.revision

    def _tell_details(self) -> None:
        """What those who look closely are told: worth its making only while there are some."""
        hub = self.hub
        for bench, seat in self._seats.items():
            if hub.is_surveyed or bench in hub.followed:
                hub.set_detail(bench, text_message(bench, seat.pipeline))
            if hub.is_surveyed:
                hub.set_detail(bench, steady_message(bench, seat.pipeline))
            if bench in hub.followed:
                hub.set_detail(bench, worth_message(bench, seat.pipeline))
                hub.set_detail(bench, bands_message(bench, seat.pipeline))
                names = [channel.name for channel in seat.pipeline.channels]
                hub.set_flickers(bench, {name: seat.pipeline.flickers(name) for name in names})

    def _show_steps(self, bench: int, pipeline: BenchPipeline) -> None:
        steps = [step for channel in pipeline.channels for step in pipeline.steps(channel.name)]
        self.hub.set_steps(bench, [FieldShown(*field) for field in pipeline.fields], steps)


def main_of(channels: tuple[ChannelInfo, ...], lesson: Lesson) -> int:
    """The channel shown large: the lesson's first; without one the last that has a unit, else the last."""
    if lesson.channels or not channels:
        return 0
    with_unit = [i for i, channel in enumerate(channels) if channel.unit]
    return with_unit[-1] if with_unit else len(channels) - 1
