"""From values to wire messages: what the bridge says to its clients (`benchrow.v1`).

Each kind has a JSON Schema in `bridge/schemas/from_bridge`. Times go out as whole milliseconds of session
time. A number that is not finite goes out as null: no JSON text may hold NaN, no screen may show it.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from bridge.core.alarm_flood import AlarmGroup
from bridge.core.alarm_given import AlarmKind, AlarmPriority
from bridge.core.call_list import AskShown, Call, CallList
from bridge.core.channels import ChannelInfo, Step
from bridge.core.classroom import PhaseStart
from bridge.core.findings import Finding
from bridge.core.history import Row
from bridge.core.lesson import AlarmGiven, Bench, Lesson
from bridge.core.readings import AlarmEvent, AlarmState, Quality, Reading

Message = Mapping[str, object]
LinkState = Literal["searching", "open", "in use", "no permission", "lost", "released", "ended"]

MAX_TEXT = 1_000  # characters of a board's line that go to a screen; the recording has all of them

_encode = json.JSONEncoder(allow_nan=False, separators=(",", ":")).encode
_QUALITY_CODES: Mapping[Quality, int] = {"good": 0, "uncertain": 1, "bad": 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionInfo:
    """The session that all clients look at."""

    id: str
    title: str
    source: Literal["live", "replay"]
    start_utc_ns: int
    recording: str | None  # the file's name; None: nothing is kept
    program: str  # Benchrow's version


@dataclass(frozen=True, slots=True, kw_only=True)
class Status:
    """How a bench's board and its text are."""

    link: LinkState = "searching"
    words: str = ""
    remedy: str = ""
    port: str = ""
    baud: int = 0
    old: bool = False
    old_after_ms: int = 3000
    lines_per_second: float = 0.0
    n_lines: int = 0
    n_set_aside: int = 0
    layout: str = ""


@dataclass(frozen=True, slots=True)
class Marker:
    """A named instant."""

    at_ns: int
    words: str
    who: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Alarm:
    """One alarm with its newest transition and what the lesson says about its limit."""

    bench: int
    channel: str
    limit: str  # its key among those of the channel; of a whole bench, with channel ""
    kind: AlarmKind
    state: AlarmState
    before: AlarmState
    event: AlarmEvent
    at_ns: int
    value: float | None  # what was judged, as `AlarmGiven` says for the kind
    at: float  # the limit, of the same unit
    priority: AlarmPriority
    words: str
    advice: str
    who: str
    reason: str = ""  # of a shelf; the phase that suppresses
    until_ns: int = 0  # when a shelf ends; 0: it is on none
    first_out: bool = False  # of several that rose together the first

    @property
    def id(self) -> str:
        """Names the alarm the same way for the whole session."""
        return alarm_id(self.bench, self.channel, self.limit)


@dataclass(frozen=True, slots=True, kw_only=True)
class Replay:
    """Where a replay stands."""

    playing: bool
    speed: float
    position_ms: int
    length_ms: int
    loop: bool
    markers: tuple[Marker, ...] = ()


@dataclass(frozen=True, slots=True)
class WaitingBoard:
    """A board that is plugged in and has no bench: the instructor says where it belongs."""

    board: str  # its key
    port: str
    words: str  # what it calls itself, or the question about it


@dataclass(frozen=True, slots=True)
class FieldShown:
    """A field of a followed bench's newest line."""

    name: str
    text: str  # as printed
    value: float | None
    unit: str


@dataclass(frozen=True, slots=True)
class BenchCode:
    """What a group's phone reads to open the page of its own bench."""

    bench: int
    url: str
    modules: tuple[str, ...]  # "1" for dark, row by row, without the quiet zone


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchCodes:
    """The codes of all benches, and whether a phone can follow them."""

    base: str  # the origin that they lead to
    bases: tuple[str, ...]  # addresses of this machine that a phone may use
    reachable: bool
    words: str  # why a phone can't, and what to do; else ""
    codes: tuple[BenchCode, ...]


def alarm_id(bench: int, channel: str, limit: str) -> str:
    """The name of an alarm: bench, channel and key of the limit."""
    return f"{bench}/{channel}/{limit}"


def encoded(message: Message) -> bytes:
    """The message as the bytes of a text frame: ASCII only, so that half a surrogate pair does no harm."""
    return _encode(message).encode("ascii")


