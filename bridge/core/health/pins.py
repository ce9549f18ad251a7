"""Pins at a rail, and pins with nothing on them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise

import numpy as np

from bridge.core.findings import FindingKind

from .companions import Companions
from .noise import UsualNoise
from .seen import ChannelSeen
from .signs import SECOND_NS, Signs
from .window import Look, Numbers, Times, middle

RAIL_SECONDS = 5.0
RAIL_READINGS = 5
RAIL_SHARE, STILL_SHARE = 0.8, 0.3
_SPAN_SEEN_NS = 4 * SECOND_NS
_UNKNOWN_WIDTH = 10

FLOATING_READINGS, MOST_READINGS = 12, 40
FLOATING_SECONDS = 4.0
JUMP_SHARE, SWING_SHARE = 0.03, 0.15  # of the way from rail to rail: usual jump, whole swing
STILL_JUMP, STILL_SWING = 0.015, 0.08
TURNS_SHARE = 0.3  # of the readings at which the course turns; noise turns at two of three
ROUGHNESS = 1.1  # second differences against first: 1.7 for noise, 1.4 for a random walk, less when smooth
_SLOW_NS = 20 * SECOND_NS
_STILL_PART = 0.6  # of both, to keep what is told
UNLIKE_BEFORE = 40.0  # where no rail is known: times the usual difference from reading to reading
_UNIT_SPANS = {"°C": 150.0, "K": 150.0, "°F": 270.0, "V": 5.0, "mV": 5000.0, "%": 150.0}

Same = Callable[[ChannelSeen, ChannelSeen], bool]


class Pins:
    """Looks at the readings of the last seconds."""

    def __init__(self, companions: Companions, usual: UsualNoise) -> None:
        self._companions, self._usual = companions, usual

    def signs(self, look: Look) -> list[Signs]:
        """Rails first; a pin at a rail is not told as floating as well."""
        rails, at_rail = self._rails(look)
        return rails + self._floating(look, at_rail)

    def _rails(self, look: Look) -> tuple[list[Signs], set[int]]:
        n = look.n_within(RAIL_SECONDS, at_least=RAIL_READINGS)
        times = look.window.times(n)
        if n < RAIL_READINGS or look.at_ns - times[0] < _SPAN_SEEN_NS:
            return [], set()
        rows, all_found = look.window.values(n), set[int]()
        least, most = np.minimum.reduce(rows).tolist(), np.maximum.reduce(rows).tolist()
        signs: list[Signs] = []
        kinds: tuple[FindingKind, FindingKind] = ("bottom rail", "top rail")
        for kind in kinds:
            found: dict[int, float] = {}
            for field in look.fields:
                i = field.index
                share = _share_at_rail(rows[:, i], field, kind, least=least[i], most=most[i])
                if share >= (STILL_SHARE if look.stands(kind, field.name) else RAIL_SHARE):
                    found[field.index] = share
            if not found:
                continue
            self._leave_out_wrong_sums(look, found)
            signs += [
                _rail_signs(kind, group[0], self._all_of(look, group), found, rows, int(times[0]))
                for group in _grouped(look.fields, found, self._one_pin(look))
            ]
            all_found |= found.keys()
        return signs, all_found

    def _all_of(self, look: Look, group: Sequence[ChannelSeen]) -> tuple[int, ...]:
        """The fields of a group and all that is known to be computed from them."""
        related = self._companions.related
        return tuple(one.index for one in look.fields if any(related(one.index, i.index) for i in group))

    def _leave_out_wrong_sums(self, look: Look, found: dict[int, float]) -> None:
        """Volts of zero beside a count that is not are the program's own doing, not the pin's."""
        same = self._one_pin(look)
        for count in look.fields:
            if count.role == "count" and count.low_rail is not None and count.index not in found:
                for field in look.fields:
                    if field.index != count.index and same(count, field):
                        found.pop(field.index, None)

    def _floating(self, look: Look, at_rail: set[int]) -> list[Signs]:
        n = min(look.n_within(FLOATING_SECONDS, at_least=FLOATING_READINGS), MOST_READINGS)
        if n < FLOATING_READINGS:
            return []
        rows = look.window.values(n)
        swings = (np.maximum.reduce(rows) - np.minimum.reduce(rows)).tolist()
        # The count tells for what is made of it; its range is known best.
        made = self._companions.made_of_counts
        found: dict[int, float] = {}
        for field in look.fields:
            if field.is_measured and field.index not in at_rail | made and swings[field.index] != 0.0:
                swing = self._erratic_swing(look, field, n, swings[field.index])
                if swing is not None:
                    found[field.index] = swing
        signs: list[Signs] = []
        if not found:
            return signs
        for group in _grouped(look.fields, found, _swings_alike(look, n, self._companions)):
            x = look.column(group[0].index, n)
            signs.append(
                _floating_signs(
                    group[0], self._all_of(look, group), x, look.window.times(n), found[group[0].index]
                )
            )
        return signs

    def _erratic_swing(self, look: Look, field: ChannelSeen, n: int, swing: float) -> float | None:
        """How far the field's readings swing about, None when they do not, or along a smooth course."""
        stands = look.stands("floating input", field.name)
        span = field.span or _UNIT_SPANS.get(field.unit)
        usual = self._usual.jump(field) if span is None else None
        if span is not None:
            if look.at_ns - int(look.window.times(n)[0]) > _SLOW_NS:
                span *= 2  # between readings so far apart much may really happen
            least_swing = span * (STILL_SWING if stands else SWING_SHARE)
            least_jump = span * (STILL_JUMP if stands else JUMP_SHARE)
        elif usual is not None:
            least_jump = UNLIKE_BEFORE * max(usual, field.step / 2) / (2 if stands else 1)
            least_swing = 4 * least_jump
        else:
            return None
        if swing < least_swing:  # False for NaN: a number is missing in between
            return None
        x = look.column(field.index, n)
        if len(x) < FLOATING_READINGS:
            return None
        jumps = np.diff(x)
        usual_jump = middle(np.abs(jumps))
        if usual_jump < least_jump:
            return None
        turns = float(np.mean(jumps[1:] * jumps[:-1] < 0))
        roughness = middle(np.abs(np.diff(jumps))) / usual_jump
        part = _STILL_PART if stands else 1.0
        is_erratic = turns >= part * TURNS_SHARE and roughness >= part * ROUGHNESS
        return float(np.ptp(x)) if is_erratic else None

    def _one_pin(self, look: Look) -> Same:
        n_counts = sum(field.role == "count" for field in look.fields)

        def same(one: ChannelSeen, other: ChannelSeen) -> bool:
            if self._companions.related(one.index, other.index):
                return True
            return n_counts == 1 and one.role == "count" and other.role != "count"

        return same


