"""The cups and their sensors: how warm water cools under a cover, and which count a converter makes of it.

Pure: times are passed in, noise comes from a seeded generator.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Pour:
    """Water goes into the cup: from then on it cools from this temperature."""

    at_seconds: float
    celsius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Cup:
    """A cup under a cover. Empty (at room temperature) until the first pour."""

    time_constant_seconds: float  # of the cover: after it, 1/e of the difference to the room is left
    room_celsius: float
    pours: tuple[Pour, ...]  # in order of time

    def water_celsius(self, at_seconds: float) -> float:
        """Newton's law of cooling since the last pour: T = room + (poured - room) exp(-t / time constant)."""
        poured = [pour for pour in self.pours if pour.at_seconds <= at_seconds]
        if not poured:
            return self.room_celsius
        since = at_seconds - poured[-1].at_seconds
        left = math.exp(-since / self.time_constant_seconds)
        return self.room_celsius + (poured[-1].celsius - self.room_celsius) * left


class Probe:
    """A sensor that follows what surrounds it, a little late (first order)."""

    def __init__(self, celsius: float) -> None:
        self.celsius = celsius

    def follow(self, celsius: float, *, for_seconds: float, time_constant_seconds: float) -> float:
        """Be in surroundings of that temperature for that long; exact while they keep it."""
        left = math.exp(-for_seconds / time_constant_seconds)
        self.celsius = celsius + (self.celsius - celsius) * left
        return self.celsius


@dataclass(frozen=True, slots=True, kw_only=True)
class LinearSensor:
    """A sensor whose voltage rises evenly with temperature."""

    offset_volts: float = 0.0  # at 0 °C
    volts_per_celsius: float = 0.010
    error_celsius: float = 0.0  # it reads this much too high, as sensors do within their tolerance
    noise_celsius: float = 0.04  # standard deviation

    def volts(self, celsius: float, noise: random.Random) -> float:
        """The voltage on its pin."""
        shown = celsius + self.error_celsius + noise.gauss(0.0, self.noise_celsius)
        return self.offset_volts + shown * self.volts_per_celsius


@dataclass(frozen=True, slots=True, kw_only=True)
class Adc:
    """An ideal converter: count k from k steps up to k + 1 steps of its reference."""

    width_bits: int
    reference_volts: float

    @property
    def step_volts(self) -> float:
        """What one count is worth."""
        return self.reference_volts / (1 << self.width_bits)

    def count(self, volts: float) -> int:
        """The count of a voltage, held at the ends."""
        return min(max(math.floor(volts / self.step_volts), 0), (1 << self.width_bits) - 1)


def digital_celsius(celsius: float, noise: random.Random) -> float:
    """What a digital sensor hands out: steps of a sixteenth of a degree."""
    return round((celsius + noise.gauss(0.0, 0.02)) * 16) / 16
