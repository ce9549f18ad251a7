"""What a person does with alarms, baselines and phases: the same live and in a replay."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from bridge.controls import Acknowledge, AlarmCommand, OfAlarm, Shelve, StartPhase, TakeBaseline
from bridge.core.lesson import Lesson
from bridge.errors import ControlError
from bridge.processing import Processor

Keep = Callable[[str, "int | None", int, dict[str, object]], None]
"""(kind, bench, at_ns, detail): keeps what was done in the recording, if there is one."""
AlarmControl = OfAlarm | TakeBaseline | StartPhase
WHO = "instructor"
_DONE = {
    "acknowledge": "acknowledged",
    "reset": "reset",
    "unshelve": "off the shelf",
    "remove": "out of service",
    "restore": "in service again",
}
_USELESS = {
    "acknowledge": ("does not wait to be acknowledged", "It may have been acknowledged a moment ago"),
    "reset": (
        "can't be reset now",
        "Reset an alarm that latched, after it was acknowledged and its condition is gone",
    ),
    "shelve": ("can't be shelved", "See whether it is still in the lesson, and its board has printed"),
    "unshelve": ("is on no shelf", "It may have come back a moment ago"),
    "remove": ("can't be taken out of service", "It may be out of service already"),
    "restore": ("is not out of service", "It may have been put back a moment ago"),
}


class _Named(NamedTuple):
    """Which alarm is meant."""

    bench: int
    channel: str
    limit: str

    @property
    def words(self) -> str:
        return f"{self.channel} {self.limit}".strip()


def handle(control: AlarmControl, processor: Processor, at_ns: int, keep: Keep) -> str:
    """Do what was asked for, and keep it.

    Returns:
        What was done, in words.

    Raises:
        ControlError: There is no such alarm, channel or phase; or nothing was to be done.
    """
    match control:
        case StartPhase(phase=phase):
            return _start_phase(phase, processor, at_ns, keep)
        case TakeBaseline():
            return _take_baseline(control, processor, at_ns, keep)
        case Acknowledge() | Shelve() | AlarmCommand():
            return _command(control, processor, at_ns, keep)


def _command(control: OfAlarm, processor: Processor, at_ns: int, keep: Keep) -> str:
    alarm = _named(control.alarm, processor)
    detail: dict[str, object] = {"channel": alarm.channel, "limit": alarm.limit, "who": WHO}
    match control:
        case Shelve(minutes=minutes, reason=reason):
            kind, done = "shelve", f"shelved for {minutes:g} minutes"
            detail |= {"reason": reason, "until_ns": at_ns + round(minutes * 60e9)}
        case AlarmCommand(command=command):
            kind, done = command, _DONE[command]
        case Acknowledge():
            kind, done = "acknowledge", _DONE["acknowledge"]
    try:
        did = processor.act(kind, alarm.bench, detail, at_ns)
    except ValueError as error:
        remedy = "Shelve it for 4 hours at most, with a reason"
        raise ControlError(f"{alarm.words} can't be shelved so", remedy=remedy) from error
    if not did:
        happened, remedy = _USELESS[kind]
        bench = processor.lesson.bench(alarm.bench).name
        raise ControlError(f"the alarm {alarm.words} {happened}", remedy=remedy, bench=bench)
    keep(kind, alarm.bench, at_ns, detail)
    return f"{done}: {alarm.words}"


def _named(name: str, processor: Processor) -> _Named:
    found = processor.hub.alarm_named(name)
    if found is None:
        raise ControlError(f"there is no alarm {name!r}", remedy="It may have been taken out of the lesson")
    return _Named(*found)


def _take_baseline(control: TakeBaseline, processor: Processor, at_ns: int, keep: Keep) -> str:
    """The baseline of every bench that is steady; the others are named."""
    lesson, channel = processor.lesson, control.channel
    described = next((one for one in lesson.channels if one.name == channel), None)
    if described is None or described.bands is None:
        raise ControlError(
            f"the lesson has no bands for {channel!r}", remedy="Describe the bands in the lesson first"
        )
    if described.bands.baseline_from == "fixed":
        raise ControlError(
            f"the lesson gives the baseline of {channel} as a number",
            remedy='Write baseline_from = "captured" at its bands, then it is taken from the benches',
        )
    taken: list[int] = []
    words = ""
    for bench in control.benches:
        baseline = processor.take_baseline(bench, channel, at_ns)
        if baseline is not None:
            keep("baseline", bench, at_ns, {"channel": channel, "who": WHO, "value": baseline.value})
            taken.append(bench)
            words = baseline.words(described.unit)
    left = [bench for bench in control.benches if bench not in taken]
    if not taken:
        raise ControlError(
            f"no steady value at {_names(lesson, left)}", remedy="Wait until the value stays, then try again"
        )
    told = words if len(taken) == 1 else f"{len(taken)} benches"
    return f"baseline taken: {told}" + (f"; not steady: {_names(lesson, left)}" if left else "")


def _start_phase(phase: str, processor: Processor, at_ns: int, keep: Keep) -> str:
    lesson = processor.lesson
    if phase and lesson.phase(phase) is None:
        may = ", ".join(one.name for one in lesson.phases) or "none"
        raise ControlError(
            f"the lesson has no phase {phase!r}", remedy=f"Write it into the lesson; there is: {may}"
        )
    if phase == processor.phase:
        return f"the phase {phase} goes on" if phase else "there is no phase now"
    detail: dict[str, object] = {"phase": phase, "who": WHO}
    processor.act("phase", None, detail, at_ns)
    keep("phase", None, at_ns, detail)
    return f"phase: {phase}" if phase else "the phase is over"


def _names(lesson: Lesson, benches: Sequence[int]) -> str:
    names = [lesson.bench(one).name for one in benches]
    return ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")
