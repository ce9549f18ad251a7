"""What may be changed in a lesson to see what would have been shown: its conversions, bands and limits."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from bridge import KEY_OF, Key

SettingKind = Literal["number", "whole number", "word", "numbers", "texts"]
Path = tuple[str | int, ...]
Table = Mapping[str, Any]  # as TOML gives it

_COUNT_KEYS = ("width_bits", "reference_volts", "divisor")
_SENSOR_KEYS: dict[str, tuple[str, ...]] = {
    "linear": ("offset_volts", "volts_per_unit"),
    "polynomial": ("coefficients",),
    "table": (),
    "ratiometric": ("offset_fraction", "fraction_per_unit", "supply_volts"),
    "ohms": (),
    "ntc beta": ("ohms_at_25", "beta_kelvin"),
    "ntc steinhart-hart": ("steinhart_hart",),
    "platinum": ("ohms_at_0",),
    "photoresistor": ("ohms_at_10_lux", "gamma"),
    "table of ohms": (),
}
_DIVIDER_KEYS = ("supply_volts", "fixed_ohms", "sensor_leg")
_LATER_CONVERSION_KEYS = (
    "valid", "reference_tolerance_volts", "sensor_tolerance", "sensor_tolerance_percent",
    "fixed_ohms_tolerance_percent",
)  # fmt: skip
_EDGE_KEYS = ("edges", "step", "steps", "percents")
_PLAIN_KINDS = ("high-high", "high", "low", "low-low")
_DELAYS = ("on_delay_seconds", "off_delay_seconds")
_LABELS = {
    "at": "limit",
    "baseline_from": "baseline from",
    "beta_kelvin": "beta",
    "divisor": "count divided by",
    "dwell_seconds": "least stay in a band",
    "edges": "band edges above the baseline",
    "fixed_ohms": "fixed resistor",
    "fixed_ohms_tolerance_percent": "fixed resistor's tolerance",
    "fraction_per_unit": "part of the supply for one unit",
    "offset_fraction": "part of the supply at zero units",
    "offset_volts": "sensor's voltage at zero units",
    "ohms_at_0": "ohms at 0 °C",
    "ohms_at_10_lux": "ohms at 10 lx",
    "ohms_at_25": "ohms at 25 °C",
    "names": "bands' names, from the lowest",
    "off_delay_seconds": "off-delay",
    "on_delay_seconds": "on-delay",
    "percents": "band edges in percent of the scale",
    "reference_tolerance_volts": "reference voltage's tolerance",
    "reference_volts": "reference voltage",
    "sensor_leg": "sensor's place in the divider",
    "sensor_tolerance": "sensor's tolerance",
    "sensor_tolerance_percent": "sensor's tolerance, part of the value",
    "steady_seconds": "steady stretch",
    "step": "width of a band",
    "steps": "number of edges",
    "steinhart_hart": "a, b, c",
    "supply_volts": "supply",
    "valid": "valid from and to",
    "volts_per_unit": "volts for one unit",
    "width_bits": "converter's width",
    "window_seconds": "window of the slope",
}
_UNITS = {
    "beta_kelvin": "K",
    "dwell_seconds": "s",
    "fixed_ohms": "Ω",
    "fixed_ohms_tolerance_percent": "%",
    "offset_volts": "V",
    "ohms_at_0": "Ω",
    "ohms_at_10_lux": "Ω",
    "ohms_at_25": "Ω",
    "percents": "%",
    "reference_tolerance_volts": "V",
    "reference_volts": "V",
    "sensor_tolerance_percent": "%",
    "steady_seconds": "s",
    "supply_volts": "V",
    "volts_per_unit": "V",
    "width_bits": "bits",
    "window_seconds": "s",
    "on_delay_seconds": "s",
    "off_delay_seconds": "s",
}
_IN_THE_CHANNELS_UNIT = ("baseline", "edges", "step", "deadband", "offset")


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One value of the lesson that may be changed."""

    path: Path  # as the control `revise` takes it
    label: str  # "reference voltage"
    what: str  # whose: "conversion “10-bit 5 V”"
    unit: str
    kind: SettingKind
    words: tuple[str, ...]  # of a "word": what may stand there
    value: object  # what holds: as given, else without it; None: nothing
    is_given: bool  # whether the lesson names it
    without: object  # what holds where the lesson does not name it; None: nothing
    meaning: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Settings that belong together."""

    heading: str
    about: str  # a sentence, or ""
    settings: tuple[Setting, ...]
    is_chief: bool = True  # False: seldom wanted, folded away


def settings_of(text: str) -> tuple[Group, ...]:
    """What may be changed in a lesson.

    Args:
        text: A lesson's text without faults; "" for none.
    """
    lesson = tomllib.loads(text)
    groups = [
        *_conversions(lesson),
        *(group for channel in _tables(lesson, "channel") for group in _of_channel(channel, lesson)),
        *_finding_alarms(lesson),
    ]
    return tuple(one for one in groups if one.settings)


def _conversions(lesson: Table) -> Iterator[Group]:
    for conversion in _tables(lesson, "conversion"):
        name, kind = str(conversion.get("name")), str(conversion.get("kind", "linear"))
        keys: list[str] = list(_COUNT_KEYS) if conversion.get("start") == "count" else []
        keys += _SENSOR_KEYS.get(kind, ())
        needs_divider = kind not in ("linear", "polynomial", "table", "ratiometric")
        keys += _DIVIDER_KEYS if needs_divider and conversion.get("start") != "ohms" else ()
        keys += [key for key in _LATER_CONVERSION_KEYS if key in conversion]
        what = f"conversion “{name}”"
        yield Group(
            heading=f"Conversion “{name}”",
            about=_used_by(name, lesson),
            settings=tuple(
                _setting("conversion", conversion, key, ("conversion", name), what) for key in keys
            ),
        )


def _used_by(name: str, lesson: Table) -> str:
    benches = []
    for bench in _tables(lesson, "bench"):
        own = [one.get("conversion") for one in dict(bench.get("channel", {})).values()]
        if name in own:
            benches.append(str(bench.get("number")))
    channels = [f"“{one.get('name')}”" for one in _tables(lesson, "channel") if one.get("conversion") == name]
    who = ([f"channel {' and '.join(channels)}"] if channels else []) + (
        [f"bench{'es' * (len(benches) > 1)} {', '.join(benches)}"] if benches else []
    )
    return f"Used by {' and by '.join(who)}." if who else "No bench uses it."


def _of_channel(channel: Table, lesson: Table) -> Iterator[Group]:
    name, unit = str(channel.get("name")), str(channel.get("unit", ""))
    path: Path = ("channel", name)
    yield _bands(channel, name, unit)
    limits = _tables(channel, "limit")
    for limit in limits:
        key = str(limit.get("name", limit.get("kind")))
        yield _limit(limit, (*path, "limit", key), f"limit “{key}” of {name}", unit)
    there = {str(one.get("name", one.get("kind"))) for one in limits}
    new = [
        _setting(
            "channel.limit", {}, "at", (*path, "limit", kind), f"new limit “{kind}” of {name}", unit,
            label=f"new limit, {kind}",
        )
        for kind in _PLAIN_KINDS
        if kind not in there
    ]  # fmt: skip
    yield Group(
        heading=f"{_capital(name)}: a limit that is not there",
        about="A number here adds the limit, with its alarm.",
        settings=tuple(new),
        is_chief=False,
    )
    conversions = tuple(str(one.get("name")) for one in _tables(lesson, "conversion"))
    is_judged = "bands" in channel or bool(limits)
    for bench in _tables(lesson, "bench"):
        if is_judged or "conversion" in channel or name in dict(bench.get("channel", {})):
            yield _of_bench(bench, channel, conversions)


def _bands(channel: Table, name: str, unit: str) -> Group:
    given = channel.get("bands")
    bands: Table = given if isinstance(given, Mapping) else {}
    edge_keys = [key for key in _EDGE_KEYS if key in bands] or ["edges"]
    keys = ["baseline", *edge_keys, *(["names"] if "names" in bands else []), "deadband", "dwell_seconds"]
    if bands.get("baseline_from", "fixed") != "fixed":
        keys += ["baseline_from", "steady_seconds"]
    return Group(
        heading=f"{_capital(name)}: bands",
        about="" if bands else "There are none; a baseline and edges make some.",
        settings=tuple(
            _setting("channel.bands", bands, key, ("channel", name, "bands"), f"bands of {name}", unit)
            for key in keys
        ),
        is_chief=bool(bands),
    )


def _limit(limit: Table, path: Path, what: str, unit: str) -> Group:
    kind = str(limit.get("kind"))
    per = {"rate of change": f"{unit}/min", "stale": "s"}.get(kind, unit)
    keys = ["at", "deadband", *_DELAYS, "priority"]
    if kind == "bad quality":
        keys = [*_DELAYS, "quality", "priority"]
    elif kind == "stale":
        keys.remove("deadband")
    elif kind == "rate of change":
        keys += ["side", "window_seconds"]
    elif kind == "deviation":
        keys += ["side", "least_benches"]
    return Group(
        heading=_capital(what),
        about=str(limit.get("message", "")),
        settings=tuple(_setting("channel.limit", limit, key, path, what, per) for key in keys),
    )


def _of_bench(bench: Table, channel: Table, conversions: Sequence[str]) -> Group:
    name, number = str(channel.get("name")), int(bench.get("number", 0))
    own: Table = dict(bench.get("channel", {})).get(name, {})
    path: Path = ("bench", number, "channel", name)
    what = f"bench {number}, {bench.get('name', f'Bench {number}')}"
    unit = str(channel.get("unit", ""))
    keys = ["gain", "offset"] + (["baseline"] if "bands" in channel else [])
    settings = [_setting("bench.channel.*", own, key, path, what, unit) for key in keys]
    converted = own.get("conversion", channel.get("conversion"))
    if converted is not None:
        around = channel.get("conversion")
        chosen = _setting("bench.channel.*", own, "conversion", path, what, words=conversions, without=around)
        settings.insert(0, chosen)
    return Group(heading=f"{_capital(name)} of {what}", about="", settings=tuple(settings), is_chief=False)


def _finding_alarms(lesson: Table) -> Iterator[Group]:
    for alarm in _tables(lesson, "alarm"):
        key = str(alarm.get("name", "finding"))
        what = f"alarm “{key}” on findings"
        yield Group(
            heading=_capital(what),
            about=str(alarm.get("message", "")),
            settings=tuple(
                _setting("alarm", alarm, one, ("alarm", key), what) for one in (*_DELAYS, "priority")
            ),
            is_chief=False,
        )


def _setting(
    table: str,
    given: Table,
    key: str,
    path: Path,
    what: str,
    unit: str = "",
    *,
    label: str = "",
    words: Sequence[str] = (),
    without: object = None,
) -> Setting:
    known: Key = KEY_OF[f"{table}.{key}"]
    plain = known.default if isinstance(known.default, int | float | str | tuple) else without
    kind: Any = "word" if words else known.kind
    in_unit = key in _IN_THE_CHANNELS_UNIT or key == "at"
    return Setting(
        path=(*path, key),
        label=label or _LABELS.get(key, key.replace("_", " ")),
        what=what,
        unit=unit if in_unit else _UNITS.get(key, ""),
        kind=kind,
        words=tuple(words or known.words),
        value=given.get(key, plain),
        is_given=key in given,
        without=plain,
        meaning=known.meaning,
    )


def _tables(around: Table, key: str) -> list[Table]:
    found = around.get(key, [])
    return [one for one in found if isinstance(one, Mapping)] if isinstance(found, list) else []


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
