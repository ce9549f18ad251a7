"""Noisy sessions whose truth is known, and the proof that alarms on them are right.

As a command it makes many of them: python -m tests.bridge.core.made_sessions [N]
"""

from __future__ import annotations

import math
import sys
from typing import NamedTuple

import numpy as np

from bridge.core.alarm_given import AlarmGiven
from bridge.core.readings import AlarmChange, Change
from bridge.core.watch import ChannelWatch

SECOND = 1_000_000_000
LIMIT = 40.0


class Excursion(NamedTuple):
    """The truth goes up to a height, stays, and comes down again."""

    up_from: float  # seconds
    up_to: float
    down_from: float
    down_to: float
    height: float

    @property
    def is_alarm(self) -> bool:
        """Heights are made well above the limit, or well below it."""
        return self.height > LIMIT


class Session(NamedTuple):
    """Readings of a session, how they came about, and the alarm to be watched."""

    times_ns: list[int]
    values: list[float]
    excursions: list[Excursion]
    base: float
    noise: float  # no reading is further from the truth
    interval: float  # no two readings are further apart, seconds
    alarm: AlarmGiven

    def moment(self, one: Excursion, level: float, *, down: bool = False) -> float:
        """When the truth passes a level on the way up, or down."""
        part = (level - self.base) / (one.height - self.base)
        if down:
            return one.down_to - part * (one.down_to - one.down_from)
        return one.up_from + part * (one.up_to - one.up_from)


def made_session(seed: int, *, n_excursions: int = 8) -> Session:
    """A session of several minutes; everything about it follows from the seed."""
    random = np.random.default_rng(seed)
    deadband = round(random.uniform(0.2, 1.5), 1)
    noise = deadband * random.uniform(0.05, 0.49)  # its span is narrower than the deadband
    on_delay, off_delay = (random.choice([0.0, 0.5, 2.0, 5.3]) for _ in range(2))
    interval = random.choice([0.1, 0.5, 1.0])
    alarm = AlarmGiven(
        kind="high", at=LIMIT, deadband=deadband, on_delay_seconds=on_delay, off_delay_seconds=off_delay
    )
    base = LIMIT - deadband - noise - random.uniform(0.1, 2)
    excursions, now = [], 5.0
    for _ in range(n_excursions):
        is_alarm = random.random() < 0.7
        height = LIMIT + deadband + random.uniform(0.01, 2) if is_alarm else LIMIT - noise - 1e-6
        up, down = random.uniform(0.01, 60), random.uniform(0.01, 60)
        stay = on_delay + 2 * interval + random.uniform(0, 20)
        excursions.append(Excursion(now, now + up, now + up + stay, now + up + stay + down, height))
        now = excursions[-1].down_to + off_delay + 2 * interval + random.uniform(0, 20)
    gaps = random.uniform(interval / 3, interval, math.ceil(now / interval * 3))
    at = np.cumsum(gaps)
    at = at[at < now]
    corners = [(0.0, base), *(p for e in excursions for p in (
        (e.up_from, base), (e.up_to, e.height), (e.down_from, e.height), (e.down_to, base)))]  # fmt: skip
    truth = np.interp(at, [t for t, _ in corners], [v for _, v in corners])
    shapes = random.choice(3)
    if shapes == 0:
        errors = random.uniform(-noise, noise, len(at))
    elif shapes == 1:
        errors = np.clip(random.normal(0, noise / 2, len(at)), -noise, noise)
    else:
        errors = noise * random.choice([-1.0, 1.0], len(at))  # as bad as it can be
    times_ns = [round(one * SECOND) for one in at.tolist()]
    return Session(times_ns, (truth + errors).tolist(), excursions, base, noise, interval, alarm)


def watched(session: Session) -> list[AlarmChange]:
    """The alarms that come of it."""
    watch = ChannelWatch(1, "temperature", bands=None, baseline=None, limits=(session.alarm,))
    changes: list[Change] = []
    for at_ns, value in zip(session.times_ns, session.values, strict=True):
        changes += watch.take(value, at_ns)
    changes += watch.tick(session.times_ns[-1] + 60 * SECOND)
    return [one for one in changes if isinstance(one, AlarmChange)]


def prove(session: Session) -> int:
    """Assert that the session's alarms are those of its truth; how many there were."""
    return prove_of(session, watched(session))


def prove_of(session: Session, changes: list[AlarmChange], *, rounding: float = 0.0) -> int:
    """Assert that these are the alarms of the session's truth; how many there were.

    Exactly one rise and one return for each excursion above limit plus deadband: none is missed, none
    chatters; none for those that stay below the limit. Each at its delay after the truth passed the limit, to
    within the noise and one reading.

    Args:
        session: What was read, and how it came about.
        changes: The alarms that came of it, in their order.
        rounding: How far a printed reading may lie from the one that was made.
    """
    alarm, noise = session.alarm, session.noise + rounding
    true = [one for one in session.excursions if one.is_alarm]
    assert [one.event for one in changes] == ["rise", "return"] * len(true)
    slack = session.interval + 1e-6
    clear = LIMIT - alarm.deadband
    for one, rise, back in zip(true, changes[::2], changes[1::2], strict=True):
        rose = rise.at_ns / SECOND - alarm.on_delay_seconds
        earliest = session.moment(one, max(session.base, LIMIT - noise))
        latest = session.moment(one, min(one.height, LIMIT + noise)) + slack
        assert earliest - 1e-6 <= rose <= latest
        went = back.at_ns / SECOND - alarm.off_delay_seconds
        earliest = session.moment(one, clear + noise, down=True)
        latest = session.moment(one, max(session.base, clear - noise), down=True) + slack
        assert earliest - 1e-6 <= went <= latest
    return len(true)


if __name__ == "__main__":
    n_sessions = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    n_alarms = sum(prove(made_session(seed)) for seed in range(n_sessions))
    print(f"{n_sessions} sessions, {n_alarms} alarms: none missed, none chattered, each right to one reading")
