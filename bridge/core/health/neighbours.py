"""A channel that follows another one on the same board: charge of the one pin is left in the converter."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .companions import Companions
from .noise import UsualNoise
from .seen import ChannelSeen
from .signs import SECOND_NS, Signs
from .window import Look, Numbers, middle

EVERY_NS = 5 * SECOND_NS
LEADER_STEPS = 20.0  # of its own: the leader must jump by so much between two readings
FOLLOWER_STEPS = 3.0
LEAST_PART, MOST_PART = 0.03, 0.5  # two sensors in one cup move by about as much
BEFORE, AFTER = 6, 3  # rows that must be there on either side of the jump
_LOOKED_BEFORE, _LOOKED_AFTER = 10, 8
_ABRUPT = 0.8  # so much of the change happens in that one reading: no sensor in water does that
_OTHERS = 0.6  # the follower's other jumps against the one that is asked about
_SAME_SHARE = 0.6  # both by about the same share of their values: the reference or the light has changed


class Neighbours:
    """Looks for a jump of one channel that another one shows at the same reading, smaller."""

    def __init__(self, companions: Companions, usual: UsualNoise) -> None:
        self._companions, self._usual = companions, usual

    def signs(self, look: Look) -> list[Signs]:
        """At each full five seconds, over the last minute."""
        n = look.n_minute
        if n < BEFORE + AFTER:
            n = min(look.window.n, BEFORE + AFTER + 3)
        if n < BEFORE + AFTER:
            return []
        measured = [one for one in look.fields if one.is_measured]
        signs: dict[str, Signs] = {}
        for leader in measured:
            followers = [one for one in measured if self._may_follow(one, leader)]
            if not followers:
                continue
            rows = look.window.values(n)
            k = _jump_of(rows[:, leader.index], self._usual.grain(leader))
            for follower in followers if k is not None else []:
                assert k is not None
                part = _part_that_follows(rows, k, leader, follower, self._usual.grain(follower))
                if part is not None and follower.name not in signs:
                    at_ns = int(look.window.times(n)[k + 1])
                    signs[follower.name] = _signs(rows, k, leader, follower, part, at_ns)
        return list(signs.values())

    def _may_follow(self, follower: ChannelSeen, leader: ChannelSeen) -> bool:
        if follower.index == leader.index or (follower.role, follower.unit) != (leader.role, leader.unit):
            return False
        return not self._companions.related(follower.index, leader.index)


def _jump_of(x: Numbers, step: float) -> int | None:
    """Row before the largest jump, if it is abrupt and rows enough stand on both sides."""
    jumps = np.abs(np.diff(x))
    k = int(np.argmax(jumps)) if not np.isnan(jumps).any() else -1
    if k < BEFORE - 1 or len(x) - k - 1 < AFTER or jumps[k] < LEADER_STEPS * step:
        return None
    around = _around(k, len(x))
    others = np.delete(np.diff(x[around]), k - around.start)
    if jumps[k] < 8 * max(middle(np.abs(others)), step / 2):
        return None
    whole = abs(middle(x[k + 1 : around.stop]) - middle(x[max(0, k - 2) : k + 1]))
    return k if jumps[k] >= _ABRUPT * whole else None


def _around(k: int, n: int) -> slice:
    return slice(max(0, k - _LOOKED_BEFORE + 1), min(n, k + 1 + _LOOKED_AFTER))


def _part_that_follows(
    rows: Numbers, k: int, leader: ChannelSeen, follower: ChannelSeen, grain: float
) -> float | None:
    """Which part of the leader's jump the follower shows at the same reading; None when it shows none."""
    x, y = rows[:, leader.index], rows[:, follower.index]
    dx, dy = float(x[k + 1] - x[k]), float(y[k + 1] - y[k])
    part = dy / dx
    if not LEAST_PART <= part <= MOST_PART or abs(dy) < FOLLOWER_STEPS * grain:
        return None
    around = _around(k, len(x))
    if _largest_other(y[around], k - around.start) > _OTHERS * abs(dy):
        return None
    if x[k] and y[k] and abs(dy / y[k]) > _SAME_SHARE * abs(dx / x[k]):
        return None
    # Both before and after, what is left without that part must go on as it was: a slow sensor would creep.
    left = y[around] - part * x[around]
    before, after = left[: k - around.start + 1], left[k - around.start + 1 :]
    near = max(1.5 * grain, 0.35 * abs(dy))
    holds = max(float(np.ptp(before)), float(np.ptp(after))) <= near
    return part if holds and abs(middle(after) - middle(before)) <= near else None


def _largest_other(y: Numbers, k: int) -> float:
    jumps: NDArray[np.float64] = np.abs(np.delete(np.diff(y), k))
    return float(jumps.max()) if len(jumps) else 0.0


def _signs(
    rows: Numbers, k: int, leader: ChannelSeen, follower: ChannelSeen, part: float, at_ns: int
) -> Signs:
    def course(field: ChannelSeen) -> str:
        x = rows[:, field.index]
        return f"{field.name} from {field.shown(float(x[k]))} to {field.shown(float(x[k + 1]))}"

    return Signs(
        "neighbour", follower.name, at_ns,
        f"{follower.name} seems to follow {leader.name}: both moved at the same reading",
        f"{course(leader)}, {course(follower)}, which is {part:.0%} of it",
        "Read the pin twice and use the second reading, or put a smaller resistance at the sensor; look "
        "whether the pin is connected at all",
        weight="hint", size=part, lasts_ns=10 * SECOND_NS,
    )  # fmt: skip
