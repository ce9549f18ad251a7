"""From a printed number to the unit, for one channel of one bench."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from bridge.core.calibration import Calibration
from bridge.core.calibration_words import range_words
from bridge.core.chain import counts_of, divisor_of, stages_of
from bridge.core.channels import Step
from bridge.core.lesson import BenchChannel, Channel, Conversion
from bridge.core.propagation import Propagation
from bridge.core.stages import Line, Stage, ends_of
from bridge.core.uncertainty import Budget, Part, noise_beyond
from bridge.core.uncertainty import resolution_uncertainty as resolution_uncertainty

OUTSIDE_CALIBRATION = "outside the calibrated range"
"""So begins the reason of a value that is uncertain and yet counts."""


def volts_from_count(count: float, conversion: Conversion) -> float:
    """Volts that a converter's count stands for: count * reference_volts / divisor.

    Args:
        count: 0 to 2^n - 1; need not be whole, since boards print means of counts.
        conversion: Width, reference and divisor.

    Source: IEEE 1241-2010, 4.1.2, the ideal transfer function without its half-step offset.
    """
    return count * conversion.reference_volts / divisor_of(conversion.width_bits, conversion.divisor)


def unit_from_volts(volts: float, conversion: Conversion) -> float:
    """Value in the unit that a linear sensor stands for: (volts - offset_volts) / volts_per_unit."""
    return (volts - conversion.offset_volts) / conversion.volts_per_unit


@dataclass(frozen=True, slots=True)
class Correction:
    """A bench's own gain and offset, applied last: gain * value + offset."""

    gain: float = 1.0
    offset: float = 0.0  # in the channel's unit


