"""How a bench answers a step: rise time, settling time and overshoot, beside the first-order fit."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from dashboard.comparing.changepoint import calmed
from dashboard.comparing.events import Event
from dashboard.comparing.figure import Figure, figure, no_figure
from dashboard.comparing.first_order import LEAST_READINGS, FirstOrder, no_time_constant
from dashboard.comparing.level import drift
from dashboard.comparing.level import resolution as found_resolution
from dashboard.comparing.moments import Floats
from dashboard.comparing.noise import sd_about_neighbours
from dashboard.comparing.series import Series
from dashboard.comparing.step import step_fit

SETTLING_BAND = 0.02
"""Of the step, on either side of the level after: what settled means unless another band is asked for."""
RISE_FROM, RISE_TO = 0.1, 0.9
"""Of the step: IEC 60469, transition duration between the 10 % and the 90 % reference levels."""
_FINAL_PART = 0.2  # of the time after the onset: where the level after is measured
_STILL_MOVING = 0.02  # of the step, that a settled course may at most move within that part
_LEAST_FINAL = 5  # readings there
_CLEAR_NOISE = 3  # standard deviations
_AUTOMATIC_LENGTH = 5  # times the time to 63 % of the rise
_LEAST_BEFORE = 10  # readings before the onset that a window takes along


@dataclass(frozen=True, slots=True, eq=False)
class Response:
    """What a bench's answer to a step was like. Times are in the time of the series, spans in s."""

    fit: FirstOrder | None  # None: `time_constant.words` says why
    onset: Figure
    time_constant: Figure
    rise: Figure  # 10 to 90 %
    settling: Figure  # from the onset until it stays within the band
    overshoot: Figure  # % of the step
    window: tuple[float, float]


def response_window(series: Series, event: Event) -> tuple[float, float] | None:
    """The time of one answer, from some readings before the onset to where it leaves its new level.

    At least five times as long as it takes to 63 % of the rise, so that an overshoot is within. None
    without an event or with too few readings after it.
    """
    if event.seconds is None:
        return None
    stretch = next(
        (
            one
            for one in series.stretches
            if series.seconds[one][0] <= event.seconds <= series.seconds[one][-1]
        ),
        None,
    )
    if stretch is None:
        return None
    t, y = series.seconds[stretch], calmed(series.values[stretch])
    begin = int(np.searchsorted(t, event.seconds))
    if len(t) - begin < LEAST_READINGS:
        return None
    before = float(np.median(y[max(0, begin - _LEAST_BEFORE) : max(1, begin)]))
    risen = y[begin:] - before
    sign = 1.0 if abs(float(risen.max())) >= abs(float(risen.min())) else -1.0
    risen = sign * risen
    noise = sd_about_neighbours(series.values[stretch])
    top = _first_top(risen, noise)
    rise = float(risen[top])
    t_63 = float(t[begin + int(np.argmax(risen >= 0.632 * rise))]) - event.seconds
    left = np.flatnonzero(risen[top:] < rise - max(_CLEAR_NOISE * noise, _STILL_MOVING * rise))
    last = begin + top + (int(left[0]) - 1 if len(left) else len(risen) - top - 1)
    end = max(float(t[last]), event.seconds + _AUTOMATIC_LENGTH * t_63)
    since = event.seconds - max((end - event.seconds) / 2, _LEAST_BEFORE * series.usual_interval)
    return max(float(t[0]), since), min(float(t[-1]), end)


def _first_top(risen: Floats, noise: float) -> int:
    greatest = np.maximum.accumulate(risen)
    turned = greatest - risen > np.maximum(0.05 * greatest, 6 * noise)
    end = int(np.argmax(turned)) if turned.any() else len(risen)
    return int(np.argmax(risen[: max(1, end)]))


def response_of(
    series: Series, window: tuple[float, float], *, settling_band: float = SETTLING_BAND
) -> Response:
    """The answer to one step within a time window.

    Args:
        series: One bench's readings.
        window: From before the onset until the answer is over, in the time of the series.
        settling_band: Half its width, as a share of the step.
    """
    if not 0 < settling_band < 1:
        raise ValueError(f"the settling band is a share of the step between 0 and 1, not {settling_band}")
    cut = series.within(*window)
    step = found_resolution(cut).value or 0.0
    found = step_fit(cut.seconds, cut.values, unit=cut.unit, resolution=step)
    if isinstance(found, str):
        return _without_fit(found, window)
    fit = found
    levels = _Levels(cut, fit)
    rise, settling, overshoot = levels.rise(), levels.settling(settling_band), levels.overshoot()
    return Response(fit, fit.onset, fit.time_constant, rise, settling, overshoot, window)


def _without_fit(words: str, window: tuple[float, float]) -> Response:
    return Response(
        None,
        no_figure("onset", "s", words),
        no_time_constant(words),
        no_figure("rise time", "s", words),
        no_figure("settling time", "s", words),
        no_figure("overshoot", "%", words),
        window,
    )


