"""The keys of a bench's calibration."""

from __future__ import annotations

from typing import get_args

from bridge.core.calibration_given import MAX_CALIBRATION_POINTS, CalibrationFit
from bridge.lesson_key import REQUIRED, Key

_TABLE = "bench.channel.*.calibration"

CALIBRATION_KEYS: tuple[Key, ...] = (
    Key(path=_TABLE, kind="table", default=None, example="[bench.channel.temperature.calibration]",
        meaning="This bench's calibration, applied last, after gain and offset.", absent="not calibrated"),
    Key(path=f"{_TABLE}.fit", kind="word", default="offset", words=get_args(CalibrationFit),
        example='fit = "line"',
        meaning="The curve of the correction: a constant (1 point is enough), a line (2), a quadratic (3)."),
    Key(path=f"{_TABLE}.points", kind="lists of numbers", default=REQUIRED,
        example="points = [[20.1, 20.6, 0.1, 0.05], [45.0, 44.7, 0.1, 0.05]]",
        meaning="[reference, indication] or [reference, indication, u_reference, u_indication], 1 to "
        f"{MAX_CALIBRATION_POINTS}, in the channel's unit: what a reference showed, what the bench showed "
        "uncalibrated, and the standard uncertainty of each, 0 where it is not known."),
    Key(path=f"{_TABLE}.date", kind="date", default="", example="date = 2026-03-05",
        meaning="When it was calibrated."),
    Key(path=f"{_TABLE}.reference", kind="text", default="", example='reference = "bath thermometer"',
        meaning="What it was compared with."),
)  # fmt: skip
