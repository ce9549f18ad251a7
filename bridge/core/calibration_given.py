"""What a lesson says of a bench's calibration, and the rules that its points keep."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

CalibrationFit = Literal["offset", "line", "quadratic"]
DEGREE_OF: dict[CalibrationFit, int] = {"offset": 0, "line": 1, "quadratic": 2}
MAX_CALIBRATION_POINTS = 100  # a class captures fewer than ten; more take longer to fit than anyone waits
MAX_NUMBER = 1e12  # beyond any unit of a classroom; keeps the fit's numbers within a double


class CalibrationPoint(NamedTuple):
    """A reference value and what the bench showed for it uncalibrated; all in the channel's unit."""

    reference: float
    indication: float
    u_reference: float = 0.0  # standard uncertainties; 0 is unknown
    u_indication: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationGiven:
    """Points of one bench and channel, and which curve goes through them. One that exists keeps the rules."""

    points: tuple[CalibrationPoint, ...]
    fit: CalibrationFit = "offset"
    date: str = ""  # ISO 8601
    reference: str = ""  # what it was compared with, in words

    def __post_init__(self) -> None:
        for broken in broken_points(self.fit, self.points):
            raise ValueError(broken.wrong)


class BrokenPoints(NamedTuple):
    """A rule that a calibration does not keep."""

    key: str
    wrong: str
    place: int | None = None  # which of the points; None: all together


def broken_points(fit: CalibrationFit, points: Sequence[Sequence[float]]) -> Iterator[BrokenPoints]:
    """Every rule that is not kept."""
    if not 1 <= len(points) <= MAX_CALIBRATION_POINTS:
        yield BrokenPoints("points", f"points must be 1 to {MAX_CALIBRATION_POINTS}, found {len(points)}")
        return
    wrong = [(place, words) for place, point in enumerate(points) if (words := _wrong_point(point))]
    for place, words in wrong:
        yield BrokenPoints("points", words, place)
    needed = DEGREE_OF[fit] + 1
    if not wrong and (found := len({point[1] for point in points})) < needed:
        yield BrokenPoints(
            "fit", f'fit = "{fit}" needs {needed} points with different indications, found {found}'
        )


def _wrong_point(point: Sequence[float]) -> str:
    if len(point) not in (2, 4):
        shape = "[reference, indication, u_reference, u_indication] or [reference, indication]"
        return f"each of the points must be {shape}, found {len(point)} numbers in one"
    if not all(math.isfinite(one) and abs(one) <= MAX_NUMBER for one in point):
        return f"the numbers of points must be at most {MAX_NUMBER:g}, found {list(point)}"
    if any(u < 0 for u in point[2:]):
        return f"the uncertainties of points must be 0 (unknown) or more, found {min(point[2:]):g}"
    return ""
