"""Sensors that are resistors: the divider that they stand in, and what their ohms mean."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

from bridge.core.conversion_given import SensorLeg
from bridge.core.stages import ANYTHING, Span

ZERO_CELSIUS = 273.15  # K
KELVIN_AT_25 = 298.15
PLATINUM_A, PLATINUM_B, PLATINUM_C = 3.9083e-3, -5.775e-7, -4.183e-12
_NEWTON_STEPS = 4  # three reach the last digit from -200 °C on; one to spare


def _ohms_called(x: float) -> str:
    return f"the sensor's {x:.6g} Ω"


@dataclass(frozen=True, slots=True)
class Divider:
    """Ohms of a sensor in a divider with a fixed resistor, from the pin's part of the supply.

    Lower leg (between pin and ground): R = F f / (1 - f). Upper leg: R = F (1 - f) / f.

    Source: Ohm's law for two resistors in series; the pin draws no current.
    """

    fixed_ohms: float
    leg: SensorLeg
    span: Span  # inside 0 and 1: at either end nothing can be told
    words: ClassVar[str] = "ohms of the sensor, by the divider"
    unit: ClassVar[str] = "Ω"
    is_straight: ClassVar[bool] = False

    def value(self, x: float) -> float:
        """Ohms."""
        if self.leg == "lower":
            return self.fixed_ohms * x / (1.0 - x)
        return self.fixed_ohms * (1.0 - x) / x

    def inverse(self, y: float) -> float:
        """The pin's part of the supply."""
        return (y if self.leg == "lower" else self.fixed_ohms) / (y + self.fixed_ohms)

    def slope(self, x: float) -> float:
        """Ohms per part of the supply."""
        if self.leg == "lower":
            return self.fixed_ohms / (1.0 - x) ** 2
        return -self.fixed_ohms / x**2

    def formula(self, x: float) -> str:
        """With the numbers put in."""
        if self.leg == "lower":
            return f"{self.fixed_ohms:g} Ω × {x:.6g} / (1 − {x:.6g})"
        return f"{self.fixed_ohms:g} Ω × (1 − {x:.6g}) / {x:.6g}"

    def called(self, x: float) -> str:
        """The input in words."""
        return f"the part {x:.6g} of the supply"


@dataclass(frozen=True, slots=True)
class Ohms:
    """Ohms as they are."""

    span: Span
    words: ClassVar[str] = "ohms of the sensor"
    unit: ClassVar[str] = "Ω"
    is_straight: ClassVar[bool] = True

    def value(self, x: float) -> float:
        """Ohms."""
        return x

    def inverse(self, y: float) -> float:
        """Ohms."""
        return y

    def slope(self, x: float) -> float:  # noqa: ARG002  # a straight line's is the same everywhere
        """1."""
        return 1.0

    def formula(self, x: float) -> str:
        """The number itself."""
        return f"{x:.6g} Ω"

    def called(self, x: float) -> str:
        """The input in words."""
        return _ohms_called(x)


@dataclass(frozen=True, slots=True)
class NtcBeta:
    """°C from an NTC's ohms: 1/T = 1/298.15 K + ln(R / R25) / beta.

    Source: IEC 60539-1:2016, the definition of the B-value, taken between 25 °C and T.
    """

    ohms_at_25: float
    beta_kelvin: float
    span: Span = ANYTHING
    words: ClassVar[str] = "by the NTC's beta"
    unit: ClassVar[str] = "°C"
    is_straight: ClassVar[bool] = False

    def _kelvin(self, x: float) -> float:
        return 1.0 / (1.0 / KELVIN_AT_25 + math.log(x / self.ohms_at_25) / self.beta_kelvin)

    def value(self, x: float) -> float:
        """°C."""
        return self._kelvin(x) - ZERO_CELSIUS

    def inverse(self, y: float) -> float:
        """Ohms."""
        return self.ohms_at_25 * math.exp(self.beta_kelvin * (1.0 / (y + ZERO_CELSIUS) - 1.0 / KELVIN_AT_25))

    def slope(self, x: float) -> float:
        """°C per ohm."""
        return -(self._kelvin(x) ** 2) / (self.beta_kelvin * x)

    def formula(self, x: float) -> str:
        """With the numbers put in."""
        ratio = f"ln({x:.6g} Ω / {self.ohms_at_25:g} Ω)"
        return f"1 / (1 / 298.15 K + {ratio} / {self.beta_kelvin:g} K) − 273.15 K"

    def called(self, x: float) -> str:
        """The input in words."""
        return _ohms_called(x)


