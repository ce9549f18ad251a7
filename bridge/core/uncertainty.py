"""How uncertain a value is, from what, and which of its digits mean anything.

Source: JCGM 100:2008, Guide to the expression of uncertainty in measurement (GUM).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

Evaluation = Literal["A", "B"]
"""By statistics of observations (A) or by any other knowledge (B). Source: GUM, 2.3.2 and 2.3.3."""

NOISE_LEAVES = 1e-3  # the share of readings that noise alone may put outside the suggested deadband
_QUANTILE_1000 = 3.2905267314919255  # of the normal distribution: ± that leaves out 1 in 1000
_SQRT_3 = math.sqrt(3.0)
_SQRT_12 = math.sqrt(12.0)


def resolution_uncertainty(step: float) -> float:
    """Standard uncertainty that a display step leaves, in the unit of `step`: step / sqrt(12).

    The true value lies anywhere within one step, every place as likely.

    Raises:
        ValueError: The step is negative.

    Source: JCGM 100:2008 (GUM), F.2.2.1.
    """
    if step < 0:
        raise ValueError(f"a step can't be negative: {step}")
    return step / _SQRT_12


def tolerance_uncertainty(half_width: float) -> float:
    """Standard uncertainty of what lies within ± half_width, every place as likely: half_width / sqrt(3).

    Source: JCGM 100:2008 (GUM), 4.3.7.
    """
    return half_width / _SQRT_3


def noise_beyond(sd: float, u_resolution: float) -> float:
    """The part of the readings' observed scatter that their resolution does not explain already.

    Readings scatter by noise and by being cut to steps; the second is in the budget as resolution, and must
    not be counted twice. Below the resolution there is nothing left to add.

    Args:
        sd: Standard deviation of the readings as they were printed, in the unit.
        u_resolution: `resolution_uncertainty` of their step, in the unit.

    Source: JCGM 100:2008 (GUM), 4.3.10, no component twice; F.2.2.1.
    """
    return math.sqrt(max(0.0, sd * sd - u_resolution * u_resolution))


class Part(NamedTuple):
    """One line of a budget."""

    words: str  # what makes the value uncertain
    u: float  # what it contributes, in the value's unit, as a standard uncertainty
    evaluated: Evaluation
    source: str  # where its size comes from
    dof: float = math.inf  # degrees of freedom


@dataclass(frozen=True, slots=True)
class Budget:
    """All that makes one value uncertain; the parts are independent of each other."""

    parts: tuple[Part, ...]
    value: float
    unit: str

    @property
    def u(self) -> float:
        """The combined standard uncertainty. Source: GUM, 5.1.2, formula (10)."""
        return combined(self.parts)

    @property
    def dof(self) -> float:
        """Effective degrees of freedom, math.inf when no part is from few observations."""
        return effective_dof([(part.u, part.dof) for part in self.parts], self.u)

    def shares(self) -> tuple[float, ...]:
        """Each part's share of the variance, 0 to 1; they add up to 1 unless nothing is uncertain."""
        variance = self.u**2
        return tuple(part.u**2 / variance if variance else 0.0 for part in self.parts)

    def expanded(self, probability: float = 0.95) -> float:
        """Half the width of the interval that holds the value with that probability. Source: GUM, G.3."""
        return self.u * coverage_factor(self.dof, probability)


def combined(parts: Iterable[Part]) -> float:
    """The root of the sum of squares, in the order given."""
    return math.sqrt(sum(part.u * part.u for part in parts))


def effective_dof(parts: Sequence[tuple[float, float]], u: float) -> float:
    """Degrees of freedom of a combined uncertainty, by the formula of Welch and Satterthwaite.

    Args:
        parts: Each part's uncertainty and degrees of freedom.
        u: The combined uncertainty.

    Source: JCGM 100:2008 (GUM), G.4.1, formula (G.2b).
    """
    sums = sum(part**4 / dof for part, dof in parts)
    return u**4 / sums if sums else math.inf


def coverage_factor(dof: float, probability: float = 0.95) -> float:
    """How many standard uncertainties on both sides hold the value with that probability.

    Args:
        dof: Effective degrees of freedom, from 1; cut to whole ones, as the GUM advises. math.inf: a normal
            distribution.
        probability: Between 0 and 1.

    Source: JCGM 100:2008 (GUM), G.3.3, G.4.1 note 1 and table G.2.
    """
    from scipy.special import ndtri, stdtrit  # half a second to import

    upper = (1.0 + probability) / 2.0
    return float(ndtri(upper)) if math.isinf(dof) else float(stdtrit(max(1.0, math.floor(dof)), upper))


def decimals_for(u: float, most: int = 9) -> int:
    """How many decimals of a value mean something when its standard uncertainty is u.

    u itself is given to two digits where it begins with 10 to 35 and to one digit above: then it is never
    rounded by more than about a seventh, and the value's last digit is one that u reaches.

    Args:
        u: In the value's unit. 0 gives `most`.
        most: The answer is never greater.

    Returns:
        Digits after the decimal sign; -1 is tens, -2 hundreds.

    Source: JCGM 100:2008 (GUM), 7.2.6: at most two significant digits, and the value to the same place.
    """
    if not u > 0 or not math.isfinite(u):
        return most
    digits, _, power = f"{u:.2e}".partition("e")  # three digits, rounded the decimal way
    two = float(digits) < 3.55 or float(digits) >= 9.5  # 0.095 and more become 0.10
    exponent = int(power) + (float(digits) >= 9.5)
    return min(most, 1 - exponent if two else -exponent)


def rounded(value: float, decimals: int) -> str:
    """A value as it is shown: to so many decimals, or to tens, hundreds ... for negative ones; no "-0.0"."""
    text = f"{round(value, decimals):.{max(0, decimals)}f}"
    return text.removeprefix("-") if not float(text) else text


def with_uncertainty(value: float, u: float, unit: str) -> str:
    """A value with its standard uncertainty, both rounded to what means something: "23.41 ± 0.02 °C"."""
    decimals = decimals_for(u)
    numbers = f"{rounded(value, decimals)} ± {rounded(u, decimals)}"
    return f"{numbers} {unit}" if unit else numbers


class Deadband(NamedTuple):
    """A deadband that keeps a band from flickering."""

    width: float  # in the unit
    words: str  # how it comes about


def suggested_deadband(noise: float, step: float, unit: str) -> Deadband:
    """The narrowest deadband inside which a steady value stays put.

    A band that was entered is left when a reading falls below its edge by the deadband. The worst true value
    stands midway: noise on either side must then stay within half the deadband, less what cutting a reading
    to steps moves it (half a step). Normal noise leaves ± 3.29 standard deviations once in 1000 readings:
    width = 2 × 3.29 × noise + step. Without noise one step is left, which a value that toggles between two
    counts needs.

    Args:
        noise: Standard deviation of single readings beyond their resolution, in the unit.
        step: The least difference between two readings, in the unit.
        unit: The unit, for the words.

    Source: own derivation; the quantile from the normal distribution (GUM, table G.1 gives 3 for 1 in 370).
    """
    exact = 2.0 * _QUANTILE_1000 * noise + step
    decimals = decimals_for(exact)
    scale = 10.0**decimals
    width = float(rounded(math.ceil(exact * scale - 1e-9) / scale, decimals)) if exact else 0.0
    told = f"{2 * _QUANTILE_1000:.1f} × the noise of {noise:.2g} {unit} + one step of {step:.2g} {unit}"
    return Deadband(width, f"{told}: noise alone leaves it less than once in 1000 readings")
