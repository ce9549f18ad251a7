"""One channel of one bench under watch: its band and its alarms."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from bridge.core.alarm_given import AlarmGiven
from bridge.core.alarm_kinds import DeviationWatch, QualityWatch
from bridge.core.alarm_set import AlarmSet
from bridge.core.as_written import sum_as_written
from bridge.core.band_times import BandTally, BandTimes, PlainBands, new_flickers
from bridge.core.bands import HeldBand
from bridge.core.bands_given import BandsGiven, bands_in
from bridge.core.baselines import Baseline, BaselineFinder
from bridge.core.limits import EVERYTHING, NEVER_NS, AlarmWatch
from bridge.core.readings import BandChange, Change, Quality


class _LaidAside(NamedTuple):
    """What was counted in bands that another phase has."""

    edges: tuple[float, ...]
    tally: BandTally
    plain: PlainBands


class ChannelWatch(AlarmSet):
    """Takes a channel's values in the order of their times and tells what changed.

    `low <= value < high` says that a value changes neither a band nor a plain limit: the pipeline asks that
    first, for a whole chunk at once, since nearly every value changes nothing. Such values need no `take`;
    where `hears_all` they go to `hear`, or many of them to `hear_many` once `is_quiet` has said yes.
    """

    def __init__(
        self,
        bench: int,
        channel: str,
        *,
        bands: BandsGiven | None,
        baseline: float | None,
        limits: Sequence[AlarmGiven],
        phase_bands: tuple[BandsGiven, ...] = (),
    ) -> None:
        """`phase_bands` take the place of `bands` in their phases, above the same baseline."""
        super().__init__(bench, channel, limits)
        self.bands, self.phase_bands = bands, phase_bands
        self.bands_now = bands  # those of the lesson's phase; None where it has none
        self.baseline = baseline if baseline is not None else (bands.baseline if bands else None)
        self.edges: tuple[float, ...] = ()
        self._laid_aside: dict[BandsGiven, _LaidAside] = {}  # of other phases
        self.tally: BandTally | None = None  # time and changes of each band
        self.plain: PlainBands | None = None  # what a board would show without deadband and dwell
        self.flickers = new_flickers()  # the same over time, whatever bands there were
        self._held: HeldBand | None = None
        self._finder: BaselineFinder | None = None
        if bands is not None and bands.baseline_from != "fixed":
            seeks = bands.baseline_from == "start" and self.baseline is None
            self._finder = BaselineFinder(bands.steady_seconds, seeks=seeks)
        self.found: Baseline | None = None  # the baseline that was found at the start
        self._set_edges()
        self.low, self.high = -math.inf, math.inf
        self._hearers = tuple(watch for watch in self.watches if watch.hears_all)
        self.hears_all = bool(self._hearers) or bands is not None
        self.heeds_misses = any(isinstance(watch, QualityWatch) for watch in self.watches)
        self._settle()

    @property
    def band(self) -> int | None:
        """The band that is held."""
        return self._held.band if self._held else None

    @property
    def edge_names(self) -> tuple[str, ...]:
        """What the bands of now are called; none while the bench has no bands."""
        return self.bands_now.names if self.bands_now is not None and self.edges else ()

    @property
    def n_edge_changes_avoided(self) -> int:
        """How many edge changes the deadband and the dwell have spared so far."""
        if self.plain is None or self.tally is None:
            return 0
        return self.plain.n_edge_changes - self.tally.n_edge_changes

    def take(self, value: float, at_ns: int, quality: Quality = "good") -> list[Change]:
        """Take a value that counts, any one; one that counts may be uncertain."""
        changes = self.tick(at_ns) if self.due_ns <= at_ns else []
        self.value = value
        changes += self._band_taken(value, at_ns)
        if self._finder is not None:
            self._finder.take_many((at_ns,), (value,))
        for watch in self.watches:
            _give(watch, value, at_ns, quality)
        self._settle()
        return changes + self.tick(at_ns)

    def hear(self, value: float, at_ns: int, quality: Quality = "good") -> list[Change]:
        """Take a value within `low` and `high`: as `take`, cheaper."""
        changes = self.tick(at_ns) if self.due_ns <= at_ns else []
        if not self.low <= value < self.high:  # what fell due has brought the bench its bands
            return changes + self.take(value, at_ns, quality)
        self.value = value
        if self.plain is not None:
            self.plain.take(value, at_ns)
        if self._finder is not None:
            self._finder.take_many((at_ns,), (value,))
        for watch in self._hearers:
            _give(watch, value, at_ns, quality)
        if self._hearers or self._finder is not None:
            self._settle()
            changes += self.tick(at_ns)
        return changes

    def is_quiet(self, times_ns: Sequence[int], values: Sequence[float]) -> bool:
        """Whether `hear` of these values, all within `low` and `high`, would tell nothing on the way."""
        shelf_ns = min((one.shelf_ns for one in self.watches if not one.is_by_class), default=NEVER_NS)
        if shelf_ns <= times_ns[-1] or (self._finder is not None and not self._finder.is_quiet(times_ns)):
            return False
        return all(one.is_quiet(times_ns, values) for one in self._hearers)

    def hear_many(self, times_ns: Sequence[int], values: Sequence[float]) -> None:
        """`hear` of each, after `is_quiet` has said yes: with the same outcome, many times as fast."""
        self.value = values[-1]
        if self.plain is not None:
            self.plain.take_many(values, times_ns)
        if self._finder is not None:
            self._finder.take_many(times_ns, values)
        for watch in self._hearers:
            watch.take_many(times_ns, values)
        if self._hearers or self._finder is not None:
            self._settle()

    def miss(self, at_ns: int, quality: str = "bad") -> list[Change]:
        """A line came without the value, or with one not to be trusted: nobody can vouch for a delay."""
        changes = self.tick(at_ns)
        for watch in self.watches:
            watch.miss(at_ns, quality)
        if self._held is not None:
            self._held.miss()
        self._settle()
        return changes + self.tick(at_ns)

    def lose(self, at_ns: int) -> list[Change]:
        """There is no value any more: no band, no delay under way. A raised alarm stands."""
        changes = self.tick(at_ns)
        self.value = None
        for watch in self.watches:
            watch.lose()
        changes += self._band_lost(at_ns)
        if self._finder is not None:
            self._finder.lose()
        self._settle()
        return changes

    def compare(self, value: float | None, median: float | None, n_benches: int, at_ns: int) -> list[Change]:
        """Judge the deviation from the class.

        Args:
            value: The bench's value as it stood before that instant, None without one that is new enough.
            median: That of the class at the same instant, None without one.
            n_benches: How many benches the median is made from.
            at_ns: A full second of session time.
        """
        changes = self.tick_class(at_ns)
        for watch in self.watches:
            if isinstance(watch, DeviationWatch):
                watch.compare(value, median, n_benches, at_ns)
        self._settle()
        return changes + self.tick_class(at_ns)

    def set_step(self, step: float) -> None:
        """The least difference between two readings, in the unit: a baseline is no finer."""
        if self._finder is not None:
            self._finder.step = step

    def baseline_now(self, at_ns: int) -> Baseline | None:
        """The mean of the newest stretch, for a press; None when it is not steady, or the lesson fixes it."""
        return self._finder.at(at_ns) if self._finder is not None else None

    def set_baseline(self, baseline: float | None, at_ns: int) -> list[Change]:
        """The bench's baseline was captured, or found: its bands lie above it from now on."""
        changes = self.tick(at_ns)
        if baseline != self.baseline:
            if self._finder is not None and baseline is not None:
                self._finder.stop()
            changes += self._rebase(baseline, at_ns)
            self._settle()
        return changes

    def enter_phase(self, phase: str, at_ns: int, who: str = "rule") -> list[Change]:
        """The lesson is in that phase now: no bands either where they are not watched in it."""
        changes = super().enter_phase(phase, at_ns, who)
        wanted = bands_in(phase, self.bands, self.phase_bands)
        if wanted == self.bands_now:
            return changes
        changes += self._band_lost(at_ns)
        if self.bands_now is not None and self.tally and self.plain and self.tally.begun_ns is not None:
            self._laid_aside[self.bands_now] = _LaidAside(self.edges, self.tally, self.plain)
        self.bands_now = wanted
        self._set_edges()
        if wanted is not None:
            before = self._laid_aside.pop(wanted, None)
            if before is not None and before.edges == self.edges:  # the times in the bands go on
                self.tally, self.plain = before.tally, before.plain
            if self.value is not None:
                changes += self._band_taken(self.value, at_ns)
        self._settle()
        return changes

    def band_times(self, now_ns: int) -> list[BandTimes]:
        """The times in the bands of now, then in those that other phases had."""
        found = []
        if self.bands_now is not None and self.tally is not None and self.plain is not None:
            held = _LaidAside(self.edges, self.tally, self.plain)
            found.append(self._times_of(self.bands_now, held, now_ns, is_on=True))
        for bands, aside in self._laid_aside.items():
            found.append(self._times_of(bands, aside, now_ns, is_on=False))
        return found

    def resume_from(self, older: AlarmSet) -> None:
        """Carry over the alarms of the watch that this one replaces; the band is found anew.

        A baseline that was captured or found stays, where it still comes from there; so do the times in the
        bands while their edges do.
        """
        if isinstance(older, ChannelWatch) and self.bands is not None and older.bands is not None:
            self._resume_bands(older, self.bands.baseline_from == older.bands.baseline_from)
        super().resume_from(older)

    def _resume_bands(self, older: ChannelWatch, keeps_baseline: bool) -> None:
        self.flickers = older.flickers
        if (self.bands, self.phase_bands) == (older.bands, older.phase_bands):
            self.bands_now, self._laid_aside = older.bands_now, older._laid_aside
        if keeps_baseline and self.baseline is None and older.baseline is not None:
            self.baseline, self.found = older.baseline, older.found
        self._set_edges()
        if self._finder is not None and older._finder is not None and self.bands == older.bands:
            self._finder = older._finder
        if self._finder is not None and self.baseline is not None:
            self._finder.stop()
        if self.edges == older.edges and self.bands_now is not None and older.bands_now is not None:
            self.tally, self.plain = older.tally, older.plain

    def _times_of(self, bands: BandsGiven, held: _LaidAside, now_ns: int, *, is_on: bool) -> BandTimes:
        edges, tally, plain = held
        return BandTimes(
            self.channel, bands.phases, is_on, bands.names, edges, tally.begun_ns, tally.totals(now_ns),
            tally.n_changes, tally.n_edge_changes, plain.n_edge_changes,
        )  # fmt: skip

    def _set_edges(self) -> None:
        bands = self.bands_now
        self.edges, self._held, self.plain, self.tally = (), None, None, None
        if bands is None or self.baseline is None:
            return
        self.edges = tuple(sum_as_written(self.baseline, edge) for edge in bands.edges)
        dwell_ns = round(bands.dwell_seconds * 1e9)
        self._held = HeldBand(self.edges, deadband=bands.deadband, dwell_ns=dwell_ns)
        self.plain, self.tally = PlainBands(self.edges, self.flickers), BandTally(len(self.edges) + 1)

    def _fire(self, due_ns: int) -> list[Change]:
        """What is due at that instant: first the band, then the baseline, last the alarms."""
        if self._held is not None and self._held.due_ns == due_ns:
            before = self._held.band
            return self._band_changed(self._held.fire(), before, due_ns)
        if self._finder is not None and self._finder.due_ns == due_ns:
            self.found = self._finder.look()
            return self._rebase(self.found.value, due_ns) if self.found else []
        return super()._fire(due_ns)

    def _rebase(self, baseline: float | None, at_ns: int) -> list[Change]:
        before, self.baseline = self.band, baseline
        self._laid_aside = {}  # their edges lie elsewhere now
        self._set_edges()
        if self._held is None or self.value is None:
            return self._band_changed(None, before, at_ns)
        if self.plain is not None:
            self.plain.take(self.value, at_ns)
        band = self._held.take(self.value, at_ns)
        if self.tally is not None:
            self.tally.take(band, at_ns)
        return self._band_changed(band, before, at_ns)

    def _band_taken(self, value: float, at_ns: int) -> list[Change]:
        if self._held is None:
            return []
        if self.plain is not None:
            self.plain.take(value, at_ns)
        before = self._held.band
        return self._band_changed(self._held.take(value, at_ns), before, at_ns)

    def _band_lost(self, at_ns: int) -> list[Change]:
        if self._held is None:
            return []
        if self.plain is not None:
            self.plain.lose(at_ns)
        if self.tally is not None:
            self.tally.take(None, at_ns)
        before = self._held.band
        self._held.lose()
        return self._band_changed(None, before, at_ns)

    def _band_changed(self, band: int | None, before: int | None, at_ns: int) -> list[Change]:
        if band == before:
            return []
        if self.tally is not None:
            self.tally.take(band, at_ns)
        return [BandChange(at_ns, self.bench, self.channel, band, before)]

    def _settle(self) -> None:
        """Work out what comes next, and within which values nothing changes."""
        super()._settle()
        if self._held is not None:
            self.due_ns = min(self.due_ns, self._held.due_ns)
        if self._finder is not None:
            self.due_ns = min(self.due_ns, self._finder.due_ns)
        low, high = (self._held.low, self._held.high) if self._held is not None else EVERYTHING
        for watch in self.watches:
            its_low, its_high = watch.quiet_span
            if its_low != its_low:  # NaN: each value must be looked at
                low = high = math.nan
                break
            if its_low > low:  # never once low is NaN
                low = its_low
            if its_high < high:
                high = its_high
        self.low, self.high = low, high


def _give(watch: AlarmWatch, value: float, at_ns: int, quality: Quality) -> None:
    """A value that counts goes to every alarm; to one on quality only as what it is."""
    if quality != "good" and isinstance(watch, QualityWatch):
        watch.miss(at_ns, quality)
    else:
        watch.take(value, at_ns)
