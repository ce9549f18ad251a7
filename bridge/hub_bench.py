"""What the hub keeps of one bench, each part with its bound."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Protocol

from bridge import messages
from bridge.core.band_times import Flicker, flickers_between
from bridge.core.channels import ChannelInfo, Step
from bridge.core.findings import Finding, FindingChange, FindingKind
from bridge.core.history import History
from bridge.core.lesson import AlarmGiven, Bench
from bridge.core.newest import Newest
from bridge.messages import FieldShown, Status

MAX_CHANNELS = 64  # of one bench; a board that prints more has its further ones in the recording only
MAX_LINES = 50  # newest lines for those who follow a bench
MAX_RIBBON = 2_048  # band changes of one channel; beyond it the oldest are forgotten
NEVER = -(2**62)  # an instant long before any clock began


class LineShown(Protocol):
    """What is shown of a board's line."""

    @property
    def number(self) -> int:
        """From 1, counted per bench."""

    @property
    def text(self) -> str:
        """As decoded."""

    @property
    def at_ns(self) -> int:
        """Session time of its end."""

    @property
    def flaws(self) -> str:
        """What is wrong with it as a line; empty for nothing."""


class BenchState:
    """The newest state of one bench and its bounded past."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.channels: tuple[ChannelInfo, ...] = ()
        self.main = 0
        self.described_version = 0
        self.status = Status()
        self.status_version = 0
        self.status_waits = False
        self.status_told_ns = NEVER
        self.newest: dict[str, Newest] = {}
        self.histories: dict[str, History] = {}
        self.ribbons: dict[str, deque[tuple[int, int | None]]] = {}
        self.flickers: Mapping[str, Sequence[Flicker]] = {}  # of the bands, without a deadband; by channel
        self.findings: dict[tuple[FindingKind, str], Finding] = {}  # that stand
        self.findings_version = 0
        self.findings_wait = False
        self.findings_told_ns = NEVER
        self.details: dict[str, tuple[int, messages.Message]] = {}  # by kind; rising numbers tell the newest
        self.n_detail_changes = 0
        self.n_line_changes = 0
        self._is_described = False
        self._lines: deque[tuple[int, LineShown, str]] = deque(maxlen=MAX_LINES)
        self._fields: tuple[FieldShown, ...] = ()
        self._steps: tuple[Step, ...] = ()

    def describe(self, bench: Bench, channels: Sequence[ChannelInfo], main: int) -> bool:
        """Take a description; False when it is the one that stands."""
        described = (bench, tuple(channels[:MAX_CHANNELS]), min(main, MAX_CHANNELS - 1))
        if self._is_described and described == (self.bench, self.channels, self.main):
            return False
        self._is_described = True
        self.bench, self.channels, self.main = described
        names = {one.name for one in self.channels}
        for name in self.newest.keys() - names:
            del self.newest[name], self.histories[name], self.ribbons[name]
        for one in self.channels:
            self._ensure(one.name)
        return True

    def newest_of(self, channel: str) -> Newest | None:
        """Where the channel's newest reading is kept; it may come just before its channel is described."""
        found = self.newest.get(channel)
        if found is None and len(self.newest) < MAX_CHANNELS:
            found = self._ensure(channel)
        return found

    def limit_of(self, channel: str, key: str) -> AlarmGiven | None:
        """The limit of that key on that channel."""
        limits = (limit for one in self.channels if one.name == channel for limit in one.limits)
        return next((limit for limit in limits if limit.key == key), None)

    def take_finding(self, change: FindingChange) -> None:
        """A finding came, got other words, or went."""
        if change.event == "gone":
            self.findings.pop(change.finding.key, None)
        else:
            self.findings[change.finding.key] = change.finding
        self.findings_wait = True

    def findings_part(self) -> list[messages.Message]:
        """All findings that stand: faults first, then the older ones."""
        ordered = sorted(self.findings.values(), key=lambda one: (one.weight != "fault", one.since_ns))
        return [messages.finding_part(one) for one in ordered]

    def set_detail(self, message: messages.Message) -> None:
        """What those who look closely are told; of each kind the newest counts."""
        kind = str(message["kind"])
        if kind not in self.details or self.details[kind][1] != message:
            self.n_detail_changes += 1
            self.details[kind] = (self.n_detail_changes, message)

    def details_since(self, since: int, kinds: frozenset[str]) -> list[bytes]:
        """The details of those kinds that are newer than the first `since` changes."""
        return [
            messages.encoded(message)
            for kind, (number, message) in self.details.items()
            if number > since and kind in kinds
        ]

    def take_lines(self, lines: Iterable[tuple[LineShown, str]]) -> None:
        """Take lines, each with what became of it."""
        for line, outcome in lines:
            self.n_line_changes += 1
            self._lines.append((self.n_line_changes, line, outcome))

    def set_steps(self, fields: tuple[FieldShown, ...], steps: tuple[Step, ...]) -> None:
        """Take the newest line's fields and the conversions step by step."""
        if (fields, steps) != (self._fields, self._steps):
            self._fields, self._steps = fields, steps
            self.n_line_changes += 1

    def forget(self) -> None:
        """Forget everything that the board has sent; the description stays."""
        self.newest, self.histories, self.ribbons = {}, {}, {}
        for one in self.channels:
            self._ensure(one.name)
        self.n_line_changes += 1
        self.flickers = {}
        self.findings.clear()
        self.details.clear()
        self._lines.clear()
        self._fields, self._steps = (), ()

    def part(self) -> messages.Message:
        """The description as it goes out."""
        return messages.bench_part(self.bench, self.channels, self.main, self.status)

    def value_parts(self, since: int | None) -> Iterator[list[object]]:
        """The newest readings that changed after version `since`; None: all, each its own span."""
        for index, channel in enumerate(self.channels):
            newest = self.newest[channel.name]
            reading = newest.reading
            if reading is None or (since is not None and newest.version <= since):
                continue
            low, high = (reading.value, reading.value) if since is None else newest.span_since(since)
            yield messages.value_part(reading, index, newest.band, low, high)

    def history_parts(self, now_ns: int, n_rows: int) -> Iterator[messages.Message]:
        """The whole session of every channel."""
        for index, channel in enumerate(self.channels):
            history = self.histories[channel.name]
            rows = history.rows(history.first_ns or 0, now_ns, n_rows)
            part = messages.rows_part(rows, channel.decimals)
            yield {"bench": self.bench.number, "channel": index, "rows": part}

    def ribbon_part(self, channel: str, from_ns: int, to_ns: int) -> list[list[object]]:
        """Band changes in a stretch of time, begun by the band that was held when it began."""
        changes = [one for one in self.ribbons[channel] if one[0] <= to_ns]
        held = sum(1 for at_ns, _ in changes if at_ns <= from_ns)
        return [[messages.ms(at_ns), band] for at_ns, band in changes[max(0, held - 1) :]]

    def plain_part(self, channel: str, from_ns: int, to_ns: int, n_rows: int) -> list[list[object]]:
        """What the bands would have shown without deadband and dwell in a stretch of time."""
        return [
            [messages.ms(one.at_ns), messages.ms(one.last_ns), one.band, one.n_changes, one.highest]
            for one in flickers_between(self.flickers.get(channel, ()), from_ns, to_ns, n_rows)
        ]

    def lines_message(self, number: int, since: int) -> bytes:
        """The lines after the first `since` changes, with the newest fields and steps."""
        lines = [
            messages.line_part(line.number, line.at_ns, line.text, line.flaws, outcome)
            for n, line, outcome in self._lines
            if n > since
        ]
        return messages.encoded(
            {
                "kind": "lines",
                "bench": number,
                "lines": lines,
                "fields": [messages.field_part(one) for one in self._fields],
                "steps": [messages.step_part(one) for one in self._steps],
            }
        )

    def _ensure(self, channel: str) -> Newest:
        if channel not in self.newest:
            self.newest[channel] = Newest()
            self.histories[channel] = History()
            self.ribbons[channel] = deque(maxlen=MAX_RIBBON)
        return self.newest[channel]