def _share_at_rail(x: Numbers, field: ChannelSeen, kind: FindingKind, *, least: float, most: float) -> float:
    if not field.is_measured:
        return 0.0
    low, high = field.low_rail, field.high_rail
    if low is not None and high is not None and low > high:  # a value that falls while the voltage rises
        low, high = high, low
        kind = "top rail" if kind == "bottom rail" else "bottom rail"
    near = 0.51 * field.step
    if kind == "bottom rail":
        return 0.0 if low is None or least > low + near else float(np.mean(x <= low + near))
    if high is None or (field.is_width_guessed and most > high):
        return 0.0
    if field.role != "count" and low is not None:  # what the last count but one step means, by either divisor
        near = max(near, 1.05 * (high - low) / 2 ** (field.width_bits or _UNKNOWN_WIDTH))
    return 0.0 if most < high - near else float(np.mean(x >= high - near))


def _grouped(
    fields: Sequence[ChannelSeen], found: dict[int, float], same: Same
) -> list[tuple[ChannelSeen, ...]]:
    """The fields that were found, those of one pin together, the one that is named in front."""
    groups: list[list[ChannelSeen]] = []
    for field in sorted((one for one in fields if one.index in found), key=lambda one: (one.rank, one.index)):
        group = next((one for one in groups if same(one[0], field)), None)
        if group is None:
            groups.append([field])
        else:
            group.append(field)
    return [tuple(group) for group in groups]


def _swings_alike(look: Look, n: int, companions: Companions) -> Same:
    def same(one: ChannelSeen, other: ChannelSeen) -> bool:
        if companions.related(one.index, other.index):
            return True
        x, y = look.columns(one.index, other.index, n)
        if one.role == other.role or len(x) < FLOATING_READINGS:
            return False
        return bool(abs(np.corrcoef(x, y)[0, 1]) >= 0.98)

    return same


def _rail_signs(
    kind: FindingKind,
    field: ChannelSeen,
    indices: tuple[int, ...],
    shares: Mapping[int, float],
    rows: Numbers,
    since_ns: int,
) -> Signs:
    x, share = rows[:, field.index], shares[field.index]
    end, side = ("lower", "0 V") if kind == "bottom rail" else ("upper", "the reference voltage")
    usual = float(np.nanmedian(x))
    words = f"{field.name} stands at the {end} end of what the pin can read"
    remedy = (
        "Look for a wire to ground or a sensor without its supply; the sensor may also give less than 0 V"
        if kind == "bottom rail"
        else "Look for a wire to the supply, or a sensor that gives more than the reference voltage"
    )
    return Signs(
        kind, field.name, since_ns, words,
        f"{share:.0%} of the last {len(x)} readings are at {field.shown(usual)}, which is {side} at the pin",
        remedy, size=share, lasts_ns=3 * SECOND_NS,
        doubt=f"{field.name} stands at the {end} end of its range", indices=indices,
    )  # fmt: skip


def _floating_signs(
    field: ChannelSeen, indices: tuple[int, ...], x: Numbers, times: Times, swing: float
) -> Signs:
    seconds = float(times[-1] - times[0]) / 1e9
    turns = sum((b - a) * (c - b) < 0 for (a, b), (_, c) in pairwise(pairwise(x.tolist())))
    return Signs(
        "floating input", field.name, int(times[0]),
        f"{field.name} swings about as a pin does that has nothing on it",
        f"{len(x)} readings in {seconds:.1f} s from {field.shown(float(x.min()))} to "
        f"{field.shown(float(x.max()))}, turning {turns} times; usual jump "
        f"{field.shown(middle(np.abs(np.diff(x))))}",
        "Look whether the sensor's wire sits in the right pin, and whether the sensor has its ground",
        size=swing, lasts_ns=5 * SECOND_NS,
        doubt=f"{field.name} swings about: probably not connected", indices=indices,
    )  # fmt: skip
