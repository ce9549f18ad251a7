"""From a client's text to a small value: what clients may ask of the bridge (`benchrow.v1`).

Each kind has a JSON Schema in `bridge/schemas/from_client`; a text that does not keep it is answered, never
obeyed.
"""

from __future__ import annotations

import json
import math
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, cast

from jsonschema.exceptions import best_match

from bridge.core.asks import Want
from bridge.errors import ControlError
from bridge.schemas import kinds, validator

Scalar = str | int | float | bool | None


@dataclass(frozen=True, slots=True)
class Unlock:
    """The passcode is shown; from then on this connection may control."""

    id: int | None
    passcode: str


@dataclass(frozen=True, slots=True)
class Follow:
    """Send what this bench's board prints; None: no bench any more."""

    id: int | None
    bench: int | None


@dataclass(frozen=True, slots=True)
class HistoryRequest:
    """A channel's past is wanted."""

    id: int | None
    bench: int
    channel: int  # index in the bench's channels
    from_ms: int
    to_ms: int
    rows: int
    plain: bool = False  # also what the bands would have shown without a deadband


@dataclass(frozen=True, slots=True)
class JournalRequest:
    """The journal of alarms is wanted, from an entry on, counted from 0."""

    id: int | None
    after: int


@dataclass(frozen=True, slots=True)
class ProposalsRequest:
    """What would calm the alarms of a bench is wanted."""

    id: int | None
    bench: int


@dataclass(frozen=True, slots=True)
class Acknowledge:
    """A person has seen the alarm."""

    id: int | None
    alarm: str


@dataclass(frozen=True, slots=True)
class Shelve:
    """Set an alarm aside for a time; it comes back by itself."""

    id: int | None
    alarm: str
    minutes: float
    reason: str


@dataclass(frozen=True, slots=True)
class AlarmCommand:
    """Take an alarm off the shelf, reset it, take it out of service or put it back."""

    id: int | None
    command: Literal["unshelve", "reset", "remove", "restore"]
    alarm: str


@dataclass(frozen=True, slots=True)
class TakeBaseline:
    """Take the steady readings of these benches as their baselines."""

    id: int | None
    benches: tuple[int, ...]
    channel: str


@dataclass(frozen=True, slots=True)
class StartPhase:
    """Start a phase of the lesson; "": none."""

    id: int | None
    phase: str


@dataclass(frozen=True, slots=True)
class Ask:
    """A group asks for help, says that it is done, or takes that back."""

    id: int | None
    bench: int
    want: Want
    key: str = field(repr=False)  # the bench's own; "" once it was checked, or from the instructor
    who: Literal["group", "instructor"] = "group"


@dataclass(frozen=True, slots=True)
class Attend:
    """The instructor has been at a call, or is on her way; bench None: at all its benches."""

    id: int | None
    call: str
    bench: int | None


@dataclass(frozen=True, slots=True)
class CodesRequest:
    """The bench codes are wanted, leading to that origin; None: to this machine's first address."""

    id: int | None
    base: str | None


@dataclass(frozen=True, slots=True)
class Mark:
    """Mark this instant."""

    id: int | None
    words: str


@dataclass(frozen=True, slots=True)
class Record:
    """Begin or end a recording."""

    id: int | None
    on: bool


@dataclass(frozen=True, slots=True)
class Release:
    """Let a bench's port go, for an upload."""

    id: int | None
    bench: int


@dataclass(frozen=True, slots=True)
class TakeBack:
    """Take a bench's port back."""

    id: int | None
    bench: int


@dataclass(frozen=True, slots=True)
class Seat:
    """A board that has no bench belongs to this one."""

    id: int | None
    board: str
    bench: int


@dataclass(frozen=True, slots=True)
class ReplayControl:
    """Play or pause (value None), speed (a factor), seek (session time in ms), loop (True or False)."""

    id: int | None
    action: Literal["play", "pause", "speed", "seek", "loop"]
    value: float | bool | None


@dataclass(frozen=True, slots=True)
class Revise:
    """Change keys of the lesson; None takes a key away."""

    id: int | None
    changes: tuple[tuple[tuple[str | int, ...], Scalar | tuple[Scalar, ...]], ...]
    from_recorded: bool = False  # in a replay: of the recording's lesson, not of what was made of it since
    keep: str | None = None  # in a replay: as a file too; why, in the person's words


@dataclass(frozen=True, slots=True)
class Survey:
    """Send how every bench's text is understood, and who is steady."""

    id: int | None
    on: bool


