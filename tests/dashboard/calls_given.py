"""Calls as the bridge tells them, made up for tests."""

from __future__ import annotations

from typing import Any

from tests.dashboard.scripted_bridge import START_MS, Message

MINUTE = 60_000


def at(bench: int, minutes: float = 1, **changes: Any) -> Message:
    """One bench of a call, which has waited so long at the session's start of tests."""
    plain = {"words": "", "alarm": None, "first_out": False, "attended": False}
    return {"bench": bench, "since_ms": START_MS - round(minutes * MINUTE)} | plain | changes


def call(id_: str, *benches: Message, **changes: Any) -> Message:
    """A call of the kind that its id begins with."""
    kind = id_.partition("/")[0]
    return {
        "id": id_, "kind": kind, "channel": "", "words": "The program divides by 1023", "advice": "",
        "priority": "medium", "since_ms": benches[0]["since_ms"],
        "attended": all(one["attended"] for one in benches), "benches": list(benches),
    } | changes  # fmt: skip


def ask(bench: int, minutes: float = 1) -> Message:
    """A group asks for help."""
    return call(f"ask/{bench}", at(bench, minutes), words="asks for help")


def high(*benches: int, minutes: float = 2) -> Message:
    """The high alarm of a channel, at some benches."""
    members = [
        at(
            one,
            minutes,
            words="came at 49.0 °C",
            alarm=f"{one}/temperature/high",
            first_out=one == benches[0],
        )
        for one in benches
    ]
    return call(
        "alarm/temperature/high", *members, channel="temperature", words="Too warm to hold",
        advice="Add cold water", priority="high",
    )  # fmt: skip


def calls(*listed: Message, done: tuple[int, ...] = (), n_more: int = 0) -> Message:
    """The whole list; who asks follows from it."""
    asked = [
        {"bench": one["benches"][0]["bench"], "since_ms": one["since_ms"]}
        for one in listed
        if one["kind"] == "ask"
    ]
    finished = [{"bench": one, "since_ms": START_MS - MINUTE} for one in done]
    return {"list": list(listed), "asked": asked, "done": finished, "n_more": n_more}


def told(*listed: Message, **more: Any) -> Message:
    """The list as a message."""
    return {"kind": "calls", "calls": calls(*listed, **more)}


def flood() -> Message:
    """Fourteen alarms: one cause at five benches, two alarms of another bench."""
    benches = [1, 2, 3, 5, 7]
    shared = [{"id": f"{one}/temperature/high", "n_calls": 2 if one < 5 else 1} for one in benches]
    own = [{"id": "4/temperature/low", "n_calls": 5}, {"id": "4//finding", "n_calls": 1}]
    return {
        "on": True, "since_ms": 540_000, "n_calls": 14,
        "groups": [
            {"by": "cause", "channel": "temperature", "limit": "high", "benches": benches, "n_calls": 8,
             "alarms": shared},
            {"by": "bench", "channel": "", "limit": "", "benches": [4], "n_calls": 6, "alarms": own},
        ],
    }  # fmt: skip
