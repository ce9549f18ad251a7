"""How two results differ at a bench, as rows of a table."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from dashboard.class_known import clock_words
from dashboard.figures_as_text import NO_VALUE, number_text, plain_number
from dashboard.what_if.differing import (
    ABOVE,
    BELOW,
    AlarmDifference,
    AlarmSide,
    BandDifference,
    Difference,
    ValueDifference,
)

_MOST_TIMES = 4  # that are told of one alarm


class Row(NamedTuple):
    """One thing that differs at one bench."""

    bench: int
    what: str
    before: str
    after: str
    change: str  # "" where it can't be said


def count_words(n: int) -> str:
    """ "once", "twice", "3 times", "never"."""
    return {0: "never", 1: "once", 2: "twice"}.get(n, f"{n} times")


def rows_of(bench: int, difference: Difference, decimals: Mapping[str, int]) -> Iterator[Row]:
    """All that differs at a bench.

    Args:
        bench: Its number.
        difference: Of the whole class.
        decimals: Of the channels that the lesson has.
    """
    for value in difference.values:
        if value.of.bench == bench and not value.is_same:
            yield from _value_rows(value, decimals.get(value.of.channel))
    for alarm in difference.alarms:
        if alarm.of.bench == bench and not alarm.is_same:
            yield from _alarm_rows(alarm)
    for band in difference.bands:
        if band.of.bench == bench and not band.is_same:
            yield from _band_rows(band)
    for finding in difference.findings:
        if finding.bench == bench and not finding.is_same:
            where = f" in {finding.channel}" if finding.channel else ""
            found = _spans(finding.before), _spans(finding.after)
            yield Row(bench, f"found “{finding.kind}”{where}", *found, "")


def _value_rows(one: ValueDifference, decimals: int | None) -> Iterator[Row]:
    bench, channel = one.of
    unit = f" {one.unit}" if one.unit else ""
    for name, label in (("mean", "mean"), ("greatest", "highest"), ("least", "lowest")):
        a, b = getattr(one.before, name), getattr(one.after, name)
        if a != b and not (math.isnan(a) and math.isnan(b)):
            old, new = pair_text(a, b, decimals)
            change = one.mean_change if name == "mean" else b - a
            yield Row(bench, f"{channel}, {label}", old + unit, new + unit, _signed(change, decimals, unit))
    if one.before.u != one.after.u and not (math.isnan(one.before.u) and math.isnan(one.after.u)):
        old, new = pair_text(one.before.u, one.after.u, None)
        label = f"standard uncertainty of {channel}, median"
        yield Row(bench, label, old + unit, new + unit, "")
    counts = (
        ("n_without", f"lines without a value of {channel}"),
        ("n_uncertain", f"uncertain readings of {channel}"),
    )
    for name, label in counts:
        a, b = getattr(one.before, name), getattr(one.after, name)
        if a != b:
            yield Row(bench, label, str(a), str(b), _signed(b - a, 0, ""))


def _alarm_rows(one: AlarmDifference) -> Iterator[Row]:
    bench, old, new = one.of.bench, one.before, one.after
    alarm = f"alarm “{one.of.limit}”"
    if old.rises != new.rises:
        n_more = new.n_rises - old.n_rises
        come = _signed(n_more, 0, "") if n_more else ""
        yield Row(bench, f"{alarm} came", _rises(old), _rises(new), come)
    if old.standing_seconds != new.standing_seconds:
        yield _span_row(bench, f"{alarm} stood", old.standing_seconds, new.standing_seconds)
    if old.priority != new.priority:
        yield Row(bench, f"{alarm}, priority", old.priority or "no alarm", new.priority or "no alarm", "")
    if any(side.kind in (*ABOVE, *BELOW) for side in (old, new)) and old.beyond_seconds != new.beyond_seconds:
        change = _signed_span(new.beyond_seconds - old.beyond_seconds)
        beyond = _beyond(old, one.unit), _beyond(new, one.unit)
        yield Row(bench, f"value beyond the limit “{one.of.limit}”", *beyond, change)


def _rises(side: AlarmSide) -> str:
    """ "twice, at 0:31, 4:10"."""
    often = count_words(side.n_rises)
    if not side.rises:
        return often
    at = ", ".join(clock_words(one) for one in side.rises[:_MOST_TIMES])
    return f"{often}, at {at}" + (" …" if side.n_rises > _MOST_TIMES else "")


def _beyond(side: AlarmSide, unit: str) -> str:
    if side.at is None or math.isnan(side.beyond_seconds):
        return NO_VALUE
    where = "above" if side.kind in ABOVE else "below"
    return f"{clock_words(side.beyond_seconds)} {where} {side.at:g} {unit}".rstrip()


def _band_rows(one: BandDifference) -> Iterator[Row]:
    bench = one.of.bench
    for band, name in enumerate(one.names):
        old, new = one.before.seconds[band], one.after.seconds[band]
        if old != new:
            label = f"in band {band}" + (f", “{name}”" if name else "")
            yield _span_row(bench, label, old, new)
    if one.before.n_changes != one.after.n_changes:
        old_n, new_n = one.before.n_changes, one.after.n_changes
        yield Row(bench, "changes of the band", str(old_n), str(new_n), _signed(new_n - old_n, 0, ""))


def _span_row(bench: int, what: str, old: float, new: float) -> Row:
    return Row(bench, what, clock_words(old), clock_words(new), _signed_span(new - old))


def _spans(spans: Sequence[tuple[float, float]]) -> str:
    if not spans:
        return "not found"
    told = [
        f"{clock_words(since)} to {'the end' if math.isnan(until) else clock_words(until)}"
        for since, until in spans[:3]
    ]
    return ", ".join(told) + (f" and {len(spans) - 3} more times" if len(spans) > 3 else "")


# ---- numbers ----


def pair_text(old: float, new: float, decimals: int | None) -> tuple[str, str]:
    """Both with so many digits that they differ where the values do."""
    if decimals is not None:
        texts = _text(old, decimals), _text(new, decimals)
        if texts[0] != texts[1] or old == new:
            return texts
    plain = _text(old, None), _text(new, None)
    return plain if plain[0] != plain[1] or old == new else (_text(old, 9), _text(new, 9))


def _text(value: float, decimals: int | None) -> str:
    if math.isnan(value):
        return NO_VALUE
    return plain_number(value) if decimals is None else number_text(value, decimals)


def _signed(change: float, decimals: int | None, unit: str) -> str:
    if math.isnan(change):
        return ""
    text = plain_number(change) if decimals is None else number_text(change, decimals)
    if not float(text.replace("−", "-")) and change:
        text = f"{change:.2g}".replace("-", "−")
    return f"{'+' if change > 0 else ''}{text}{unit}"


def _signed_span(change: float) -> str:
    if math.isnan(change):
        return ""
    if abs(change) < 0.5:
        return f"{change:+.2f} s".replace("-", "−")
    return f"{'+' if change > 0 else ''}{clock_words(change)}".replace("-", "−")
