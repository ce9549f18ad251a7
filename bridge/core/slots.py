"""Which channel is made from which field of a board's text, and how."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import repeat
from typing import Any

from bridge.core.channels import ChannelInfo, NamedBands
from bridge.core.conversion import Converter
from bridge.core.layouts import LayoutReader
from bridge.core.lesson import Bench, BenchChannel, Channel, Lesson
from bridge.core.limits import NEVER_NS
from bridge.core.readings import Change, Quality
from bridge.core.scale import round_scale
from bridge.core.uncertainty import noise_beyond
from bridge.core.units import canonical_unit
from bridge.core.watch import ChannelWatch

MAX_DECIMALS = 9  # finer is noise of a number's binary form
MAX_SHOWN_DECIMALS = 6
_PLACEHOLDERS = (
    85.0,
    -127.0,
)  # what digital thermometers on a bus give out before, or without, a measurement
_NEAR_PLACEHOLDER = 5.0  # °C: nearer to the value before, it was reached smoothly
_NEAR_WHOLE = 1e-6  # a number times a power of ten that should be whole is off by rounding only


class Slot:
    """One channel of one bench at work: the field that it takes, the conversion, the watch."""

    def __init__(
        self,
        index: int,
        field: str,
        converter: Converter,
        watch: ChannelWatch,
        info: ChannelInfo,
        *,
        is_open: bool,
        made_by: object = None,
    ) -> None:
        self.index, self.field = index, field
        self.made_by = made_by  # differs where values are not to be compared with those of before
        self.converter, self.watch, self.info = converter, watch, info
        self.is_open = is_open  # no lesson describes the channel: decimals and scale follow what is seen
        self._is_scaled = False
        self._scale = 1.0
        self.decimals = -1  # most decimals that were printed so far; -1: no number yet
        self.sd: float | None = None  # scatter of the printed number about its course
        self.n_noise = 0  # from how many readings
        self._noise = 0.0  # of it, what the resolution does not explain; in the unit, see `_settle_u`
        self._u: float | None = None  # of every reading; None: it differs from value to value
        self.low = self.high = math.nan  # low <= value < high: nothing to look at
        self.doubt = ""  # why its numbers should not be trusted now
        may_be_digital = converter.conversion is None and canonical_unit(info.unit) in ("°C", "")
        self._placeholders = _PLACEHOLDERS if may_be_digital else ()
        self._calibrated = converter.calibrated_range
        self._trusted: float | None = None  # the newest value that was no placeholder
        self.settle()

    def hear(self, value: float, at_ns: int, quality: Quality) -> list[Change]:
        """Take a value within `low` and `high`: it changes nothing by itself, but time may have."""
        changes = self.watch.hear(value, at_ns, quality)
        if changes:
            self.settle()
        return changes

    def look(self, value: float, at_ns: int, quality: Quality) -> list[Change]:
        """Take a value that may change something."""
        changes = self.watch.take(value, at_ns, quality)
        if self.is_open and not (self._is_scaled and self.info.low <= value < self.info.high):
            self._widen(value)
        self.settle()
        return changes

    def miss(self, at_ns: int, quality: Quality) -> list[Change]:
        """A line came without the value, or with one that is not to be acted upon."""
        if self.watch.due_ns == NEVER_NS and not self.watch.heeds_misses:
            return []
        changes = self.watch.miss(at_ns, quality)
        self.settle()
        return changes

    def distrust(self, value: float) -> str:
        """Why a value is shown but not to be acted upon, "" for one that is good."""
        if value in self._placeholders and self.decimals > 0:  # a whole number may be a count
            if self._trusted is None or abs(value - self._trusted) > _NEAR_PLACEHOLDER:
                return f"{value:g} is what a digital sensor gives out before it has measured"
        else:
            self._trusted = value
        return self.doubt

    def caveat(self, value: float) -> str:
        """Why a value is uncertain though it counts, "" for one that is good."""
        return self.converter.uncalibrated_reason(value) if self._calibrated is not None else ""

    def trusts_all(self, values: Sequence[float]) -> bool:
        """Whether none of the values can be a placeholder; they are then the newest."""
        if any(one in values for one in self._placeholders):
            return False
        if self._calibrated is not None:
            low, high = self._calibrated
            if not low <= min(values) <= max(values) <= high:
                return False
        self._trusted = values[-1]
        return True

    def settle(self) -> None:
        """Work out again within which values nothing changes, and where the bands lie."""
        self.low, self.high = self.watch.low, self.watch.high
        watch, info = self.watch, self.info
        if (watch.baseline, watch.edges, watch.edge_names) != (info.baseline, info.edges, info.edge_names):
            self.info = replace(info, **_band_keys(watch))
        if self.is_open:
            if not self._is_scaled:
                self.low = self.high = math.nan
            else:
                self.low, self.high = max(self.info.low, self.low), min(self.info.high, self.high)

    def u_of(self, x: float) -> float:
        """Standard uncertainty of the value that x gives, in the unit; all parts of the budget together."""
        if self._u is not None:
            return self._u
        converter = self.converter
        noise = self._noise * (1.0 if converter.sensitivity is None else converter.sensitivity(x))
        return math.sqrt(converter.variance(x, self.decimals) + noise * noise)

    def u_many(self, xs: Sequence[float]) -> Iterable[float]:
        """`u_of` each, at least as many as there are numbers."""
        return repeat(self._u) if self._u is not None else map(self.u_of, xs)

    def take_noise(self, sd: float | None, n: int) -> None:
        """The scatter of the printed number is another one now, found from n readings; None: not known."""
        self.sd, self.n_noise = sd, n
        self._settle_u()

    def _settle_u(self) -> None:
        """Work out the uncertainty that all readings share, where they share one."""
        converter = self.converter
        if self.decimals < 0:
            return
        step_u = converter.u(self.decimals)  # of the printed number where the slope differs
        slope = converter.unit_slope if converter.sensitivity is None else 1.0
        self._noise = noise_beyond((self.sd or 0.0) * slope, step_u)
        self._u = None
        if converter.is_variance_constant and converter.sensitivity is None:
            self._u = math.sqrt(converter.variance(0.0, self.decimals) + self._noise * self._noise)

    def is_finer(self, numbers: Sequence[float]) -> bool:
        """Whether one of the numbers has more decimals than any before.

        Judged by the number itself, not by its text: a board that prints 21.9 and 21.12 has a step of 0.01.
        """
        if self.decimals < 0:
            return True
        scale, near = self._scale, _NEAR_WHOLE
        return (
            any(abs((y := x * scale) - (y + 0.5) // 1) > near for x in numbers)
            and self.decimals < MAX_DECIMALS
        )

    def take_decimals(self, reader: LayoutReader, text: str, x: float) -> None:
        """Look at the decimals of a line that `is_finer`; the uncertainty from resolution follows them."""
        record = reader.read(text) or reader.newest()
        printed = record[self.index].decimals if record else 0
        self.decimals = min(MAX_DECIMALS, max(self.decimals + 1, printed) if self.decimals >= 0 else printed)
        self._scale = 10.0**self.decimals
        self._settle_u()
        self.watch.set_step(self.converter.step_at(x, self.decimals))
        if self.is_open and self.decimals > self.info.decimals:
            self.info = replace(self.info, decimals=min(self.decimals, MAX_SHOWN_DECIMALS))

    def _widen(self, value: float) -> None:
        low, high = (self.info.low, self.info.high) if self._is_scaled else (value, value)
        self._is_scaled = True
        above = value + abs(value) * 1e-9  # the high end itself lies outside
        low, high = round_scale(min(low, value), max(high, above))
        self.info = replace(self.info, low=low, high=high)


@dataclass(frozen=True, slots=True)
class Slots:
    """All channels of a bench, and the fields that no board's text has, in words."""

    slots: tuple[Slot, ...]
    missing: tuple[str, ...]


