"""What a call says about an alarm: what is the matter, and how it stands at one bench."""

from __future__ import annotations

from bridge.core.alarm_given import PLAIN_KINDS, AlarmGiven
from bridge.core.lesson import Lesson
from bridge.core.readings import AlarmState


def alarm_words(channel: str, key: str, given: AlarmGiven | None) -> str:
    """What is the matter: the instructor's own message, else the channel and the name of its alarm."""
    if given is not None and given.message:
        return given.message
    return f"{channel} {key}" if channel else f"{key}, which has gone by itself"


def rose_words(
    lesson: Lesson, channel: str, given: AlarmGiven | None, state: AlarmState, value: float | None
) -> str:
    """How an alarm stands at one bench: whether it went back by itself, else what was judged when it came."""
    if state != "unacknowledged":
        return "has gone back by itself"
    if value is None or given is None or given.kind in ("bad quality", "finding"):
        return ""
    described = next((one for one in lesson.channels if one.name == channel), None)
    unit, decimals = (described.unit, described.decimals) if described else ("", 1)
    if given.kind == "stale":
        return f"no value for {value:.0f} s"
    if given.kind == "rate of change":
        return f"came at {value:+.{decimals}f} {unit} a minute"
    if given.kind == "deviation":
        return f"came at {value:+.{decimals}f} {unit} from the class"
    assert given.kind in PLAIN_KINDS
    return f"came at {value:.{decimals}f} {unit}".rstrip()