@dataclass(frozen=True, slots=True)
class ChooseLayout:
    """Of the ways in which a bench's text can be read, take this one."""

    id: int | None
    bench: int
    alternative: int  # from 0, in the order in which they were shown
    words: str  # with which it was shown: new lines may have changed the order


@dataclass(frozen=True, slots=True)
class Relearn:
    """Learn a bench's text again."""

    id: int | None
    bench: int


@dataclass(frozen=True, slots=True)
class TryBaud:
    """Read a bench's board at another rate."""

    id: int | None
    bench: int
    baud: int


@dataclass(frozen=True, slots=True)
class Capture:
    """Take the steady readings of these benches as points of their calibration."""

    id: int | None
    benches: tuple[int, ...]
    channel: str
    reference: float | None  # in the channel's unit; None: the median of the benches
    u_reference: float | None  # its standard uncertainty
    words: str  # what the reference is


@dataclass(frozen=True, slots=True)
class Point:
    """A calibration point typed in by hand; all in the channel's unit."""

    id: int | None
    bench: int
    channel: str
    reference: float
    indication: float
    u_reference: float | None
    u_indication: float | None
    words: str


@dataclass(frozen=True, slots=True)
class Fit:
    """Which curve the calibration of these benches is."""

    id: int | None
    benches: tuple[int, ...]
    channel: str
    fit: Literal["offset", "line", "quadratic"]


@dataclass(frozen=True, slots=True)
class Uncalibrate:
    """Take a calibration away."""

    id: int | None
    bench: int
    channel: str


OfAlarm = Acknowledge | Shelve | AlarmCommand
"""What a person does with one alarm."""
Calibrating = Capture | Point | Fit | Uncalibrate
Control = (
    OfAlarm
    | TakeBaseline
    | StartPhase
    | Ask
    | Attend
    | Mark
    | Record
    | Release
    | TakeBack
    | Seat
    | ReplayControl
    | Revise
    | ChooseLayout
    | Relearn
    | TryBaud
    | Calibrating
)
"""What a session does. All but an ask need the passcode; that one needs it, or the key of its bench."""
Looking = Follow | HistoryRequest | JournalRequest | ProposalsRequest | Survey
Request = Unlock | Looking | CodesRequest | Control
"""All that a client may send."""


class RequestError(ControlError):
    """The text is no message of a client; `to` is the id that it bears, if it has one."""

    def __init__(self, happened: str, *, remedy: str, to: int | None) -> None:
        super().__init__(happened, remedy=remedy)
        self.to = to


def request_from_text(text: str) -> Request:
    """Read one text frame.

    Raises:
        RequestError: It is not JSON, of no known kind, or does not keep the schema of its kind.
    """
    message = _object_from(text)
    to = message.get("id")
    to = to if isinstance(to, int) and not isinstance(to, bool) and abs(to) <= 2**53 else None
    kind = message.get("kind")
    if not isinstance(kind, str) or kind not in _READERS:
        found = _plain(kind)[:40] if isinstance(kind, str) else type(kind).__name__
        raise RequestError(
            f"the bridge knows no message of kind {found!r}",
            remedy=f"Send one of {', '.join(kinds('from_client'))}",
            to=to,
        )
    fault = best_match(validator("from_client", kind).iter_errors(message))
    if fault is not None:
        where = _plain("/".join(str(step) for step in fault.absolute_path))[:80]
        raise RequestError(
            f"the message {kind!r} is wrong{where and f' at {where}'}: {_plain(fault.message)[:200]}",
            remedy=f"Keep the schema of {kind!r}",
            to=to,
        )
    return _READERS[kind](to, message)


def _object_from(text: str) -> Mapping[str, Any]:
    try:
        found = json.loads(text, parse_constant=_refuse, parse_float=_finite, parse_int=_bounded)
    except (ValueError, RecursionError) as error:
        raise RequestError(
            "the message is not JSON", remedy="Send one JSON object in a text frame", to=None
        ) from error
    if not isinstance(found, dict):
        raise RequestError("the message is no JSON object", remedy="Send one JSON object", to=None)
    return found


def _refuse(constant: str) -> float:
    raise ValueError(f"{constant} is not JSON")


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise ValueError("a number beyond what a double can hold")
    return value


def _bounded(text: str) -> int:
    value = int(text)  # ValueError from 4301 digits on
    if abs(value) > 2**63:
        raise ValueError("a whole number beyond 64 bits")
    return value