def slots_of(lesson: Lesson, bench: Bench, reader: LayoutReader) -> Slots:
    """The lesson's channels made from the reader's fields; without any, every field becomes one."""
    if not lesson.channels:
        return Slots(tuple(_open_slot(bench, reader, i) for i in range(len(reader.names))), ())
    slots, missing = [], []
    for channel in lesson.channels:
        own = own_of(bench, channel)
        index = _index_of_field(lesson, channel, own, reader)
        if index is None:
            wanted = own.field or channel.field or channel.name
            printed = ", ".join(repr(name) for name in reader.names)
            missing.append(f"no field {wanted!r} for {channel.name}: the board prints {printed}")
        else:
            slots.append(_slot(lesson, bench, channel, own, reader.names[index], index))
    return Slots(tuple(slots), tuple(missing))


def own_of(bench: Bench, channel: Channel) -> BenchChannel:
    """What the bench does otherwise for that channel."""
    plain = BenchChannel(channel=channel.name)
    return next((one for one in bench.channels if one.channel == channel.name), plain)


def info_of(bench: Bench, channel: Channel) -> ChannelInfo:
    """How the lesson's channel is shown at that bench."""
    return _info(channel, _watch(bench, channel), own_of(bench, channel))


def _watch(bench: Bench, channel: Channel) -> ChannelWatch:
    baseline = own_of(bench, channel).baseline
    return ChannelWatch(
        bench.number,
        channel.name,
        bands=channel.bands,
        baseline=baseline,
        limits=channel.limits,
        phase_bands=channel.phase_bands,
    )


