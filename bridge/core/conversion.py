"""count -> volts -> unit, for one channel of one bench."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from bridge.core.channels import Step
from bridge.core.lesson import BenchChannel, Channel, Conversion

_SQRT_12 = math.sqrt(12.0)


def divisor_of(conversion: Conversion) -> int:
    """What a count is divided by: 2^n counts steps of the range, 2^n - 1 puts the top code at the reference.

    Source: IEEE 1241-2010, 4.1.2 (code bin width); both conventions are in use, the lesson says which.
    """
    codes: int = 1 << conversion.width_bits
    return codes if conversion.divisor == "2^n" else codes - 1


def volts_from_count(count: float, conversion: Conversion) -> float:
    """Volts that a converter's count stands for: count * reference_volts / divisor.

    Args:
        count: 0 to 2^n - 1; need not be whole, since boards print means of counts.
        conversion: Width, reference and divisor.

    Source: IEEE 1241-2010, 4.1.2, the ideal transfer function without its half-step offset.
    """
    return count * conversion.reference_volts / divisor_of(conversion)


def unit_from_volts(volts: float, conversion: Conversion) -> float:
    """Value in the unit that a linear sensor stands for: (volts - offset_volts) / volts_per_unit."""
    return (volts - conversion.offset_volts) / conversion.volts_per_unit


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


@dataclass(frozen=True, slots=True)
class Correction:
    """A bench's own gain and offset, applied last: gain * value + offset."""

    gain: float = 1.0
    offset: float = 0.0  # in the channel's unit


class Converter:
    """Makes a channel's value from a field's number, with its standard uncertainty.

    `value(x)` is only asked for x from `least` to `most`; outside stands `refusal(x)`, in words.
    """

    def __init__(self, channel: Channel, bench_channel: BenchChannel, conversion: Conversion | None) -> None:
        self.conversion = conversion
        self.correction = Correction(bench_channel.gain, bench_channel.offset)
        self.channel = channel.name
        self.unit = channel.unit
        self.least, self.most = -math.inf, math.inf
        if conversion is None:
            self._unit_step = abs(self.correction.gain)
        else:
            per_volt = abs(self.correction.gain / conversion.volts_per_unit)
            if conversion.start == "count":
                self.least, self.most = 0.0, float((1 << conversion.width_bits) - 1)
                self._unit_step = per_volt * conversion.reference_volts / divisor_of(conversion)
            else:
                self._unit_step = per_volt
        self.value = self._formula()
        self._u_by_decimals: dict[int, float] = {}

    def _formula(self) -> Callable[[float], float]:
        """The whole way in one expression, in the order of the steps: the hot path makes no other call."""
        gain, offset = self.correction.gain, self.correction.offset
        conversion = self.conversion
        if conversion is None:
            if gain == 1.0 and offset == 0.0:
                return float  # a printed -0.0 stays what it was
            return lambda x: gain * x + offset
        zero, slope = conversion.offset_volts, conversion.volts_per_unit
        if conversion.start == "volts":
            return lambda x: gain * ((x - zero) / slope) + offset
        reference, divisor = conversion.reference_volts, divisor_of(conversion)
        return lambda x: gain * ((x * reference / divisor - zero) / slope) + offset

    def u(self, decimals: int) -> float:
        """Standard uncertainty from resolution, in the unit, of a number printed with so many decimals.

        The printed digit is the step; for a count it is one count, or less for a printed mean of counts.

        Source: JCGM 100:2008 (GUM), F.2.2.1, and 5.1.2 for the slope.
        """
        known = self._u_by_decimals.get(decimals)
        if known is None:
            known = resolution_uncertainty(10.0**-decimals * self._unit_step)
            self._u_by_decimals[decimals] = known
        return known

    def refusal(self, x: float) -> str:
        """Why x gives no value."""
        assert self.conversion is not None, "only a converter's count has ends"
        width = self.conversion.width_bits
        side = f"below 0, which no {width}-bit converter gives" if x < 0 else (
            f"above {self.most:.0f}, the most that a {width}-bit converter gives"
        )  # fmt: skip
        return f"count {x:g} is {side}"

    def steps(self, x: float | None, field: str) -> tuple[Step, ...]:
        """The way from the field's number to the value, with this moment's numbers."""
        conversion, steps = (
            self.conversion,
            [_step(self.channel, f"printed as {field}", "", x, self._unit_in())],
        )
        if x is None or not self.least <= x <= self.most:
            why = "no number, so no value" if x is None else self.refusal(x)
            return (*steps, _step(self.channel, "no value", why, None, self.unit))
        if conversion is not None:
            volts = x
            if conversion.start == "count":
                volts = volts_from_count(x, conversion)
                words = f"{x:g} × {conversion.reference_volts:g} V / {divisor_of(conversion)}"
                steps.append(_step(self.channel, "volts at the pin", words, volts, "V"))
            x = unit_from_volts(volts, conversion)
            above_zero = f"{volts:.6g} V {_signed(-conversion.offset_volts)} V"
            words = f"({above_zero}) / {conversion.volts_per_unit:g} V per {self.unit}"
            steps.append(_step(self.channel, "by the sensor", words, x, self.unit))
        if self.correction != Correction():
            words = f"{self.correction.gain:g} × {x:.6g} {_signed(self.correction.offset)}"
            x = self.correction.gain * x + self.correction.offset
            steps.append(_step(self.channel, "corrected for this bench", words, x, self.unit))
        return tuple(steps)

    def _unit_in(self) -> str:
        if self.conversion is None:
            return self.unit
        return "counts" if self.conversion.start == "count" else "V"


def _step(channel: str, words: str, formula: str, number: float | None, unit: str) -> Step:
    return Step(channel=channel, words=words, formula=formula, number=number, unit=unit)


def _signed(number: float) -> str:
    return (
        f"− {-number:g}" if number < 0 or (number == 0 and math.copysign(1, number) < 0) else f"+ {number:g}"
    )
