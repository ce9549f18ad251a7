"""How two results of one recording differ: values, alarms, bands, findings."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from bridge import KeptSession
from dashboard.comparing.moments import Floats
from dashboard.comparing.series import GAP_INTERVALS, GAP_SECONDS

STANDS = ("unacknowledged", "acknowledged")
"""States of an alarm whose condition is present and that nobody has set aside."""
ABOVE = ("high-high", "high")
BELOW = ("low", "low-low")


class Of(NamedTuple):
    """A channel of a bench."""

    bench: int
    channel: str


class AlarmOf(NamedTuple):
    """An alarm of a bench; channel "" for one on its findings."""

    bench: int
    channel: str
    limit: str


class ValueSide(NamedTuple):
    """A bench's values in one of the results; NaN without any."""

    n_values: int
    n_without: int  # lines that gave none
    n_uncertain: int
    mean: float
    least: float
    greatest: float
    u: float  # the median


class ValueDifference(NamedTuple):
    """The values of one channel of one bench."""

    of: Of
    unit: str
    before: ValueSide
    after: ValueSide
    mean_change: float  # over the lines that have a value in both; NaN without any
    is_same: bool  # bit for bit, with uncertainty and quality


class AlarmSide(NamedTuple):
    """An alarm in one of the results."""

    n_rises: int
    rises: tuple[float, ...]  # session seconds
    standing_seconds: float
    at: float | None  # the limit; None: the lesson has no such alarm
    kind: str  # "" without one
    priority: str
    beyond_seconds: float  # how long the value lay beyond the limit; NaN where that means nothing


class AlarmDifference(NamedTuple):
    """One alarm of one bench."""

    of: AlarmOf
    unit: str
    before: AlarmSide
    after: AlarmSide
    is_same: bool  # every transition at the same instant


class BandSide(NamedTuple):
    """The bands of a channel in one of the results."""

    seconds: tuple[float, ...]  # in each band
    n_changes: int


class BandDifference(NamedTuple):
    """The bands of one channel of one bench."""

    of: Of
    names: tuple[str, ...]  # from the lowest; of the changed lesson
    before: BandSide
    after: BandSide
    is_same: bool


class FindingDifference(NamedTuple):
    """One kind of finding of one bench; times are session seconds, to NaN where it stood to the end."""

    bench: int
    channel: str
    kind: str
    before: tuple[tuple[float, float], ...]
    after: tuple[tuple[float, float], ...]

    @property
    def is_same(self) -> bool:
        """Whether it stood at the same times."""
        return str(self.before) == str(self.after)  # NaN is not equal to itself


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """All of it, also what is the same; each in the order of benches."""

    values: tuple[ValueDifference, ...]
    alarms: tuple[AlarmDifference, ...]
    bands: tuple[BandDifference, ...]
    findings: tuple[FindingDifference, ...]

    @property
    def is_same(self) -> bool:
        """Whether nothing differs at all."""
        return not self.benches

    @property
    def benches(self) -> tuple[int, ...]:
        """Those at which something differs."""
        found = {one.of.bench for one in self.values if not one.is_same}
        found |= {one.of.bench for one in self.alarms if not one.is_same}
        found |= {one.of.bench for one in self.bands if not one.is_same}
        found |= {one.bench for one in self.findings if not one.is_same}
        return tuple(sorted(found))


def difference_of(before: KeptSession, after: KeptSession) -> Difference:
    """How the second differs from the first."""
    rows = _rows_by_channel(before), _rows_by_channel(after)
    every = sorted(rows[0].keys() | rows[1].keys(), key=_in_order(after))
    return Difference(
        values=tuple(_values(before, after, of, *(one.get(of) for one in rows)) for of in every),
        alarms=tuple(_alarms(before, after, *rows)),
        bands=tuple(_bands(before, after)),
        findings=tuple(_findings(before, after)),
    )


def _in_order(session: KeptSession) -> Callable[[Of], tuple[int, int, str]]:
    channels = [one.name for one in session.lesson.channels]

    def order(of: Of) -> tuple[int, int, str]:
        place = channels.index(of.channel) if of.channel in channels else len(channels)
        return place, of.bench, of.channel

    return order


Rows = NDArray[np.int64]


def _rows_by_channel(session: KeptSession) -> dict[Of, Rows]:
    table = session.table
    channels = table["channel"].to_numpy()
    benches = table["bench"].to_numpy(np.int64)
    found = {}
    for channel in pd.unique(table["channel"]):
        is_its = channels == channel
        for bench in np.unique(benches[is_its]).tolist():
            found[Of(bench, str(channel))] = np.flatnonzero(is_its & (benches == bench))
    return found


