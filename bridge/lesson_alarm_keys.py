"""The keys of a lesson's bands, limits, alarms and phases."""

from __future__ import annotations

from typing import get_args

from bridge.core.alarm_given import (
    MAX_WINDOW_SECONDS,
    MIN_WINDOW_SECONDS,
    AlarmKind,
    AlarmPriority,
    Side,
)
from bridge.core.bands_given import MAX_EDGES, BaselineFrom
from bridge.core.findings import Weight
from bridge.lesson_key import REQUIRED, Key

LIMIT_KINDS = tuple(kind for kind in get_args(AlarmKind) if kind != "finding")
MAX_LINES_PER_SECOND = 10_000  # a line of one digit at 230400 baud comes less often
_ALWAYS = "watched always"

BAND_KEYS: tuple[Key, ...] = (
    Key(path="channel.bands", kind="table", default=None, meaning="Steps above each bench's baseline.",
        example="[channel.bands]", absent="no bands"),
    Key(path="channel.bands.baseline", kind="number", default=None, example="baseline = 20.0",
        meaning="Where the bands start, in the unit; a bench may have its own.",
        absent="needed where baseline_from is \"fixed\""),
    Key(path="channel.bands.baseline_from", kind="word", default="fixed", words=get_args(BaselineFrom),
        example='baseline_from = "start"',
        meaning="The baseline is the number above; captured for each bench when the instructor says so; or "
        "the mean of a bench's first steady stretch. A bench without one has no bands yet."),
    Key(path="channel.bands.steady_seconds", kind="number", default=20.0, least=5, most=60,
        example="steady_seconds = 20.0",
        meaning="How long a value must have stayed to make a baseline."),
    Key(path="channel.bands.edges", kind="numbers", default=None, example="edges = [2.0, 5.0, 10.0]",
        meaning=f"Band edges above the baseline, rising, at most {MAX_EDGES}; the first band lies below the "
        "first edge.", absent="step or percents say where they lie"),
    Key(path="channel.bands.step", kind="number", default=None, above=0, example="step = 2.0",
        meaning="Edges by equal steps of so much, in the unit; together with steps.", absent="see edges"),
    Key(path="channel.bands.steps", kind="whole number", default=None, least=1, most=MAX_EDGES,
        example="steps = 5", meaning="How many such steps.", absent="needed with step"),
    Key(path="channel.bands.percents", kind="numbers", default=None, example="percents = [10.0, 25.0, 50.0]",
        meaning="Edges by percent of the gauge's scale, rising.", absent="see edges"),
    Key(path="channel.bands.names", kind="texts", default=None,
        example='names = ["room", "lukewarm", "warm", "start"]',
        meaning="The bands' names from the lowest, one more than there are edges.",
        absent="bands without names"),
    Key(path="channel.bands.deadband", kind="number", default=0.0, least=0, example="deadband = 0.4",
        meaning="How far back past an edge a value must go before the band falls; wider than the noise."),
    Key(path="channel.bands.dwell_seconds", kind="number", default=0.0, least=0, most=3600,
        example="dwell_seconds = 1.0", meaning="A band that was entered is held for so long at least."),
    Key(path="channel.bands.phases", kind="texts", default=None, example='phases = ["run"]',
        meaning="The phases in which there are bands.", absent="in all"),
)  # fmt: skip

