"""How two results differ, in sentences; for the page and the command alike."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from dashboard.class_known import clock_words
from dashboard.what_if.both import Both, Source
from dashboard.what_if.differing import (
    AlarmDifference,
    BandDifference,
    Difference,
    FindingDifference,
    ValueDifference,
)
from dashboard.what_if.rows import Row, count_words, pair_text, rows_of

SAME = "Nothing differs: every reading, band, alarm and finding comes out the same, bit for bit."

_COMPUTED = (
    "Both are computed from the recorded bytes by the same code as a live session.",
    "What people did, such as acknowledging an alarm, happens in both at the same times.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """The whole difference in words."""

    source: tuple[str, ...]  # what was compared with what
    summary: tuple[str, ...]  # about the class
    benches: Mapping[int, str]  # a sentence each, of those at which something differs
    rows: tuple[Row, ...]
    names: Mapping[int, str]


def told_of(both: Both, difference: Difference) -> Told:
    """All that is said of two results."""
    lesson, damage = both.after.lesson, both.before.damage  # the second is read no further
    every = sorted({one.of.bench for one in difference.values} | set(difference.benches))
    names = {bench: _name(bench, lesson.bench(bench).name) for bench in every}
    decimals = {one.name: one.decimals for one in lesson.channels}
    rows = [row for bench in difference.benches for row in rows_of(bench, difference, decimals)]
    return Told(
        source=(*source_sentences(both.source, [one.sentence for one in both.changes]), *_COMPUTED),
        summary=(*_summary(difference, len(every)), *([f"{damage}."] if damage else [])),
        benches={
            bench: _bench_sentence(bench, names[bench], difference, decimals) for bench in difference.benches
        },
        rows=tuple(rows),
        names=names,
    )


def source_sentences(source: Source, changes: Sequence[str]) -> Iterator[str]:
    """What the change is applied to."""
    for change in changes:
        yield f"{change}."
    if source.lesson is not None:
        yield (
            f"Before: the whole session with the lesson {source.lesson.name}. "
            "After: the whole session with that lesson changed."
        )
    elif source.revised_ns:
        times = ", ".join(clock_words(at_ns / 1e9) for at_ns in source.revised_ns[:5])
        more = " and later" if len(source.revised_ns) > 5 else ""
        yield (
            f"The lesson was revised during the session (at {times}{more}). Before: what the recording "
            "shows, each revision from its own time on. After: the last revision, changed, for the whole "
            "session; so what the revisions themselves did differs as well."
        )
    else:
        yield "Before: what the recording shows. After: the whole session with the changed lesson."


def _name(bench: int, name: str) -> str:
    return f"Bench {bench}" if name in ("", f"Bench {bench}") else f"Bench {bench}, {name}"


# ---- sentences ----


def _summary(difference: Difference, n_benches: int) -> Iterator[str]:
    if difference.is_same:
        yield SAME
        return
    yield _how_many(len(difference.benches), n_benches)
    old, new = (sum(getattr(one, side).n_rises for one in difference.alarms) for side in ("before", "after"))
    if old and not new:
        yield f"The alarms of the class came {count_words(old)}; none would have come."
    elif new and not old:
        yield f"The alarms of the class never came and would have come {count_words(new)}."
    elif old != new:
        yield f"The alarms of the class came {count_words(old)} and would have come {count_words(new)}."
    elif difference.alarms:
        yield f"The alarms of the class would have come as often: {count_words(new)}."


def _how_many(n: int, n_benches: int) -> str:
    if n == n_benches:
        return f"Something differs at {f'all {n} benches' if n > 1 else 'the one bench that there is'}."
    return f"Something differs at {n} of {n_benches} benches; nothing differs at the other {n_benches - n}."


def _bench_sentence(bench: int, name: str, difference: Difference, decimals: Mapping[str, int]) -> str:
    parts = [
        *(_value_words(one, decimals) for one in difference.values if _is_told(one, bench)),
        *(_alarm_words(one) for one in difference.alarms if _is_told(one, bench)),
        *(_band_words(one) for one in difference.bands if _is_told(one, bench)),
        *(_finding_words(one) for one in difference.findings if one.bench == bench and not one.is_same),
    ]
    told = [one for one in parts if one] or ["only how long the value lay beyond a limit differs"]
    return f"{name}: {'; '.join(told)}."


def _is_told(one: ValueDifference | AlarmDifference | BandDifference, bench: int) -> bool:
    return one.of.bench == bench and not one.is_same


def _value_words(one: ValueDifference, decimals: Mapping[str, int]) -> str:
    channel, unit = one.of.channel, f" {one.unit}" if one.unit else ""
    old, new = pair_text(one.before.mean, one.after.mean, decimals.get(channel))
    if not one.before.n_values and not one.after.n_values:
        return f"{channel} has no value in either"
    if not one.before.n_values:
        return f"{channel}, without any value before, is {new}{unit} on average"
    if not one.after.n_values:
        return f"{channel}, {old}{unit} on average, has no value any more"
    if one.before.mean != one.after.mean:
        return f"{channel} {old}{unit} becomes {new}{unit} on average"
    if one.before.n_uncertain != one.after.n_uncertain:
        n = one.after.n_uncertain
        return f"{n} readings of {channel} are uncertain instead of {one.before.n_uncertain}"
    old_u, new_u = pair_text(one.before.u, one.after.u, None)
    return f"only the uncertainty of {channel} differs: {old_u}{unit} becomes {new_u}{unit}"


def _alarm_words(one: AlarmDifference) -> str:
    its, old, new = f"its alarm “{one.of.limit}”", one.before, one.after
    if new.n_rises == 0 and old.n_rises > 0:
        often = "" if old.n_rises == 1 else f" (it came {count_words(old.n_rises)})"
        return f"{its} would not have come{often}"
    if old.n_rises == 0 and new.n_rises > 0:
        return f"{its} would have come {count_words(new.n_rises)}"
    if old.n_rises != new.n_rises:
        return f"{its} would have come {count_words(new.n_rises)} instead of {count_words(old.n_rises)}"
    if clock_words(old.standing_seconds) != clock_words(new.standing_seconds):
        stood = clock_words(new.standing_seconds), clock_words(old.standing_seconds)
        return f"{its} would have stood for {stood[0]} instead of {stood[1]} (min:s)"
    if old.n_rises and (old.standing_seconds != new.standing_seconds):
        return f"{its} would have come at other times"
    if old.priority != new.priority and old.priority:
        return f"{its} has priority {new.priority} instead of {old.priority}"
    return ""  # only the time beyond its limit differs


def _band_words(one: BandDifference) -> str:
    old, new = one.before, one.after
    if old.n_changes != new.n_changes:
        changed = count_words(new.n_changes), count_words(old.n_changes)
        return f"its band would have changed {changed[0]} instead of {changed[1]}"
    if not sum(old.seconds):
        return "it would have had bands"
    return "its times in the bands differ" if sum(new.seconds) else "it would have had no bands"


def _finding_words(one: FindingDifference) -> str:
    if not one.after:
        return f"“{one.kind}” would not have been found"
    if not one.before:
        return f"“{one.kind}” would have been found"
    return f"“{one.kind}” would have been found at other times"