class Converter:
    """Makes a channel's value from a field's number, with its standard uncertainty.

    `value(x)` is only asked for x from `least` to `most`; outside stands `refusal(x)`, in words. The way is a
    chain of strictly monotonic stages, so it can be gone back (`inverse`) and has a slope everywhere.

    Attributes:
        sensitivity: |d value / d x| as a function of x; None where it is the same everywhere.
        unit_slope: |d value / d x| where it is the same everywhere.
        calibration: The bench's own, the last stage; None without one.
        calibrated_range: Values within which the calibration is trusted; None: everywhere.
        is_variance_constant: Whether `variance` is the same for every x.

    Raises:
        ValueError: The conversion gives no such unit, or the calibration's points give no curve.
    """

    def __init__(self, channel: Channel, bench_channel: BenchChannel, conversion: Conversion | None) -> None:
        self.conversion = conversion
        self.correction = Correction(bench_channel.gain, bench_channel.offset)
        self.channel = channel.name
        self.unit = channel.unit
        given = bench_channel.calibration
        self.calibration = None if given is None else Calibration(given, channel.unit)
        self.stages = self._stages()
        self.least, self.most = ends_of(self.stages)
        self.value = self._formula()
        self.calibrated_range = self._calibrated_range()
        self._propagation = Propagation(conversion, self.stages, self.calibration, (self.least, self.most))
        self.is_variance_constant = self._propagation.is_constant
        self.sensitivity: Callable[[float], float] | None = None
        self.unit_slope = 1.0
        if all(stage.is_straight for stage in self.stages):
            self.unit_slope = abs(math.prod(stage.slope(0.0) for stage in self.stages))
        else:
            self.sensitivity = _sensitivity(self.stages)
        self._u_by_decimals: dict[int, float] = {}

    def _stages(self) -> tuple[Stage, ...]:
        stages = () if self.conversion is None else stages_of(self.conversion, self.unit)
        if self.correction != Correction():
            own = Line(
                self.correction.gain, self.correction.offset, "corrected for this bench", self.unit, self.unit
            )
            stages = (*stages, own)
        return stages if self.calibration is None else (*stages, self.calibration)

    def _formula(self) -> Callable[[float], float]:
        """The whole way, in the order of the steps."""
        uncalibrated = self._uncalibrated()
        return uncalibrated if self.calibration is None else _after(uncalibrated, self.calibration.value)

    def _uncalibrated(self) -> Callable[[float], float]:
        """A linear sensor's way, the usual one, in one expression; else by the stages."""
        gain, offset = self.correction.gain, self.correction.offset
        conversion = self.conversion
        if conversion is None:
            if gain == 1.0 and offset == 0.0:
                return float  # a printed -0.0 stays what it was
            return lambda x: gain * x + offset
        if conversion.kind != "linear":
            n = len(self.stages) - (self.calibration is not None)
            return _composed([stage.value for stage in self.stages[:n]])
        zero, slope = conversion.offset_volts, conversion.volts_per_unit
        if conversion.start == "volts":
            return lambda x: gain * ((x - zero) / slope) + offset
        reference, divisor = (
            conversion.reference_volts,
            divisor_of(conversion.width_bits, conversion.divisor),
        )
        return lambda x: gain * ((x * reference / divisor - zero) / slope) + offset

    def _calibrated_range(self) -> tuple[float, float] | None:
        calibration = self.calibration
        if calibration is None or calibration.reach is None:
            return None
        low, high = calibration.reach
        return calibration.value(low), calibration.value(high)

    def uncalibrated_reason(self, value: float) -> str:
        """Why the calibration says nothing of a value, "" where it does."""
        if self.calibration is None or self.calibrated_range is None:
            return ""
        low, high = self.calibrated_range
        if low <= value <= high:
            return ""
        return f"{OUTSIDE_CALIBRATION} {range_words(self.calibration)}"

    def indication(self, value: float) -> float:
        """What the bench would show for a value if it were not calibrated."""
        return value if self.calibration is None else self.calibration.inverse(value)

    def inverse(self, value: float) -> float:
        """The printed number, not rounded, that gives the value; for values that some number gives."""
        for stage in reversed(self.stages):
            value = stage.inverse(value)
        return value

    def u(self, decimals: int) -> float:
        """Standard uncertainty from resolution of a number printed with so many decimals.

        In the unit; where the slope differs from place to place, of the printed number itself: then a
        reading's is `sensitivity(x)` times that. The printed digit is the step; for a count it is one count,
        or less for a printed mean of counts.

        Source: JCGM 100:2008 (GUM), F.2.2.1, and 5.1.2 for the slope.
        """
        known = self._u_by_decimals.get(decimals)
        if known is None:
            known = resolution_uncertainty(self._propagation.step(decimals) * self.unit_slope)
            self._u_by_decimals[decimals] = known
        return known

    def u_at(self, x: float, decimals: int) -> float:
        """Standard uncertainty from resolution, in the unit, of the value that x gives."""
        return self.u(decimals) if self.sensitivity is None else self.u(decimals) * self.sensitivity(x)

    def step_at(self, x: float, decimals: int) -> float:
        """The least difference between two values near that of x, in the unit."""
        slope = self.unit_slope if self.sensitivity is None else self.sensitivity(x)
        return self._propagation.step(decimals) * slope

    def variance(self, x: float, decimals: int) -> float:
        """Squared standard uncertainty of the value that x gives, of every part but noise, in the unit.

        Args:
            x: The printed number, from `least` to `most`.
            decimals: With how many decimals such numbers are printed.
        """
        return self._propagation.variance(x, decimals)

    def u_many(self, xs: Sequence[float], decimals: int, noise_variance: float) -> list[float]:
        """Standard uncertainty of each value, `noise_variance` (squared, in the unit) included.

        Bit for bit what `sqrt(variance(x, decimals) + noise_variance)` gives.
        """
        if not xs:
            return []
        variance = self._propagation.variance
        if self.is_variance_constant:
            return [math.sqrt(variance(xs[0], decimals) + noise_variance)] * len(xs)
        return [math.sqrt(variance(x, decimals) + noise_variance) for x in xs]

    def u_parts(self, x: float, decimals: int) -> tuple[Part, ...]:
        """The lines of the budget of the value that x gives, without noise."""
        return self._propagation.parts(x, decimals)

    def budget(self, x: float, decimals: int, *, sd: float | None = None, n: int = 0) -> Budget:
        """All that makes the value uncertain that x gives.

        Args:
            x: The printed number, from `least` to `most`.
            decimals: With how many decimals such numbers are printed.
            sd: Standard deviation of single readings about their course, in the unit; None: not known.
            n: From how many readings it was found.
        """
        parts = self.u_parts(x, decimals)
        if sd is not None and (noise := noise_beyond(sd, self.u_at(x, decimals))):
            parts = (*parts, Part("noise", noise, "A", f"scatter of {n} readings", max(1, n - 2)))
        return Budget(parts, self.value(x), self.unit)

    def refusal(self, x: float) -> str:
        """Why x gives no value."""
        return self._walk(x)[1]

    def _walk(self, x: float) -> tuple[list[tuple[Stage, float]], str]:
        """Each stage that takes its input, with it, and why the next refuses; "" at the end of the way."""
        walked: list[tuple[Stage, float]] = []
        if not self.least <= x <= self.most:
            if no_count := self._no_count(x):
                return walked, no_count
            for stage in self.stages:
                if refused := stage.span.refusal(x, stage.called(x)):
                    return walked, refused
                walked.append((stage, x))
                x = stage.value(x)
            last = walked.pop()[0]  # beyond an end by less than a rounding
            return walked, f"the number lies at the end of what {self.channel} is good for ({last.words})"
        for stage in self.stages:
            walked.append((stage, x))
            x = stage.value(x)
        return walked, ""

    def _no_count(self, x: float) -> str:
        """Why no converter gives that count, "" when it does or when x is none."""
        conversion = self.conversion
        if conversion is None or conversion.start != "count":
            return ""
        return counts_of(conversion.width_bits).refusal(x, f"count {x:g}")

    def steps(self, x: float | None, field: str) -> tuple[Step, ...]:
        """The way from the field's number to the value, with this moment's numbers."""
        steps = [_step(self.channel, f"printed as {field}", "", x, self._unit_in())]
        if x is None:
            return (*steps, _step(self.channel, "no value", "no number, so no value", None, self.unit))
        walked, refused = self._walk(x)
        for stage, y in walked:
            steps.append(_step(self.channel, stage.words, stage.formula(y), stage.value(y), stage.unit))
        if refused:
            steps.append(_step(self.channel, "no value", refused, None, self.unit))
        return tuple(steps)

    def _unit_in(self) -> str:
        if self.conversion is None:
            return self.unit
        return {"count": "counts", "volts": "V", "ohms": "Ω"}[self.conversion.start]


def _composed(functions: Sequence[Callable[[float], float]]) -> Callable[[float], float]:
    """One function that takes the way through all of them."""
    first, *rest = functions
    for function in rest:
        first = _after(first, function)
    return first


def _after(inner: Callable[[float], float], outer: Callable[[float], float]) -> Callable[[float], float]:
    return lambda x: outer(inner(x))


def _sensitivity(stages: Sequence[Stage]) -> Callable[[float], float]:
    """|d value / d x|, by the chain rule."""
    ways = [(stage.slope, stage.value) for stage in stages[:-1]]
    last = stages[-1].slope

    def sensitivity(x: float) -> float:
        product = 1.0
        for slope, value in ways:
            product *= slope(x)
            x = value(x)
        return abs(product * last(x))

    return sensitivity


def _step(channel: str, words: str, formula: str, number: float | None, unit: str) -> Step:
    return Step(channel=channel, words=words, formula=formula, number=number, unit=unit)
