"""How uncertain the value is that a conversion makes: every part carried through the conversion's slopes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from bridge.core.calibration import Calibration
from bridge.core.chain import divisor_of
from bridge.core.conversion_given import Conversion
from bridge.core.fitting import at
from bridge.core.influences import Influence, influences_of
from bridge.core.stages import Stage
from bridge.core.uncertainty import Part, resolution_uncertainty

_KEPT_VARIANCES = 4096  # numbers of one board differ by few thousand counts; beyond, all are worked out again
_NEGLIGIBLE = 1e-9  # of the whole: what rounding leaves of a part that the calibration takes away


class Propagation:
    """The law of propagation of uncertainty along one conversion.

    A calibration was made with reference, sensor and resistor in place, so what these err at its points is in
    its correction; and what they err elsewhere is corrected as far as its curve follows: a wrong reference
    behind an offset from one bath still errs in another. Of each tolerance counts what is left after that.
    Where the calibration's own uncertainty is unknown, the tolerances count whole.

    Source: JCGM 100:2008 (GUM), 5.1.2, formula (10); for slopes that change within the uncertainty it is the
    first term of a series, good as long as the tolerances are small against the range.
    """

    def __init__(
        self,
        conversion: Conversion | None,
        stages: Sequence[Stage],
        calibration: Calibration | None,
        ends: tuple[float, float],
    ) -> None:
        """`stages` are all, the calibration last; `ends` the least and most printed number that they take."""
        self._conversion, self._stages, self._calibration = conversion, tuple(stages), calibration
        influences = () if conversion is None else tuple(influences_of(conversion, stages))
        self._influences: tuple[Influence, ...] = influences
        self._taken = [self._taken_away(influence, ends) for influence in influences]
        self._known: dict[float, float] = {}  # variances by printed number, for `_decimals`
        self._decimals = -1

    @property
    def is_constant(self) -> bool:
        """Whether the variance is the same for every number."""
        calibration = self._calibration
        if not all(stage.is_straight for stage in self._stages):
            return False
        if calibration is None:
            return all(influence.is_constant for influence in self._influences)
        return not self._influences and calibration.is_variance_constant

    def step(self, decimals: int) -> float:
        """The least difference of two printed numbers.

        The last printed digit; for volts that a board made from counts one count, if that is more. A mean of
        counts is printed finer than one count, and is finer.
        """
        printed: float = 10.0**-decimals
        conversion = self._conversion
        if conversion is None or conversion.start != "volts":
            return printed
        codes = divisor_of(conversion.width_bits, conversion.divisor)
        return max(printed, conversion.reference_volts / codes)

    def parts(self, x: float, decimals: int) -> tuple[Part, ...]:
        """The lines of the budget for the value that x gives, without noise; no line that says nothing."""
        uncertainties = self._uncertainties(x, decimals)
        whole = math.sqrt(math.fsum(u * u for u in uncertainties))
        told = [Part("resolution", abs(uncertainties[0]), "B", self._step_words(decimals))]
        told += [
            Part(influence.words, abs(u), "B", influence.source)
            for influence, u in zip(self._influences, uncertainties[1:], strict=False)
        ]
        calibration = self._calibration
        if calibration is not None and calibration.has_uncertainty:
            source = "its points' uncertainties" if calibration.is_weighted else "the scatter of its points"
            told.append(
                Part("calibration", uncertainties[-1], calibration.evaluated, source, calibration.dof)
            )
        return tuple(part for part in told if part.u > _NEGLIGIBLE * whole)

    def variance(self, x: float, decimals: int) -> float:
        """The squared standard uncertainty of the value that x gives, without noise."""
        if decimals != self._decimals:
            self._known.clear()
            self._decimals = decimals
        known = self._known.get(x)
        if known is None:
            if len(self._known) >= _KEPT_VARIANCES:
                self._known.clear()
            known = self._known[x] = math.fsum(u * u for u in self._uncertainties(x, decimals))
        return known

    def _uncertainties(self, x: float, decimals: int) -> list[float]:
        """Of the resolution, of each influence, and of the calibration where it is known."""
        numbers, slopes = self._way(x)
        us = [resolution_uncertainty(self.step(decimals)) * slopes[0]]
        for influence, taken in zip(self._influences, self._taken, strict=True):
            u = influence.u(numbers[influence.place]) * slopes[influence.place]
            if taken and self._calibration is not None:
                u -= at(taken, numbers[-2] - self._calibration.origin)
            us.append(u)
        if self._calibration is not None:
            variance = self._calibration.variance(numbers[-2])
            if variance is not None:
                us.append(math.sqrt(variance))
        return us

    def _way(self, x: float) -> tuple[list[float], list[float]]:
        """The numbers from the printed one to the value, and d value / d number for each."""
        numbers = [x]
        for stage in self._stages:
            numbers.append(stage.value(numbers[-1]))
        slopes = [1.0]
        for stage, number in zip(reversed(self._stages), reversed(numbers[:-1]), strict=True):
            slopes.append(slopes[-1] * stage.slope(number))
        slopes.reverse()
        return numbers, slopes

    def _taken_away(self, influence: Influence, ends: tuple[float, float]) -> tuple[float, ...]:
        """What the calibration corrects of an influence, a polynomial of the indication; () for nothing."""
        calibration = self._calibration
        if calibration is None or not calibration.has_uncertainty:
            return ()
        errors = []
        for x in self._printed_at_points(calibration, ends):
            numbers, slopes = self._way(x)
            errors.append(influence.u(numbers[influence.place]) * slopes[influence.place])
        return calibration.taken_away(errors)

    def _printed_at_points(self, calibration: Calibration, ends: tuple[float, float]) -> Iterator[float]:
        """The numbers that the board printed when it was calibrated; held to those that give a value."""
        for point in calibration.given.points:
            x = point.indication
            try:
                for stage in reversed(self._stages[:-1]):
                    x = stage.inverse(x)
            except (ValueError, ArithmeticError):
                x = ends[0]  # no number gives it: typed in wrongly, or from another conversion
            yield min(max(x, ends[0]), ends[1])

    def _step_words(self, decimals: int) -> str:
        conversion = self._conversion
        printed = f"a last digit of {10.0**-decimals:g}" if decimals else "whole numbers"
        if conversion is None or conversion.start == "ohms":
            return f"printed to {printed}" if decimals else "printed in whole numbers"
        if conversion.start == "count":
            counts = f"one count of {conversion.width_bits} bits"
            return counts if not decimals else f"counts printed to {printed}"
        if self.step(decimals) > 10.0**-decimals:
            return f"one count of {conversion.width_bits} bits"
        return f"volts printed to {printed}" if decimals else "volts printed in whole numbers"