# ---- values ----


def _values(
    before: KeptSession, after: KeptSession, of: Of, old: Rows | None, new: Rows | None
) -> ValueDifference:
    tables = [
        session.table.iloc[np.empty(0, np.int64) if rows is None else rows]
        for session, rows in ((before, old), (after, new))
    ]
    units = [*tables[1]["unit"].unique(), *tables[0]["unit"].unique()]
    return ValueDifference(
        of=of,
        unit=str(units[0]) if units else "",
        before=_value_side(tables[0]),
        after=_value_side(tables[1]),
        mean_change=_mean_change(*tables) if len(set(units)) == 1 else math.nan,
        is_same=_are_same(*tables),
    )


def _value_side(table: pd.DataFrame) -> ValueSide:
    values = table["value"].to_numpy(np.float64)
    known = values[np.isfinite(values)]
    u = table["u"].to_numpy(np.float64)
    some = len(known) > 0
    return ValueSide(
        n_values=len(known),
        n_without=len(values) - len(known),
        n_uncertain=int((table["quality"] == "uncertain").sum()),
        mean=math.fsum(known) / len(known) if some else math.nan,
        least=float(known.min()) if some else math.nan,
        greatest=float(known.max()) if some else math.nan,
        u=float(np.nanmedian(u)) if np.isfinite(u).any() else math.nan,
    )


def _mean_change(old: pd.DataFrame, new: pd.DataFrame) -> float:
    """Over the lines that have a value in both: a conversion may give some of them none."""
    a, b = (one.drop_duplicates("line").set_index("line")["value"].dropna() for one in (old, new))
    lines = a.index.intersection(b.index)
    if not len(lines):
        return math.nan
    changes: Floats = b.loc[lines].to_numpy(np.float64) - a.loc[lines].to_numpy(np.float64)
    return math.fsum(changes) / len(changes)


def _are_same(old: pd.DataFrame, new: pd.DataFrame) -> bool:
    if len(old) != len(new):
        return False
    numbers = all(
        np.array_equal(old[name].to_numpy(), new[name].to_numpy(), equal_nan=True) for name in ("value", "u")
    )
    return numbers and all(
        np.array_equal(old[name].to_numpy(), new[name].to_numpy())
        for name in ("time", "unit", "quality", "line")
    )


# ---- alarms ----


def _alarms(
    before: KeptSession, after: KeptSession, old: Mapping[Of, Rows], new: Mapping[Of, Rows]
) -> Iterable[AlarmDifference]:
    sides = [_transitions(one) for one in (before, after)]
    names = sides[0].keys() | sides[1].keys() | _given(before, old) | _given(after, new)
    for of in sorted(names):
        transitions = [side.get(of, []) for side in sides]
        one = _alarm_side(before, of, transitions[0], old)
        other = _alarm_side(after, of, transitions[1], new)
        yield AlarmDifference(
            of=of,
            unit=next((one.unit for one in after.lesson.channels if one.name == of.channel), ""),
            before=one,
            after=other,
            is_same=transitions[0] == transitions[1] and _judge_alike(one, other),
        )


def _judge_alike(one: AlarmSide, other: AlarmSide) -> bool:
    """Of sides with the same transitions; an alarm that is new and never comes makes no difference."""
    beyond = [0.0 if math.isnan(side.beyond_seconds) else side.beyond_seconds for side in (one, other)]
    return beyond[0] == beyond[1] and (not (one.kind and other.kind) or one.priority == other.priority)


Transition = tuple[int, str, str]  # at_ns, event, state


def _transitions(session: KeptSession) -> dict[AlarmOf, list[Transition]]:
    found: dict[AlarmOf, list[Transition]] = defaultdict(list)
    for one in session.alarms:
        change = one.change
        of = AlarmOf(change.bench, change.channel, change.limit)
        found[of].append((change.at_ns, change.event, change.state))
    return found


def _given(session: KeptSession, rows: Mapping[Of, Rows]) -> set[AlarmOf]:
    """The alarms on limits that the lesson has for what is there."""
    return {
        AlarmOf(of.bench, of.channel, limit.key)
        for of in rows
        for channel in session.lesson.channels
        if channel.name == of.channel
        for limit in channel.limits
    }


