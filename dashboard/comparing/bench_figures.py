"""All figures of one bench that need no other bench."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dashboard.comparing.ambient import ambient_fit
from dashboard.comparing.bands import BandTime, Stay, stays_within, time_in_bands
from dashboard.comparing.choices import Choices
from dashboard.comparing.events import Event, find_event
from dashboard.comparing.figure import Figure, no_figure
from dashboard.comparing.first_order import FirstOrder
from dashboard.comparing.level import (
    drift,
    level,
    line_rate,
    resolution,
    time_in_gaps,
)
from dashboard.comparing.noise import AllanPoint, allan_of, noise
from dashboard.comparing.response import Response, response_of, response_window
from dashboard.comparing.series import Series


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BenchFigures:
    """What one bench measured, in the comparison's time and unit."""

    bench: int
    name: str
    series: Series
    marks: tuple[str, ...]  # what a reader must know before trusting the figures
    event: Event | None  # that its time is counted from
    figures: tuple[Figure, ...]
    allan: tuple[AllanPoint, ...]
    allan_words: str  # why there is none
    stays: tuple[Stay, ...]  # in bands, in the comparison's time
    bands: tuple[BandTime, ...]
    response: Response | None
    course: FirstOrder | None  # the fit that the time constant comes from

    def figure(self, name: str) -> Figure:
        """By name.

        Raises:
            KeyError: There is none of that name.
        """
        for one in self.figures:
            if one.name == name:
                return one
        raise KeyError(name)


def figures_of(series: Series, whole: Series, event: Event | None, choices: Choices) -> BenchFigures:
    """The figures of one bench.

    Args:
        series: Its readings within the comparison's window.
        whole: All of them, in the same time: a response may begin before the window.
        event: That the time is counted from; None at the same instant.
        choices: What was asked for.
    """
    step = resolution(series)
    allan, allan_words = allan_of(series)
    response, course, answers = _answers(series, whole, event, choices)
    zero_at = event.seconds if event is not None and event.seconds is not None else 0.0
    held = choices.band_stays.get(series.bench, ())
    stays = stays_within(held, choices.from_seconds, choices.to_seconds, zero_at=zero_at)
    figures = (
        level(series),
        noise(series, step=step.value),
        step,
        drift(series),
        line_rate(series),
        time_in_gaps(series),
        *answers,
    )
    return BenchFigures(
        bench=series.bench,
        name=choices.names.get(series.bench, f"bench {series.bench}"),
        series=series,
        marks=(*choices.marks.get(series.bench, ()), *_marks(series, event)),
        event=event,
        figures=figures,
        allan=allan,
        allan_words=allan_words,
        stays=stays,
        bands=time_in_bands(stays, choices.n_bands),
        response=response,
        course=course,
    )


def _answers(
    series: Series, whole: Series, event: Event | None, choices: Choices
) -> tuple[Response | None, FirstOrder | None, tuple[Figure, ...]]:
    if choices.response == "none":
        return None, None, ()
    if choices.response == "towards ambient":
        cut = series if choices.response_window is None else whole.within(*choices.response_window)
        ambient, u_ambient = choices.ambient_at(series.bench)
        found = ambient_fit(
            cut.seconds,
            cut.values,
            unit=cut.unit,
            ambient=ambient,
            u_ambient=u_ambient,
            resolution=resolution(cut).value or 0.0,
        )
        if isinstance(found, str):
            missing = (no_figure("time constant", "s", found), no_figure("ambient", cut.unit, found))
            return None, None, missing
        return None, found, (found.time_constant, found.after)
    window = choices.response_window
    if window is None:
        window = response_window(whole, _begin_of_response(whole, event))
    if window is None:
        words = "no onset of a response was found"
        names = (
            ("onset", "s"),
            ("time constant", "s"),
            ("rise time", "s"),
            ("settling time", "s"),
            ("overshoot", "%"),
        )
        return None, None, tuple(no_figure(name, unit, words) for name, unit in names)
    answer = response_of(whole, window, settling_band=choices.settling_band)
    figures = (answer.onset, answer.time_constant, answer.rise, answer.settling, answer.overshoot)
    return answer, answer.fit, figures


def _begin_of_response(whole: Series, event: Event | None) -> Event:
    """The event that the time is counted from (then at 0 s), else the first onset."""
    if event is not None and event.kind != "peak" and event.seconds is not None:
        return Event(bench=event.bench, kind=event.kind, seconds=0.0, u=event.u, by=event.by)
    return find_event(whole, "onset")


def _marks(series: Series, event: Event | None) -> tuple[str, ...]:
    n_uncertain = int(np.count_nonzero(series.uncertain))
    marks = []
    if n_uncertain:
        marks.append(f"{n_uncertain} of {len(series)} readings are uncertain; they count")
    if series.n_without_value:
        marks.append(f"{series.n_without_value} lines of the session gave no value; they count for nothing")
    if series.gaps:
        lost = sum(until - since for since, until in series.gaps)
        marks.append(
            f"silent for {lost:.0f} s in {len(series.gaps)} gap{'s' if len(series.gaps) > 1 else ''}"
        )
    if len(series) and not np.isfinite(series.u).any():
        marks.append("the uncertainty of its readings is unknown")
    if event is not None and event.by == "hand":
        marks.append("its event was set by hand")
    return tuple(marks)
