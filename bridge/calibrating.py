"""What the controls of a calibration change in the lesson: points are kept there at once, with their date."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from bridge.controls import Calibrating, Capture, Fit, Point, Uncalibrate
from bridge.core.calibration_given import CalibrationGiven, CalibrationPoint
from bridge.core.class_calibration import SteadyBench, points_for_class
from bridge.core.lesson import Lesson
from bridge.core.slots import own_of
from bridge.errors import ControlError
from bridge.lesson_changes import Changes

SteadyOf = Callable[[int, str], SteadyBench | None]
"""(bench, channel) -> its steady reading, None while it has none."""


class CalibrationChanges(NamedTuple):
    """What is to change, and what was done, in words."""

    changes: Changes
    words: str


def calibration_changes(
    control: Calibrating, lesson: Lesson, steady_of: SteadyOf, *, today: str
) -> CalibrationChanges:
    """What a control changes.

    Args:
        control: What was asked for.
        lesson: As it stands.
        steady_of: The live indications.
        today: The date in ISO 8601.

    Raises:
        ControlError: Nothing is steady, the channel is not known, or there is no calibration.
    """
    if all(one.name != control.channel for one in lesson.channels):
        raise ControlError(
            f"the lesson has no channel {control.channel!r}",
            remedy="Describe the channel in the lesson first: a calibration is kept there",
        )
    match control:
        case Capture():
            return _captured(control, lesson, steady_of, today)
        case Point():
            point = CalibrationPoint(
                control.reference,
                control.indication,
                control.u_reference or 0.0,
                control.u_indication or 0.0,
            )
            changes = _with_point(lesson, control.bench, control.channel, point, control.words, today)
            return CalibrationChanges(changes, f"one point more at {lesson.bench(control.bench).name}")
        case Fit():
            return _fitted(control, lesson)
        case Uncalibrate():
            return _uncalibrated(control, lesson)


def _captured(control: Capture, lesson: Lesson, steady_of: SteadyOf, today: str) -> CalibrationChanges:
    """A point at every bench that is steady; the others are named, never taken as they are."""
    found = [steady_of(bench, control.channel) for bench in control.benches]
    steady = [one for one in found if one is not None]
    if not steady:
        which = _names(lesson, control.benches)
        raise ControlError(
            f"no steady reading at {which}", remedy="Wait until the value stays, then capture again"
        )
    unit = next((one.unit for one in lesson.channels if one.name == control.channel), "")
    try:
        captured = points_for_class(
            steady, reference=control.reference, u_reference=control.u_reference, unit=unit
        )
    except ValueError as error:
        raise ControlError(str(error), remedy="Give a reference value instead") from error
    changes: Changes = []
    for bench, point in captured.points:
        changes += _with_point(lesson, bench, control.channel, point, control.words or captured.words, today)
    left = [bench for bench in control.benches if all(one.bench != bench for one in steady)]
    words = f"captured at {_names(lesson, [one.bench for one in steady])}: {captured.words}"
    return CalibrationChanges(changes, words + (f"; not steady: {_names(lesson, left)}" if left else ""))


def _fitted(control: Fit, lesson: Lesson) -> CalibrationChanges:
    benches = [one for one in control.benches if _calibration(lesson, one, control.channel) is not None]
    if not benches:
        raise ControlError(
            f"no calibration of {control.channel} has a point yet", remedy="Capture a point first"
        )
    changes: Changes = [((*_path(one, control.channel), "fit"), control.fit) for one in benches]
    return CalibrationChanges(changes, f"{_names(lesson, benches)}: {control.fit}")


def _uncalibrated(control: Uncalibrate, lesson: Lesson) -> CalibrationChanges:
    if _calibration(lesson, control.bench, control.channel) is None:
        name = lesson.bench(control.bench).name
        raise ControlError(f"{control.channel} is not calibrated", remedy="Nothing is to be done", bench=name)
    changes: Changes = [(_path(control.bench, control.channel), None)]
    return CalibrationChanges(changes, f"the calibration of {control.channel} is taken away")


def _with_point(
    lesson: Lesson, bench: int, channel: str, point: CalibrationPoint, words: str, today: str
) -> Changes:
    """The points that stand and one more; the date is that of the newest."""
    path, before = _path(bench, channel), _calibration(lesson, bench, channel)
    points = [list(one) for one in before.points] if before is not None else []
    changes: Changes = [((*path, "points"), [*points, list(point)]), ((*path, "date"), today)]
    if words:
        changes.append(((*path, "reference"), words))
    return changes


def _path(bench: int, channel: str) -> tuple[str | int, ...]:
    return "bench", bench, "channel", channel, "calibration"


def _calibration(lesson: Lesson, bench: int, channel: str) -> CalibrationGiven | None:
    described = next((one for one in lesson.channels if one.name == channel), None)
    return own_of(lesson.bench(bench), described).calibration if described is not None else None


def _names(lesson: Lesson, benches: Sequence[int]) -> str:
    names = [lesson.bench(one).name for one in benches]
    return ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")
