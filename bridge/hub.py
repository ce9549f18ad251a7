"""What all clients may know of a session: pure state, made into messages for clients of any age.

Everything but alarms and markers is *state*: a client that missed some gets the newest. Each change bears the
version that was open when it came; `cut` closes that version. A client that stands at version v gets all that
changed after v, encoded once for all clients that stand there.
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from bridge import messages
from bridge.core.alarm_flood import AlarmGroup, FirstOut, FloodChange
from bridge.core.alarm_records import AlarmRecords
from bridge.core.alarm_states import HELD
from bridge.core.band_times import Flicker
from bridge.core.call_list import CallList
from bridge.core.channels import ChannelInfo, Step
from bridge.core.classroom import PhaseStart
from bridge.core.findings import FindingChange
from bridge.core.lesson import Bench, Lesson
from bridge.core.readings import AlarmChange, BandChange, Change, Reading
from bridge.hub_bench import BenchState, LineShown
from bridge.messages import Alarm, FieldShown, Marker, Replay, SessionInfo, Status, WaitingBoard, alarm_id

HELLO_ROWS = 240  # most rows of one channel's history in a hello
MAX_HELLO_ROWS = 10_000  # of all channels together: about 250 KB, made in some 20 ms
HELLO_FRESH_NS = 500_000_000  # a class that reloads at once costs two hellos a second
STATUS_EVERY_NS = 500_000_000  # also of findings and calls
LATEST_NS = 1 << 62  # a session of 146 years; what is asked for beyond it is the end
MAX_MARKERS = 1_000  # of a session; beyond it the oldest leave the screens (the recording has them)
MAX_JOURNAL = 2_000  # transitions of alarms that a history request can find
MAX_ANSWERED_ALARMS = 200  # the newest of the stretch that was asked for
MAX_PHASES = 200  # starts of phases; beyond it the oldest leave the screens
MAX_EVENTS = 1_000  # alarms and markers between two calls of take_events


class Hub:
    """The session's newest state. Knows no socket and no clock."""

    def __init__(self, session: SessionInfo, lesson: Lesson) -> None:
        self.session = session
        self.lesson = lesson
        self.epoch = 0  # rises when every client must start over
        self.n_events = 0  # events so far; a client's hello holds all that had happened by then
        self._followers: Counter[int] = Counter()  # per bench
        self._n_surveyors = 0
        self._open = 1  # the version that new changes belong to
        self._is_dirty = False
        self._speed = 1.0
        self._benches: dict[int, BenchState] = {}
        self._alarms: dict[str, Alarm] = {}  # all that are not normal
        self._journal: deque[Alarm] = deque(maxlen=MAX_JOURNAL)
        self._markers: deque[Marker] = deque(maxlen=MAX_MARKERS)
        self._events: deque[tuple[int, bytes]] = deque(maxlen=MAX_EVENTS)
        self._lesson_version = 0
        self._replay: Replay | None = None
        self._replay_version = 0
        self._flood: messages.Message | None = None
        self._flood_version = 0
        self._phases: tuple[PhaseStart, ...] = ()
        self._phases_version = 0
        self.alarm_records: AlarmRecords | None = None  # of the session that is shown
        self._calls = CallList()
        self._calls_version, self._calls_told_ns = 0, -STATUS_EVERY_NS
        self._calls_wait = False
        self._boards: tuple[WaitingBoard, ...] = ()
        self._boards_version = 0
        self._cache: dict[int, tuple[bytes, ...]] = {}
        self._hello: tuple[int, int, int, int, bytes] | None = None  # steady_ns, epoch, events, version, text

    # What the session tells

    def set_lesson(self, lesson: Lesson) -> None:
        """The lesson was revised; describe its benches anew with `set_bench` before the next cut."""
        self.lesson = lesson
        self._lesson_version = self._touch()
        self._lose_alarms_without_limit()

    def set_session(self, session: SessionInfo) -> None:
        """The session's own description changed (a recording began): every client gets a fresh hello."""
        self.session = session
        self._start_over()

    def set_bench(self, bench: Bench, channels: Sequence[ChannelInfo], *, main: int = 0) -> None:
        """Describe a bench: at the start, when channels grow, when a scale widens. Names keep their past."""
        state = self._benches.setdefault(bench.number, BenchState(bench))
        if state.describe(bench, channels, main):
            state.described_version = self._touch()

    def remove_bench(self, number: int) -> None:
        """The bench is no part of the lesson any more: every client starts over."""
        if self._benches.pop(number, None):
            self._alarms = {name: one for name, one in self._alarms.items() if one.bench != number}
            self._start_over()

    def take_readings(self, readings: Iterable[Reading]) -> None:
        """Take readings in the order of their times; those of a bench never described are passed over."""
        version = self._touch()
        benches = self._benches
        for reading in readings:
            state = benches.get(reading.bench)
            if state is None:
                continue
            newest = state.newest.get(reading.channel) or state.newest_of(reading.channel)
            if newest is not None:
                newest.take(reading, version)
                state.histories[reading.channel].add(reading.taken_ns, reading.value)

    def take_changes(self, changes: Iterable[Change]) -> None:
        """Take bands, alarms and findings that changed. Notes are told through the status, not by the hub."""
        version = self._touch()
        for change in changes:
            state = self._benches.get(change.bench)
            if state is None:
                continue
            if isinstance(change, BandChange):
                newest = state.newest_of(change.channel)
                if newest is not None:
                    newest.take_band(change.band, version)
                    state.ribbons[change.channel].append((change.at_ns, change.band))
            elif isinstance(change, AlarmChange):
                self._take_alarm(state, change)
            elif isinstance(change, FindingChange):
                state.take_finding(change)

    def set_status(self, number: int, status: Status) -> None:
        """How the bench's board is; goes out at most twice a second."""
        state = self._benches.get(number)
        if state is not None and state.status != status:
            state.status = status
            state.status_waits = True

    def take_lines(self, number: int, lines: Iterable[tuple[LineShown, str]]) -> None:
        """Take the lines of a board, each with what became of it."""
        state = self._benches.get(number)
        if state is not None:
            state.take_lines(lines)

    def set_steps(self, number: int, fields: Sequence[FieldShown], steps: Sequence[Step]) -> None:
        """The newest line's fields and the conversions step by step; worth making for `followed` benches."""
        state = self._benches.get(number)
        if state is not None:
            state.set_steps(tuple(fields), tuple(steps))

    def set_detail(self, number: int, message: messages.Message) -> None:
        """What those who follow the bench or survey all benches are told; worth making only for them."""
        state = self._benches.get(number)
        if state is not None:
            state.set_detail(message)

    def set_flickers(self, number: int, flickers: Mapping[str, Sequence[Flicker]]) -> None:
        """What each channel's bands would show without a deadband; worth telling of `followed` benches."""
        state = self._benches.get(number)
        if state is not None:
            state.flickers = flickers

    def add_marker(self, at_ns: int, words: str, who: str) -> None:
        """An instant was marked."""
        marker = Marker(at_ns, words, who)
        self._markers.append(marker)
        self._tell({"kind": "marker", "marker": messages.marker_part(marker)})

    def set_replay(self, replay: Replay | None) -> None:
        """Where a replay stands; None: the source is live."""
        if replay != self._replay:
            self._replay = replay
            self._replay_version = self._touch()
        self._speed = 1.0 if replay is None else replay.speed if replay.playing else 0.0

    def take_first_out(self, found: FirstOut) -> None:
        """Several alarms rose together: mark the first of them, where they stand and in the journal."""
        for change in found.first:
            name = alarm_id(change.bench, change.channel, change.limit)
            for i, one in enumerate(self._journal):
                if (one.id, one.at_ns, one.event) == (name, change.at_ns, "rise"):
                    self._journal[i] = replace(one, first_out=True)
            known = self._alarms.get(name)
            if known is not None:
                self._alarms[name] = replace(known, first_out=True)
                self._tell({"kind": "alarm", "alarm": messages.alarm_part(self._alarms[name])})

    def set_flood(self, changes: Sequence[FloodChange], groups: Sequence[AlarmGroup]) -> None:
        """A flood of alarms began, went on or ended: each of its alarms is in one of the groups."""
        known = self._flood or {"on": False, "since_ms": 0}
        is_on, since_ms = known["on"], known["since_ms"]
        for change in changes:
            is_on = change.event == "begins"
            since_ms = messages.ms(change.at_ns) if is_on else since_ms
        flood = messages.flood_part(bool(is_on), since_ms, groups)
        if flood != self._flood:
            self._flood = flood
            self._flood_version = self._touch()

    def set_phases(self, starts: Sequence[PhaseStart]) -> None:
        """The phases of the lesson that were started so far."""
        newest = tuple(starts[-MAX_PHASES:])
        if newest != self._phases:
            self._phases = newest
            self._phases_version = self._touch()

    def set_calls(self, calls: CallList) -> None:
        """What calls for a person; goes out at most twice a second."""
        if calls != self._calls:
            self._calls, self._calls_wait = calls, True

    def set_boards(self, boards: tuple[WaitingBoard, ...]) -> None:
        """The boards that are plugged in and have no bench yet."""
        if boards != self._boards:
            self._boards = boards
            self._boards_version = self._touch()

    def reset(self) -> None:
        """Forget everything that came from boards (a replay moves elsewhere); every client starts over."""
        for state in self._benches.values():
            state.forget()
        self._alarms.clear()
        self._journal.clear()
        self._markers.clear()
        self._events.clear()
        self._flood, self._phases, self._calls = None, (), CallList()
        self._start_over()

    def take_over(self, other: Hub) -> None:
        """Become what the other one is, which is done with; every client starts over.

        A replay that moves elsewhere computes all up to there out of sight.
        """
        self.lesson = other.lesson
        self._benches, self._alarms = other._benches, other._alarms
        self._journal, self._markers = other._journal, other._markers
        self._flood, self._phases, self._calls = other._flood, other._phases, other._calls
        self.alarm_records = other.alarm_records
        self._events.clear()
        self._open = max(self._open, other._open) + 1  # no state is newer than that
        self._start_over()

    # What the session may ask

    def alarm(self, name: str) -> Alarm | None:
        """The alarm of that id when it is not normal."""
        return self._alarms.get(name)

    def alarm_named(self, name: str) -> tuple[int, str, str] | None:
        """Bench, channel and key of the alarm of that id, in whatever state; None when there is none."""
        for number, state in self._benches.items():
            keys = [(one.name, limit.key) for one in state.channels for limit in one.limits]
            keys += [("", alarm.key) for alarm in self.lesson.alarms]
            for channel, key in keys:
                if alarm_id(number, channel, key) == name:
                    return number, channel, key
        return None

    @property
    def followed(self) -> frozenset[int]:
        """The benches whose lines and steps somebody looks at."""
        return frozenset(self._followers)

    @property
    def is_surveyed(self) -> bool:
        """Whether somebody looks at how all benches are understood."""
        return self._n_surveyors > 0

    @property
    def benches(self) -> tuple[int, ...]:
        """The numbers of the benches described so far, rising."""
        return tuple(sorted(self._benches))

    # What the server asks

    @property
    def version(self) -> int:
        """The version that the last cut closed."""
        return self._open - 1

    def cut(self, steady_ns: int) -> None:
        """Close the open version; `steady_ns` is any clock that goes on while the session's time stands."""
        self._cache.clear()
        for state in self._benches.values():
            if state.status_waits and steady_ns - state.status_told_ns >= STATUS_EVERY_NS:
                state.status_waits = False
                state.status_told_ns = steady_ns
                state.status_version = self._touch()
            if state.findings_wait and steady_ns - state.findings_told_ns >= STATUS_EVERY_NS:
                state.findings_wait = False
                state.findings_told_ns = steady_ns
                state.findings_version = self._touch()
        if self._calls_wait and steady_ns - self._calls_told_ns >= STATUS_EVERY_NS:
            self._calls_wait, self._calls_told_ns = False, steady_ns
            self._calls_version = self._touch()
        if self._is_dirty:
            self._open += 1
            self._is_dirty = False

    def hello(self, now_ns: int, steady_ns: int) -> tuple[bytes, int, int]:
        """The greeting, with the version and the number of events that it already holds."""
        kept = self._hello
        is_fresh = kept and steady_ns - kept[0] < HELLO_FRESH_NS and kept[1:3] == (self.epoch, self.n_events)
        if kept is None or not is_fresh:
            text = messages.encoded(self._hello_message(now_ns))
            kept = self._hello = (steady_ns, self.epoch, self.n_events, self.version, text)
        return kept[4], kept[3], kept[2]

    def updates(self, since: int, now_ns: int) -> tuple[bytes, ...]:
        """What a client that stands at `since` must get to stand at `version`; the last one is the frame."""
        found = self._cache.get(since)
        if found is None:
            found = self._cache[since] = tuple(messages.encoded(one) for one in self._updates(since, now_ns))
        return found

    def take_events(self) -> list[tuple[int, bytes]]:
        """Alarms and markers since the last call, each with its number."""
        events = list(self._events)
        self._events.clear()
        return events

    def follow(self, before: int | None, after: int | None) -> None:
        """A client turns from one bench to another; None stands for no bench."""
        if before is not None:
            self._followers[before] -= 1
        if after is not None:
            self._followers[after] += 1
        self._followers = +self._followers  # without those that nobody looks at any more

    def survey(self, *, before: bool, after: bool) -> None:
        """A client begins or ends to look at all benches."""
        self._n_surveyors += after - before

    def details(self, number: int, since: int, kinds: frozenset[str]) -> tuple[list[bytes], int]:
        """For a client that has seen the first `since` changes: what is new, and how many there are now."""
        state = self._benches.get(number)
        if state is None or state.n_detail_changes == since:
            return [], since
        return state.details_since(since, kinds), state.n_detail_changes

    def lines(self, number: int, since: int) -> tuple[bytes | None, int]:
        """For a follower that has seen the first `since` changes: what is new, and how many there are now."""
        state = self._benches.get(number)
        if state is None or state.n_line_changes == since:
            return None, since
        return state.lines_message(number, since), state.n_line_changes

    def history(
        self,
        number: int,
        index: int,
        from_ns: int,
        to_ns: int,
        n_rows: int,
        *,
        to: int | None,
        plain: bool = False,
    ) -> bytes | None:
        """The answer to a request for a channel's past; None when there is no such channel.

        With `plain` it has what the bands would have shown without a deadband, once the bench is followed.
        """
        state = self._benches.get(number)
        if state is None or index >= len(state.channels):
            return None
        channel = state.channels[index]
        from_ns, to_ns = min(from_ns, LATEST_NS), min(to_ns, LATEST_NS)
        alarms = [
            messages.alarm_part(one)
            for one in self._journal
            if one.bench == number and one.channel in (channel.name, "") and from_ns <= one.at_ns <= to_ns
        ][-MAX_ANSWERED_ALARMS:]
        rows = state.histories[channel.name].rows(from_ns, to_ns, n_rows)
        return messages.encoded(
            {
                "kind": "history",
                "to": to,
                "bench": number,
                "channel": index,
                "rows": messages.rows_part(rows, channel.decimals),
                "ribbon": state.ribbon_part(channel.name, from_ns, to_ns),
                "plain": state.plain_part(channel.name, from_ns, to_ns, n_rows) if plain else [],
                "alarms": alarms,
            }
        )

    # Inside

    def _touch(self) -> int:
        self._is_dirty = True
        return self._open

    def _start_over(self) -> None:
        self._touch()
        self.epoch += 1

    def _tell(self, message: messages.Message) -> None:
        self.n_events += 1
        self._events.append((self.n_events, messages.encoded(message)))

    def _take_alarm(self, state: BenchState, change: AlarmChange) -> None:
        limit = (
            state.limit_of(change.channel, change.limit)
            if change.channel
            else self.lesson.alarm("", change.limit)
        )
        known = self._alarms.get(alarm_id(change.bench, change.channel, change.limit))
        if known is None and change.event == "return" and change.who != "rule":
            return  # told when the lesson lost its limit
        alarm = Alarm(
            bench=change.bench,
            channel=change.channel,
            limit=change.limit,
            kind=limit.kind if limit else "high",
            state=change.state,
            before=change.before,
            event=change.event,
            at_ns=change.at_ns,
            value=change.value,
            at=change.at,
            priority=limit.priority if limit else "medium",
            words=limit.message if limit else "",
            advice=limit.advice if limit else "",
            who=change.who,
            reason=change.reason or (known.reason if known and change.state in HELD else ""),
            until_ns=change.until_ns or (known.until_ns if known and change.state in HELD else 0),
            first_out=known is not None and known.first_out and change.event != "rise",
        )
        if alarm.state == "normal":
            self._alarms.pop(alarm.id, None)
        else:
            self._alarms[alarm.id] = alarm
        self._journal.append(alarm)
        self._tell({"kind": "alarm", "alarm": messages.alarm_part(alarm)})

    def _lose_alarms_without_limit(self) -> None:
        """Alarms whose limit the revised lesson does not have any more are over."""
        for alarm in list(self._alarms.values()):
            given = self.lesson.alarm(alarm.channel, alarm.limit)
            if given is not None and given.kind == alarm.kind:
                continue
            del self._alarms[alarm.id]
            over = replace(
                alarm, state="normal", before=alarm.state, event="return", who="instructor", until_ns=0
            )
            self._journal.append(over)
            self._tell({"kind": "alarm", "alarm": messages.alarm_part(over)})

    def _ordered(self) -> Iterator[tuple[int, BenchState]]:
        return iter(sorted(self._benches.items()))

    def _bench_parts(self) -> list[messages.Message]:
        return [state.part() for _, state in self._ordered()]

    def _hello_message(self, now_ns: int) -> messages.Message:
        n_channels = sum(len(state.channels) for state in self._benches.values())
        n_rows = min(HELLO_ROWS, max(2, MAX_HELLO_ROWS // max(1, n_channels)))
        return {
            "kind": "hello",
            "program": self.session.program,
            "session": messages.session_part(self.session, now_ns),
            "lesson": messages.lesson_part(self.lesson),
            "benches": self._bench_parts(),
            "values": [part for _, state in self._ordered() for part in state.value_parts(None)],
            "history": [part for _, state in self._ordered() for part in state.history_parts(now_ns, n_rows)],
            "alarms": [messages.alarm_part(one) for one in self._alarms.values()],
            "markers": [messages.marker_part(one) for one in self._markers],
            "replay": messages.replay_part(self._replay) if self._replay else None,
            "boards": messages.boards_part(self._boards),
            "findings": [
                [number, state.findings_part()] for number, state in self._ordered() if state.findings
            ],
            "flood": self._flood,
            "phases": messages.phases_part(self._phases),
            "calls": messages.calls_part(self._calls),
        }

    def _updates(self, since: int, now_ns: int) -> Iterator[messages.Message]:
        told_lesson = self._lesson_version > since
        if told_lesson:
            lesson = messages.lesson_part(self.lesson)
            yield {"kind": "lesson", "lesson": lesson, "benches": self._bench_parts()}
        for number, state in self._ordered():
            if state.findings_version > since:
                yield {"kind": "findings", "bench": number, "findings": state.findings_part()}
            if told_lesson:
                continue
            if state.described_version > since:
                yield {"kind": "bench", "bench": state.part()}
            elif state.status_version > since:
                yield {"kind": "status", "bench": number, "status": messages.status_part(state.status)}
        if self._boards_version > since:
            yield {"kind": "boards", "boards": messages.boards_part(self._boards)}
        if self._flood and self._flood_version > since:
            yield {"kind": "flood", "flood": self._flood}
        if self._phases_version > since:
            yield {"kind": "phases", "phases": messages.phases_part(self._phases)}
        if self._calls_version > since:
            yield {"kind": "calls", "calls": messages.calls_part(self._calls)}
        if self._replay and self._replay_version > since:
            yield {"kind": "replay", "replay": messages.replay_part(self._replay)}
        values = [part for _, state in self._ordered() for part in state.value_parts(since)]
        yield messages.frame(now_ns, self._speed, values)
