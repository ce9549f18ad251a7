"""A bench's calibration: the curve through its points, how uncertain it is, and how far it reaches."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from bridge.core.calibration_given import DEGREE_OF, CalibrationGiven, CalibrationPoint
from bridge.core.fitting import PolynomialFit, at, fit_polynomial
from bridge.core.stages import ANYTHING, Span, signed
from bridge.core.uncertainty import Evaluation

REACH = 0.10  # of the points' span: so far beyond them the curve is still trusted
LACK_OF_FIT_CHANCE = 0.01  # chance alone calls one calibration of a class of 24 in four lessons
_PASSES = 5  # the slope is near 1, so the second pass already hardly changes a weight

Polynomial = tuple[float, ...]


class FittedPoint(NamedTuple):
    """A point beside what the calibration makes of it."""

    point: CalibrationPoint
    fitted: float  # the corrected indication
    residual: float  # reference less fitted


class Calibration:
    """Makes the true value of an indication: value = indication + correction, the last stage of a conversion.

    The correction is a constant, a line or a quadratic in the indication, as in the GUM's thermometer.

    How uncertain it is: points with given uncertainties are weighted by them, and the curve's uncertainty
    follows from them (times the root of chi² by degrees of freedom where the points lack fit). Otherwise it
    follows from the scatter about the curve. Whether the reference errs alike at all points (its own
    calibration) or each time anew (reading it) is not known: both are computed, and the greater one counts;
    no correlation in between gives more.

    Attributes:
        given: The points and what the lesson says of them.
        origin: The indication about which the coefficients stand.
        coefficients: Of the correction: sum of coefficient × (indication - origin)^power.
        standard_errors: Theirs; None when unknown.
        covariance: Theirs; None when unknown.
        residual_sd: In the unit, None with as many points as coefficients.
        lack: The test for lack of fit; None where nothing can tell.
        dof: Degrees of freedom of the uncertainty: math.inf where it follows from given ones.
        evaluated: By statistics (A) or from the given uncertainties (B).
        is_weighted: Whether every point has an uncertainty.
        reach: Least and greatest indication at which it is trusted; None when all points stand at one place:
            then the correction is taken to hold everywhere.
        points: Each point with its fitted value and residual.

    Raises:
        ValueError: The curve falls or turns where it is used; in words for the instructor.

    Source: JCGM 100:2008 (GUM), H.3, and F.1.2.3 for errors of a common reference; Orear, Least squares when
    both variables have uncertainties, American Journal of Physics 50 (1982), 912, for weights by the slope.
    """

    def __init__(self, given: CalibrationGiven, unit: str) -> None:
        self.given, self.unit = given, unit
        points = given.points
        self._xs = [point.indication for point in points]
        self.origin = float(f"{math.fsum(self._xs) / len(self._xs):.3g}")
        self.is_weighted = all(point.u_reference or point.u_indication for point in points)
        fit, slopes = self._fitted()
        self.coefficients, self.standard_errors = fit.coefficients, fit.standard_errors
        self.covariance = fit.covariance
        self.lack = fit.lack_of_fit
        self.dof: float = math.inf if self.is_weighted else fit.dof
        self.evaluated: Evaluation = "B" if self.is_weighted else "A"
        self.residual_sd = math.sqrt(math.fsum(r * r for r in fit.residuals) / fit.dof) if fit.dof else None
        self._design, self._curve = fit.design, fit.curve
        self._slopes = tuple(i * c for i, c in enumerate(fit.curve))[1:] or (0.0,)
        self._variances = self._uncertain(fit, slopes)
        self.is_straight = len(self._curve) < 3 or self._curve[2] == 0.0
        low, high = min(self._xs), max(self._xs)
        beyond = REACH * (high - low)
        self.reach = (low - beyond, high + beyond) if low < high else None
        self._refuse_turn(low - beyond, high + beyond)
        self.span = ANYTHING if self.is_straight else self._before_turn()
        self.points = tuple(
            FittedPoint(point, self.value(point.indication), point.reference - self.value(point.indication))
            for point in points
        )

    def _fitted(self) -> tuple[PolynomialFit, list[float]]:
        """The fit, and d value / d indication at each point, by which u_indication counts."""
        points, degree = self.given.points, DEGREE_OF[self.given.fit]
        ys = [point.reference - point.indication for point in points]
        slopes = [1.0] * len(points)
        u_ys = None
        for _ in range(_PASSES if self.is_weighted else 1):
            if self.is_weighted:
                u_ys = [
                    math.hypot(p.u_reference, s * p.u_indication) for p, s in zip(points, slopes, strict=True)
                ]
                u_ys = [max(u, 1e-30) for u in u_ys]  # a u_indication alone, where the curve is flat
            fit = fit_polynomial(
                self._xs, ys, degree=degree, u_ys=u_ys, origin=self.origin,
                repeats=[point.reference for point in points],
            )  # fmt: skip
            derivative = [i * c for i, c in enumerate(fit.curve)][1:]
            slopes = [1.0 + at(derivative, x - self.origin) for x in self._xs]
        return fit, slopes

    def _uncertain(self, fit: PolynomialFit, slopes: Sequence[float]) -> tuple[Polynomial, ...]:
        """Polynomials of (indication - origin) whose greatest is the variance; none when it is unknown."""
        if fit.variance is None:
            return ()
        design, points = fit.design, self.given.points
        alike = _squared(self.taken_away([point.u_reference for point in points]))
        if not self.is_weighted:  # the scatter holds what the reference errs anew each time
            return (_added(fit.variance, alike),)
        scale = 1.0
        if self.lack is not None and self.has_lack:
            scale = self.lack.statistic / fit.dof
        own = [Fraction(s * p.u_indication) ** 2 for s, p in zip(slopes, points, strict=True)]
        anew = tuple(scale * c for c in fit.variance)
        own_variance = design.variance_polynomial(design.covariance(own))
        return anew, _added(tuple(scale * c for c in own_variance), alike)

    def _refuse_turn(self, low: float, high: float) -> None:
        """Rising all over where it is used, or no calibration."""
        if min(self.slope(low), self.slope(high)) > 0:
            return
        if not self.is_straight:
            turn = self._turn()
            if low <= turn <= high:
                raise ValueError(
                    f"the quadratic through the points turns at {turn:.4g} {self.unit}, inside its own "
                    "range: there one value would stand for two indications"
                )
        raise ValueError(
            f"the {self.given.fit} through the points falls while the indication rises, so the points "
            "contradict each other"
        )

    def _turn(self) -> float:
        return self.origin - (1.0 + self._curve[1]) / (2.0 * self._curve[2])

    def _before_turn(self) -> Span:
        turn = self._turn()
        why = f"{turn:.4g} {self.unit}, where the calibration's curve turns"
        if self._curve[2] > 0:
            return Span(least=turn, below=f"lies below {why}")
        return Span(most=turn, above=f"lies above {why}")

    @property
    def has_lack(self) -> bool:
        """Whether the points lie farther from the curve than chance puts them."""
        return self.lack is not None and self.lack.chance < LACK_OF_FIT_CHANCE

    @property
    def words(self) -> str:
        """What the stage does, for a person."""
        against = f" against {self.given.reference}" if self.given.reference else ""
        return f"calibrated{against}" + (f", {self.given.date}" if self.given.date else "")

    def correction(self, x: float) -> float:
        """What is added to the indication x."""
        return at(self._curve, x - self.origin)

    def value(self, x: float) -> float:
        """The value that the indication x stands for."""
        return x + at(self._curve, x - self.origin)

    def slope(self, x: float) -> float:
        """d value / d indication."""
        return 1.0 + at(self._slopes, x - self.origin)

    def inverse(self, y: float) -> float:
        """The indication that gives the value y."""
        constant, linear, square = (*self._curve, 0.0, 0.0)[:3]
        rise, steep = y - self.origin - constant, 1.0 + linear
        if square == 0.0:
            return self.origin + rise / steep
        # The root on the rising branch, in the form that subtracts no near numbers.
        root = math.sqrt(max(0.0, steep * steep + 4.0 * square * rise))
        return self.origin + 2.0 * rise / (steep + root)

    def variance(self, x: float) -> float | None:
        """Squared standard uncertainty of the correction at the indication x, None when it is unknown.

        Source: JCGM 100:2008 (GUM), H.3.4, formula (H.15).
        """
        if not self._variances:
            return None
        distance = x - self.origin
        return max(0.0, *[at(one, distance) for one in self._variances])

    def taken_away(self, errors: Sequence[float]) -> Polynomial:
        """What the calibration takes off a reading when the bench errs so much at its points.

        Args:
            errors: At each point, in the unit.

        Returns:
            A polynomial of (indication - origin).
        """
        return self._design.polynomial(self._design.solve(list(map(Fraction, errors))))

    @property
    def is_variance_constant(self) -> bool:
        """Whether the uncertainty is the same at every indication."""
        return not any(any(one[1:]) for one in self._variances)

    @property
    def has_uncertainty(self) -> bool:
        """Whether anything is known of how uncertain the correction is."""
        return bool(self._variances)

    def formula(self, x: float) -> str:
        """With the numbers put in."""
        terms = [f"{x:.6g} {signed(float(f'{self._curve[0]:.4g}'))}"]
        for power, c in enumerate(self._curve[1:], start=1):
            high = "²" if power == 2 else ""
            terms.append(f"{signed(float(f'{c:.4g}'))} × ({x:.6g} {signed(-self.origin)}){high}")
        return " ".join(terms)

    def called(self, x: float) -> str:
        """The indication in words."""
        return f"{x:.6g} {self.unit}"


def _squared(polynomial: Sequence[float]) -> Polynomial:
    squares = [0.0] * (2 * len(polynomial) - 1)
    for i, a in enumerate(polynomial):
        for j, b in enumerate(polynomial):
            squares[i + j] += a * b
    return tuple(squares)


def _added(first: Sequence[float], second: Sequence[float]) -> Polynomial:
    return tuple(a + b for a, b in zip(first, second, strict=True))