def _plain(text: str) -> str:
    """Text that can go into any file and page: control characters and half surrogate pairs made visible."""
    return "".join(
        "\N{REPLACEMENT CHARACTER}" if unicodedata.category(c) in {"Cc", "Cs"} else c for c in text
    )


def _plain_value(value: Any) -> Any:
    if isinstance(value, str):
        return _plain(value)
    return tuple(_plain_value(one) for one in value) if isinstance(value, list) else value


_Reader = Callable[["int | None", Mapping[str, Any]], Request]


def _revise(to: int | None, message: Mapping[str, Any]) -> Revise:
    keep = message.get("keep")
    return Revise(
        to,
        cast("Any", _plain_value(message["changes"])),
        from_recorded=message.get("from_recorded", False),
        keep=None if keep is None else _plain(keep).strip(),
    )


_READERS: Mapping[str, _Reader] = {
    "unlock": lambda to, m: Unlock(to, m["passcode"]),
    "follow": lambda to, m: Follow(to, _whole(m["bench"])),
    "history": lambda to, m: HistoryRequest(
        to,
        int(m["bench"]),
        int(m["channel"]),
        int(m["from_ms"]),
        int(m["to_ms"]),
        int(m["rows"]),
        m.get("plain", False),
    ),
    "journal": lambda to, m: JournalRequest(to, int(m["after"])),
    "proposals": lambda to, m: ProposalsRequest(to, int(m["bench"])),
    "acknowledge": lambda to, m: Acknowledge(to, _plain(m["alarm"])),
    "shelve": lambda to, m: Shelve(to, _plain(m["alarm"]), float(m["minutes"]), _plain(m["reason"]).strip()),
    "unshelve": lambda to, m: AlarmCommand(to, "unshelve", _plain(m["alarm"])),
    "reset": lambda to, m: AlarmCommand(to, "reset", _plain(m["alarm"])),
    "remove": lambda to, m: AlarmCommand(to, "remove", _plain(m["alarm"])),
    "restore": lambda to, m: AlarmCommand(to, "restore", _plain(m["alarm"])),
    "baseline": lambda to, m: TakeBaseline(to, tuple(map(int, m["benches"])), _plain(m["channel"])),
    "phase": lambda to, m: StartPhase(to, _plain(m["phase"])),
    "ask": lambda to, m: Ask(to, int(m["bench"]), m["want"], m["key"]),
    "attend": lambda to, m: Attend(to, _plain(m["call"]), _whole(m["bench"])),
    "codes": lambda to, m: CodesRequest(to, m["base"]),
    "mark": lambda to, m: Mark(to, _plain(m["words"]).strip()),
    "record": lambda to, m: Record(to, m["on"]),
    "seat": lambda to, m: Seat(to, str(m["board"]), int(m["bench"])),
    "release": lambda to, m: Release(to, int(m["bench"])),
    "take_back": lambda to, m: TakeBack(to, int(m["bench"])),
    "replay": lambda to, m: ReplayControl(to, m["action"], m.get("value")),
    "revise": _revise,
    "survey": lambda to, m: Survey(to, m["on"]),
    "choose_layout": lambda to, m: ChooseLayout(to, int(m["bench"]), int(m["alternative"]), str(m["words"])),
    "relearn": lambda to, m: Relearn(to, int(m["bench"])),
    "try_baud": lambda to, m: TryBaud(to, int(m["bench"]), int(m["baud"])),
    "capture": lambda to, m: Capture(
        to,
        tuple(map(int, m["benches"])),
        _plain(m["channel"]),
        _real(m["reference"]),
        _real(m.get("u_reference")),
        _plain(m.get("words", "")).strip(),
    ),
    "point": lambda to, m: Point(
        to,
        int(m["bench"]),
        _plain(m["channel"]),
        float(m["reference"]),
        float(m["indication"]),
        _real(m.get("u_reference")),
        _real(m.get("u_indication")),
        _plain(m.get("words", "")).strip(),
    ),
    "fit": lambda to, m: Fit(to, tuple(map(int, m["benches"])), _plain(m["channel"]), m["fit"]),
    "uncalibrate": lambda to, m: Uncalibrate(to, int(m["bench"]), _plain(m["channel"])),
}


def _real(value: float | None) -> float | None:
    return None if value is None else float(value)


def _whole(value: float | None) -> int | None:
    return None if value is None else int(value)  # JSON Schema takes 3.0 for a whole number