LIMIT_KEYS: tuple[Key, ...] = (
    Key(path="channel.limit", kind="tables", default=None, example="[[channel.limit]]",
        meaning="What must not happen, and its alarm; one table each. Several of one kind have names.",
        absent="no alarms"),
    Key(path="channel.limit.kind", kind="word", default=REQUIRED, words=LIMIT_KINDS, example='kind = "high"',
        meaning="What alarms: a value above a high limit or below a low one; one that changes too fast (by a "
        "slope fitted over a window), is too far from the median of the class, or too old; readings that are "
        "bad."),
    Key(path="channel.limit.at", kind="number", default=None, example="at = 48.0",
        meaning="The limit: of a value or a deviation in the unit, of a rate in the unit per minute, of an "
        "age in seconds. It may lie outside the gauge's scale.",
        absent="needed, but for bad quality, which has none"),
    Key(path="channel.limit.name", kind="name", default=None, example='name = "boiling"',
        meaning="Tells several limits of one kind apart.", absent="the kind"),
    Key(path="channel.limit.deadband", kind="number", default=0.0, least=0, example="deadband = 0.5",
        meaning="How far back the value, rate or deviation must go before the alarm returns."),
    Key(path="channel.limit.on_delay_seconds", kind="number", default=0.0, least=0,
        example="on_delay_seconds = 2.0",
        meaning="How long it must stay beyond the limit before the alarm rises."),
    Key(path="channel.limit.off_delay_seconds", kind="number", default=0.0, least=0,
        example="off_delay_seconds = 2.0", meaning="How long it must stay back before the alarm returns."),
    Key(path="channel.limit.side", kind="word", default="either", words=get_args(Side),
        example='side = "above"',
        meaning="Of a rate: rising (above) or falling (below). Of a deviation: more or less than the class."),
    Key(path="channel.limit.window_seconds", kind="number", default=30.0, least=MIN_WINDOW_SECONDS,
        most=MAX_WINDOW_SECONDS, example="window_seconds = 30.0",
        meaning="Of a rate: the stretch over which the slope is fitted."),
    Key(path="channel.limit.least_benches", kind="whole number", default=3, least=3, most=64,
        example="least_benches = 3",
        meaning="Of a deviation: how many benches must have a value for a median that means something."),
    Key(path="channel.limit.quality", kind="word", default="bad", words=("bad", "uncertain"),
        example='quality = "uncertain"',
        meaning="Of bad quality: whether uncertain readings count as well."),
    Key(path="channel.limit.priority", kind="word", default="medium", words=get_args(AlarmPriority),
        example='priority = "medium"', meaning="How soon a person should act."),
    Key(path="channel.limit.latching", kind="true or false", default=False, example="latching = true",
        meaning="The alarm stays after its return, until somebody resets it."),
    Key(path="channel.limit.needs_acknowledgement", kind="true or false", default=True,
        example="needs_acknowledgement = false",
        meaning="False: its return acknowledges the alarm."),
    Key(path="channel.limit.phases", kind="texts", default=None, example='phases = ["run"]',
        meaning="The phases in which it is watched; in the others the alarm is suppressed.",
        absent=_ALWAYS),
    Key(path="channel.limit.message", kind="text", default="", example='message = "Water too warm"',
        meaning="What the alarm says."),
    Key(path="channel.limit.advice", kind="text", default="", example='advice = "Add some cold water"',
        meaning="What to do about it."),
)  # fmt: skip

ALARM_KEYS: tuple[Key, ...] = (
    Key(path="alarm", kind="tables", default=None, example="[[alarm]]", absent="findings raise no alarms",
        meaning="An alarm on the findings of a bench; one table each. Several have names."),
    Key(path="alarm.name", kind="name", default=None, example='name = "wrong baud"',
        meaning="Tells several alarms apart.", absent='"finding"'),
    Key(path="alarm.findings", kind="texts", default=None, example='findings = ["wrong baud", "no bytes"]',
        meaning="The kinds of findings that raise it.", absent="all of the weight"),
    Key(path="alarm.weight", kind="word", default="fault", words=get_args(Weight), example='weight = "hint"',
        meaning="Without findings: faults only, or hints as well."),
    Key(path="alarm.on_delay_seconds", kind="number", default=0.0, least=0, example="on_delay_seconds = 10.0",
        meaning="How long a finding must stand before the alarm rises."),
    Key(path="alarm.off_delay_seconds", kind="number", default=0.0, least=0,
        example="off_delay_seconds = 5.0", meaning="How long all must be gone before it returns."),
    Key(path="alarm.priority", kind="word", default="medium", words=get_args(AlarmPriority),
        example='priority = "low"', meaning="How soon a person should act."),
    Key(path="alarm.latching", kind="true or false", default=False, example="latching = true",
        meaning="The alarm stays after its return, until somebody resets it."),
    Key(path="alarm.needs_acknowledgement", kind="true or false", default=True,
        example="needs_acknowledgement = false", meaning="False: its return acknowledges the alarm."),
    Key(path="alarm.phases", kind="texts", default=None, example='phases = ["set-up"]',
        meaning="The phases in which it is watched.", absent=_ALWAYS),
    Key(path="alarm.message", kind="text", default="", example='message = "This bench needs help"',
        meaning="What the alarm says."),
    Key(path="alarm.advice", kind="text", default="", example='advice = "Read the findings on its page"',
        meaning="What to do about it."),
)  # fmt: skip

PHASE_KEYS: tuple[Key, ...] = (
    Key(path="phase", kind="tables", default=None, example="[[phase]]", absent="a lesson of one piece",
        meaning="A named stretch of the lesson that the instructor starts; one table each, in their order."),
    Key(path="phase.name", kind="name", default=REQUIRED, example='name = "run"',
        meaning="What it is called; each only once."),
    Key(path="phase.note", kind="text", default="", example='note = "Pour the water, then wait"',
        meaning="What is to be done in it."),
    Key(path="phase.lines_per_second", kind="number", default=None, above=0, most=MAX_LINES_PER_SECOND,
        example="lines_per_second = 10.0", absent="as the bench or the top of the file says",
        meaning="How many lines every board should print in a second while it lasts."),
)  # fmt: skip
