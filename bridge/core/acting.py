"""What a recorded event does to the benches: the same live, in a replay and in a table."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from bridge.core.asks import WANTS
from bridge.core.classroom import Classroom, Outcomes
from bridge.core.limits import Command

Detail = Mapping[str, Any]
"""What belongs to the kind, as JSON keeps it."""

COMMANDS: tuple[Command, ...] = get_args(Command)
"""What a person does with one alarm: {channel, limit, who}; shelve also {reason, until_ns}."""


def act(room: Classroom, kind: str, bench: int | None, detail: Detail, at_ns: int) -> Outcomes:
    """Do what an event says; most kinds only tell something, and do nothing.

    | kind | of | detail |
    |---|---|---|
    | link | a bench | state, baud |
    | break | a bench | cold |
    | relearn | a bench | |
    | a command | a bench | channel, limit, who; to shelve also reason, until_ns |
    | baseline | a bench | channel, who |
    | phase | all | phase, who |
    | ask | a bench | want, who |
    | attend | all | call, benches, who |

    Args:
        room: All benches; it was advanced to that instant.
        kind: See the table.
        bench: None for an event of all.
        detail: See the table.
        at_ns: Session time.

    Raises:
        ValueError: A shelf without an end within four hours, or without a reason.
    """
    who = str(detail.get("who", ""))
    if bench is None:
        if kind == "attend":
            room.attend(str(detail.get("call", "")), [int(one) for one in detail.get("benches", ())], at_ns)
        return room.enter_phase(str(detail.get("phase", "")), at_ns, who) if kind == "phase" else []
    channel, limit = str(detail.get("channel", "")), str(detail.get("limit", ""))
    for command in COMMANDS:
        if kind == command:
            reason, until_ns = str(detail.get("reason", "")), int(detail.get("until_ns", 0))
            return [
                (
                    bench,
                    room.command(
                        bench, channel, limit, command, at_ns, who, reason=reason, until_ns=until_ns
                    ),
                )
            ]
    if kind == "link":
        state, baud = str(detail.get("state", "open")), int(detail.get("baud", 0))
        return [(bench, room.link(bench, state, at_ns, baud=baud))]
    if kind == "break":
        return [(bench, room.break_off(bench, at_ns, cold=bool(detail.get("cold", True))))]
    if kind == "relearn":
        return [(bench, room.relearn(bench, at_ns))]
    if kind == "ask":
        want = detail.get("want")
        room.ask(bench, want if want in WANTS else "nothing", at_ns)
    if kind == "baseline":
        return [(bench, room.take_baseline(bench, channel, at_ns)[1])]
    return []
