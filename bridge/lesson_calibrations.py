"""The calibrations of a lesson: from checked tables to values that a curve can go through."""

from __future__ import annotations

from typing import Any, cast

from bridge.core.calibration import Calibration
from bridge.core.calibration_given import CalibrationGiven, CalibrationPoint, broken_points
from bridge.lesson_tables import Table


def calibration_of(table: Table, unit: str) -> CalibrationGiven | None:
    """The calibration, or None when a fault was noted."""
    fit, points = table.word("fit"), table.number_lists("points")
    date, reference = table.date("date"), table.text("reference")
    if table.are_good("fit", "points"):
        for broken in broken_points(cast("Any", fit), points):
            write = _simpler(fit) if broken.key == "fit" else None
            table.wrong(broken.key, broken.wrong, write, entry=broken.place)
    if not table.is_good:
        return None
    given = CalibrationGiven(
        fit=cast("Any", fit),  # `word` checked it against the very Literal
        points=tuple(CalibrationPoint(*point) for point in points),
        date=date,
        reference=reference,
    )
    try:
        Calibration(given, unit if unit != "?" else "")
    except ValueError as error:
        table.wrong("points", f"points: {error}", f"other points, or {_simpler(fit)}")
        return None
    return given


def _simpler(fit: str | None) -> str:
    return 'fit = "line"' if fit == "quadratic" else 'fit = "offset"'