def _alarm_side(
    session: KeptSession, of: AlarmOf, transitions: list[Transition], rows: Mapping[Of, Rows]
) -> AlarmSide:
    standing_ns = 0
    since_ns: int | None = None
    for at_ns, _, state in transitions:
        if since_ns is not None and state not in STANDS:
            standing_ns, since_ns = standing_ns + at_ns - since_ns, None
        elif since_ns is None and state in STANDS:
            since_ns = at_ns
    if since_ns is not None:
        standing_ns += session.length_ns - since_ns
    given = session.lesson.alarm(of.channel, of.limit)
    rises = tuple(at_ns / 1e9 for at_ns, event, _ in transitions if event == "rise")
    return AlarmSide(
        n_rises=len(rises),
        rises=rises,
        standing_seconds=standing_ns / 1e9,
        at=None if given is None else given.at,
        kind="" if given is None else given.kind,
        priority="" if given is None else given.priority,
        beyond_seconds=_beyond_seconds(session, of, rows.get(Of(of.bench, of.channel))),
    )


def _beyond_seconds(session: KeptSession, of: AlarmOf, rows: Rows | None) -> float:
    """How long the value lay beyond a plain limit; each value holds until the next one, but over no gap."""
    given = session.lesson.alarm(of.channel, of.limit)
    if rows is None or given is None or given.kind not in (*ABOVE, *BELOW):
        return math.nan
    values = session.table["value"].to_numpy(np.float64)[rows]
    seconds = session.seconds[rows]
    order = np.argsort(seconds, kind="stable")
    values, spans = values[order], np.diff(seconds[order], append=np.nan)
    usual = np.median(spans[spans > 0]) if (spans > 0).any() else 0.0
    held = np.where(spans <= max(GAP_SECONDS, GAP_INTERVALS * usual), spans, 0.0)
    with np.errstate(invalid="ignore"):
        is_beyond = values > given.at if given.kind in ABOVE else values < given.at
    return math.fsum(held[is_beyond])


# ---- bands ----


def _bands(before: KeptSession, after: KeptSession) -> Iterable[BandDifference]:
    sides = [_stays(one) for one in (before, after)]
    for of in sorted(sides[0].keys() | sides[1].keys(), key=lambda one: (one.channel, one.bench)):
        old, new = (one.get(of, []) for one in sides)
        n_bands = 1 + max(band for band, _, _ in (*old, *new))
        names = band_names(after, of.channel)
        n_bands = max(n_bands, len(names))
        yield BandDifference(
            of=of,
            names=(*names, *("",) * (n_bands - len(names))),
            before=_band_side(old, n_bands),
            after=_band_side(new, n_bands),
            is_same=old == new,
        )


def band_names(session: KeptSession, channel: str) -> tuple[str, ...]:
    """From the lowest; none where the lesson's phases have bands of their own, whose names differ."""
    given = next((one for one in session.lesson.channels if one.name == channel), None)
    return (
        given.bands.names if given is not None and given.bands is not None and not given.phase_bands else ()
    )


Stay = tuple[int, int, int]  # band, since_ns, until_ns


def _stays(session: KeptSession) -> dict[Of, list[Stay]]:
    found: dict[Of, list[Stay]] = defaultdict(list)
    for one in session.bands:
        found[Of(one.bench, one.channel)].append((one.band, one.since_ns, one.until_ns))
    return found


def _band_side(stays: list[Stay], n_bands: int) -> BandSide:
    ns = [0] * n_bands
    for band, since_ns, until_ns in stays:
        ns[band] += until_ns - since_ns
    changes = sum(old[2] == new[1] and old[0] != new[0] for old, new in pairwise(stays))
    return BandSide(tuple(one / 1e9 for one in ns), changes)


# ---- findings ----


def _findings(before: KeptSession, after: KeptSession) -> Iterable[FindingDifference]:
    sides = [_standings(one) for one in (before, after)]
    for key in sorted(sides[0].keys() | sides[1].keys()):
        yield FindingDifference(*key, tuple(sides[0].get(key, ())), tuple(sides[1].get(key, ())))


def _standings(session: KeptSession) -> dict[tuple[int, str, str], list[tuple[float, float]]]:
    found: dict[tuple[int, str, str], list[tuple[float, float]]] = defaultdict(list)
    for one in session.findings:
        gone = math.nan if one.gone_ns is None else one.gone_ns / 1e9
        found[(one.bench, one.finding.channel, one.finding.kind)].append((one.found_ns / 1e9, gone))
    return found