class _Levels:
    """The readings of an answer as shares of its step, from the level before to the level after."""

    is_settled: bool

    def __init__(self, series: Series, fit: FirstOrder) -> None:
        self.seconds, self.onset = series.seconds, fit.onset.value or 0.0
        self.words, self.u_final = "", fit.after.u or 0.0
        final, before = fit.after.value or 0.0, fit.before.value or 0.0
        length = float(series.seconds[-1]) - self.onset
        if fit.is_first_order:  # the fit knows the level after better than a course that is still coming near
            self.is_settled = math.exp(-length / (fit.time_constant.value or 1.0)) < _STILL_MOVING
        else:
            tail = series.within(float(series.seconds[-1]) - _FINAL_PART * length, math.inf)
            self.is_settled = len(tail) >= _LEAST_FINAL and self._is_still(tail, abs(fit.step))
            # Readings well before an onset that the fit of another shape may have put too late.
            lead = series.within(-math.inf, (float(series.seconds[0]) + self.onset) / 2)
            before = float(np.median(lead.values)) if len(lead) else before
            if self.is_settled:
                final = float(tail.values.mean())
                self.u_final = sd_about_neighbours(tail.values) / math.sqrt(len(tail))
            else:
                self.words = "the course has not settled within the window, and is not first order"
        self.step = final - before
        drifted = (fit.drift.value or 0.0) / 60 if fit.drift is not None else 0.0
        steady = series.values - drifted * np.maximum(series.seconds - self.onset, 0.0)
        self.share = (steady - before) / self.step
        self.noise = sd_about_neighbours(series.values) / abs(self.step)
        self.u_share = math.hypot(self.u_final, fit.before.u or 0.0) / abs(self.step)

    @staticmethod
    def _is_still(tail: Series, step: float) -> bool:
        slope = drift(tail).value
        span = float(tail.seconds[-1] - tail.seconds[0])
        return slope is not None and abs(slope) / 60 * span <= _STILL_MOVING * step

    def rise(self) -> Figure:
        """From 10 to 90 % of the step, by straight lines between readings.

        Where noise crosses a level several times the middle of the crossings counts, their spread as
        uncertainty.
        """
        if self.words:
            return no_figure("rise time", "s", self.words)
        half = int(np.argmax(self.share >= 0.5))
        full = int(np.argmax(self.share >= 1.0)) if (self.share >= 1.0).any() else len(self.share) - 1
        low = self._crossing(RISE_FROM, 0, half)
        high = self._crossing(RISE_TO, max(0, half - 1), max(full, half))
        if low is None or high is None:
            return no_figure("rise time", "s", "the readings do not cross 10 % and 90 % of the step")
        return figure("rise time", "s", high[0] - low[0], math.hypot(low[1], high[1]))

    def _crossing(self, at: float, begin: int, end: int) -> tuple[float, float] | None:
        """Time and standard uncertainty of an upward crossing between two readings."""
        s, t = self.share[begin : end + 1], self.seconds[begin : end + 1]
        up = np.flatnonzero((s[:-1] < at) & (s[1:] >= at))
        if not len(up):
            return None
        times = t[up] + (at - s[up]) / (s[up + 1] - s[up]) * (t[up + 1] - t[up])
        first, last = float(times[0]), float(times[-1])
        k = int(up[0])
        steep = self._steepness(begin + k)
        u = math.hypot(self.noise, self.u_share) / steep if steep > 0 else 0.0
        return (first + last) / 2, math.hypot(u, (last - first) / math.sqrt(12))

    def _steepness(self, k: int) -> float:
        """Share per second about a reading, over some readings to either side."""
        a, b = max(0, k - 2), min(len(self.share) - 1, k + 3)
        return float(abs(self.share[b] - self.share[a])) / float(self.seconds[b] - self.seconds[a] or 1.0)

    def settling(self, band: float) -> Figure:
        """From the onset to the last time that the course comes into the band about the level after."""
        name, unit = "settling time", "s"
        if not self.is_settled:
            return no_figure(name, unit, self.words or "not settled within the window")
        if _CLEAR_NOISE * self.noise > band:
            return no_figure(name, unit, f"the noise is wider than the band of ±{band:.1%} of the step")
        away = np.abs(self.share - 1)
        outside = np.flatnonzero(away > band)
        if not len(outside):
            return no_figure(name, unit, "the readings never left the band")
        k = int(outside[-1])
        if k + 1 >= len(away):
            return no_figure(name, unit, "not settled within the window")
        part = (away[k] - band) / (away[k] - away[k + 1])
        at = float(self.seconds[k] + part * (self.seconds[k + 1] - self.seconds[k]))
        steep = self._steepness(k)
        u = math.hypot(self.noise, self.u_share) / steep if steep > 0 else 0.0
        interval = float(np.median(np.diff(self.seconds)))
        return figure(
            name,
            unit,
            at - self.onset,
            math.hypot(u, interval / math.sqrt(12)),
            words=f"to ±{band:.1%} of the step",
        )

    def overshoot(self) -> Figure:
        """How far the course goes beyond the level after, in % of the step: by medians of three readings."""
        name, unit = "overshoot", "%"
        if not self.is_settled:
            return no_figure(name, unit, self.words or "not settled within the window")
        beyond = float(calmed(self.share).max()) - 1
        doubt = math.hypot(self.noise, self.u_share)
        if beyond <= _CLEAR_NOISE * doubt:
            return figure(
                name, unit, 0.0, interval=(0.0, 100 * _CLEAR_NOISE * doubt), words="none beyond the noise"
            )
        return figure(name, unit, 100 * beyond, 100 * doubt)