def number(value: float | None) -> float | None:
    """The value, None when it is none or not finite."""
    return value if value is not None and math.isfinite(value) else None


def ms(at_ns: int) -> int:
    """Session time on the wire."""
    return max(0, at_ns // 1_000_000)


def value_part(
    reading: Reading, index: int, band: int | None, low: float | None, high: float | None
) -> list[object]:
    """One channel's newest reading in a frame."""
    return [
        reading.bench,
        index,
        ms(reading.at_ns),
        number(reading.value),
        number(reading.u),
        _QUALITY_CODES[reading.quality],
        reading.reason,
        band,
        number(low),
        number(high),
    ]


def rows_part(rows: Iterable[Row | None], decimals: int) -> list[object]:
    """Rows of a history, to two places more than the channel shows: half the bytes, nothing to be seen."""
    places = decimals + 2
    return [
        None if row is None else [ms(row[0]), round(row[1], places), round(row[2], places)] for row in rows
    ]


def status_part(status: Status) -> Message:
    """A bench's status."""
    return {
        "link": status.link,
        "words": status.words,
        "remedy": status.remedy,
        "port": status.port,
        "baud": status.baud,
        "old": status.old,
        "old_after_ms": status.old_after_ms,
        "lines_per_second": number(status.lines_per_second) or 0.0,
        "n_lines": status.n_lines,
        "n_set_aside": status.n_set_aside,
        "layout": status.layout,
    }


def _limit_part(limit: AlarmGiven) -> Message:
    return {
        "limit": limit.key,
        "kind": limit.kind,
        "at": limit.at,
        "priority": limit.priority,
        "message": limit.message,
        "advice": limit.advice,
    }


def _channel_part(channel: ChannelInfo) -> Message:
    return {
        "name": channel.name,
        "unit": channel.unit,
        "decimals": channel.decimals,
        "low": channel.low,
        "high": channel.high,
        "baseline": number(channel.baseline),
        "takes_baseline": channel.takes_baseline,
        "edges": list(channel.edges),
        "edge_names": list(channel.edge_names),
        "phase_bands": [
            {"phases": list(one.phases), "names": list(one.names)} for one in channel.bands_of_phases
        ],
        "limits": [_limit_part(one) for one in channel.limits],
        "gain": channel.gain,
        "offset": channel.offset,
    }


def bench_part(bench: Bench, channels: Sequence[ChannelInfo], main: int, status: Status) -> Message:
    """A bench's description."""
    return {
        "number": bench.number,
        "name": bench.name,
        "shape": bench.shape,
        "colour": bench.colour,
        "row": bench.row,
        "place": bench.place,
        "main": main,
        "channels": [_channel_part(one) for one in channels],
        "status": status_part(status),
    }


def finding_part(finding: Finding) -> Message:
    """Something that is wrong at a bench."""
    return {
        "kind": finding.kind,
        "channel": finding.channel,
        "weight": finding.weight,
        "since_ms": ms(finding.since_ns),
        "words": finding.words[:MAX_TEXT],
        "evidence": finding.evidence[:MAX_TEXT],
        "remedy": finding.remedy[:MAX_TEXT],
        "try_baud": finding.try_baud,
    }


def lesson_part(lesson: Lesson) -> Message:
    """What every screen may show of the lesson."""
    channels = [{"name": one.name, "quantity": one.quantity, "unit": one.unit} for one in lesson.channels]
    phases = [{"name": one.name, "note": one.note} for one in lesson.phases]
    return {"title": lesson.title, "note": lesson.note, "channels": channels, "phases": phases}


def alarm_part(alarm: Alarm) -> Message:
    """An alarm as its newest transition left it."""
    return {
        "id": alarm.id,
        "bench": alarm.bench,
        "channel": alarm.channel,
        "limit": alarm.limit,
        "kind": alarm.kind,
        "state": alarm.state,
        "before": alarm.before,
        "event": alarm.event,
        "t_ms": ms(alarm.at_ns),
        "value": number(alarm.value),
        "at": alarm.at,
        "priority": alarm.priority,
        "words": alarm.words,
        "advice": alarm.advice,
        "who": alarm.who,
        "reason": alarm.reason,
        "until_ms": ms(alarm.until_ns) if alarm.until_ns else None,
        "first_out": alarm.first_out,
    }


def flood_part(is_on: bool, since_ms: object, groups: Sequence[AlarmGroup]) -> Message:
    """A flood of alarms: which belong together, and how often each called."""
    return {
        "on": is_on,
        "since_ms": since_ms,
        "n_calls": sum(one.n_calls for one in groups),
        "groups": [
            {
                "by": one.by,
                "channel": one.channel,
                "limit": one.limit,
                "benches": list(one.benches),
                "n_calls": one.n_calls,
                "alarms": [
                    {"id": alarm_id(each.bench, each.channel, each.limit), "n_calls": each.n_calls}
                    for each in one.members
                ],
            }
            for one in groups
        ],
    }


def phases_part(starts: Sequence[PhaseStart]) -> list[Message]:
    """The phases that were started, in the order of their times; "" for none."""
    return [{"t_ms": ms(one.at_ns), "phase": one.phase, "who": one.who} for one in starts]


def calls_part(calls: CallList) -> Message:
    """What calls for a person, in the order in which one should go."""
    return {
        "list": [_call_part(one) for one in calls.calls],
        "asked": _asks_part(calls.asked),
        "done": _asks_part(calls.done),
        "n_more": calls.n_more,
    }


def _asks_part(asks: Sequence[AskShown]) -> list[Message]:
    return [{"bench": one.bench, "since_ms": ms(one.since_ns)} for one in asks]


def _call_part(call: Call) -> Message:
    return {
        "id": call.id,
        "kind": call.kind,
        "channel": call.channel,
        "words": call.words[:MAX_TEXT],
        "advice": call.advice[:MAX_TEXT],
        "priority": call.priority,
        "since_ms": ms(call.since_ns),
        "attended": call.attended,
        "benches": [
            {
                "bench": one.bench,
                "since_ms": ms(one.since_ns),
                "words": one.words[:MAX_TEXT],
                "alarm": alarm_id(one.bench, *one.alarm) if one.alarm else None,
                "first_out": one.first_out,
                "attended": one.attended,
            }
            for one in call.benches
        ],
    }


def codes(to: int | None, found: BenchCodes) -> Message:
    """The bench codes, for the client that asked for them."""
    shown = [{"bench": one.bench, "url": one.url, "modules": list(one.modules)} for one in found.codes]
    return {
        "kind": "codes",
        "to": to,
        "base": found.base,
        "bases": list(found.bases),
        "reachable": found.reachable,
        "words": found.words,
        "codes": shown,
    }


def marker_part(marker: Marker) -> Message:
    """A marker."""
    return {"t_ms": ms(marker.at_ns), "words": marker.words, "who": marker.who}


def boards_part(boards: Sequence[WaitingBoard]) -> list[Message]:
    """The boards that have no bench yet."""
    return [{"board": one.board, "port": one.port, "words": one.words} for one in boards]


def replay_part(replay: Replay) -> Message:
    """Where a replay stands, with all markers of its recording."""
    return {
        "playing": replay.playing,
        "speed": replay.speed,
        "position_ms": replay.position_ms,
        "length_ms": replay.length_ms,
        "loop": replay.loop,
        "markers": [marker_part(one) for one in replay.markers],
    }


def session_part(session: SessionInfo, now_ns: int) -> Message:
    """The session and its time."""
    return {
        "id": session.id,
        "title": session.title,
        "source": session.source,
        "start_utc_ms": session.start_utc_ns // 1_000_000,
        "now_ms": ms(now_ns),
        "recording": session.recording,
    }


def frame(now_ns: int, speed: float, values: list[list[object]]) -> Message:
    """The channels that have changed; without any, the heartbeat."""
    return {"kind": "frame", "now": ms(now_ns), "speed": speed, "values": values}


def line_part(line_number: int, at_ns: int, text: str, flaws: str, outcome: str) -> list[object]:
    """A line of a board and what became of it."""
    if len(text) > MAX_TEXT:
        text = text[:MAX_TEXT] + "…"
    return [line_number, ms(at_ns), text, flaws, outcome]


def field_part(field: FieldShown) -> list[object]:
    """A named number as it was printed."""
    return [field.name, field.text[:MAX_TEXT], number(field.value), field.unit]


def step_part(step: Step) -> Message:
    """One step of a conversion."""
    return {
        "channel": step.channel,
        "words": step.words,
        "formula": step.formula,
        "number": number(step.number),
        "unit": step.unit,
    }


def reply(to: int | None, *, ok: bool, words: str) -> Message:
    """The answer to a client's message."""
    return {"kind": "reply", "to": to, "ok": ok, "words": words}
