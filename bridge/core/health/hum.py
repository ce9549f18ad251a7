"""Mains hum that shows in the readings as a slow swing: they are taken far too seldom to follow it."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from .companions import Companions
from .noise import UsualNoise
from .seen import ChannelSeen
from .signs import SECOND_NS, Signs
from .window import Look, Numbers, Times

EVERY_NS = 10 * SECOND_NS
_LENGTHS = (512, 256, 128)  # of the newest rows the most
MAINS_HZ = (50.0, 60.0)
LEAST_HZ = 0.25  # slower swings are the cup's own
LEAST_SECONDS = 15.0
STRONG = 0.75  # share of all that is left without the slow course
STILL_STRONG = 0.5
LEAST_SWING = 1.0  # amplitude in steps that the number really makes
_MOST_OFF_HZ = 0.12  # a rate known less well does not tell where the hum would show
_MOST_BY_CHANCE = 0.2  # of all frequencies that would pass for one of the mains
_MOST_JITTER = 0.008  # s, standard deviation; an adapter makes 0.005; with more, hum makes no steady swing
_AROUND = 1  # bins to each side that hold a steady swing
_NARROW = 0.1  # of its frequency: a hand that stirs is no steadier
_MAINS_OFF_HZ = 0.03  # as far as the mains themselves stray


class Swing(NamedTuple):
    """A steady swing in evenly spaced readings."""

    frequency_hz: float
    amplitude: float
    share: float  # of the variance, without the slow course


class Sampling(NamedTuple):
    """How often readings are taken, and how well that is known."""

    rate_hz: float
    u_share: float  # relative
    seconds: float


class Hum:
    """Looks at a minute of readings."""

    def __init__(self, companions: Companions, usual: UsualNoise) -> None:
        self._companions, self._usual = companions, usual

    def signs(self, look: Look) -> list[Signs]:
        """At each full ten seconds."""
        n = next((one for one in _LENGTHS if one <= look.n_minute), 0)
        if not n or look.window.has_gaps:
            return []
        sampling = sampling_of(look.window.times(n))
        if sampling is None or sampling.seconds < LEAST_SECONDS:
            return []
        made = self._companions.made_of_counts
        signs = []
        for field in look.fields:
            if not field.is_measured or field.index in made:
                continue
            x = look.window.values(n)[:, field.index]
            least = LEAST_SWING * self._usual.grain(field)
            if np.ptp(x) < 2 * least:
                continue
            stands = look.stands("mains hum", field.name)
            swing = swing_of(x, sampling.rate_hz)
            if swing is None or swing.share < (STILL_STRONG if stands else STRONG):
                continue
            if swing.amplitude < least or 1.5 / sampling.seconds > _NARROW * swing.frequency_hz:
                continue
            mains = mains_at(swing.frequency_hz, sampling)
            if mains is not None:
                signs.append(_signs(field, swing, sampling, mains, look.at_ns))
        return signs


def sampling_of(times: Times) -> Sampling | None:
    """The rate of evenly taken readings from when they came; None when they came unevenly."""
    at = (times - times[0]) / 1e9
    i = np.arange(len(at)) - (len(at) - 1) / 2
    interval = float(i @ at / (i @ i))
    if interval <= 0:
        return None
    off = at - at.mean() - interval * i
    if off.std() > _MOST_JITTER:
        return None
    seconds = interval * len(at)
    return Sampling(1 / interval, 2 * float(off.std()) / seconds, seconds)


def swing_of(x: Numbers, rate_hz: float) -> Swing | None:
    """The strongest steady swing faster than the slow course; None when there is nothing but that."""
    n = len(x)
    slow, window = _slow_courses(n)
    left = x - slow @ (x @ slow)
    power = np.square(np.abs(np.fft.rfft(left * window)))
    first = max(int(np.ceil(LEAST_HZ * n / rate_hz)), 2 * _AROUND)
    total = float(power[first - _AROUND :].sum())
    if first + _AROUND >= len(power) or total <= 0:
        return None
    k = first + int(np.argmax(power[first:]))
    band = float(power[k - _AROUND : k + _AROUND + 1].sum())
    variance = 2 * band / (n * float(window @ window))
    share = min(band / total, variance / float(left.var() or 1.0))
    return Swing(_between(power, k) * rate_hz / n, float(np.sqrt(2 * variance)), share)


@lru_cache(maxsize=len(_LENGTHS))
def _slow_courses(n: int) -> tuple[Numbers, Numbers]:
    """Level, slope and bend as orthonormal columns, shape (n, 3); the window that keeps a swing narrow."""
    slow, _ = np.linalg.qr(np.vander(np.linspace(-1, 1, n), 3))
    return slow, np.hanning(n)


def mains_at(frequency_hz: float, sampling: Sampling) -> float | None:
    """The mains frequency that would show there; None when it can't be told."""
    near: dict[float, float] = {}
    taken_hz = 0.0  # of all frequencies, those that pass for one of the mains
    for hz in MAINS_HZ:
        off_hz = hz * sampling.u_share + 0.5 / sampling.seconds + _MAINS_OFF_HZ
        taken_hz += 2 * off_hz
        if off_hz > _MOST_OFF_HZ or taken_hz > _MOST_BY_CHANCE * sampling.rate_hz / 2:
            break
        folded = abs(hz - round(hz / sampling.rate_hz) * sampling.rate_hz)
        if abs(folded - frequency_hz) <= off_hz:
            near[hz] = abs(folded - frequency_hz)
    return min(near, key=near.__getitem__) if near else None


def _between(power: Numbers, k: int) -> float:
    """The peak's place between bins, by a parabola through the logarithms."""
    if not 0 < k < len(power) - 1 or min(power[k - 1 : k + 2]) <= 0:
        return float(k)
    a, b, c = np.log(power[k - 1 : k + 2]).tolist()
    bend = a - 2 * b + c
    return k + (0.5 * (a - c) / bend if bend else 0.0)


def _signs(field: ChannelSeen, swing: Swing, sampling: Sampling, hz: float, at_ns: int) -> Signs:
    return Signs(
        "mains hum", field.name, at_ns - round(sampling.seconds * 1e9),
        f"{field.name} carries hum from the mains",
        f"a steady swing of ±{swing.amplitude:.2g} {field.unit or 'counts'} at {swing.frequency_hz:.2f} Hz, "
        f"where {hz:.0f} Hz would show at {sampling.rate_hz:.2f} readings a second; {swing.share:.0%} of all "
        f"scatter",
        "Keep the sensor's wires short and away from mains leads; take the mean of readings over a whole "
        "period of the mains, 20 ms at 50 Hz",
        weight="hint", size=swing.amplitude, patience_ns=EVERY_NS, lasts_ns=15 * SECOND_NS,
    )  # fmt: skip
