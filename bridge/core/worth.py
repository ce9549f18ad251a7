"""What a channel's newest reading is worth: its budget, the deadband that fits it, whether it is steady."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bridge.core.calibration import Calibration
from bridge.core.checking import Verdict
from bridge.core.class_calibration import SteadyBench
from bridge.core.health.window import Numbers
from bridge.core.slots import Slot
from bridge.core.steady import Steady, SteadyMeter
from bridge.core.uncertainty import Budget, Deadband, noise_beyond, suggested_deadband

TENTH_NS = 100_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelWorth:
    """One channel, as of its newest reading; None where nothing is known yet."""

    channel: str
    unit: str
    budget: Budget | None
    deadband: Deadband | None
    steady: Steady
    calibration: Calibration | None
    verdict: Verdict | None  # of the program's formula


def worth_of(slot: Slot, x: float | None, steady: Steady, verdict: Verdict | None) -> ChannelWorth:
    """What the channel's reading is worth.

    Args:
        slot: The channel at work.
        x: The newest printed number; None for a missing one.
        steady: See `steadiness_of`.
        verdict: What the check of the formula came to.
    """
    converter = slot.converter
    budget, deadband = None, None
    if x is not None and slot.decimals >= 0 and converter.least <= x <= converter.most:
        slope = converter.unit_slope if converter.sensitivity is None else converter.sensitivity(x)
        sd = None if slot.sd is None else slot.sd * slope
        budget = converter.budget(x, slot.decimals, sd=sd, n=slot.n_noise)
        noise = noise_beyond(sd or 0.0, converter.u_at(x, slot.decimals))
        deadband = suggested_deadband(noise, converter.step_at(x, slot.decimals), slot.info.unit)
    return ChannelWorth(
        channel=slot.info.name, unit=slot.info.unit, budget=budget, deadband=deadband, steady=steady,
        calibration=converter.calibration, verdict=verdict,
    )  # fmt: skip


def steadiness_of(slot: Slot, numbers: Numbers, at_ns: NDArray[np.int64], now_ns: int) -> Steady:
    """Whether the channel's value stays, by the newest printed numbers of its field.

    Args:
        slot: The channel at work.
        numbers: As printed, shape (n,), rising in time; NaN for a missing one.
        at_ns: When they came, shape (n,).
        now_ns: The session's time.
    """
    converter, meter = slot.converter, SteadyMeter(slot.info.unit)
    is_good = (numbers >= converter.least) & (numbers <= converter.most)  # NaN is not
    meter.take_many(map(converter.value, numbers[is_good].tolist()), at_ns[is_good].tolist())
    step = 0.0
    if slot.decimals >= 0 and is_good.any():
        step = converter.step_at(float(numbers[is_good][-1]), slot.decimals)
    return meter.look(now_ns // TENTH_NS * TENTH_NS, step=step)


def steady_bench(bench: int, slot: Slot, steady: Steady) -> SteadyBench | None:
    """A steady reading as a calibration takes it: before and after the calibration that stands."""
    if not steady.steady or steady.mean is None or not np.isfinite(steady.mean):
        return None
    indication = slot.converter.indication(steady.mean)
    calibration = slot.converter.calibration
    slope = 1.0 if calibration is None else calibration.slope(indication)
    return SteadyBench(bench, steady.mean, indication, (steady.u or 0.0) / slope)