def _info(channel: Channel, watch: ChannelWatch, own: BenchChannel) -> ChannelInfo:
    return ChannelInfo(
        name=channel.name,
        unit=channel.unit,
        decimals=channel.decimals,
        low=channel.low,
        high=channel.high,
        takes_baseline=channel.bands is not None and channel.bands.baseline_from != "fixed",
        limits=channel.limits,
        bands_of_phases=_named_bands(channel),
        gain=own.gain,
        offset=own.offset,
        **_band_keys(watch),
    )


def _named_bands(channel: Channel) -> tuple[NamedBands, ...]:
    """What the bands are called in which phases, where that differs."""
    if channel.bands is None or not channel.phase_bands:
        return ()
    return tuple(NamedBands(one.phases, one.names) for one in (channel.bands, *channel.phase_bands))


def _band_keys(watch: ChannelWatch) -> dict[str, Any]:
    """Where the bands lie: nowhere while the bench has no baseline."""
    return {"baseline": watch.baseline, "edges": watch.edges, "edge_names": watch.edge_names}


def _slot(lesson: Lesson, bench: Bench, channel: Channel, own: BenchChannel, field: str, index: int) -> Slot:
    watch = _watch(bench, channel)
    conversion = lesson.conversion(own.conversion or channel.conversion)
    return Slot(
        index,
        field,
        Converter(channel, own, conversion),
        watch,
        _info(channel, watch, own),
        is_open=False,
        made_by=(field, conversion, channel.unit, own.gain, own.offset, own.calibration),
    )


def _open_slot(bench: Bench, reader: LayoutReader, index: int) -> Slot:
    name, unit = reader.names[index], reader.units[index]
    channel = Channel(name=name, unit=unit)
    watch = ChannelWatch(bench.number, name, bands=None, baseline=None, limits=())
    info = ChannelInfo(name=name, unit=unit, decimals=0)
    return Slot(index, name, Converter(channel, BenchChannel(channel=name), None), watch, info, is_open=True)


def _index_of_field(lesson: Lesson, channel: Channel, own: BenchChannel, reader: LayoutReader) -> int | None:
    """By name, whatever the case; without a named field also by the unit, or the only field there is."""
    named = own.field or channel.field
    names = [name.casefold() for name in reader.names]
    wanted = (named or channel.name).casefold()
    if wanted in names:
        return names.index(wanted)
    if named is not None:
        return None
    same_unit = [i for i, unit in enumerate(reader.units) if unit and unit == channel.unit]
    if len(same_unit) == 1:
        return same_unit[0]
    return 0 if len(names) == 1 and len(lesson.channels) == 1 else None
