"""A calibration in words."""

from __future__ import annotations

import math

from bridge.core.calibration import Calibration
from bridge.core.fitting import LackOfFit
from bridge.core.uncertainty import with_uncertainty


def range_words(calibration: Calibration) -> str:
    """From where to where it was calibrated, in true values: "20.1 to 45.3 °C"."""
    indications = [one.point.indication for one in calibration.points]
    low, high = calibration.value(min(indications)), calibration.value(max(indications))
    return f"{low:.4g} to {high:.4g} {calibration.unit}".strip()


def lack_of_fit_words(calibration: Calibration) -> str:
    """What the points say against the curve, "" for nothing."""
    lack, fit = calibration.lack, calibration.given.fit
    if lack is None or not calibration.has_lack:
        return ""
    worst = max(calibration.points, key=lambda one: abs(one.residual)).point
    by = "uncertainties explain" if lack.test == "chi²" else "repeats explain"
    return (
        f"the points lie farther from the {fit} than their {by} ({_tested(lack)}): look at the point at "
        f"{worst.reference:g} {calibration.unit}, or choose another fit"
    )


def summary(calibration: Calibration) -> str:
    """The calibration in a few sentences: the fit, the correction, what its uncertainty rests on."""
    n, fit, unit = len(calibration.given.points), calibration.given.fit, calibration.unit
    many = f"{n} points" if n > 1 else "one point"
    place = calibration.origin
    correction, variance = calibration.correction(place), calibration.variance(place)
    if variance is None:
        told = f"{correction:.3g} {unit}".strip()
    else:
        told = with_uncertainty(correction, math.sqrt(variance), unit)
    where = "" if fit == "offset" else f" at {place:g} {unit}"
    everywhere = " It is taken to hold everywhere: all points stand at one place."
    reach = everywhere if calibration.reach is None else ""
    return f"{fit.capitalize()} through {many}: correction {told}{where}.{reach} {_rests_on(calibration)}"


def _rests_on(calibration: Calibration) -> str:
    """What its uncertainty follows from."""
    if not calibration.has_uncertainty:
        return (
            "Its uncertainty is unknown: there are only as many points as the fit needs, and not every point "
            "has one of its own."
        )
    if calibration.is_weighted:
        why = "those of the points"
    else:
        freedom = "1 degree" if calibration.dof == 1 else f"{calibration.dof:g} degrees"
        why = f"how the points scatter ({freedom} of freedom)"
    beside = ""
    if not any(point.u_reference for point in calibration.given.points):
        beside = " The reference's own uncertainty is not known and not in it."
    return f"Its uncertainty follows from {why}.{beside}"


def _tested(lack: LackOfFit) -> str:
    freedom = " and ".join(map(str, lack.dof))
    often = f"once in {1 / lack.chance:,.0f}" if lack.chance > 1e-6 else "less than once in 1,000,000"
    return f"{lack.test} = {lack.statistic:.3g} with {freedom} degrees of freedom, by chance {often}"
