"""One channel of one bench as arrays, cut where the bench was silent."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from dashboard.comparing.moments import Floats

GAP_INTERVALS = 3
GAP_SECONDS = 3.0
_NEIGHBOURS = 5  # intervals on either side from which the usual one is taken: two gaps among them do no harm


@dataclass(frozen=True, slots=True, eq=False)
class Series:
    """The readings with a value, in the order of time.

    `seconds` never falls; `u` is NaN where nothing is known; `uncertain` marks readings whose quality is so.
    """

    bench: int
    channel: str
    unit: str
    seconds: Floats  # session time, or since the bench's event
    values: Floats
    u: Floats
    uncertain: NDArray[np.bool_]
    n_without_value: int = 0  # lines that gave none: quality bad

    def __len__(self) -> int:
        return len(self.values)

    @property
    def usual_interval(self) -> float:
        """The median time between arrivals, in s; NaN below two. Readings of one instant are one arrival."""
        intervals = np.diff(np.unique(self.seconds))
        return float(np.median(intervals)) if len(intervals) else math.nan

    @property
    def gap_after(self) -> NDArray[np.bool_]:
        """Whether a gap follows reading i, shape (n - 1,): no straight line may be drawn there.

        A gap is longer than three usual intervals and than 3 s. The usual interval is the median of the five
        before or of the five after, whichever is longer: a program that goes on at a slower pace left no gap.
        """
        intervals = np.diff(self.seconds)
        is_step = intervals > 0
        found = np.zeros(len(intervals), np.bool_)
        found[is_step] = _gaps(intervals[is_step])
        return found

    @property
    def gaps(self) -> tuple[tuple[float, float], ...]:
        """(from, to) of each gap, in s."""
        at = np.flatnonzero(self.gap_after)
        return tuple((float(self.seconds[i]), float(self.seconds[i + 1])) for i in at)

    @property
    def stretches(self) -> tuple[slice, ...]:
        """The readings between gaps."""
        cuts = [0, *(np.flatnonzero(self.gap_after) + 1).tolist(), len(self)]
        return tuple(slice(a, b) for a, b in itertools.pairwise(cuts) if b > a)

    def within(self, from_seconds: float, to_seconds: float) -> Series:
        """The readings of a time window, both ends included."""
        inside = (self.seconds >= from_seconds) & (self.seconds <= to_seconds)
        return self.picked(inside)

    def picked(self, which: NDArray[np.bool_] | slice) -> Series:
        """Some of the readings."""
        return replace(
            self,
            seconds=self.seconds[which],
            values=self.values[which],
            u=self.u[which],
            uncertain=self.uncertain[which],
        )

    def shifted(self, zero_at: float) -> Series:
        """The same readings with their time counted from there."""
        return replace(self, seconds=self.seconds - zero_at)


def _gaps(intervals: Floats) -> NDArray[np.bool_]:
    n, k = len(intervals), _NEIGHBOURS
    if n == 0:
        return np.zeros(0, np.bool_)
    padded = np.concatenate([np.full(k, np.nan), intervals, np.full(k, np.nan)])
    windows = np.lib.stride_tricks.sliding_window_view(padded, k)
    median = np.full(len(windows), np.nan)
    some = ~np.isnan(windows).all(axis=1)
    median[some] = np.nanmedian(windows[some], axis=1)
    before, after = median[:n], median[k + 1 : k + 1 + n]
    usual = np.fmax(before, after)
    usual = np.where(np.isnan(usual), 0.0, usual)
    found: NDArray[np.bool_] = intervals > np.maximum(GAP_SECONDS, GAP_INTERVALS * usual)
    return found


def series_of(table: pd.DataFrame, channel: str, *, seconds: Floats | None = None) -> Mapping[int, Series]:
    """Each bench's readings of a channel.

    Args:
        table: As `bridge.read_recording` gives it.
        channel: Its name.
        seconds: Session time of each row. None: since the table's first reading, by differences of UTC, which
            jump where the wall clock did.

    Raises:
        ValueError: Nobody has that channel, or a bench has it in two units.
    """
    rows = table[table["channel"] == channel]
    if rows.empty:
        known = ", ".join(sorted(set(table["channel"]))) or "none"
        raise ValueError(f"no bench has a channel {channel!r}; there is: {known}")
    every = _since_the_first(table) if seconds is None else np.asarray(seconds, np.float64)
    at = every[(table["channel"] == channel).to_numpy()]
    numbers = rows["bench"].to_numpy(np.int64)
    return {
        bench: _one_series(bench, channel, rows[numbers == bench], at[numbers == bench])
        for bench in np.unique(numbers).tolist()
    }


def _since_the_first(table: pd.DataFrame) -> Floats:
    ns = (table["time"] - table["time"].min()).to_numpy().astype("timedelta64[ns]").astype(np.int64)
    return np.asarray(ns / 1e9, np.float64)


def _one_series(bench: int, channel: str, rows: pd.DataFrame, seconds: Floats) -> Series:
    units = sorted(set(rows["unit"]))
    if len(units) > 1:
        raise ValueError(f"bench {bench} has channel {channel!r} in several units: {', '.join(units)}")
    order = np.argsort(seconds, kind="stable")
    values = rows["value"].to_numpy(np.float64)[order]
    has_value = np.isfinite(values)
    return Series(
        bench=bench,
        channel=channel,
        unit=units[0],
        seconds=seconds[order][has_value],
        values=values[has_value],
        u=rows["u"].to_numpy(np.float64)[order][has_value],
        uncertain=(rows["quality"].to_numpy() == "uncertain")[order][has_value],
        n_without_value=int((~has_value).sum()),
    )