@dataclass(frozen=True, slots=True)
class NtcSteinhartHart:
    """°C from an NTC's ohms: 1/T = a + b L + c L³, L = ln(R / 1 ohm); b > 0, c >= 0, so it only falls.

    The inverse is the one real root of the cubic by Cardano, with one Newton step for the digits that its
    difference of two roots loses when c is small.

    Source: Steinhart and Hart, Calibration curves for thermistors, Deep-Sea Research 15 (1968), 497-503.
    """

    a: float
    b: float
    c: float
    span: Span = ANYTHING
    words: ClassVar[str] = "by the NTC's Steinhart-Hart equation"
    unit: ClassVar[str] = "°C"
    is_straight: ClassVar[bool] = False

    def _kelvin(self, log: float) -> float:
        return 1.0 / (self.a + self.b * log + self.c * log**3)

    def value(self, x: float) -> float:
        """°C."""
        return self._kelvin(math.log(x)) - ZERO_CELSIUS

    def inverse(self, y: float) -> float:
        """Ohms."""
        over = self.a - 1.0 / (y + ZERO_CELSIUS)
        if self.c == 0:
            return math.exp(-over / self.b)
        half = over / self.c / 2.0
        root = math.sqrt((self.b / (3.0 * self.c)) ** 3 + half**2)
        log = math.cbrt(root - half) - math.cbrt(root + half)
        log -= (over + self.b * log + self.c * log**3) / (self.b + 3.0 * self.c * log**2)
        return math.exp(log)

    def slope(self, x: float) -> float:
        """°C per ohm."""
        log = math.log(x)
        return -(self._kelvin(log) ** 2) * (self.b + 3.0 * self.c * log**2) / x

    def formula(self, x: float) -> str:
        """With the numbers put in."""
        log = f"ln {x:.6g}"
        return f"1 / ({self.a:g} + {self.b:g} × {log} + {self.c:g} × ({log})³) K − 273.15 K"

    def called(self, x: float) -> str:
        """The input in words."""
        return _ohms_called(x)


@dataclass(frozen=True, slots=True)
class Platinum:
    """°C from the ohms of a platinum sensor.

    R = R0 (1 + A t + B t²) from 0 °C, below it with C (t - 100) t³ more. From 0 °C the inverse is the root of
    the quadratic. Below, Newton's steps from that root: there R rises and its slope only falls (C < 0 and
    12 t² - 600 t > 0), and the quadratic's root lies below the true one, so each step comes nearer from
    below and none passes it.

    Source: IEC 60751:2022, 4.2 (A, B, C; -200 °C to 850 °C).
    """

    ohms_at_0: float = 100.0
    span: Span = ANYTHING
    words: ClassVar[str] = "by the platinum sensor's standard curve"
    unit: ClassVar[str] = "°C"
    is_straight: ClassVar[bool] = False

    def value(self, x: float) -> float:
        """°C."""
        ratio = x / self.ohms_at_0
        root = PLATINUM_A * PLATINUM_A - 4.0 * PLATINUM_B * (1.0 - ratio)
        # The form without a difference of near numbers: no digit is lost about 0 °C.
        t = 2.0 * (ratio - 1.0) / (PLATINUM_A + math.sqrt(root))
        if ratio >= 1.0:
            return t
        for _ in range(_NEWTON_STEPS):
            t -= (_platinum_ratio(t) - ratio) / _platinum_slope(t)
        return t

    def inverse(self, y: float) -> float:
        """Ohms."""
        return self.ohms_at_0 * _platinum_ratio(y)

    def slope(self, x: float) -> float:
        """°C per ohm."""
        return 1.0 / (self.ohms_at_0 * _platinum_slope(self.value(x)))

    def formula(self, x: float) -> str:
        """With the numbers put in."""
        cold = " + C (t − 100) t³" if x < self.ohms_at_0 else ""
        return f"t in {x:.6g} Ω = {self.ohms_at_0:g} Ω × (1 + A t + B t²{cold})"

    def called(self, x: float) -> str:
        """The input in words."""
        return _ohms_called(x)


def _platinum_ratio(t: float) -> float:
    cold = PLATINUM_C * (t - 100.0) * t**3 if t < 0 else 0.0
    return 1.0 + PLATINUM_A * t + PLATINUM_B * t * t + cold


def _platinum_slope(t: float) -> float:
    cold = PLATINUM_C * (4.0 * t**3 - 300.0 * t * t) if t < 0 else 0.0
    return PLATINUM_A + 2.0 * PLATINUM_B * t + cold


@dataclass(frozen=True, slots=True)
class Photoresistor:
    """lx from the ohms of a photoresistor: R = R10 (E / 10 lx)^-gamma.

    Source: the definition of gamma in data sheets, log(R10 / R100) / log(100 lx / 10 lx), taken as a power
    law. It holds near those two illuminances only, hence the narrow range.
    """

    ohms_at_10_lux: float
    gamma: float
    span: Span = ANYTHING
    words: ClassVar[str] = "by the photoresistor's power law"
    unit: ClassVar[str] = "lx"
    is_straight: ClassVar[bool] = False

    def value(self, x: float) -> float:
        """Illuminance in lx."""
        return 10.0 * float((x / self.ohms_at_10_lux) ** (-1.0 / self.gamma))

    def inverse(self, y: float) -> float:
        """Ohms."""
        return self.ohms_at_10_lux * float((y / 10.0) ** -self.gamma)

    def slope(self, x: float) -> float:
        """lx per ohm."""
        return -self.value(x) / (self.gamma * x)

    def formula(self, x: float) -> str:
        """With the numbers put in."""
        return f"10 lx × ({x:.6g} Ω / {self.ohms_at_10_lux:g} Ω)^(−1 / {self.gamma:g})"

    def called(self, x: float) -> str:
        """The input in words."""
        return _ohms_called(x)


PLATINUM_RANGE = (-200.0, 850.0)  # IEC 60751:2022, 4.2
NTC_RANGE = (-55.0, 150.0)  # beyond, few are specified; the lesson's `valid` says more
LIGHT_RANGE = (1.0, 1000.0)  # a decade beyond the two illuminances that define gamma
